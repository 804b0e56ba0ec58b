// Film control over a game's time line: play, hold, shuttle, jumps, frames, slow motion, the last four seconds again.
import { Frames } from "./frames.js";
import { OnScreen } from "./onscreen.js";

/** @typedef {import("./onscreen.js").Film} Film */
/** @typedef {{film: string, at_ms: number, speed: number}} Moment `speed`: how fast the film runs, 0 held */

export const AGAIN_MS = 4000;
export const JUMP_MS = 5000;
const END_MS = 200; // where a browser stops playing may be some frames before the last
const LOUDEST_RATE = 2; // faster than this the sound is noise

export class FilmDeck {
  /**
   * @param {HTMLVideoElement} video
   * @param {Film[]} films
   * @param {() => void} onChange another frame, another speed
   */
  constructor(video, films, onChange) {
    this.video = video;
    this.films = films.filter((film) => film.state === "ready");
    this.onChange = onChange;
    /** Whose film is on screen: another camera's name, or empty for the game's own. */
    this.camera = "";
    this.onScreen = new OnScreen(video, () => this.#shown());
    /** Speed of the shuttle: 0 hold, negative backwards. */
    this.rate = 0;
    /** Speed of plain play: 1, ½ or ¼. */
    this.pace = 1;
    /** @type {{from: number, to: number, rate: number} | null} a stretch shown again, game ms, and the speed after it */
    this.again = null;
    /** @type {{from: number, to: number} | null} a stretch shown over and over, game ms */
    this.loop = null;
    /** @type {number | null} where the film is going, game ms */
    this.goal = null;
    /** @type {Promise<void> | null} */
    this.moving = null;
    /** Whether one part has left the screen and the next is not there yet. */
    this.between = false;
    /** @type {Map<string, Promise<Frames>>} */
    this.frames = new Map();
    video.addEventListener("ended", () => this.#ended());
    video.addEventListener("pause", () => this.rate > 0 && video.paused && !video.ended && video.readyState > 2 && this.hold());
  }

  /** Whether there is film to look at. */
  get ready() {
    return this.onScreen.film !== null && this.onScreen.base !== null;
  }

  /** The frame on screen. @returns {Moment} */
  get now() {
    return { film: this.onScreen.film?.id ?? "", at_ms: this.onScreen.atMs, speed: this.rate };
  }

  /** Game time of the frame on screen, ms. */
  get gameMs() {
    return (this.onScreen.film?.offset_ms ?? 0) + this.onScreen.atMs;
  }

  /** Whether the film's last frames are on screen, and no film comes after it. */
  get atEnd() {
    const { film, frames, atMs } = this.onScreen;
    return Boolean(film && frames && atMs >= frames.atMs(frames.n - 1) - END_MS && (film.until_ms ?? Infinity) >= film.duration_ms && this.#row().at(-1) === film);
  }

  /** The game's other cameras with film to look at. */
  get cameras() {
    return [...new Set(this.films.map((film) => film.camera ?? ""))].filter(Boolean);
  }

  /**
   * Look through another camera, or with an empty name at the game's own film, and go to a game time.
   * @param {string} camera
   * @param {number} gameMs
   * @returns {Promise<boolean>} false, and nothing changed, where that camera is known not to show the moment
   */
  async through(camera, gameMs) {
    const films = this.films.filter((film) => (film.camera ?? "") === camera);
    const shows = films.some((film) => film.tied === false || (film.offset_ms <= gameMs && gameMs < film.offset_ms + film.duration_ms));
    if (!shows) return false;
    this.#end();
    this.hold();
    this.camera = camera;
    await this.goTo(gameMs);
    this.onChange();
    return true;
  }

  /** Go to a game time; where it is going can change on the way. @param {number} gameMs @returns {Promise<void>} */
  goTo(gameMs) {
    this.goal = gameMs;
    this.moving ??= this.#move(gameMs).finally(() => (this.moving = null));
    return this.moving;
  }

  /** @param {number} first game ms */
  async #move(first) {
    for (;;) {
      const film = this.#filmAt(this.goal ?? first);
      if (!film) return;
      const frames = await this.#framesOf(film);
      if (this.onScreen.film !== film) {
        const { rate } = this;
        this.rate = 0;
        this.video.pause();
        this.between = this.ready;
        await this.onScreen.load(film, frames).finally(() => (this.between = false));
        if (rate !== 0) this.#run(rate);
      }
      const goal = this.goal ?? first;
      if (this.#filmAt(goal) !== film) continue;
      const frame = frames.nearestMs(goal - film.offset_ms);
      this.goal = film.offset_ms + frames.atMs(frame);
      return this.onScreen.goTo(frame);
    }
  }

  /** @param {number} gameMs */
  #filmAt(gameMs) {
    const films = this.#row();
    return films.filter((one) => one.offset_ms <= gameMs).at(-1) ?? films[0] ?? this.films[0];
  }

  /** The films that follow on each other, of the camera that is looked through. */
  #row() {
    return this.films.filter((film) => (film.camera ?? "") === this.camera);
  }

  /** By time. @param {number} ms */
  jump(ms) {
    this.#end();
    return this.goTo(Math.max(0, (this.goal ?? this.gameMs) + ms));
  }

  /** By frames, held. @param {number} n */
  step(n) {
    this.#end();
    this.hold();
    const to = this.onScreen.target + n;
    const next = this.#beside(n);
    if (next && (to < 0 || to >= (this.onScreen.frames?.n ?? Infinity))) {
      return void this.goTo(n > 0 ? next.offset_ms : next.offset_ms + next.duration_ms - 1); // the frame nearest to it
    }
    this.goal = null;
    this.onScreen.goTo(to);
  }

  /** The film before or after the one on screen. @param {number} n below or above 0 */
  #beside(n) {
    const films = this.#row();
    const place = films.findIndex((film) => film === this.onScreen.film);
    return place < 0 ? undefined : films[place + Math.sign(n)];
  }

  /** Where a person points at, or asks for: nothing is shown again any more. @param {number} gameMs */
  showAt(gameMs) {
    const { again } = this;
    this.#end();
    if (again) this.#run(again.rate);
    return this.goTo(gameMs);
  }

  toggle() {
    if (this.rate !== 0 && !this.again) this.hold();
    else if (this.again) this.back();
    else this.#run(this.pace);
  }

  hold() {
    this.#end();
    this.#run(0);
  }

  /** At a speed. @param {number} rate above 0 */
  play(rate) {
    this.#run(rate);
  }

  /** One step of the shuttle. @param {1 | -1} direction */
  shuttle(direction) {
    this.#end();
    const speed = Math.abs(this.rate);
    const same = Math.sign(this.rate) === direction;
    this.#run(direction * (same && speed >= 1 ? Math.min(4, speed * 2) : 1));
  }

  /** Plain play at full, half, quarter speed in turn. */
  slower() {
    this.pace = this.pace === 1 ? 0.5 : this.pace === 0.5 ? 0.25 : 1;
    if (this.rate > 0 && !this.again) this.#run(this.pace);
    else this.onChange();
  }

  /** The last four seconds at half speed, then on as before. */
  replay() {
    const to = this.again?.to ?? this.gameMs;
    const rate = this.again?.rate ?? this.rate;
    const again = { from: Math.max(0, to - AGAIN_MS), to, rate };
    this.again = again;
    this.goTo(again.from).then(() => this.again === again && this.#run(0.5)); // not where it was held on the way there
  }

  /** End a replay at once, where it began. */
  back() {
    const { again } = this;
    if (!again) return;
    this.again = null;
    this.goTo(again.to).then(() => this.#run(again.rate));
  }

  /** Show a stretch over and over; null ends it. @param {{from: number, to: number} | null} stretch */
  over(stretch) {
    this.#end();
    this.loop = stretch;
    if (stretch) this.goTo(stretch.from).then(() => this.loop === stretch && this.#run(this.pace));
    else this.onChange();
  }

  #end() {
    this.again = null;
    this.loop = null;
  }

  /** @param {number} rate */
  #run(rate) {
    const { video } = this;
    this.rate = rate;
    if (rate > 0) {
      video.playbackRate = rate;
      video.muted = rate > LOUDEST_RATE;
      video.play().catch((fault) => fault.name !== "AbortError" && this.rate > 0 && this.#run(0));
    } else {
      video.pause();
      if (rate < 0) this.#backwards(this.goal ?? this.gameMs, performance.now());
    }
    this.onChange();
  }

  /** Film runs backwards by seeking, as fast as pictures come. @param {number} from @param {number} since */
  #backwards(from, since) {
    const rate = this.rate;
    const tick = () => {
      if (this.rate !== rate || rate >= 0) return;
      const aim = from + rate * (performance.now() - since);
      if (aim <= 0) return void this.goTo(0).then(() => this.hold());
      if (!this.onScreen.waiting && !this.moving) void this.goTo(aim);
      requestAnimationFrame(tick);
    };
    tick();
  }

  #shown() {
    if (this.between) return; // the next part's first picture, on the way to where the film is going
    if (this.onScreen.aim !== null || this.moving) return this.onChange();
    if (this.rate !== 0 || this.gameMs === this.goal) this.goal = null; // a picture on the way there is not there yet
    if (this.again && this.rate > 0 && this.gameMs >= this.again.to) {
      const { again } = this;
      this.again = null;
      this.#run(again.rate);
      if (again.rate <= 0) void this.goTo(again.to);
    } else if (this.loop && this.rate > 0 && this.gameMs >= this.loop.to) {
      void this.goTo(this.loop.from);
    }
    this.onChange();
  }

  #ended() {
    const films = this.#row();
    const place = films.findIndex((film) => film === this.onScreen.film);
    const next = films[place + 1];
    const partly = films[place]?.until_ms < films[place]?.duration_ms;
    if (!next || partly || this.rate <= 0) return void this.hold();
    void this.goTo(next.offset_ms);
  }

  /** @param {Film} film @returns {Promise<Frames>} */
  #framesOf(film) {
    let held = this.frames.get(film.id);
    if (!held) {
      held = fetch(`/film/${encodeURIComponent(film.id)}/frames`).then(async (answer) => {
        if (!answer.ok) throw new Error((await answer.json()).error.text);
        return new Frames(await answer.json());
      });
      this.frames.set(film.id, held);
      held.catch(() => this.frames.delete(film.id));
    }
    return held;
  }
}
