/** One desk for takes: the input is checked, counted in, recorded, sent, and what was heard is shown. */

import { bookClicks, pageMoment } from "./clicks.js";
import { measureDelay } from "./delay.js";
import { Inputs } from "./inputs.js";
import { keptLatency } from "./latency.js";
import { hush, levelOf, playModel, playTake, silenceModels } from "./listening.js";
import { microphones, refusalWords } from "./microphone.js";
import { keep, newId } from "./queue.js";
import { Refused, send, SignedOut } from "./upload.js";
import { showWaiting } from "./waiting.js";

/** @typedef {import("./queue.js").WaitingTake} WaitingTake */
/** @typedef {import("./microphone.js").Microphone} Microphone */
/** @typedef {import("./microphone.js").Recording} Recording */
/** @typedef {"idle" | "checking" | "counting" | "recording" | "sending" | "judging"} DeskState */

export const TAKES = "/api/takes";
const VERDICTS = "/practice/takes";
const CHECK_S = 3;
const LONGEST_S = 290;
const PATIENCE_MS = 180000;
const AGAIN_MS = 1500;
const SETTLED = new Set(["judged", "refused", "failed"]);
/** The last click of the count is over by then, and the recorder has time to start before the music. */
const AFTER_CLICK_S = 0.06;

export class TakeDesk {
  /**
   * @param {HTMLElement} desk
   * @param {HTMLElement} heard  where verdicts are shown
   * @param {HTMLElement} section  of its exercise
   * @param {number} personId
   */
  constructor(desk, heard, section, personId) {
    this.desk = desk;
    this.section = section;
    this.personId = personId;
    this.exercise = desk.dataset.takeDesk ?? "";
    this.title = section.querySelector("h2")?.textContent ?? this.exercise;
    this.beats = Number(desk.dataset.beats);
    this.record = button(desk, "[data-record]");
    this.check = button(desk, "[data-check]");
    this.status = part(desk, "[data-take-state]");
    this.clock = part(desk, "[data-take-clock]");
    this.meter = /** @type {HTMLMeterElement} */ (part(desk, "[data-meter]"));
    this.meterRow = part(desk, "[data-meter-row]");
    this.devices = /** @type {HTMLSelectElement} */ (part(desk, "[data-devices]"));
    this.count = /** @type {HTMLInputElement} */ (part(desk, "[data-take-count]"));
    this.heard = heard;
    /** @type {DeskState} */
    this.state = "idle";
    /** @type {Recording | null} */
    this.recording = null;
    /** @type {() => void} */
    this.stopCount = () => {};
    /** Moment of the page's clock at which the music was due. @type {number | null} */
    this.musicMs = null;
    this.timer = 0;
    /** The take recorded last, kept for listening and for its place against the click. @type {WaitingTake | null} */
    this.last = null;
    this.file = /** @type {HTMLInputElement} */ (part(desk, "[data-file]"));
    this.file.addEventListener("change", () => void this.sendFile());
    this.record.addEventListener("click", () => void this.pressed());
    window.addEventListener("beforeunload", (event) => {
      // Until it is kept on the device, a take would be lost with the page.
      if (this.state === "recording") event.preventDefault();
    });
    this.check.addEventListener("click", () => void this.examine());
    this.devices.addEventListener("change", () => void this.examine(this.devices.value));
    part(desk, "[data-measure]").addEventListener("click", () => void this.measure());
    this.heard.addEventListener("click", (event) => void this.inHeard(event));
  }

  get bpm() {
    const chosen = /** @type {HTMLInputElement | null} */ (this.section.querySelector(".ladder input:checked"));
    return Number(chosen?.value ?? 60);
  }

  async pressed() {
    if (this.state === "recording") return this.finish();
    if (this.state === "counting") return this.abandon();
    if (this.state !== "idle") return;
    try {
      const microphone = await this.ready();
      if (microphone) await this.begin(microphone);
    } catch (error) {
      this.enter("idle", refusalWords(error));
    }
  }

  /** @returns {Promise<Microphone | null>} null where the input was only checked, and Record is to be pressed again */
  async ready() {
    const microphone = await Inputs.open();
    this.showMeter(microphone);
    if (Inputs.isChecked(microphone)) return microphone;
    await this.examine();
    return null;
  }

  /**
   * Listen to the input before the first take.
   * @param {string} [deviceId]
   * @returns {Promise<boolean>}
   */
  async examine(deviceId) {
    if (this.state !== "idle") return false;
    try {
      const microphone = await Inputs.open(deviceId);
      this.showMeter(microphone);
      await this.listDevices(microphone);
      this.enter("checking", `Play a few notes as loud as you will play: listening for ${CHECK_S} seconds.`);
      const { usable, words } = await microphone.check(CHECK_S);
      if (usable) Inputs.check(microphone);
      this.enter("idle", usable ? `${words} Press Record when you are ready.` : words);
      return usable;
    } catch (error) {
      this.enter("idle", refusalWords(error));
      return false;
    }
  }

  /** @param {Microphone} microphone */
  async begin(microphone) {
    silenceModels();
    hush();
    this.showWritten();
    this.musicMs = null;
    if (this.count.checked) {
      const { context } = microphone;
      const beatS = 60 / this.bpm;
      const booked = bookClicks(context, { count: this.beats, beatS, beats: this.beats, level: levelOf(this.section) });
      let gone = false;
      this.stopCount = () => {
        gone = true;
        booked.stop();
      };
      this.enter("counting", `Count-in: ${this.beats} clicks at ${this.bpm}. Press Stop to leave it.`);
      const lastS = booked.timesS[booked.timesS.length - 1];
      await sleep(pageMoment(context, lastS + AFTER_CLICK_S) - performance.now());
      if (gone) return;
      this.musicMs = pageMoment(context, lastS + beatS);
    }
    this.recording = microphone.record();
    this.enter("recording", `Recording at ${this.bpm}. Press Stop when the last note has rung out.`);
    this.timer = window.setInterval(() => this.tick(), 200);
  }

  tick() {
    const seconds = this.recording?.seconds ?? 0;
    this.clock.textContent = `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
    if (seconds > LONGEST_S) void this.finish();
  }

  abandon() {
    this.stopCount();
    this.enter("idle", "Stopped before the first note. Press Record to begin again.");
  }

  async finish() {
    const { recording } = this;
    if (!recording) return;
    this.recording = null;
    window.clearInterval(this.timer);
    this.clock.textContent = "";
    this.enter("sending", "Sending your take.");
    const sound = await recording.stop();
    const startedMs = recording.startedMs;
    const take = {
      clientId: newId(),
      personId: this.personId,
      exercise: this.exercise,
      title: this.title,
      bpm: this.bpm,
      mediaType: sound.type,
      recordedAt: new Date(Date.now() - (performance.now() - startedMs)).toISOString(),
      latencyMs: keptLatency(Inputs.microphone?.deviceId ?? ""),
      beatS: this.musicMs === null ? null : (this.musicMs - startedMs) / 1000,
      sound,
    };
    this.last = take;
    await this.deliver(take);
  }

  /** Send a recording that was made elsewhere. */
  async sendFile() {
    const file = this.file.files?.[0];
    if (!file || this.state !== "idle") return;
    this.enter("sending", `Sending ${file.name}.`);
    const take = {
      clientId: newId(),
      personId: this.personId,
      exercise: this.exercise,
      title: this.title,
      bpm: this.bpm,
      mediaType: /^(audio|video)\//.test(file.type) ? file.type : "audio/wav",
      recordedAt: new Date(file.lastModified).toISOString(),
      latencyMs: null,
      beatS: null,
      sound: file,
    };
    this.last = take;
    await this.deliver(take);
    this.file.value = "";
  }

  /** @param {WaitingTake} take */
  async deliver(take) {
    // A browser that keeps nothing sends it all the same.
    await keep(take).catch(() => {});
    try {
      const number = await send(TAKES, take, (share) => this.say(`Sending your take: ${Math.round(100 * share)} %.`));
      await this.judged(number);
    } catch (error) {
      if (error instanceof Refused) this.enter("idle", `This take was not accepted: ${error.message}`);
      else if (error instanceof SignedOut) this.enter("idle", "You are signed out. The take is kept here and sent once you have signed in.");
      else this.enter("idle", "No connection. The take is kept on this device and sent when there is one.");
    }
    await showWaiting(this.personId);
  }

  /** Wait for the verdicts and show them. @param {number} number */
  async judged(number) {
    this.enter("judging", "Received. The ear is listening.");
    const ends = performance.now() + PATIENCE_MS;
    while (performance.now() < ends) {
      // The school answers as soon as there is news.
      const news = await fetch(`${TAKES}/${number}?wait_s=20`, { cache: "no-store" }).catch(() => null);
      const state = news?.ok ? (await news.json()).state : "";
      if (SETTLED.has(state)) {
        const response = await fetch(`${VERDICTS}/${number}/verdicts`, { cache: "no-store" });
        if (response.status === 200) return this.show(await response.text());
      }
      await sleep(news?.ok ? 0 : AGAIN_MS);
    }
    this.enter("idle", "The ear is busy. The take is received; its verdicts will stand on the page Progress.");
  }

  /** @param {string} html  written by the server */
  show(html) {
    this.heard.innerHTML = html;
    this.heard.hidden = false;
    const told = /** @type {HTMLElement | null} */ (this.heard.querySelector("[data-verdicts]"));
    this.section.classList.toggle("heard-shown", told !== null && told.querySelector("svg") !== null);
    if (told) againstClick(told, this.last);
    const headline = this.heard.querySelector("[data-headline]")?.textContent?.trim() ?? "";
    this.enter("idle", headline ? `Heard: ${headline}` : "The ear has answered.");
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.heard.scrollIntoView({ block: "start", behavior: still ? "instant" : "smooth" });
  }

  /** Show the plate as it is written. */
  showWritten() {
    this.section.classList.remove("heard-shown");
  }

  /** A press inside the verdicts. @param {MouseEvent} event */
  async inHeard(event) {
    const pressed = event.target instanceof Element ? event.target.closest("button") : null;
    if (!pressed) return;
    if (pressed.matches("[data-toggle-plate]")) {
      const shown = this.section.classList.toggle("heard-shown");
      pressed.setAttribute("aria-pressed", String(!shown));
      return;
    }
    if (pressed.matches("[data-hush]")) {
      hush();
      silenceModels();
      return;
    }
    const told = /** @type {HTMLElement | null} */ (pressed.closest("[data-verdicts]"));
    if (!told || !pressed.dataset.firstNote) return;
    const { fromS, toS, firstNote, lastNote, bar } = pressed.dataset;
    silenceModels();
    const isOwn = this.last !== null && this.last.clientId === told.dataset.client;
    this.say(`Your take, bar ${bar}.`);
    const whole = await playTake({
      address: told.dataset.sound ?? "",
      sound: isOwn && this.last ? this.last.sound : undefined,
      fromS: Number(fromS),
      toS: Number(toS),
      level: levelOf(this.section),
    }).catch(() => {
      this.say("The recording cannot be played here.");
      return false;
    });
    if (!whole) return;
    this.say(`The model, bar ${bar}.`);
    playModel(this.section, firstNote ?? "", lastNote ?? "");
  }

  async measure() {
    if (this.state !== "idle") return;
    try {
      const microphone = await Inputs.open();
      this.showMeter(microphone);
      this.enter("checking", "Take the headphones off, and be quiet: six clicks come from the loudspeaker.");
      const words = await measureDelay(microphone, levelOf(this.section));
      this.enter("idle", words);
    } catch (error) {
      this.enter("idle", refusalWords(error));
    }
  }

  /** @param {Microphone} microphone */
  showMeter(microphone) {
    this.meterRow.hidden = false;
    microphone.watch((peakDb) => {
      this.meter.value = Math.max(this.meter.min, peakDb);
      this.meter.textContent = `${Math.round(peakDb)} dB`;
    });
  }

  /** @param {Microphone} microphone */
  async listDevices(microphone) {
    const found = await microphones();
    this.devices.replaceChildren(
      ...found.map(({ id, name }) => new Option(name, id, false, id === microphone.deviceId)),
    );
    part(this.desk, "[data-device-row]").hidden = found.length < 2;
  }

  /** @param {DeskState} state  @param {string} words */
  enter(state, words) {
    this.state = state;
    this.desk.dataset.doing = state;
    this.record.textContent = state === "recording" || state === "counting" ? "Stop" : "Record a take";
    this.record.disabled = state === "checking" || state === "sending" || state === "judging";
    this.check.disabled = state !== "idle";
    this.say(words);
  }

  /** @param {string} words  shown, and read out by a screen reader */
  say(words) {
    if (this.status.textContent !== words) this.status.textContent = words;
  }
}

/**
 * Say where the first note lay against the click, the device's delay taken out.
 * @param {HTMLElement} told
 * @param {WaitingTake | null} take
 */
function againstClick(told, take) {
  const line = told.querySelector("[data-against-click]");
  if (!line || !take || take.clientId !== told.dataset.client || take.beatS === null) return;
  if (take.latencyMs === null) {
    line.textContent = "This device's delay was never measured, so nothing is said of playing before or after the click.";
    return;
  }
  const offMs = Math.round(1000 * (Number(told.dataset.startS) - take.beatS) - take.latencyMs);
  const where = offMs < 0 ? "before" : "after";
  line.textContent =
    Math.abs(offMs) > 1000
      ? ""
      : `Your first note came about ${Math.abs(offMs)} ms ${where} the beat that the count led to; ` +
        `this device's own delay of ${Math.round(take.latencyMs)} ms is taken out.`;
}

/** @param {number} ms */
function sleep(ms) {
  return new Promise((resolve) => setTimeout(resolve, Math.max(0, ms)));
}

/** @param {Element} parent  @param {string} selector  @returns {HTMLElement} */
function part(parent, selector) {
  const found = parent.querySelector(selector);
  if (!(found instanceof HTMLElement)) throw new Error(`the page lacks ${selector}`);
  return found;
}

/** @param {Element} parent  @param {string} selector */
function button(parent, selector) {
  return /** @type {HTMLButtonElement} */ (part(parent, selector));
}
