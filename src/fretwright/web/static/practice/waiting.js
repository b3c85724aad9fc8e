/** The takes that wait on this device, as the page lists them. */

import { forget, waiting } from "./queue.js";
import { sendAll } from "./upload.js";

/** @typedef {import("./queue.js").WaitingTake} WaitingTake */

/**
 * Send what waits, as far as the connection goes.
 * @param {string} takes  address of the takes
 * @param {number} personId
 */
export async function catchUp(takes, personId) {
  await sendAll(takes, personId).catch(() => []);
  await showWaiting(personId);
}

/** Say which takes still wait on this device. @param {number} personId */
export async function showWaiting(personId) {
  const list = document.querySelector("[data-waiting]");
  if (!list) return;
  const takes = await waiting(personId).catch(() => []);
  const items = takes.map((take) => {
    const item = document.createElement("li");
    const when = new Date(take.recordedAt).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    item.textContent = `${take.title} at ${take.bpm}, ${when}${take.refused ? `: ${take.refused} ` : ""}`;
    if (take.refused) item.append(saveLink(take), dropButton(take));
    return item;
  });
  list.replaceChildren(...items);
  const box = /** @type {HTMLElement | null} */ (list.closest("[data-waiting-box]"));
  if (box) box.hidden = takes.length === 0;
}

/** @param {WaitingTake} take */
function saveLink(take) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(take.sound);
  link.download = `take-${take.recordedAt.slice(0, 10)}.${take.mediaType.includes("mp4") ? "m4a" : "webm"}`;
  link.textContent = "Save it as a file";
  return link;
}

/** @param {WaitingTake} take */
function dropButton(take) {
  const drop = document.createElement("button");
  drop.type = "button";
  drop.textContent = "Delete it here";
  drop.addEventListener("click", () => void forget(take.clientId).then(() => showWaiting(take.personId)));
  return drop;
}
