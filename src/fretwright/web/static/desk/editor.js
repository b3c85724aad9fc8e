/** The editor: paper, findings, preview, helpers and saving, brought together. */

import { Asker, part, Refused } from "./asking.js";
import { FindingList } from "./findings.js";
import { startHelpers } from "./helpers.js";
import { Paper } from "./paper.js";
import { PreviewPane } from "./preview.js";
import { Saving } from "./saving.js";

/** A pause in typing: the time from the last key until the lesson is looked at. */
const PAUSE_MS = 30;
/** A longer one, after which the whole course is looked at. */
const LONG_PAUSE_MS = 700;

/** @param {HTMLElement} desk */
function startEditor(desk) {
  const file = desk.dataset.file ?? "";
  const field = part(desk, "textarea", HTMLTextAreaElement);
  const paper = new Paper(field, part(desk, "[data-behind]", HTMLElement));
  const list = new FindingList(
    part(desk, "[data-findings]", HTMLElement),
    part(desk, "[data-summary]", HTMLElement),
    (finding) => paper.goTo(finding),
  );
  const preview = desk.querySelector("[data-preview]");
  const written = () => ({ file, text: paper.text });
  const pane = preview instanceof HTMLElement ? new PreviewPane(preview, written) : null;
  const quick = new Asker(desk.dataset.quick ?? "");
  const whole = new Asker(desk.dataset.whole ?? "");
  const narrow = window.matchMedia("(max-width: 40rem)");
  let soon = 0;
  let later = 0;
  let lookedAt = -1;

  /** @type {import("./paper.js").Finding[]} said of the whole course alone, as of the last long pause */
  let late = [];
  /** @type {import("./paper.js").Finding[]} */
  let found = [];

  const show = () => {
    const known = new Set(found.map(named));
    const all = [...found, ...late.filter((each) => !known.has(named(each)))];
    all.sort((one, other) => one.line - other.line || one.column - other.column);
    paper.mark(all);
    list.show(all);
  };

  const look = async () => {
    lookedAt = paper.line;
    try {
      const answer = await quick.ask({ file, text: paper.text, line: lookedAt, narrow: narrow.matches });
      found = answer.findings;
      show();
      pane?.show(answer.block, answer.shown);
      desk.dataset.looked = String(Number(desk.dataset.looked ?? 0) + 1);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      list.summary.textContent = `${error.message} ${error.mend}`;
    }
  };

  const lookAtAll = async () => {
    const before = new Set(found.map(named));
    try {
      const answer = await whole.ask({ file, text: paper.text });
      late = answer.findings.filter((/** @type {import("./paper.js").Finding} */ each) => !before.has(named(each)));
      show();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
    }
  };

  const typed = () => {
    clearTimeout(soon);
    clearTimeout(later);
    soon = window.setTimeout(look, PAUSE_MS);
    later = window.setTimeout(lookAtAll, LONG_PAUSE_MS);
  };

  paper.redraw();
  const saving = new Saving(part(desk, "form[data-save]", HTMLFormElement), file, paper);
  field.addEventListener("input", () => {
    paper.redraw();
    saving.note();
    typed();
  });
  document.addEventListener("selectionchange", () => {
    if (document.activeElement === field && paper.line !== lookedAt) {
      clearTimeout(soon);
      soon = window.setTimeout(look, PAUSE_MS);
    }
  });
  const wrap = part(desk, "[data-wrap]", HTMLInputElement);
  part(desk, "[data-wrap-choice]", HTMLElement).hidden = false;
  wrap.addEventListener("change", () => paper.wrap(wrap.checked));
  window.addEventListener("resize", () => paper.redraw());
  narrow.addEventListener("change", () => void look());
  document.fonts.ready.then(() => paper.redraw());
  part(desk, "[data-next]", HTMLButtonElement).addEventListener("click", () => list.step(paper.line, 1));
  part(desk, "[data-before]", HTMLButtonElement).addEventListener("click", () => list.step(paper.line, -1));
  const helpers = desk.querySelector("[data-helpers]");
  if (helpers instanceof HTMLElement) startHelpers(helpers, paper);
  desk.classList.add("alive");
  void look().then(lookAtAll);
}

/** @param {import("./paper.js").Finding} finding */
function named(finding) {
  return [finding.code, finding.line, finding.column, finding.message].join("\n");
}

for (const desk of document.querySelectorAll("[data-editor]")) {
  if (desk instanceof HTMLElement) startEditor(desk);
}
