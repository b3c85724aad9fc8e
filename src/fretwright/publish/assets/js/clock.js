"use strict";

/** Rate of all our sounds; a browser that keeps another converts while decoding. */
const OUR_RATE = 48000;
/** A cut into ringing strings is smoothed over this long before its first frame ... */
const FADE_IN_S = 0.004;
/** ... and after its last. */
const FADE_OUT_S = 0.03;

/** How long a browser may take to start its sound. */
const WAKE_MS = 4000;

/** A piece of sound that has been given a time. @typedef {{source: AudioBufferSourceNode, gain: GainNode}} Booked */

/**
 * The one clock of a page: everything that sounds is booked here for a whole frame of one audio context,
 * so that music and clicks cannot drift apart.
 */
class Clock {
  /**
   * @param {BaseAudioContext} context
   * @param {{plain: AudioBuffer, accented: AudioBuffer}} clicks
   */
  constructor(context, clicks) {
    this.context = context;
    this.clicks = clicks;
    this.rate = context.sampleRate;
    this.master = context.createGain();
    this.master.connect(context.destination);
    this.clickLevel = context.createGain();
    this.clickLevel.connect(this.master);
    /** @type {Set<Booked>} */
    this.booked = new Set();
  }

  /** @returns {Clock} on the loudspeakers; call it from within a press of a button, as browsers demand */
  static live() {
    let context;
    try {
      context = new AudioContext({ sampleRate: OUR_RATE, latencyHint: "interactive" });
    } catch {
      context = new AudioContext();
    }
    return new Clock(context, {
      plain: clickBuffer(context, delivered.clicks.plain),
      accented: clickBuffer(context, delivered.clicks.accented),
    });
  }

  get isRunning() {
    return this.context.state === "running";
  }

  /**
   * Start the context, or start it again after the browser has put it to sleep.
   * @returns {Promise<boolean>} whether it runs: without anything to play on, some browsers wait for ever
   */
  async wake() {
    if (this.context instanceof AudioContext && !this.isRunning) {
      await Promise.race([this.context.resume(), new Promise((resolve) => setTimeout(resolve, WAKE_MS))]);
    }
    return this.isRunning;
  }

  /** @returns {number} the next frame that can still be booked */
  get nextFrame() {
    return Math.ceil(this.context.currentTime * this.rate);
  }

  /** @returns {number} the frame that is heard right now: what has been rendered less what is on its way */
  get heardFrame() {
    const context = this.context;
    if (!(context instanceof AudioContext)) return context.currentTime * this.rate;
    const stamp = context.getOutputTimestamp ? context.getOutputTimestamp() : null;
    if (stamp && stamp.contextTime && stamp.performanceTime) {
      const heardS = stamp.contextTime + (performance.now() - stamp.performanceTime) / 1000;
      return Math.min(heardS, context.currentTime) * this.rate;
    }
    return (context.currentTime - (context.outputLatency || context.baseLatency || 0)) * this.rate;
  }

  /** @param {number} share  0 is silence, 1 the full level; what lies between follows the ear, not the volts */
  setLevel(share) {
    this.master.gain.setTargetAtTime(share * share, this.context.currentTime, 0.02);
  }

  /** @param {boolean} on */
  setClick(on) {
    this.clickLevel.gain.setTargetAtTime(on ? 1 : 0, this.context.currentTime, 0.005);
  }

  /**
   * Book a piece of audio.
   * @param {AudioBuffer} buffer
   * @param {number} at  frame of the clock at which its first frame sounds
   * @param {number} from  first frame of the buffer
   * @param {number} until  frame of the buffer after the last
   */
  bookSound(buffer, at, from, until) {
    const lead = Math.min(Math.round(FADE_IN_S * this.rate), from, at);
    const tail = Math.round(FADE_OUT_S * this.rate);
    const gain = this.context.createGain();
    gain.connect(this.master);
    gain.gain.setValueAtTime(lead > 0 ? 0 : 1, (at - lead) / this.rate);
    if (lead > 0) gain.gain.linearRampToValueAtTime(1, at / this.rate);
    const end = at + until - from;
    gain.gain.setValueAtTime(1, end / this.rate);
    gain.gain.linearRampToValueAtTime(0, (end + tail) / this.rate);
    this.book(buffer, gain, at - lead, from - lead, until - from + lead + tail);
  }

  /**
   * Book one click.
   * @param {number} at
   * @param {boolean} accented
   * @param {boolean} always  heard even where clicks are switched off: a count-in, a round of one's own
   */
  bookClick(at, accented, always) {
    const buffer = accented ? this.clicks.accented : this.clicks.plain;
    const gain = this.context.createGain();
    gain.connect(always ? this.master : this.clickLevel);
    this.book(buffer, gain, at, 0, buffer.length);
  }

  /**
   * @param {AudioBuffer} buffer
   * @param {GainNode} gain
   * @param {number} at
   * @param {number} from
   * @param {number} frames
   */
  book(buffer, gain, at, from, frames) {
    const source = this.context.createBufferSource();
    source.buffer = buffer;
    source.connect(gain);
    const booked = { source, gain };
    this.booked.add(booked);
    source.onended = () => {
      this.booked.delete(booked);
      gain.disconnect();
    };
    source.start(at / this.rate, from / this.rate, frames / this.rate);
  }

  /** Stop what sounds, softly, and forget what was booked. */
  silence() {
    const now = this.context.currentTime;
    for (const { source, gain } of this.booked) {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setTargetAtTime(0, now, 0.006);
      source.stop(now + 0.05);
    }
    this.booked.clear();
  }
}

/**
 * @param {BaseAudioContext} context
 * @param {string} base64  16-bit samples at our rate, one channel
 */
function clickBuffer(context, base64) {
  const samples = new Int16Array(bytesOf(base64));
  const buffer = context.createBuffer(1, samples.length, OUR_RATE);
  buffer.copyToChannel(Float32Array.from(samples, (sample) => sample / 32768), 0);
  return buffer;
}
