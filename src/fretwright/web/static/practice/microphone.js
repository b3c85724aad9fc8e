/**
 * The microphone as it is: every correction that a browser offers is switched off, since with them on a steady
 * tone falls to a quarter of its level.
 */

import { adviceFor, decibels, factsOf, isUsable, peakOf, verdictOn } from "./levels.js";

/** @typedef {import("./levels.js").InputVerdict} InputVerdict */

const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
/** Containers that browsers record and the ear reads, the best first. */
const KINDS = ["audio/webm;codecs=opus", "audio/mp4;codecs=opus", "audio/mp4", "audio/ogg;codecs=opus", "audio/webm"];
const BITS_PER_S = 128000;
const METER_MS = 60;
/** How often the recorder hands over what it has: no long pause at the end while a whole take is put together. */
const SLICE_MS = 1000;

export class Microphone {
  /** @param {MediaStream} stream  @param {AudioContext} context */
  constructor(stream, context) {
    this.stream = stream;
    this.context = context;
    const source = context.createMediaStreamSource(stream);
    this.analyser = context.createAnalyser();
    this.analyser.fftSize = 4096;
    source.connect(this.analyser);
    this.samples = new Float32Array(this.analyser.fftSize);
    this.timer = 0;
  }

  /**
   * Ask for the microphone. Call it from within a press of a button.
   * @param {string} [deviceId]
   * @returns {Promise<Microphone>}
   */
  static async open(deviceId) {
    const audio = deviceId ? { ...AS_IT_IS, deviceId: { exact: deviceId } } : AS_IT_IS;
    const stream = await navigator.mediaDevices.getUserMedia({ audio, video: false });
    const context = new AudioContext({ latencyHint: "interactive" });
    await context.resume();
    return new Microphone(stream, context);
  }

  get track() {
    return this.stream.getAudioTracks()[0];
  }

  /** @returns {string} its name, once the browser tells it */
  get name() {
    return this.track?.label ?? "";
  }

  get deviceId() {
    return this.track?.getSettings().deviceId ?? "";
  }

  /** @returns {boolean} whether the browser changes the sound all the same */
  get isProcessed() {
    const settings = this.track?.getSettings() ?? {};
    return Boolean(settings.echoCancellation || settings.noiseSuppression || settings.autoGainControl);
  }

  /** @returns {number} the peak of the last tenth of a second, from 0 to 1 */
  peak() {
    this.analyser.getFloatTimeDomainData(this.samples);
    return peakOf(this.samples);
  }

  /**
   * Show the level as long as the microphone is open.
   * @param {(peakDb: number) => void} show
   */
  watch(show) {
    window.clearInterval(this.timer);
    this.timer = window.setInterval(() => show(decibels(this.peak())), METER_MS);
  }

  /**
   * Listen for some seconds and say what is wrong with the input.
   * @param {number} seconds
   * @returns {Promise<{verdict: InputVerdict, usable: boolean, words: string}>}
   */
  async check(seconds) {
    /** @type {number[]} */
    const peaks = [];
    const ends = performance.now() + 1000 * seconds;
    while (performance.now() < ends) {
      peaks.push(this.peak());
      await new Promise((resolve) => setTimeout(resolve, METER_MS));
    }
    const verdict = verdictOn(factsOf(peaks, this.isProcessed));
    return { verdict, usable: isUsable(verdict), words: adviceFor(verdict, this.name) };
  }

  /** @returns {Recording} already running */
  record() {
    return new Recording(this.stream);
  }

  close() {
    window.clearInterval(this.timer);
    for (const track of this.stream.getTracks()) track.stop();
    void this.context.close();
  }
}

/** One recording in the making. */
export class Recording {
  /** @param {MediaStream} stream */
  constructor(stream) {
    const mimeType = KINDS.find((kind) => MediaRecorder.isTypeSupported(kind)) ?? "";
    this.recorder = new MediaRecorder(stream, { mimeType, audioBitsPerSecond: BITS_PER_S });
    /** @type {Blob[]} */
    this.parts = [];
    this.recorder.addEventListener("dataavailable", (event) => {
      if (event.data.size) this.parts.push(event.data);
    });
    /** Moment on the page's clock at which it began, in ms. */
    this.startedMs = performance.now();
    this.recorder.addEventListener("start", () => (this.startedMs = performance.now()), { once: true });
    this.recorder.start(SLICE_MS);
  }

  get seconds() {
    return (performance.now() - this.startedMs) / 1000;
  }

  /** @returns {Promise<Blob>} all of it */
  async stop() {
    if (this.recorder.state !== "inactive") {
      const stopped = new Promise((resolve) => this.recorder.addEventListener("stop", resolve, { once: true }));
      this.recorder.stop();
      await stopped;
    }
    return new Blob(this.parts, { type: this.recorder.mimeType });
  }
}

/** @returns {Promise<{id: string, name: string}[]>} the microphones that there are */
export async function microphones() {
  const devices = await navigator.mediaDevices.enumerateDevices();
  return devices
    .filter((device) => device.kind === "audioinput" && device.deviceId)
    .map((device, at) => ({ id: device.deviceId, name: device.label || `Microphone ${at + 1}` }));
}

/**
 * @param {unknown} error  of asking for a microphone
 * @returns {string} what to do
 */
export function refusalWords(error) {
  const name = error instanceof Error ? error.name : "";
  if (name === "NotAllowedError") {
    return "This page may not use the microphone: allow it in the browser's address bar, or send a file.";
  }
  if (name === "NotFoundError" || name === "OverconstrainedError") {
    return "No microphone was found: plug one in, or send a file.";
  }
  if (name === "NotReadableError") return "The microphone is in use elsewhere: close the other program, or send a file.";
  return "The microphone cannot be opened here: send a file instead.";
}
