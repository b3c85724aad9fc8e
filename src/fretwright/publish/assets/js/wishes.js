"use strict";

/**
 * How a student wants to hear every exercise of the course: level, click, count-in. All desks of a page
 * show the same wishes, and the next page remembers them, so that a level once set low stays low.
 */
class Wishes {
  /**
   * @param {Document} page
   * @param {Memory} memory
   */
  constructor(page, memory) {
    /** @type {() => void} called when a wish is another */
    this.onChange = () => {};
    /** @type {Map<string, HTMLInputElement[]>} */
    this.inputs = new Map();
    for (const name of ["level", "click", "count-in"]) {
      const inputs = [...page.querySelectorAll("input")].filter((each) => each.matches(`[data-${name}]`));
      this.inputs.set(name, inputs);
      const kept = memory.recall(name);
      if (kept) inputs.forEach((input) => setWish(input, kept));
      for (const moved of inputs) {
        moved.addEventListener("input", () => {
          inputs.forEach((input) => setWish(input, wishOf(moved)));
          memory.keep(name, wishOf(moved));
          this.onChange();
        });
      }
    }
  }

  /** @returns {number} share of the full level, from 0 to 1 */
  get level() {
    return Number(this.wish("level")) / 100;
  }

  get click() {
    return this.wish("click") === "on";
  }

  get countIn() {
    return this.wish("count-in") === "on";
  }

  /** @param {string} name */
  wish(name) {
    const [input] = this.inputs.get(name) || [];
    return input ? wishOf(input) : "";
  }
}

/** @param {HTMLInputElement} input */
function wishOf(input) {
  if (input.type !== "checkbox") return input.value;
  return input.checked ? "on" : "off";
}

/**
 * @param {HTMLInputElement} input
 * @param {string} wish
 */
function setWish(input, wish) {
  if (input.type === "checkbox") input.checked = wish === "on";
  else input.value = wish;
}
