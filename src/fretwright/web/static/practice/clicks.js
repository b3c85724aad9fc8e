/** Clicks at exact times, for the count-in and for measuring a device's delay. */

const CLICK_S = 0.03;
const SOON_S = 0.25;

/**
 * @param {AudioContext} context
 * @param {boolean} accented
 */
function click(context, accented) {
  const rate = context.sampleRate;
  const buffer = context.createBuffer(1, Math.round(CLICK_S * rate), rate);
  const samples = buffer.getChannelData(0);
  const hz = accented ? 1760 : 1320;
  for (let at = 0; at < samples.length; at++) {
    samples[at] = Math.sin((2 * Math.PI * hz * at) / rate) * Math.exp((-6 * at) / samples.length);
  }
  return buffer;
}

/**
 * Book clicks, the first of each bar accented.
 * @param {AudioContext} context
 * @param {object} how
 * @param {number} how.count
 * @param {number} how.beatS  seconds from one to the next
 * @param {number} how.beats  in a bar
 * @param {number} how.level  from 0 to 1
 * @returns {{timesS: number[], stop: () => void}} when they sound, on the context's clock
 */
export function bookClicks(context, { count, beatS, beats, level }) {
  const gain = context.createGain();
  // What lies between silence and full follows the ear, not the volts.
  gain.gain.value = level * level;
  gain.connect(context.destination);
  const startS = context.currentTime + SOON_S;
  /** @type {number[]} */
  const timesS = [];
  /** @type {AudioBufferSourceNode[]} */
  const sources = [];
  const [plain, accented] = [click(context, false), click(context, true)];
  for (let at = 0; at < count; at++) {
    const source = context.createBufferSource();
    source.buffer = at % beats === 0 ? accented : plain;
    source.connect(gain);
    source.start(startS + at * beatS);
    timesS.push(startS + at * beatS);
    sources.push(source);
  }
  return { timesS, stop: () => sources.forEach((source) => source.stop()) };
}

/**
 * A moment of an audio context on the page's clock: when it leaves the computer, as far as the browser knows.
 * @param {AudioContext} context
 * @param {number} timeS
 * @returns {number} ms, as performance.now() counts
 */
export function pageMoment(context, timeS) {
  return performance.now() + 1000 * (timeS - context.currentTime);
}
