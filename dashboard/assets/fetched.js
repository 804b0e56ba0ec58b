// What to play for a number, as the server says it.

/** @typedef {import("./playlist.js").Answer} Answer */
/** @typedef {import("./address.js").Asked} Asked */

/** @param {Asked} asked @param {import("./address.js").More} more @returns {Promise<Answer>} */
export async function fetched({ table, ids, player, rows }, { before, after: later }) {
  const answer = await fetch("/clips", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ ...(rows ? { rows } : player ? { player } : { table, ids }), before_s: before, after_s: later }),
  }).catch(() => {
    throw new Error("floorbook does not answer; is it still running?");
  });
  const told = await answer.json();
  if (!answer.ok) throw new Error(told.error.text);
  return told;
}
