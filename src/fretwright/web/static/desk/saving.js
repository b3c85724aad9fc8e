/**
 * Saving: over the version that was opened, and over no other. What is written and not saved is kept on this
 * device until it is, so that a closed window costs nothing.
 */

import { ask, part, Refused } from "./asking.js";

/** @typedef {import("./paper.js").Paper} Paper */

const SIDES = { mine: "yours", theirs: "on disk", both: "", gap: "" };

export class Saving {
  /**
   * @param {HTMLFormElement} form
   * @param {string} file
   * @param {Paper} paper
   */
  constructor(form, file, paper) {
    this.form = form;
    this.file = file;
    this.paper = paper;
    this.version = part(form, "[name=version]", HTMLInputElement);
    this.state = part(form, "[data-state]", HTMLElement);
    this.conflict = part(document, "[data-conflict]", HTMLElement);
    this.kept = part(document, "[data-kept]", HTMLElement);
    this.saved = paper.text;
    this.key = `fretwright-desk ${form.action}`;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.save(this.version.value);
    });
    window.addEventListener("beforeunload", (event) => this.isChanged && event.preventDefault());
    window.addEventListener("keydown", (event) => {
      if ((event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "s") {
        event.preventDefault();
        form.requestSubmit();
      }
    });
    this.offerKept();
    this.note();
  }

  get isChanged() {
    return this.paper.text !== this.saved;
  }

  /** Say whether there is something to save, and keep it on this device meanwhile. */
  note() {
    this.state.textContent = this.isChanged ? "Not saved yet" : "Saved";
    this.form.classList.toggle("changed", this.isChanged);
    keep(this.key, this.isChanged ? { text: this.paper.text, version: this.version.value } : null);
  }

  /** @param {string} over  the version that is on disk as far as we know */
  async save(over) {
    const text = this.paper.text;
    this.state.textContent = "Saving…";
    try {
      const answer = await ask(this.form.dataset.address ?? "", { file: this.file, text, version: over });
      this.version.value = answer.version;
      this.saved = text;
      this.conflict.hidden = true;
      this.note();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (error.status === 409 && error.answer?.conflict) this.showConflict(error.answer.conflict);
      else this.state.textContent = `Not saved. ${error.message} ${error.mend}`;
    }
  }

  /**
   * @param {{theirs: string, version: string, gone: boolean, lines: {side: keyof SIDES, text: string}[]}} found
   */
  showConflict(found) {
    this.state.textContent = "Not saved: the file has changed on disk";
    part(this.conflict, "[data-why]", HTMLElement).textContent = found.gone
      ? "The file is no longer there. Your text is still here, and nothing was written."
      : "Somebody else has changed this file since you opened it. Nothing was written; both texts are here.";
    part(this.conflict, "[data-lines]", HTMLElement).replaceChildren(...found.lines.map(compared));
    const mine = part(this.conflict, "[data-mine]", HTMLButtonElement);
    const theirs = part(this.conflict, "[data-theirs]", HTMLButtonElement);
    theirs.hidden = found.gone;
    mine.onclick = () => void this.save(found.version);
    theirs.onclick = () => {
      this.version.value = found.version;
      this.saved = found.theirs;
      this.paper.replaceAll(found.theirs);
      this.conflict.hidden = true;
      this.note();
    };
    this.conflict.hidden = false;
    part(this.conflict, "h2", HTMLElement).focus();
  }

  /** What an earlier visit left unsaved is offered and not put in by itself. */
  offerKept() {
    const kept = recall(this.key);
    if (!kept || kept.text === this.paper.text) return;
    this.kept.hidden = false;
    part(this.kept, "[data-take]", HTMLButtonElement).addEventListener("click", () => {
      // Over the version it was begun on: if the file has changed since, saving says so.
      this.version.value = kept.version;
      this.kept.hidden = true;
      this.paper.replaceAll(kept.text);
    });
    part(this.kept, "[data-drop]", HTMLButtonElement).addEventListener("click", () => {
      this.kept.hidden = true;
      keep(this.key, null);
    });
  }
}

/** @param {{side: keyof SIDES, text: string}} line */
function compared({ side, text }) {
  const row = document.createElement("li");
  row.className = side;
  if (SIDES[side]) {
    const whose = document.createElement("span");
    whose.className = "whose";
    whose.textContent = SIDES[side];
    row.append(whose, " ");
  }
  const words = document.createElement("code");
  words.textContent = text || " ";
  row.append(words);
  return row;
}

/**
 * @param {string} key
 * @param {{text: string, version: string} | null} value
 */
function keep(key, value) {
  try {
    if (value) localStorage.setItem(key, JSON.stringify(value));
    else localStorage.removeItem(key);
  } catch {
    // A browser that keeps nothing still warns before the page is left.
  }
}

/**
 * @param {string} key
 * @returns {{text: string, version: string} | null}
 */
function recall(key) {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null");
  } catch {
    return null;
  }
}
