"use strict";

/**
 * One thing to pick: a note, or notes that sound together.
 * @typedef {{id: string, bar: number, words: string}} ToldNote
 */

/**
 * The part that is played: from one note to another, picked from two lists or by pressing two notes on
 * the plate.
 */
class Part {
  /**
   * @param {Element} fieldset
   * @param {ToldNote[]} notes  in order of time
   * @param {Plate[]} plates
   * @param {object} calls
   * @param {(words: string) => void} calls.say
   * @param {() => void} calls.onMark  called when the part is another
   */
  constructor(fieldset, notes, plates, { say, onMark }) {
    this.notes = notes;
    this.plates = plates;
    this.say = say;
    this.onMark = onMark;
    this.from = /** @type {HTMLSelectElement} */ (fieldset.querySelector("[data-from]"));
    this.to = /** @type {HTMLSelectElement} */ (fieldset.querySelector("[data-to]"));
    this.whole = /** @type {HTMLButtonElement} */ (fieldset.querySelector("[data-whole]"));
    /** The first note while the last is still to be pressed. @type {number | null} */
    this.pending = null;
    for (const list of [this.from, this.to]) fillList(list, notes);
    this.mark(0, notes.length - 1);
    this.from.addEventListener("change", () => this.picked(this.first, Math.max(this.first, this.last)));
    this.to.addEventListener("change", () => this.picked(Math.min(this.first, this.last), this.last));
    this.whole.addEventListener("click", () => this.picked(0, notes.length - 1));
    for (const plate of plates) plate.holder.addEventListener("click", (event) => this.pressed(plate.noteAt(event)));
  }

  get first() {
    return Number(this.from.value);
  }

  get last() {
    return Number(this.to.value);
  }

  get isWhole() {
    return this.first === 0 && this.last === this.notes.length - 1;
  }

  /** @returns {string | null} id of the first note; null where the exercise starts */
  get firstId() {
    return this.first === 0 ? null : this.notes[this.first].id;
  }

  /** @returns {string | null} id of the last note; null where the exercise ends */
  get lastId() {
    return this.last === this.notes.length - 1 ? null : this.notes[this.last].id;
  }

  /** @returns {string} what part it is, in words */
  get words() {
    if (this.isWhole) return "the whole exercise";
    const [first, last] = [this.notes[this.first], this.notes[this.last]];
    if (first.bar === last.bar) return `part of bar ${first.bar}`;
    return `bar ${first.bar} to bar ${last.bar}`;
  }

  /** @param {string | null} id  of the note that was pressed on a plate */
  pressed(id) {
    const at = this.notes.findIndex((note) => note.id === id);
    if (at < 0) return;
    if (this.pending === null) {
      this.pending = at;
      for (const plate of this.plates) plate.bracket(this.notes[at].id, null);
      this.say(`From bar ${this.notes[at].bar}, ${this.notes[at].words}. Now press the last note.`);
      return;
    }
    this.picked(Math.min(at, this.pending), Math.max(at, this.pending));
  }

  /** Forget a first note whose last was never pressed. */
  settle() {
    if (this.pending !== null) this.mark(this.first, this.last);
  }

  /**
   * @param {number} first
   * @param {number} last
   */
  picked(first, last) {
    this.mark(first, last);
    this.onMark();
  }

  /**
   * @param {number} first
   * @param {number} last
   */
  mark(first, last) {
    this.pending = null;
    this.from.value = String(first);
    this.to.value = String(last);
    this.whole.disabled = this.isWhole;
    const ids = this.isWhole ? [null, null] : [this.notes[first].id, this.notes[last].id];
    for (const plate of this.plates) plate.bracket(ids[0], ids[1]);
  }
}

/**
 * @param {HTMLSelectElement} list
 * @param {ToldNote[]} notes
 */
function fillList(list, notes) {
  /** @type {HTMLOptGroupElement | null} */
  let group = null;
  notes.forEach((note, at) => {
    const label = note.bar === 0 ? "Pickup" : `Bar ${note.bar}`;
    if (!group || group.label !== label) {
      group = document.createElement("optgroup");
      group.label = label;
      list.append(group);
    }
    group.append(new Option(`${label}, ${note.words}`, String(at)));
  });
}
