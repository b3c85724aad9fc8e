/** Questions to the school: JSON there and back, and the newest answer alone counts. */

/** What the school says when it cannot do what was asked. */
export class Refused extends Error {
  /**
   * @param {number} status
   * @param {any} answer
   */
  constructor(status, answer) {
    super(answer?.error?.message ?? "The school does not answer.");
    this.status = status;
    this.answer = answer;
    /** @type {string} */
    this.mend = answer?.error?.mend ?? "";
  }
}

/**
 * @param {string} address
 * @param {object} question
 * @param {AbortSignal} [signal]
 * @returns {Promise<any>}
 */
export async function ask(address, question, signal) {
  let response;
  try {
    response = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(question),
      credentials: "same-origin",
      signal,
    });
  } catch (error) {
    if (signal?.aborted) throw error;
    throw new Refused(0, { error: { message: "The school cannot be reached.", mend: "Try again in a moment." } });
  }
  const answer = await response.json().catch(() => null);
  if (!response.ok) throw new Refused(response.status, answer);
  return answer;
}

/** Asks again and again, and gives up each question when the next one is asked. */
export class Asker {
  /** @param {string} address */
  constructor(address) {
    this.address = address;
    /** @type {AbortController | null} */
    this.asking = null;
  }

  /**
   * @param {object} question
   * @returns {Promise<any>} the answer; never settles where another question has come since
   */
  async ask(question) {
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    try {
      const answer = await ask(this.address, question, asking.signal);
      // An answer may be broken off while it is read: it is then no answer, whatever was made of it.
      return asking.signal.aborted ? new Promise(() => {}) : answer;
    } catch (error) {
      if (asking.signal.aborted) return new Promise(() => {});
      throw error;
    }
  }
}

/**
 * A picture that the school drew, as an element of this page.
 * @param {string} svg
 * @returns {Element}
 */
export function picture(svg) {
  const read = new DOMParser().parseFromString(svg, "image/svg+xml");
  return document.importNode(read.documentElement, true);
}

/**
 * @template {Element} T
 * @param {ParentNode} parent
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T}
 */
export function part(parent, selector, kind) {
  const found = parent.querySelector(selector);
  if (!(found instanceof kind)) throw new Error(`the page has no ${selector}`);
  return found;
}
