"use strict";

/** The tempo ladder of one exercise: which rung is stood on, and which ones the student says sit. */
class Ladder {
  /**
   * @param {Element} fieldset
   * @param {string} exercise
   * @param {Memory} memory
   * @param {() => void} onChoose  called when another rung is chosen
   */
  constructor(fieldset, exercise, memory, onChoose) {
    this.exercise = exercise;
    this.memory = memory;
    /** @type {HTMLInputElement[]} */
    this.rungs = [...fieldset.querySelectorAll("input")].filter((each) => each.type === "radio");
    this.box = /** @type {HTMLInputElement} */ (fieldset.querySelector("[data-sits]"));
    const open = this.rungs.find((rung) => !memory.sits(exercise, Number(rung.value)));
    (open || this.rungs[this.rungs.length - 1]).checked = true;
    for (const rung of this.rungs) {
      rung.addEventListener("change", () => {
        this.show();
        onChoose();
      });
    }
    this.box.addEventListener("change", () => {
      this.memory.noteRung(this.exercise, this.bpm, this.box.checked);
      this.show();
    });
    this.show();
  }

  /** @returns {number} the rung that is stood on */
  get bpm() {
    return Number((this.rungs.find((rung) => rung.checked) || this.rungs[0]).value);
  }

  /** Show every tick in its place. */
  show() {
    for (const rung of this.rungs) {
      const sits = this.memory.sits(this.exercise, Number(rung.value));
      const tick = rung.parentElement && rung.parentElement.querySelector("[data-tick]");
      if (tick) tick.replaceChildren(...(sits ? tickMarks() : []));
    }
    this.box.checked = this.memory.sits(this.exercise, this.bpm);
    const words = this.box.parentElement && this.box.parentElement.querySelector("[data-sits-words]");
    if (words) words.textContent = `${this.bpm} sits: clean, in time, and at ease`;
  }
}

/** @returns {HTMLElement[]} a tick to be seen, and the word for it to be heard */
function tickMarks() {
  const [seen, heard] = [document.createElement("span"), document.createElement("span")];
  seen.textContent = "✓";
  seen.setAttribute("aria-hidden", "true");
  heard.textContent = " sits";
  heard.className = "unseen";
  return [seen, heard];
}
