/** Measuring the delay of a device: clicks out of the loudspeaker, into the microphone, through the recorder. */

import { bookClicks, pageMoment } from "./clicks.js";
import { delayOf, keepLatency } from "./latency.js";

/** @typedef {import("./microphone.js").Microphone} Microphone */

const CLICKS = 6;
const APART_S = 0.7;
const TAIL_S = 0.8;

/**
 * @param {Microphone} microphone
 * @param {number} level  of the clicks, from 0 to 1
 * @returns {Promise<string>} what came of it
 */
export async function measureDelay(microphone, level) {
  const { context } = microphone;
  const recording = microphone.record();
  const { timesS } = bookClicks(context, { count: CLICKS, beatS: APART_S, beats: CLICKS, level });
  const momentsMs = timesS.map((timeS) => pageMoment(context, timeS));
  const ends = momentsMs[momentsMs.length - 1] + 1000 * TAIL_S;
  await new Promise((resolve) => setTimeout(resolve, ends - performance.now()));
  const sound = await recording.stop();
  const buffer = await context.decodeAudioData(await sound.arrayBuffer());
  const clicksS = momentsMs.map((moment) => (moment - recording.startedMs) / 1000);
  const delayMs = delayOf(buffer.getChannelData(0), buffer.sampleRate, clicksS);
  if (delayMs === null) {
    return "The clicks could not be heard: take the headphones off, turn the loudspeaker up a little, and try again.";
  }
  keepLatency(microphone.deviceId, delayMs);
  return `This device records what it plays ${Math.round(delayMs)} ms late. From now on that is not taken for your playing.`;
}
