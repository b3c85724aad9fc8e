"use strict";

/**
 * One rung as its script delivers it. Times are seconds from the first sample of the audio.
 * @typedef {object} RungSound
 * @property {string} exercise
 * @property {number} bpm
 * @property {number} starts  where the first bar starts
 * @property {number} ends  where the last bar ends
 * @property {number} length  of the audio
 * @property {[id: string, onset: number, duration: number][]} notes  in order of onset
 * @property {[start: number, number: number, beats: number, beatLength: number][]} bars  in playing order
 * @property {[time: number, beat: number][]} beats
 * @property {string} audio  base64
 */

/**
 * One click: in a round its frame counts from the round's start, in a count-in back from the music.
 * @typedef {{frame: number, bar: number, beat: number}} Tick
 */

/**
 * What is played again and again, in whole frames so that no round is longer than another.
 * @typedef {object} Round
 * @property {number} fileStart  first frame of the audio
 * @property {number} fileEnd  frame of the audio after the last
 * @property {number} frames  from the start of one round to the start of the next
 * @property {{id: string, from: number, to: number}[]} notes  frames from the round's start
 * @property {Tick[]} ticks
 * @property {number} startS  where in the audio it starts, in seconds
 */

/** Times closer than this are the same: less than half a sample. */
const SAME_S = 1e-5;

/**
 * The stretch from one note to another the first time they are played in that order.
 * @param {RungSound} rung
 * @param {string | null} firstId  null for the start of the exercise
 * @param {string | null} lastId  null for its end
 * @returns {{startS: number, endS: number}}
 */
function stretchOf(rung, firstId, lastId) {
  const first = firstId === null ? -1 : rung.notes.findIndex(([id]) => id === firstId);
  const startS = first < 0 ? rung.starts : rung.notes[first][1];
  const last = rung.notes.find(([id, onset]) => id === lastId && onset >= startS - SAME_S);
  return { startS, endS: last ? last[1] + last[2] : rung.ends };
}

/**
 * How many beats have gone by at a time, with their fraction.
 * @param {RungSound} rung
 * @param {number} timeS
 */
function beatsGone(rung, timeS) {
  let gone = 0;
  for (let at = 0; ; at++) {
    const [start, , , beatLength] = rung.bars[at];
    const following = rung.bars[at + 1];
    if (!following || timeS < following[0] - SAME_S) return gone + (timeS - start) / beatLength;
    gone += (following[0] - start) / beatLength;
  }
}

/**
 * @param {RungSound} rung
 * @param {number} timeS
 * @returns {number} index of the played bar in which the time falls
 */
function barAt(rung, timeS) {
  let at = 0;
  while (at + 1 < rung.bars.length && timeS >= rung.bars[at + 1][0] - SAME_S) at++;
  return at;
}

/**
 * A stretch as a round. It is lengthened to a whole number of beats, so that the pulse goes on evenly
 * from one round into the next.
 * @param {RungSound} rung
 * @param {{startS: number, endS: number}} stretch
 * @param {number} rate  frames a second
 * @returns {Round}
 */
function planRound(rung, { startS, endS }, rate) {
  const beats = beatsGone(rung, endS) - beatsGone(rung, startS);
  const missing = Math.ceil(beats - 1e-3) - beats;
  const roundS = endS - startS + Math.max(0, missing) * rung.bars[barAt(rung, endS - SAME_S * 2)][3];
  const frame = (/** @type {number} */ timeS) => Math.round((timeS - startS) * rate);
  return {
    startS,
    fileStart: Math.round(startS * rate),
    // The last note may ring out into the start of the next round, as it does on a guitar.
    fileEnd: Math.round((endS < rung.ends - SAME_S ? endS : rung.length) * rate),
    frames: Math.round(roundS * rate),
    notes: rung.notes
      .filter(([, onset]) => onset >= startS - SAME_S && onset < endS - SAME_S)
      .map(([id, onset, duration]) => ({ id, from: frame(onset), to: frame(Math.min(endS, onset + duration)) })),
    ticks: ticksBetween(rung, startS, endS, startS + roundS).map(({ timeS, bar, beat }) => ({
      frame: frame(timeS),
      bar,
      beat,
    })),
  };
}

/**
 * The beats of a stretch, counted on in the same pulse until the round is full.
 * @param {RungSound} rung
 * @param {number} startS
 * @param {number} endS
 * @param {number} untilS
 */
function ticksBetween(rung, startS, endS, untilS) {
  const ticks = [];
  const [, bar, count, beatLength] = rung.bars[barAt(rung, endS - SAME_S * 2)];
  // A pickup shorter than a beat has none of its own; the one before the first is imagined.
  let [timeS, beat] = [rung.beats[0][0] - beatLength, rung.beats[0][1] - 1];
  for (const [time, number] of rung.beats) {
    if (time >= endS - SAME_S) break;
    [timeS, beat] = [time, number];
    if (time >= startS - SAME_S) ticks.push({ timeS, bar: rung.bars[barAt(rung, time)][1], beat });
  }
  for (timeS += beatLength; timeS < untilS - SAME_S; timeS += beatLength) {
    beat = (beat % count) + 1;
    if (timeS >= startS - SAME_S) ticks.push({ timeS, bar, beat });
  }
  return ticks;
}

/**
 * The count that leads to a place: one full bar, and then the beats of the place's own bar before it.
 * @param {RungSound} rung
 * @param {number} timeS
 * @param {number} rate
 * @returns {{frames: number, ticks: Tick[]}} its length, and ticks with frames below 0
 */
function countInTo(rung, timeS, rate) {
  const at = barAt(rung, timeS);
  const [start, number, count, beatLength] = rung.bars[at];
  const following = rung.bars[at + 1];
  // A pickup bar is counted as if it were full.
  const barStart = number === 0 && following ? following[0] - count * beatLength : start;
  const fromS = barStart - count * beatLength;
  const ticks = [];
  for (let beat = 0; fromS + beat * beatLength < timeS - SAME_S; beat++) {
    const frame = Math.round((fromS + beat * beatLength - timeS) * rate);
    ticks.push({ frame, bar: number, beat: (beat % count) + 1 });
  }
  return { frames: -ticks[0].frame, ticks };
}
