/**
 * How late this device records what it plays: clicks go out of the loudspeaker and are found again in the
 * recording. Measured once for a device and kept apart from playing early, which is no fault.
 */

/** Longest delay that is believed, in seconds. */
const LONGEST_S = 0.6;
/** A click has to stand out from what lies before it by this factor. */
const STANDS_OUT = 6;
/** Delays of single clicks may differ by this much, in seconds. */
const AGREE_S = 0.012;

/**
 * @param {Float32Array} samples  of the recording
 * @param {number} rate  frames a second
 * @param {number[]} clicksS  when each click went out, on the recording's clock
 * @returns {number | null} the delay in ms, or null where the clicks cannot be found
 */
export function delayOf(samples, rate, clicksS) {
  const found = clicksS
    .map((clickS) => onsetAfter(samples, rate, clickS))
    .filter((onset) => onset !== null)
    .sort((one, other) => one - other);
  if (found.length < Math.max(3, clicksS.length / 2)) return null;
  const middle = found[Math.floor(found.length / 2)];
  const agreeing = found.filter((delay) => Math.abs(delay - middle) <= AGREE_S);
  if (agreeing.length < found.length / 2) return null;
  return Math.round((10000 * agreeing.reduce((sum, delay) => sum + delay, 0)) / agreeing.length) / 10;
}

/**
 * @param {Float32Array} samples
 * @param {number} rate
 * @param {number} clickS
 * @returns {number | null} seconds from the click to its first rise in the recording
 */
function onsetAfter(samples, rate, clickS) {
  const from = Math.max(0, Math.round(clickS * rate));
  const until = Math.min(samples.length, from + Math.round(LONGEST_S * rate));
  const before = Math.max(0, from - Math.round(0.05 * rate));
  let noise = 1e-4;
  for (let at = before; at < from; at++) noise = Math.max(noise, Math.abs(samples[at]));
  let loudest = 0;
  for (let at = from; at < until; at++) loudest = Math.max(loudest, Math.abs(samples[at]));
  if (loudest < STANDS_OUT * noise) return null;
  for (let at = from; at < until; at++) {
    if (Math.abs(samples[at]) >= loudest / 4) return (at - from) / rate;
  }
  return null;
}

const KEY = "fretwright-latency";

/** @typedef {{microphone: string, ms: number}} KeptLatency */

/**
 * @param {string} microphone  its id; another microphone has another delay
 * @returns {number | null}
 */
export function keptLatency(microphone) {
  try {
    const kept = /** @type {KeptLatency | null} */ (JSON.parse(localStorage.getItem(KEY) ?? "null"));
    return kept && kept.microphone === microphone ? kept.ms : null;
  } catch {
    return null;
  }
}

/**
 * @param {string} microphone
 * @param {number} ms
 */
export function keepLatency(microphone, ms) {
  try {
    localStorage.setItem(KEY, JSON.stringify({ microphone, ms }));
  } catch {
    // A browser that keeps nothing measures again next time.
  }
}
