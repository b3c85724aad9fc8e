/** The list of what the check found, and what is said of it aloud. */

import { SIGNS, WORDS } from "./paper.js";

/** @typedef {import("./paper.js").Finding} Finding */

export class FindingList {
  /**
   * @param {HTMLElement} list
   * @param {HTMLElement} summary  a live region
   * @param {(finding: Finding) => void} goTo
   */
  constructor(list, summary, goTo) {
    this.list = list;
    this.summary = summary;
    this.goTo = goTo;
    /** @type {Finding[]} */
    this.findings = [];
  }

  /** @param {Finding[]} findings */
  show(findings) {
    this.findings = findings;
    const words = summed(findings);
    // A live region is read aloud when its words change, so it changes only when there is news.
    if (this.summary.textContent !== words) this.summary.textContent = words;
    const focused = [...this.list.children].indexOf(/** @type {Element} */ (document.activeElement?.parentElement));
    this.list.replaceChildren(...findings.map((each) => this.item(each)));
    if (focused >= 0) this.focus(Math.min(focused, findings.length - 1));
  }

  /** @param {Finding} finding */
  item(finding) {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.className = finding.severity;
    const sign = document.createElement("span");
    sign.className = "sign";
    sign.setAttribute("aria-hidden", "true");
    sign.textContent = SIGNS[finding.severity];
    const where = document.createElement("span");
    where.className = "where";
    where.textContent = `${WORDS[finding.severity]}, line ${finding.line}, column ${finding.column}`;
    const message = document.createElement("span");
    message.className = "message";
    message.textContent = finding.message;
    const mend = document.createElement("span");
    mend.className = "mend";
    mend.textContent = finding.mend;
    button.append(sign, where, message, mend);
    button.addEventListener("click", () => this.goTo(finding));
    item.append(button);
    return item;
  }

  /**
   * Go to the finding after the cursor, or before it.
   * @param {number} line
   * @param {1 | -1} step
   */
  step(line, step) {
    if (!this.findings.length) return;
    const found =
      step > 0
        ? this.findings.find((each) => each.line > line) ?? this.findings[0]
        : this.findings.findLast((each) => each.line < line) ?? this.findings.at(-1);
    if (found) this.goTo(found);
  }

  /** @param {number} index */
  focus(index) {
    this.list.children[index]?.querySelector("button")?.focus();
  }
}

/** @param {Finding[]} findings */
function summed(findings) {
  if (!findings.length) return "Nothing to mend.";
  const parts = /** @type {const} */ (["error", "warning", "advice"]).flatMap((severity) => {
    const count = findings.filter((each) => each.severity === severity).length;
    const word = WORDS[severity].toLowerCase();
    if (!count) return [];
    return [severity === "advice" ? `${count} of advice` : `${count} ${word}${count === 1 ? "" : "s"}`];
  });
  return `${parts.join(", ")}.`;
}
