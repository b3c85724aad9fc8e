"use strict";

/**
 * What a student ticked, kept on this device. A browser may refuse to keep anything for a page opened
 * from a folder; then ticks last until the page is left.
 */
class Memory {
  /** @param {string} course  what tells one course's ticks from another's */
  constructor(course) {
    this.course = course;
    /** @type {Map<string, boolean>} */
    this.unsaved = new Map();
  }

  /**
   * @param {string} exercise  lesson/exercise
   * @param {number} bpm
   * @returns {boolean} whether the student has ticked this rung
   */
  sits(exercise, bpm) {
    const key = this.key(exercise, bpm);
    const unsaved = this.unsaved.get(key);
    if (unsaved !== undefined) return unsaved;
    try {
      return localStorage.getItem(key) !== null;
    } catch {
      return false;
    }
  }

  /**
   * @param {string} exercise
   * @param {number} bpm
   * @param {boolean} sits
   */
  note(exercise, bpm, sits) {
    const key = this.key(exercise, bpm);
    try {
      if (sits) localStorage.setItem(key, "sits");
      else localStorage.removeItem(key);
    } catch {
      this.unsaved.set(key, sits);
    }
  }

  /**
   * @param {string} exercise
   * @param {number} bpm
   */
  key(exercise, bpm) {
    return ["fretwright", this.course, exercise, bpm].join("\n");
  }
}
