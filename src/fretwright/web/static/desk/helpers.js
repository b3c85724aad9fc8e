/** The helpers: what is picked, pressed or held becomes text at the cursor. */

import { Asker, part, picture, Refused } from "./asking.js";
import { Board } from "./board.js";

/** @typedef {import("./paper.js").Paper} Paper */

/**
 * What the school offers to write.
 * @typedef {object} Offer
 * @property {string} says
 * @property {number} row
 * @property {string} text
 */

/**
 * @param {HTMLElement} panel
 * @param {Paper} paper
 */
export function startHelpers(panel, paper) {
  const shape = { strings: (panel.dataset.strings ?? "").split(" "), frets: Number(panel.dataset.frets) };
  byRule(part(panel, "[data-helper=rule]", HTMLElement), paper);
  byNeck(part(panel, "[data-helper=neck]", HTMLElement), paper, shape);
  byChord(part(panel, "[data-helper=chord]", HTMLElement), paper, { ...shape, frets: Math.min(shape.frets, 12) });
}

/**
 * @param {HTMLElement} helper
 * @param {Paper} paper
 */
function byRule(helper, paper) {
  const form = part(helper, "form", HTMLFormElement);
  const asker = new Asker(helper.dataset.address ?? "");
  const said = part(helper, "[data-said]", HTMLElement);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const choices = Object.fromEntries(new FormData(form));
    void told(said, async () => {
      const { offers } = await asker.ask({ text: paper.text, line: paper.line, choices });
      write(paper, offers[0], said);
    });
  });
}

/**
 * @param {HTMLElement} helper
 * @param {Paper} paper
 * @param {{strings: string[], frets: number}} shape
 */
function byNeck(helper, paper, shape) {
  const asker = new Asker(helper.dataset.address ?? "");
  const said = part(helper, "[data-said]", HTMLElement);
  const offered = part(helper, "[data-offers]", HTMLElement);
  const board = new Board(part(helper, "table", HTMLTableElement), { ...shape, oneEach: false }, () => {
    if (!board.pressed.length) return clear(offered, said);
    void told(said, async () => {
      const { offers } = await asker.ask({ text: paper.text, line: paper.line, places: board.pressed });
      show(offered, offers, (offer) => write(paper, offer, said));
    });
  });
  part(helper, "[data-clear]", HTMLButtonElement).addEventListener("click", () => board.clear());
}

/**
 * @param {HTMLElement} helper
 * @param {Paper} paper
 * @param {{strings: string[], frets: number}} shape
 */
function byChord(helper, paper, shape) {
  const asker = new Asker(helper.dataset.address ?? "");
  const said = part(helper, "[data-said]", HTMLElement);
  const offered = part(helper, "[data-offers]", HTMLElement);
  const diagram = part(helper, "[data-diagram]", HTMLElement);
  const board = new Board(part(helper, "table", HTMLTableElement), { ...shape, oneEach: true }, () => {
    diagram.replaceChildren();
    if (!board.pressed.length) return clear(offered, said);
    void told(said, async () => {
      const answer = await asker.ask({ text: paper.text, line: paper.line, frets: board.frets });
      diagram.replaceChildren(picture(answer.diagram));
      show(offered, answer.offers, (offer) => write(paper, offer, said));
    });
  });
  part(helper, "[data-clear]", HTMLButtonElement).addEventListener("click", () => board.clear());
}

/**
 * @param {HTMLElement} offered
 * @param {Offer[]} offers
 * @param {(offer: Offer) => void} take
 */
function show(offered, offers, take) {
  offered.replaceChildren(
    ...offers.map((offer) => {
      const item = document.createElement("li");
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = `Write: ${offer.says}`;
      button.addEventListener("click", () => take(offer));
      item.append(button);
      return item;
    }),
  );
}

/**
 * @param {HTMLElement} offered
 * @param {HTMLElement} said
 */
function clear(offered, said) {
  offered.replaceChildren();
  said.textContent = "";
}

/**
 * @param {Paper} paper
 * @param {Offer} offer
 * @param {HTMLElement} said
 */
function write(paper, { row, text }, said) {
  paper.insert(row, text);
  said.textContent = "Written into the lesson.";
}

/**
 * Do something, and say in the page what kept it from being done.
 * @param {HTMLElement} said
 * @param {() => Promise<void>} doing
 */
async function told(said, doing) {
  try {
    said.textContent = "";
    await doing();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    said.textContent = `${error.message} ${error.mend}`;
  }
}
