// Who else is at this game, and which team's marks each has agreed to take. The agreement binds nobody: every key works for
// everybody, and the strip says who has a team.
import { cap } from "../keys/own.js";
import { say } from "./dom.js";

/** @typedef {{by: string, book: string, takes: string, here: boolean}} Person */

const TEAMS = new Set(["ours", "theirs"]);
const AGREED = /** @type {Record<string, string>} */ ({ both: "both teams", ours: "ours", theirs: "theirs" });

export class PeopleView {
  /**
   * @param {HTMLElement} element
   * @param {{by: string, book: string, takes: string}} me
   */
  constructor(element, me) {
    this.element = element;
    this.me = me;
    /** @type {Person[]} */
    this.others = [];
    this.ball = "";
  }

  /** @param {Person[]} others */
  take(others) {
    this.others = others;
    this.draw(this.ball);
  }

  /** Who has a team's marks by agreement, when that is somebody else of this book. @param {string} team */
  holder(team) {
    if (!TEAMS.has(team) || this.me.takes === team || this.me.takes === "both") return null;
    return this.others.find((one) => one.book === this.me.book && one.takes === team) ?? null;
  }

  /** @param {string} ball whose ball it is at the frame on screen */
  draw(ball) {
    this.ball = ball;
    const mates = this.others.filter((one) => one.book === this.me.book && (one.here || one.takes !== "both"));
    const apart = this.others.filter((one) => one.book !== this.me.book && one.here);
    const holder = this.holder(ball);
    const words = [
      (mates.length > 0 || this.me.takes !== "both") && `you take ${AGREED[this.me.takes]}`,
      ...mates.map((one) => `${one.by} ${AGREED[one.takes]}${one.here ? "" : ", away now"}`),
      ...apart.map((one) => `${one.by} tags in ${one.book}’s book (${cap("skip")} shows it)`),
    ].filter(Boolean);
    const text = holder ? `${holder.by} has ${ball === "ours" ? "our" : "their"} marks` : words.join(" · ");
    say(this.element, text);
    this.element.classList.toggle("held", holder !== null);
    this.element.hidden = text === "";
  }

  /**
   * What is said after a mark of the team that somebody else has; the mark stands.
   * @param {string} team
   */
  after(team) {
    const holder = this.holder(team);
    return holder ? `entered (${cap("takeBack")} takes it back), though ${holder.by} has ${team === "ours" ? "our" : "their"} marks` : "";
  }
}
