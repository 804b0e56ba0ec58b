// A book as a file: saved by a plain link, taken in from the page. The server checks the whole before it takes anything.
import { ask } from "../outbox/server.js";
import { byId, say } from "./dom.js";

/** @param {string} game @param {string} book */
export function bookFile(game, book) {
  const input = /** @type {HTMLInputElement | null} */ (document.getElementById("import"));
  if (!input) return; // only at the laptop
  const told = byId("imported");
  input.addEventListener("change", async () => {
    const file = input.files?.[0];
    if (!file) return;
    say(told, `${file.name}: taking it in …`);
    const url = `/games/${encodeURIComponent(game)}/book.jsonl?name=${encodeURIComponent(file.name)}`;
    try {
      const headers = { "Content-Type": "application/x-ndjson" };
      const taken = await ask(url, { method: "POST", headers, body: await file.text() });
      const known = taken.n_known ? `, ${taken.n_known} ${taken.n_known === 1 ? "was" : "were"} there already` : "";
      const fresh = taken.n_new ? `${taken.n_new} new ${taken.n_new === 1 ? "entry" : "entries"}` : "nothing new";
      say(told, `${file.name}: ${fresh} in ${taken.book}’s book${known}`);
      if (taken.n_new && taken.book !== book) say(told, `${told.textContent}; open that book to see them`);
    } catch (fault) {
      say(told, fault instanceof Error ? fault.message : String(fault));
    }
    input.value = "";
  });
}
