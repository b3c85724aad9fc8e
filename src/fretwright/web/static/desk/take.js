/** A take at the desk: any note can be heard, from its row, from the plate or from the waveform. */

import { part, picture } from "./asking.js";
import { Microphone, refusalWords } from "../practice/microphone.js";

/** @param {HTMLElement} desk */
async function startTake(desk) {
  const form = desk.querySelector("[data-answer]");
  if (form instanceof HTMLFormElement) startRecorder(form);
  const sound = desk.querySelector("[data-sound]");
  if (!(sound instanceof HTMLAudioElement)) return;
  const rows = /** @type {HTMLTableRowElement[]} */ ([...desk.querySelectorAll("tr[data-from]")]);
  const player = new NotePlayer(sound, rows, desk);
  for (const row of rows) {
    const button = part(row, "[data-play]", HTMLButtonElement);
    button.hidden = false;
    button.addEventListener("click", () => void player.play(row));
  }
  for (const plate of desk.querySelectorAll(".take-picture")) {
    plate.addEventListener("click", (event) => {
      const id = event.target instanceof Element ? event.target.closest("[data-note]")?.getAttribute("data-note") : null;
      const row = rows.find((each) => each.dataset.note === id);
      if (row) void player.play(row);
    });
  }
  part(desk, "[data-hint]", HTMLElement).hidden = rows.length === 0;
  await showWave(part(desk, "[data-wave]", HTMLElement), sound, rows, player);
}

class NotePlayer {
  /**
   * @param {HTMLAudioElement} sound
   * @param {HTMLTableRowElement[]} rows
   * @param {HTMLElement} desk
   */
  constructor(sound, rows, desk) {
    this.sound = sound;
    this.rows = rows;
    this.desk = desk;
    /** @type {number | null} where the note that was asked for ends */
    this.until = null;
    /** @type {HTMLTableRowElement | null} the note that was asked for, while it sounds */
    this.asked = null;
    sound.addEventListener("play", () => requestAnimationFrame(() => this.follow()));
    sound.addEventListener("pause", () => this.mark(null));
    sound.addEventListener("seeking", () => {
      if (!this.jumping) this.until = this.asked = null;
    });
    this.jumping = false;
  }

  /** @param {HTMLTableRowElement} row */
  async play(row) {
    this.jumping = true;
    this.sound.currentTime = Number(row.dataset.from);
    this.until = Number(row.dataset.to);
    this.asked = row;
    await this.sound.play().catch(() => {});
    this.jumping = false;
  }

  follow() {
    if (this.sound.paused) return;
    const now = this.sound.currentTime;
    if (this.until !== null && now >= this.until) {
      this.until = this.asked = null;
      this.sound.pause();
      return;
    }
    const sounding = this.rows.findLast((row) => Number(row.dataset.from) + 0.25 <= now + 0.02);
    this.mark(this.asked ?? sounding ?? null);
    requestAnimationFrame(() => this.follow());
  }

  /** @param {HTMLTableRowElement | null} row */
  mark(row) {
    for (const each of this.desk.querySelectorAll(".now")) each.classList.remove("now");
    if (!row) return;
    row.classList.add("now");
    const place = row.dataset.place ?? "";
    this.desk.querySelector(`.wave-frame [data-place="${place}"]`)?.classList.add("now");
    for (const note of this.desk.querySelectorAll(".take-picture .note")) {
      if (note.getAttribute("data-note") === row.dataset.note) note.classList.add("now");
    }
  }
}

/**
 * @param {HTMLElement} frame
 * @param {HTMLAudioElement} sound
 * @param {HTMLTableRowElement[]} rows
 * @param {NotePlayer} player
 */
async function showWave(frame, sound, rows, player) {
  const response = await fetch(frame.dataset.wave ?? "", { credentials: "same-origin" });
  if (!response.ok) return;
  frame.replaceChildren(picture(await response.text()));
  const hand = document.createElement("div");
  hand.className = "hand";
  frame.append(hand);
  const move = () => {
    if (sound.duration) hand.style.left = `${(100 * sound.currentTime) / sound.duration}%`;
    requestAnimationFrame(move);
  };
  requestAnimationFrame(move);
  frame.addEventListener("click", (event) => {
    const onset = event.target instanceof Element ? event.target.closest("[data-place]") : null;
    const row = rows.find((each) => each.dataset.place === onset?.getAttribute("data-place"));
    if (row) return void player.play(row);
    const box = frame.getBoundingClientRect();
    if (sound.duration) sound.currentTime = (sound.duration * (event.clientX - box.left)) / box.width;
  });
}

/**
 * A demonstration is recorded with the student's own recorder and sent as the form's file.
 * @param {HTMLFormElement} form
 */
function startRecorder(form) {
  const panel = part(form, "[data-recorder]", HTMLElement);
  const button = part(panel, "[data-record]", HTMLButtonElement);
  const level = part(panel, "[data-level]", HTMLMeterElement);
  const said = part(panel, "[data-said]", HTMLElement);
  const listen = part(panel, "[data-listen]", HTMLAudioElement);
  const file = part(form, "input[type=file]", HTMLInputElement);
  if (!navigator.mediaDevices || !window.MediaRecorder) return;
  panel.hidden = false;
  /** @type {{microphone: Microphone, recording: import("../practice/microphone.js").Recording} | null} */
  let running = null;
  button.addEventListener("click", async () => {
    if (!running) {
      try {
        const microphone = await Microphone.open();
        microphone.watch((db) => (level.value = db));
        running = { microphone, recording: microphone.record() };
        button.textContent = "Stop";
        said.textContent = "Recording…";
      } catch (error) {
        said.textContent = refusalWords(error);
      }
      return;
    }
    const { microphone, recording } = running;
    running = null;
    const made = await recording.stop();
    microphone.close();
    button.textContent = "Record again";
    said.textContent = "Recorded. It is sent with your remark.";
    const carrier = new DataTransfer();
    carrier.items.add(new File([made], "answer", { type: made.type }));
    file.files = carrier.files;
    listen.src = URL.createObjectURL(made);
    listen.hidden = false;
  });
}

for (const desk of document.querySelectorAll("[data-take]")) {
  if (desk instanceof HTMLElement) void startTake(desk);
}
