/** The exercise under the cursor: plate, neck, words and sound, as the text has it and before it is saved. */

import { ask, part, picture, Refused } from "./asking.js";

/**
 * @typedef {object} Shown
 * @property {string} name
 * @property {string} title
 * @property {number[]} tempos
 * @property {string} plate
 * @property {string} neck
 * @property {string} legend
 * @property {string[]} sentences
 */

export class PreviewPane {
  /**
   * @param {HTMLElement} pane
   * @param {() => {file: string, text: string}} written
   */
  constructor(pane, written) {
    this.pane = pane;
    this.written = written;
    this.title = part(pane, "[data-title]", HTMLElement);
    this.said = part(pane, "[data-said]", HTMLElement);
    this.plate = part(pane, "[data-plate]", HTMLElement);
    this.neck = part(pane, "[data-neck]", HTMLElement);
    this.legend = part(pane, "[data-legend]", HTMLElement);
    this.words = part(pane, "[data-words]", HTMLElement);
    this.tempo = part(pane, "[data-tempo]", HTMLSelectElement);
    this.play = part(pane, "[data-play]", HTMLButtonElement);
    /** @type {Shown | null} */
    this.shown = null;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {AudioBufferSourceNode | null} */
    this.sounding = null;
    this.play.addEventListener("click", () => this.toggle());
  }

  /**
   * @param {string | null} block
   * @param {Shown | null} shown
   */
  show(block, shown) {
    this.pane.classList.toggle("stale", !shown && Boolean(this.shown));
    if (!shown) {
      this.title.textContent = block ?? "No exercise yet";
      this.said.textContent = block
        ? this.shown
          ? "There is a mistake in this exercise. Below is what it was before."
          : "There is a mistake in this exercise; mend it, and it is shown here."
        : "Write a block, or let the helpers below write one.";
      this.play.disabled = true;
      return;
    }
    const changed = (/** @type {keyof Shown} */ key) => String(this.shown?.[key]) !== String(shown[key]);
    if (changed("plate")) this.plate.replaceChildren(picture(shown.plate));
    if (changed("neck")) this.neck.replaceChildren(picture(shown.neck));
    if (changed("tempos")) {
      this.tempo.replaceChildren(...shown.tempos.map((bpm) => new Option(String(bpm), String(bpm))));
    }
    if (changed("plate")) this.stop();
    this.legend.textContent = shown.legend;
    this.words.replaceChildren(
      ...shown.sentences.map((sentence) => Object.assign(document.createElement("li"), { textContent: sentence })),
    );
    this.title.textContent = shown.title;
    this.said.textContent = "";
    this.play.disabled = false;
    this.shown = shown;
  }

  async toggle() {
    if (this.sounding) return this.stop();
    const shown = this.shown;
    if (!shown) return;
    this.said.textContent = "Sounding…";
    const context = (this.context ??= new AudioContext());
    await context.resume();
    try {
      const address = this.pane.dataset.sound ?? "";
      const bpm = Number(this.tempo.value);
      const answer = await ask(address, { ...this.written(), exercise: shown.name, bpm });
      const bytes = Uint8Array.from(atob(answer.audio), (sign) => sign.charCodeAt(0));
      const buffer = await context.decodeAudioData(bytes.buffer);
      this.start(context, buffer, answer.notes);
      this.said.textContent = "";
    } catch (error) {
      this.said.textContent = error instanceof Refused ? `${error.message} ${error.mend}` : "It cannot be sounded.";
    }
  }

  /**
   * @param {AudioContext} context
   * @param {AudioBuffer} buffer
   * @param {[id: string, onset: number, duration: number][]} notes  in seconds
   */
  start(context, buffer, notes) {
    const source = context.createBufferSource();
    source.buffer = buffer;
    source.connect(context.destination);
    const startS = context.currentTime + 0.05;
    source.start(startS);
    this.sounding = source;
    this.play.textContent = "Stop";
    source.addEventListener("ended", () => this.sounding === source && this.stop());
    const follow = () => {
      if (this.sounding !== source) return;
      const now = context.currentTime - startS;
      const sounding = notes.filter(([, onset, duration]) => onset <= now && now < onset + duration);
      this.light(new Set(sounding.map(([id]) => id)));
      requestAnimationFrame(follow);
    };
    requestAnimationFrame(follow);
  }

  stop() {
    const source = this.sounding;
    this.sounding = null;
    source?.stop();
    this.play.textContent = "Play";
    this.light(new Set());
  }

  /** @param {Set<string>} ids */
  light(ids) {
    for (const note of this.plate.querySelectorAll("[data-note]")) {
      note.classList.toggle("sounds", ids.has(note.getAttribute("data-note") ?? ""));
    }
  }
}
