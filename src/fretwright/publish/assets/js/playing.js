"use strict";

/**
 * Once through, round and round, or one round sounding and one left to the student.
 * @typedef {"once" | "round" | "turns"} HowOften
 */

/**
 * Where the music stands at one moment.
 * @typedef {object} Moment
 * @property {"count" | "round" | "over"} phase
 * @property {number} frame  from the round's start; in a count-in below 0, from the music's start
 * @property {number} number  of the round, from 0
 * @property {boolean} yours  whether the round is left to the student
 */

/** A round being played: books each repetition in time, and tells where the music stands. */
class Playing {
  /**
   * @param {Clock} clock
   * @param {AudioBuffer} buffer
   * @param {Round} round
   * @param {object} how
   * @param {HowOften} how.often
   * @param {number} how.from  frame of the round at which to begin
   * @param {{frames: number, ticks: Tick[]} | null} how.countIn
   */
  constructor(clock, buffer, round, { often, from, countIn }) {
    this.clock = clock;
    this.buffer = buffer;
    this.round = round;
    this.often = often;
    this.from = from;
    this.countIn = countIn;
    /** Frame of the clock at which round 0 starts, or would have if it begins in its middle. */
    this.origin = 0;
    /** Number of the round to be booked next. */
    this.next = 0;
  }

  /** @param {number} at  frame of the clock at which the count-in, or the music, begins */
  begin(at) {
    this.origin = at + (this.countIn ? this.countIn.frames : 0) - this.from;
    for (const tick of this.countIn ? this.countIn.ticks : []) {
      this.clock.bookClick(this.origin + this.from + tick.frame, tick.beat === 1, true);
    }
  }

  /** @param {number} frame  book every round that starts before this frame of the clock */
  bookUntil(frame) {
    while (this.startOf(this.next) < frame && (this.often !== "once" || this.next === 0)) {
      this.bookRound(this.next++);
    }
  }

  /** @param {number} number */
  startOf(number) {
    return this.origin + number * this.round.frames;
  }

  /** @param {number} number */
  isYours(number) {
    return this.often === "turns" && number % 2 === 1;
  }

  /** @param {number} number */
  bookRound(number) {
    const start = this.startOf(number);
    const from = number === 0 ? this.from : 0;
    const { fileStart, fileEnd, ticks } = this.round;
    const yours = this.isYours(number);
    if (!yours && fileStart + from < fileEnd) {
      this.clock.bookSound(this.buffer, start + from, fileStart + from, fileEnd);
    }
    for (const tick of ticks) {
      if (tick.frame >= from) this.clock.bookClick(start + tick.frame, tick.beat === 1, yours);
    }
  }

  /**
   * @param {number} clockFrame  usually the one that is heard
   * @returns {Moment}
   */
  momentAt(clockFrame) {
    const gone = clockFrame - this.origin;
    if (gone < this.from) return { phase: "count", frame: gone - this.from, number: 0, yours: false };
    const number = Math.floor(gone / this.round.frames);
    if (number >= this.next) return { phase: "over", frame: 0, number, yours: false };
    return { phase: "round", frame: gone - number * this.round.frames, number, yours: this.isYours(number) };
  }

  /**
   * @param {number} frame  from the round's start
   * @returns {string[]} ids of the notes that sound then
   */
  notesAt(frame) {
    return this.round.notes.filter(({ from, to }) => from <= frame && frame < to).map(({ id }) => id);
  }

  /**
   * @param {Moment} moment
   * @returns {Tick | undefined} the last beat at or before it
   */
  beatAt({ phase, frame }) {
    const ticks = phase === "count" && this.countIn ? this.countIn.ticks : this.round.ticks;
    return ticks.findLast((tick) => tick.frame <= frame);
  }

  /**
   * @param {Moment} moment
   * @returns {number} the frame of the round from which to go on after a pause: where the note that was
   *   cut off began, so that none is heard by half
   */
  resumeFrame({ phase, frame }) {
    if (phase === "count") return this.from;
    if (phase === "over") return 0;
    const begun = this.round.notes.findLast(({ from }) => from <= frame);
    return begun ? begun.from : 0;
  }
}
