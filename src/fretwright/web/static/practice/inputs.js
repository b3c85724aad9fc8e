/** The one microphone that all desks of a page share, and whether it was heard to be good enough. */

import { Microphone } from "./microphone.js";

const CHECKED = "fretwright-checked-input";

export class Inputs {
  /** @type {Microphone | null} */
  static microphone = null;
  static checked = "";

  /**
   * @param {string} [deviceId]  by default the one of last time
   * @returns {Promise<Microphone>}
   */
  static async open(deviceId) {
    const open = Inputs.microphone;
    if (open && open.track?.readyState === "live" && (!deviceId || open.deviceId === deviceId)) return open;
    open?.close();
    Inputs.microphone = await Microphone.open(deviceId || recall() || undefined).catch((error) => {
      // The microphone of last time may not be plugged in any more.
      if (deviceId || !recall()) throw error;
      return Microphone.open();
    });
    return Inputs.microphone;
  }

  /**
   * @param {Microphone} microphone
   * @returns {boolean} whether it needs no check before a take
   */
  static isChecked(microphone) {
    return Inputs.checked === microphone.deviceId || recall() === microphone.deviceId;
  }

  /** Note that it was heard to be good enough. @param {Microphone} microphone */
  static check(microphone) {
    Inputs.checked = microphone.deviceId;
    try {
      localStorage.setItem(CHECKED, microphone.deviceId);
    } catch {
      // Then it is checked again next time.
    }
  }
}

/** @returns {string} id of the microphone that was checked last */
function recall() {
  try {
    return localStorage.getItem(CHECKED) ?? "";
  } catch {
    return "";
  }
}
