/** The practice room: a desk for takes under every exercise of the lesson, fetched and put into place. */

import { TakeDesk, TAKES } from "./desk.js";
import { keepOffline } from "./keeping.js";
import { catchUp } from "./waiting.js";

const NO_MICROPHONE =
  "This browser gives the page no microphone; it does only over https, or on the machine that serves. Send a recording instead.";
const CAN_RECORD = Boolean(navigator.mediaDevices && "MediaRecorder" in window);

/**
 * Fetch what the room adds to this lesson and put each desk under its plate.
 * @returns {Promise<void>}
 */
async function furnish() {
  const lesson = /([^/]+)\.html$/.exec(location.pathname)?.[1];
  if (!lesson || !document.querySelector("[data-exercise]")) return;
  const response = await fetch(`/practice/desks/${lesson}`).catch(() => null);
  if (!response?.ok) return; // A teacher has no desk here.
  const holder = document.createElement("div");
  holder.innerHTML = await response.text();
  const head = holder.querySelector("[data-room]");
  if (!(head instanceof HTMLElement)) return;
  const personId = Number(head.dataset.person);
  for (const desk of holder.querySelectorAll("[data-take-desk]")) {
    if (desk instanceof HTMLElement) place(desk, personId);
  }
  document.querySelector("[data-exercise]")?.before(head);
  window.addEventListener("online", () => void catchUp(TAKES, personId));
  void catchUp(TAKES, personId);
}

/**
 * @param {HTMLElement} desk
 * @param {number} personId
 */
function place(desk, personId) {
  const sections = [...document.querySelectorAll("[data-exercise]")];
  const section = sections.find((each) => nameOf(each) === desk.dataset.takeDesk);
  if (!(section instanceof HTMLElement)) return;
  const heard = /** @type {HTMLElement} */ (desk.querySelector("[data-heard]"));
  section.querySelector(".copies")?.after(heard);
  section.querySelector(".beside")?.before(desk);
  const recording = /** @type {HTMLElement | null} */ (desk.querySelector("[data-recording]"));
  if (!recording) return;
  recording.hidden = !CAN_RECORD;
  const made = new TakeDesk(desk, heard, section, personId);
  if (!CAN_RECORD) made.say(NO_MICROPHONE);
}

/** @param {Element} section  @returns {string} lesson/exercise */
function nameOf(section) {
  return JSON.parse(section.querySelector("[data-for-player]")?.textContent ?? "{}").exercise ?? "";
}

await furnish();
await keepOffline();
