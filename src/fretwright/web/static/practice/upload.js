/**
 * Sends a take piece by piece. A connection may break at any byte: what arrived is asked for, and the rest is sent.
 */

import { forget, keep, waiting } from "./queue.js";

/** @typedef {import("./queue.js").WaitingTake} WaitingTake */

const PIECE_BYTES = 256 * 1024;
const TRIES = 6;
const FIRST_WAIT_MS = 400;
const LONGEST_WAIT_MS = 15000;

/** The server was reached and will not have it: sending again would not help. */
export class Refused extends Error {}

/** The server cannot be reached now, or does not know who asks. */
export class Unreached extends Error {}

/** Nobody is signed in: the take waits until somebody is. */
export class SignedOut extends Unreached {}

/**
 * @param {string} address
 * @param {RequestInit} request
 * @returns {Promise<Response>}
 */
async function ask(address, request) {
  let response;
  try {
    response = await fetch(address, { credentials: "same-origin", cache: "no-store", ...request });
  } catch (error) {
    throw new Unreached(String(error));
  }
  if (response.ok || response.status === 409) return response;
  if (response.status === 401) throw new SignedOut(String(response.status));
  if (response.status >= 500 || response.status === 429 || response.status === 408) {
    throw new Unreached(String(response.status));
  }
  throw new Refused(await refusalOf(response));
}

/**
 * @param {Response} response
 * @returns {Promise<string>} what the server says is wrong
 */
async function refusalOf(response) {
  try {
    const body = await response.json();
    return [body.error?.message, body.error?.mend].filter(Boolean).join(" ") || `refused (${response.status})`;
  } catch {
    return `refused (${response.status})`;
  }
}

/**
 * Send one take; it is forgotten here only once the server says that it is received.
 * @param {string} takes  address of the takes
 * @param {WaitingTake} take
 * @param {(share: number) => void} [progress]
 * @returns {Promise<number>} the take's number
 */
export async function send(takes, take, progress = () => {}) {
  let wait = FIRST_WAIT_MS;
  for (let attempt = 1; ; attempt++) {
    try {
      const number = await sendOnce(takes, take, progress);
      await forget(take.clientId);
      return number;
    } catch (error) {
      if (error instanceof Refused) await keep({ ...take, refused: error.message });
      const hopeless = error instanceof Refused || error instanceof SignedOut;
      if (hopeless || attempt === TRIES || !navigator.onLine) throw error;
      await new Promise((resolve) => setTimeout(resolve, wait));
      wait = Math.min(LONGEST_WAIT_MS, 2 * wait);
    }
  }
}

/**
 * Where a take stands, as the school says it.
 * @typedef {object} Standing
 * @property {number} id
 * @property {string} state
 * @property {number} offset  how many bytes are safe there
 */

/**
 * @param {string} takes
 * @param {WaitingTake} take
 * @param {(share: number) => void} progress
 */
async function sendOnce(takes, take, progress) {
  const size = take.sound.size;
  let now = await standing(takes, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({
      client_id: take.clientId,
      exercise: take.exercise,
      tempo_bpm: take.bpm,
      latency_ms: take.latencyMs,
      media_type: take.mediaType,
      recorded_at: take.recordedAt,
    }),
  });
  while (now.state === "arriving" && now.offset < size) {
    const piece = take.sound.slice(now.offset, now.offset + PIECE_BYTES);
    const response = await ask(`${takes}/${now.id}/content`, {
      method: "PATCH",
      headers: { "Content-Type": "application/octet-stream", "Upload-Offset": String(now.offset) },
      body: piece,
    });
    // Another count there than here: a piece arrived whose answer was lost.
    now = response.status === 409 ? await standing(`${takes}/${now.id}`, {}) : await response.json();
    progress(Math.min(1, now.offset / size));
  }
  if (now.state === "arriving") {
    await standing(`${takes}/${now.id}/finish`, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ size_bytes: size, sha256: await sha256(take.sound) }),
    });
  }
  return now.id;
}

/**
 * @param {string} address
 * @param {RequestInit} request
 * @returns {Promise<Standing>}
 */
async function standing(address, request) {
  const response = await ask(address, request);
  if (response.status === 409) throw new Unreached("the school's count is another");
  return response.json();
}

/**
 * @param {Blob} sound
 * @returns {Promise<string | null>} its digest in hexadecimal; null where the browser makes none
 */
async function sha256(sound) {
  // Only pages of a secure origin may; the size is compared all the same.
  if (!crypto.subtle) return null;
  const digest = await crypto.subtle.digest("SHA-256", await sound.arrayBuffer());
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Send everything that waits, the oldest first, until the connection fails.
 * @param {string} takes
 * @param {number} personId
 * @param {(take: WaitingTake, number: number) => void} [sent]
 * @returns {Promise<WaitingTake[]>} what is still here
 */
export async function sendAll(takes, personId, sent = () => {}) {
  for (const take of await waiting(personId)) {
    if (take.refused) continue;
    try {
      sent(take, await send(takes, take));
    } catch (error) {
      if (!(error instanceof Refused)) break;
    }
  }
  return waiting(personId);
}
