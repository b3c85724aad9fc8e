"use strict";

/** What scripts have delivered and nobody has taken yet. */
const delivered = {
  /** @type {Map<string, RungSound>} */
  rungs: new Map(),
  clicks: { plain: "", accented: "" },
};

/** The names by which the scripts of sounds hand over what they carry. */
const fretwright = {
  /** @param {RungSound} rung */
  deliverRung(rung) {
    delivered.rungs.set(rungKey(rung.exercise, rung.bpm), rung);
  },
  /** @param {{plain: string, accented: string}} clicks */
  deliverClicks(clicks) {
    delivered.clicks = clicks;
  },
};

/**
 * Load one rung. A page opened from a folder may not fetch, but it may add a script.
 * @param {string} address  of the rung's script
 * @param {string} exercise
 * @param {number} bpm
 * @returns {Promise<RungSound>}
 */
function loadRung(address, exercise, bpm) {
  return new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = () => {
      script.remove();
      const rung = delivered.rungs.get(rungKey(exercise, bpm));
      delivered.rungs.delete(rungKey(exercise, bpm));
      if (rung) resolve(rung);
      else reject(new Error(`${address} holds another sound`));
    };
    script.onerror = () => {
      script.remove();
      reject(new Error(`${address} cannot be loaded`));
    };
    document.head.append(script);
  });
}

/**
 * @param {string} exercise
 * @param {number} bpm
 */
function rungKey(exercise, bpm) {
  return `${exercise} at ${bpm}`;
}

/**
 * @param {string} base64
 * @returns {ArrayBuffer}
 */
function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at++) bytes[at] = text.charCodeAt(at);
  return bytes.buffer;
}
