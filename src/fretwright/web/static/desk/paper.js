/**
 * The sheet a teacher writes on: a plain text field, and behind it the same lines with their numbers and with
 * what the check found, each at its place. The field grows with its text, so that line and number stay side
 * by side without any scrolling of their own.
 */

/**
 * One thing that the check found.
 * @typedef {object} Finding
 * @property {string} code
 * @property {"error" | "warning" | "advice"} severity
 * @property {number} line  from 1
 * @property {number} column  from 1
 * @property {string} text  the words it is about; may be empty
 * @property {string} message
 * @property {string} mend
 */

/** Signs in the margin: meaning is never carried by colour alone. */
export const SIGNS = { error: "✕", warning: "△", advice: "○" };
export const WORDS = { error: "Mistake", warning: "Doubt", advice: "Advice" };
const RANK = { error: 0, warning: 1, advice: 2 };

export class Paper {
  /**
   * @param {HTMLTextAreaElement} field
   * @param {HTMLElement} behind
   */
  constructor(field, behind) {
    this.field = field;
    this.behind = behind;
    /** @type {string[]} */
    this.lines = [];
    /** @type {Map<number, Finding[]>} */
    this.findings = new Map();
    field.addEventListener("scroll", () => (behind.scrollLeft = field.scrollLeft));
  }

  /** @returns {string} */
  get text() {
    return this.field.value;
  }

  /** @returns {number} line of the cursor, from 1 */
  get line() {
    return this.text.slice(0, this.field.selectionStart).split("\n").length;
  }

  /** @param {boolean} isOn  whether a long line goes on in the next row; tab is easier to read where none does */
  wrap(isOn) {
    this.field.parentElement?.classList.toggle("unwrapped", !isOn);
    this.redraw();
  }

  /** Bring what lies behind up to the text; only lines that changed are made anew. */
  redraw() {
    const lines = this.text.split("\n");
    while (this.behind.children.length > lines.length) this.behind.lastElementChild?.remove();
    lines.forEach((line, index) => {
      if (index >= this.behind.children.length) this.behind.append(document.createElement("div"));
      else if (this.lines[index] === line) return;
      this.fill(index, line);
    });
    this.lines = lines;
    this.field.style.height = `${this.behind.offsetHeight}px`;
  }

  /**
   * @param {Finding[]} findings
   */
  mark(findings) {
    const before = this.findings;
    this.findings = grouped(findings);
    for (const line of new Set([...before.keys(), ...this.findings.keys()])) {
      if (line <= this.lines.length) this.fill(line - 1, this.lines[line - 1]);
    }
  }

  /**
   * @param {number} index
   * @param {string} line
   */
  fill(index, line) {
    const row = this.behind.children[index];
    const found = this.findings.get(index + 1) ?? [];
    const worst = found.toSorted((one, other) => RANK[one.severity] - RANK[other.severity])[0];
    row.className = worst ? `line ${worst.severity}` : "line";
    row.setAttribute("data-sign", worst ? SIGNS[worst.severity] : "");
    row.replaceChildren();
    let at = 0;
    for (const { column, text, severity } of found.toSorted((one, other) => one.column - other.column)) {
      const start = column - 1;
      const end = Math.min(line.length, start + text.length);
      if (start < at || start >= end) continue;
      const mark = document.createElement("mark");
      mark.className = severity;
      mark.textContent = line.slice(start, end);
      row.append(line.slice(at, start), mark);
      at = end;
    }
    row.append(line.slice(at) || (at ? "" : "\u200b"));
  }

  /**
   * Put the cursor where a finding is, its words marked.
   * @param {Finding} finding
   */
  goTo({ line, column, text }) {
    const lines = this.text.split("\n");
    const row = Math.min(line, lines.length) - 1;
    const start = lines.slice(0, row).reduce((sum, each) => sum + each.length + 1, 0);
    const from = start + Math.min(column - 1, lines[row].length);
    this.field.focus({ preventScroll: true });
    this.field.setSelectionRange(from, Math.min(from + text.length, start + lines[row].length));
    this.behind.children[row]?.scrollIntoView({ block: "center" });
  }

  /**
   * Write lines before a row, as if they were typed, so that the browser's own undo takes them back.
   * @param {number} row  from 0
   * @param {string} text  ends with a line end
   */
  insert(row, text) {
    const lines = this.text.split("\n");
    const isAfterAll = row >= lines.length;
    const at = isAfterAll ? this.text.length : lines.slice(0, row).reduce((sum, each) => sum + each.length + 1, 0);
    const written = isAfterAll && this.text && !this.text.endsWith("\n") ? `\n${text}` : text;
    this.put(at, at, written);
    const block = at + Math.max(0, written.indexOf("```"));
    this.field.setSelectionRange(block, at + written.trimEnd().length);
    this.behind.children[Math.min(row, this.behind.children.length - 1)]?.scrollIntoView({ block: "center" });
  }

  /**
   * @param {string} text  in place of everything
   */
  replaceAll(text) {
    this.put(0, this.text.length, text);
    this.field.setSelectionRange(0, 0);
  }

  /**
   * @param {number} from
   * @param {number} to
   * @param {string} text
   */
  put(from, to, text) {
    this.field.focus({ preventScroll: true });
    this.field.setSelectionRange(from, to);
    // The only way of writing that a browser's undo knows; where it is gone, the text is set all the same.
    if (!document.execCommand("insertText", false, text)) {
      this.field.setRangeText(text, from, to, "end");
      this.field.dispatchEvent(new InputEvent("input", { bubbles: true }));
    }
  }
}

/**
 * @param {Finding[]} findings
 * @returns {Map<number, Finding[]>}
 */
function grouped(findings) {
  /** @type {Map<number, Finding[]>} */
  const found = new Map();
  for (const each of findings) found.set(each.line, [...(found.get(each.line) ?? []), each]);
  return found;
}
