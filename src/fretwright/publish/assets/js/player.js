"use strict";

/** How far ahead sound is booked: more than the second to which browsers slow the timers of hidden pages. */
const AHEAD_S = 1.6;
const TIMER_MS = 200;
/** Time that the first frame gets to reach the audio hardware. */
const START_S = 0.12;
/** Decoded rungs that are kept; each takes some megabytes. */
const KEPT_RUNGS = 3;

/** A rung ready to be played. @typedef {{rung: RungSound, buffer: AudioBuffer}} ReadyRung */
/**
 * What the page says of an exercise.
 * @typedef {object} ExerciseData
 * @property {string} exercise  lesson/exercise
 * @property {{bpm: number, script: string}[]} rungs
 * @property {ToldNote[]} notes
 * @property {string[][]} sentences  ids of the notes that each sentence of the walk-through tells
 * @property {Drawing} wide
 * @property {Drawing} narrow
 */
/** @typedef {"ready" | "loading" | "playing" | "paused"} State */

/** The desk under one plate: its controls, and what they set in motion. */
class Player {
  /** @type {Clock | null} one for all exercises of a page */
  static clock = null;
  /** @type {Player | null} the exercise that sounds; no two do */
  static active = null;

  /**
   * @param {HTMLElement} section
   * @param {Memory} memory
   * @param {Wishes} wishes
   */
  constructor(section, memory, wishes) {
    this.section = section;
    this.wishes = wishes;
    this.data = /** @type {ExerciseData} */ (JSON.parse(within(section, "[data-for-player]").textContent || ""));
    this.desk = within(section, "[data-desk]");
    this.plates = [
      new Plate(within(section, '[data-plate="wide"]'), this.data.wide),
      new Plate(within(section, '[data-plate="narrow"]'), this.data.narrow),
    ];
    this.row = within(section, "[data-play-row]");
    this.play = within(section, "[data-play]");
    this.where = within(section, "[data-where]");
    this.said = within(section, "[data-said]");
    this.status = within(section, "[data-state]");
    this.sentences = [...section.querySelectorAll(".walk-through li")];
    this.ladder = new Ladder(within(section, ".ladder"), this.data.exercise, memory, () => this.changed());
    this.part = new Part(within(section, ".part"), this.data.notes, this.plates, {
      say: (words) => this.say(words),
      onMark: () => this.marked(),
    });
    /** @type {State} */
    this.state = "ready";
    /** @type {Playing | null} */
    this.playing = null;
    /** Frame of the round at which to go on after a pause. */
    this.resume = 0;
    /** Counts presses, so that a sound that arrives late is not played any more. */
    this.presses = 0;
    /** @type {Map<number, ReadyRung>} */
    this.ready = new Map();
    this.timer = 0;
    this.shown = "";
    this.follows = true;
    this.listen();
    this.desk.hidden = this.row.hidden = false;
    section.classList.add("practisable");
    this.enter("ready");
  }

  /** Let what sounds follow the student's wishes at once. @param {Wishes} wishes */
  static heed(wishes) {
    Player.clock?.setLevel(wishes.level);
    Player.clock?.setClick(wishes.click);
  }

  listen() {
    this.play.addEventListener("click", () => (this.state === "playing" ? this.pause() : this.start()));
    within(this.row, "[data-from-start]").addEventListener("click", () => {
      this.resume = 0;
      this.start();
    });
    for (const input of this.desk.querySelectorAll(".rounds input")) {
      input.addEventListener("change", () => {
        if (this.playing) this.playing.often = this.often;
        this.say(this.stateWords);
      });
    }
    // Whoever scrolls, or turns to another control while it plays, is not to be pulled back to the plate.
    for (const turned of ["wheel", "touchmove", "pointerdown", "keydown"]) {
      window.addEventListener(turned, () => (this.follows = false), { passive: true });
    }
  }

  /** @returns {HowOften} */
  get often() {
    const chosen = /** @type {HTMLInputElement | null} */ (this.desk.querySelector(".rounds input:checked"));
    return /** @type {HowOften} */ (chosen ? chosen.value : "once");
  }

  /** Another rung was chosen: what sounds starts again at that tempo. */
  changed() {
    this.resume = 0;
    if (this.state === "playing" || this.state === "loading") this.start();
    else this.enter("ready");
  }

  /** Another part was marked: it goes round, unless the student wants turns. */
  marked() {
    if (!this.part.isWhole && this.often === "once") {
      /** @type {HTMLInputElement} */ (within(this.desk, '.rounds input[value="round"]')).checked = true;
    }
    this.changed();
  }

  async start() {
    const press = ++this.presses;
    if (Player.active !== this) Player.active?.pause();
    Player.active = this;
    this.hush();
    this.part.settle();
    this.enter("loading");
    try {
      const clock = (Player.clock = Player.clock || Clock.live());
      if (!(await clock.wake())) throw new Error("no sound comes out");
      // A telephone call, for one, may stop the sound from outside.
      clock.context.onstatechange = () => clock.isRunning || Player.active?.pause();
      const ready = await this.readyRung(clock, this.ladder.bpm);
      if (press === this.presses) this.begin(clock, ready);
    } catch {
      if (press === this.presses) this.fail();
    }
  }

  /**
   * @param {Clock} clock
   * @param {ReadyRung} ready
   */
  begin(clock, { rung, buffer }) {
    const round = planRound(rung, stretchOf(rung, this.part.firstId, this.part.lastId), clock.rate);
    const fromS = round.startS + this.resume / clock.rate;
    const countIn = this.wishes.countIn ? countInTo(rung, fromS, clock.rate) : null;
    this.playing = new Playing(clock, buffer, round, { often: this.often, from: this.resume, countIn });
    Player.heed(this.wishes);
    this.playing.begin(clock.nextFrame + Math.ceil(START_S * clock.rate));
    this.playing.bookUntil(clock.nextFrame + AHEAD_S * clock.rate);
    this.follows = true;
    this.enter("playing");
    this.timer = window.setInterval(() => this.keepOn(clock), TIMER_MS);
    const draw = () => {
      if (this.state !== "playing" || !this.playing) return;
      this.show(this.playing, clock.heardFrame);
      requestAnimationFrame(draw);
    };
    draw();
  }

  /** @param {Clock} clock */
  keepOn(clock) {
    if (!this.playing) return;
    this.playing.bookUntil(clock.nextFrame + AHEAD_S * clock.rate);
    // A hidden page draws no frames, but it has to notice the end all the same.
    if (document.hidden) this.show(this.playing, clock.heardFrame);
  }

  pause() {
    if (this.state !== "playing" && this.state !== "loading") return;
    const clock = Player.clock;
    if (this.playing && clock) this.resume = this.playing.resumeFrame(this.playing.momentAt(clock.heardFrame));
    this.presses++;
    this.hush();
    this.enter(this.state === "playing" ? "paused" : "ready");
  }

  finish() {
    this.resume = 0;
    this.hush();
    this.show(null, 0);
    this.enter("ready");
  }

  /** Silence what was booked. */
  hush() {
    window.clearInterval(this.timer);
    if (this.playing) Player.clock?.silence();
    this.playing = null;
  }

  fail() {
    this.hush();
    this.enter("ready");
    const { clock } = Player;
    const cause = clock && !clock.isRunning ? "No loudspeaker or headphones answer" : "The sound cannot be opened";
    this.say(`${cause}. The plain sound files below may play.`);
    /** @type {HTMLDetailsElement} */ (within(this.section, ".plain-sound")).open = true;
  }

  /**
   * @param {Clock} clock
   * @param {number} bpm
   * @returns {Promise<ReadyRung>}
   */
  async readyRung(clock, bpm) {
    let ready = this.ready.get(bpm);
    if (!ready) {
      const place = this.data.rungs.find((rung) => rung.bpm === bpm);
      const rung = await loadRung(place ? place.script : "", this.data.exercise, bpm);
      const buffer = await clock.context.decodeAudioData(bytesOf(rung.audio));
      rung.audio = "";
      ready = { rung, buffer };
    }
    this.ready.delete(bpm);
    this.ready.set(bpm, ready);
    for (const oldest of [...this.ready.keys()].slice(0, -KEPT_RUNGS)) this.ready.delete(oldest);
    return ready;
  }

  /**
   * Mark on the plate what is heard.
   * @param {Playing | null} playing
   * @param {number} heardFrame
   */
  show(playing, heardFrame) {
    const moment = playing ? playing.momentAt(heardFrame) : null;
    if (moment && moment.phase === "over") {
      this.finish();
      return;
    }
    const ids = playing && moment && moment.phase === "round" ? playing.notesAt(moment.frame) : [];
    const beat = playing && moment ? playing.beatAt(moment) : undefined;
    const yours = Boolean(moment && moment.yours);
    const shown = [moment && moment.phase, yours, beat && beat.frame, ...ids].join(" ");
    if (shown === this.shown) return;
    this.shown = shown;
    for (const plate of this.plates) {
      plate.frame(ids, yours);
      if (this.follows) plate.follow();
    }
    this.where.textContent = moment ? whereWords(moment, beat) : "";
    this.tell(ids);
  }

  /** Show the sentence of the walk-through that tells these notes. @param {string[]} ids */
  tell(ids) {
    if (!ids.length && this.state === "playing") return;
    const at = this.data.sentences.findIndex((told) => told.includes(ids[0]));
    this.said.textContent = at < 0 ? "" : this.sentences[at].textContent;
    this.sentences.forEach((sentence, place) => sentence.classList.toggle("now", place === at));
  }

  /** @param {State} state */
  enter(state) {
    this.state = state;
    this.section.dataset.now = state;
    this.play.textContent = { ready: "Play", loading: "Play", playing: "Pause", paused: "Go on" }[state];
    if (state === "ready") this.show(null, 0);
    this.say(this.stateWords);
  }

  get stateWords() {
    const what = `${this.part.words} at ${this.ladder.bpm}`;
    const often = { once: "once", round: "round and round", turns: "in turns with you" }[this.often];
    switch (this.state) {
      case "loading":
        return `Fetching ${what}.`;
      case "playing":
        return `Playing ${what}, ${often}.`;
      case "paused":
        return `Paused in ${what}.`;
      default:
        return `Ready: ${what}, ${often}.`;
    }
  }

  /** @param {string} words  shown, and read out by a screen reader */
  say(words) {
    if (this.status.textContent !== words) this.status.textContent = words;
  }
}

/**
 * @param {Moment} moment
 * @param {Tick | undefined} beat
 */
function whereWords({ phase, yours }, beat) {
  if (!beat) return "";
  if (phase === "count") return `Count ${beat.beat}`;
  const bar = beat.bar === 0 ? "Pickup" : `Bar ${beat.bar}`;
  return `${bar}, beat ${beat.beat}${yours ? ": your turn" : ""}`;
}

/**
 * @param {Element} parent
 * @param {string} selector
 * @returns {HTMLElement}
 */
function within(parent, selector) {
  const found = parent.querySelector(selector);
  if (!(found instanceof HTMLElement)) throw new Error(`the page lacks ${selector}`);
  return found;
}
