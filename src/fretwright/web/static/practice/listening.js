/** Listening to a stretch of one's own take, and to the model after it. */

/** @type {AudioContext | null} */
let context = null;
/** @type {AudioBufferSourceNode | null} */
let sounding = null;
/** @type {Map<string, Promise<AudioBuffer>>} */
const decoded = new Map();

const FADE_S = 0.02;
const MOST_KEPT = 3;

/** @returns {AudioContext} */
function own() {
  context ??= new AudioContext();
  return context;
}

/**
 * @param {string} address  of the take's sound
 * @param {Blob} [sound]  the sound itself, where it was recorded just now
 * @returns {Promise<AudioBuffer>}
 */
function bufferOf(address, sound) {
  let buffer = decoded.get(address);
  if (!buffer) {
    const bytes = sound ? sound.arrayBuffer() : fetch(address).then((response) => response.arrayBuffer());
    buffer = bytes.then((data) => own().decodeAudioData(data));
    buffer.catch(() => decoded.delete(address));
    decoded.set(address, buffer);
    for (const oldest of [...decoded.keys()].slice(0, -MOST_KEPT)) decoded.delete(oldest);
  }
  return buffer;
}

/** Stop what sounds. */
export function hush() {
  sounding?.stop();
  sounding = null;
}

/**
 * Play a stretch of a take.
 * @param {object} what
 * @param {string} what.address
 * @param {Blob} [what.sound]
 * @param {number} what.fromS
 * @param {number} what.toS
 * @param {number} what.level  from 0 to 1
 * @returns {Promise<boolean>} once it is over: whether it was heard to its end
 */
export async function playTake({ address, sound, fromS, toS, level }) {
  hush();
  const player = own();
  await player.resume();
  const buffer = await bufferOf(address, sound);
  const source = player.createBufferSource();
  source.buffer = buffer;
  const gain = player.createGain();
  const [now, lengthS] = [player.currentTime + 0.02, Math.max(0.05, Math.min(toS, buffer.duration) - fromS)];
  gain.gain.setValueAtTime(0, now);
  gain.gain.linearRampToValueAtTime(level * level, now + FADE_S);
  gain.gain.setValueAtTime(level * level, now + lengthS - FADE_S);
  gain.gain.linearRampToValueAtTime(0, now + lengthS);
  source.connect(gain).connect(player.destination);
  source.start(now, fromS, lengthS);
  sounding = source;
  await new Promise((resolve) => (source.onended = resolve));
  const whole = sounding === source;
  if (whole) sounding = null;
  return whole;
}

/**
 * Let the player of the lesson play some notes once: the model of what was just heard.
 * @param {HTMLElement} section  of the exercise
 * @param {string} firstId
 * @param {string} lastId
 */
export function playModel(section, firstId, lastId) {
  const data = section.querySelector("[data-for-player]")?.textContent ?? "{}";
  /** @type {{id: string}[]} */
  const notes = JSON.parse(data).notes ?? [];
  const from = /** @type {HTMLSelectElement | null} */ (section.querySelector("[data-from]"));
  const to = /** @type {HTMLSelectElement | null} */ (section.querySelector("[data-to]"));
  const play = /** @type {HTMLButtonElement | null} */ (section.querySelector("[data-from-start]"));
  if (!from || !to || !play) return;
  from.value = String(notes.findIndex((note) => note.id === firstId));
  to.value = String(notes.findIndex((note) => note.id === lastId));
  to.dispatchEvent(new Event("change"));
  const once = /** @type {HTMLInputElement | null} */ (section.querySelector('.rounds input[value="once"]'));
  if (once) {
    once.checked = true;
    once.dispatchEvent(new Event("change"));
  }
  play.click();
}

/**
 * @param {HTMLElement} section
 * @returns {number} the level that the student has set for the model, from 0 to 1
 */
export function levelOf(section) {
  const input = /** @type {HTMLInputElement | null} */ (section.querySelector("[data-level]"));
  return input ? Number(input.value) / 100 : 0.5;
}

/** Pause whatever the lesson's own player plays. */
export function silenceModels() {
  for (const button of document.querySelectorAll('[data-now="playing"] [data-play]')) {
    if (button instanceof HTMLButtonElement) button.click();
  }
}
