"use strict";

/**
 * What a student ticked and set, kept on this device. A browser may refuse to keep anything for a page
 * opened from a folder; then it lasts until the page is left.
 */
class Memory {
  /** @param {string} course  what tells one course's ticks from another's */
  constructor(course) {
    this.course = course;
    /** @type {Map<string, string>} */
    this.unsaved = new Map();
  }

  /**
   * @param {string} exercise  lesson/exercise
   * @param {number} bpm
   * @returns {boolean} whether the student has ticked this rung
   */
  sits(exercise, bpm) {
    return this.recall(`${exercise} at ${bpm}`) === "sits";
  }

  /**
   * @param {string} exercise
   * @param {number} bpm
   * @param {boolean} sits
   */
  noteRung(exercise, bpm, sits) {
    this.keep(`${exercise} at ${bpm}`, sits ? "sits" : "");
  }

  /**
   * @param {string} name
   * @returns {string} what was kept under the name; empty where nothing was
   */
  recall(name) {
    const unsaved = this.unsaved.get(name);
    if (unsaved !== undefined) return unsaved;
    try {
      return localStorage.getItem(this.key(name)) || "";
    } catch {
      return "";
    }
  }

  /**
   * @param {string} name
   * @param {string} value  empty to forget it
   */
  keep(name, value) {
    try {
      if (value) localStorage.setItem(this.key(name), value);
      else localStorage.removeItem(this.key(name));
    } catch {
      this.unsaved.set(name, value);
    }
  }

  /** @param {string} name */
  key(name) {
    return `fretwright\n${this.course}\n${name}`;
  }
}
