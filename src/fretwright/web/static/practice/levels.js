/**
 * How loud an input is, and what is wrong with it. Pure: numbers in, words out.
 *
 * Levels are in dB below full scale. A take is refused by the ear below some -62 dB; a level meter that asks for
 * more keeps students clear of that.
 */

/**
 * What was heard during a check of some seconds.
 * @typedef {object} InputFacts
 * @property {number} peakDb  loudest moment
 * @property {number} floorDb  quietest tenth
 * @property {number} clippedShare  of all moments, those at the very top
 * @property {boolean} processed  whether the browser still changes the sound
 */

/** @typedef {"silent" | "quiet" | "clipping" | "noisy" | "processed" | "good"} InputVerdict */

const SILENT_DB = -60;
const QUIET_DB = -32;
const FULL = 0.985;
const CLIPPED_SHARE = 0.02;
/** A string has to stand out from the room by so much. */
const LEAST_ABOVE_FLOOR_DB = 18;

/**
 * @param {number} peak  from 0 to 1
 * @returns {number} dB below full scale, never less than -100
 */
export function decibels(peak) {
  return Math.max(-100, 20 * Math.log10(Math.max(peak, 1e-5)));
}

/**
 * @param {ArrayLike<number>} samples  from -1 to 1
 * @returns {number} the largest away from zero
 */
export function peakOf(samples) {
  let peak = 0;
  for (let at = 0; at < samples.length; at++) peak = Math.max(peak, Math.abs(samples[at]));
  return peak;
}

/**
 * @param {number[]} peaks  of successive moments, from 0 to 1
 * @param {boolean} processed
 * @returns {InputFacts}
 */
export function factsOf(peaks, processed) {
  const sorted = [...peaks].sort((one, other) => one - other);
  const floor = sorted[Math.floor(sorted.length / 10)] ?? 0;
  return {
    peakDb: decibels(sorted[sorted.length - 1] ?? 0),
    floorDb: decibels(floor),
    clippedShare: peaks.filter((peak) => peak >= FULL).length / Math.max(1, peaks.length),
    processed,
  };
}

/**
 * @param {InputFacts} facts
 * @returns {InputVerdict}
 */
export function verdictOn(facts) {
  if (facts.peakDb < SILENT_DB) return "silent";
  if (facts.clippedShare > CLIPPED_SHARE) return "clipping";
  if (facts.peakDb < QUIET_DB) return "quiet";
  if (facts.peakDb - facts.floorDb < LEAST_ABOVE_FLOOR_DB) return "noisy";
  return facts.processed ? "processed" : "good";
}

/**
 * @param {InputVerdict} verdict
 * @param {string} device  name of the microphone
 * @returns {string} what to do
 */
export function adviceFor(verdict, device) {
  const which = device ? `“${device}”` : "this microphone";
  return {
    silent: `Nothing comes from ${which}: choose another one below, or see whether it is muted.`,
    quiet: "Too quiet: move closer to the guitar, or turn the input up in your device's settings.",
    clipping: "Too loud, it clips: move away from the guitar, or turn the input down.",
    noisy: "The guitar hardly stands out from the room: move closer, and switch off what hums.",
    processed: "Good enough, though this browser keeps changing the sound: weak notes may be lost. Another browser, or a recording sent as a file, is better.",
    good: "Good: loud enough, and not too loud.",
  }[verdict];
}

/**
 * @param {InputVerdict} verdict
 * @returns {boolean} whether a take is worth recording like that
 */
export function isUsable(verdict) {
  return verdict === "good" || verdict === "processed" || verdict === "noisy";
}
