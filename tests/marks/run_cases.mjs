// Runs the shared cases over the page's own modules: node run_cases.mjs FILE. Prints how many passed; exit 1 on a miss.
import { readFileSync } from "node:fs";
import { deepStrictEqual } from "node:assert";
import { Desk } from "../../tagger/screen/static/marks/desk.js";
import { groups } from "../../tagger/screen/static/marks/groups.js";
import { readLanguage } from "../../tagger/screen/static/marks/language.js";
import { offer } from "../../tagger/screen/static/marks/questions.js";

const STEP_MS = 100;
const { cases } = JSON.parse(readFileSync(process.argv[2], "utf8"));
let passed = 0;

for (const { name, language, steps } of cases) {
  const desk = new Desk(readLanguage(language), new Map([["f", 0]]), "anna", {
    newId: () => `e${String(desk.book.entries.length + 1).padStart(3, "0")}`,
    wall: () => "",
  });
  let at = 0;
  let refusal = "";
  let grown = [];
  const now = () => ({ film: "f", at_ms: at });
  const idAt = (place) => desk.sequence.rows[place].mark.id;
  const press = (stroke) => {
    at += STEP_MS;
    refusal = desk.press(stroke, now()).refusal;
    grown = groups(desk.language, desk.sequence.rows, grown, desk.sequence.changedFrom());
  };
  const seen = () => {
    const shown = desk.options(now());
    const { rows } = desk.sequence;
    return {
      marks: rows.map(({ mark }) => [mark.kind, mark.answers, ...(mark.removed ? ["removed"] : [])]),
      sentences: rows.map((row) => row.text),
      hand: desk.hand ? [desk.hand.kind, desk.hand.question, desk.hand.typed] : null,
      offer: (desk.hand ? offer(desk.language, desk.hand) : "") || (shown.find((one) => one.offer)?.key ?? ""),
      options: shown.map((one) => one.key).join(" "),
      refusal,
      held: (desk.hand?.held ?? []).join(" "),
      n_entries: desk.book.entries.length,
      context: desk.contextAt(now()),
      at: rows.map((row) => row.at),
    };
  };
  steps.forEach((step, number) => {
    if ("at" in step) at = step.at;
    for (const stroke of (step.keys ?? "").split(/\s+/).filter(Boolean)) press(stroke);
    if ("text" in step) press(`=${step.text}`);
    if (step.reopen) desk.reopen(idAt(step.reopen[0]), step.reopen[1]);
    if ("remove" in step) desk.remove(idAt(step.remove));
    if ("restore" in step) desk.restore(idAt(step.restore));
    if ("retime" in step) desk.retime(idAt(step.retime), now());
    if (step.entry) {
      const common = { v: 1, id: desk.maker.newId(), n: desk.book.next, by: "anna", wall: "" };
      desk.take([{ ...common, ...step.entry }]);
    }
    if (!step.expect) return;
    const found = seen();
    for (const [what, wanted] of Object.entries(step.expect)) {
      let value = found[what];
      if (what === "context") value = Object.fromEntries(Object.keys(wanted).map((key) => [key, value[key]]));
      deepStrictEqual(value, wanted, `“${name}”, step ${number + 1}, ${what}: ${JSON.stringify(value)}`);
    }
  });
  grown = groups(desk.language, desk.sequence.rows, grown, desk.sequence.changedFrom());
  deepStrictEqual(grown, groups(desk.language, desk.sequence.rows), `“${name}”: possessions grown key by key`);
  passed += 1;
}
console.log(`${passed} cases passed`);
