/**
 * A fretboard to press: a table of switches, one for each place. The arrow keys go from place to place, the space
 * bar or a press switches one, so that nothing needs a pointer.
 */

/**
 * @typedef {object} BoardShape
 * @property {string[]} strings  names of the open strings, the highest first
 * @property {number} frets
 * @property {boolean} oneEach  whether a string has one place at most, as in a chord
 */

export class Board {
  /**
   * @param {HTMLTableElement} table
   * @param {BoardShape} shape
   * @param {() => void} onChange
   */
  constructor(table, shape, onChange) {
    this.table = table;
    this.shape = shape;
    this.onChange = onChange;
    /** @type {HTMLButtonElement[][]} by string and fret */
    this.places = [];
    this.build();
    table.addEventListener("click", (event) => this.press(event));
    table.addEventListener("keydown", (event) => this.move(event));
  }

  build() {
    const head = this.table.createTHead().insertRow();
    head.append(headCell("String", "col"));
    for (let fret = 0; fret <= this.shape.frets; fret++) head.append(headCell(fret ? String(fret) : "open", "col"));
    const body = this.table.createTBody();
    this.shape.strings.forEach((name, index) => {
      const row = body.insertRow();
      row.append(headCell(name, "row"));
      this.places.push([]);
      for (let fret = 0; fret <= this.shape.frets; fret++) {
        const button = document.createElement("button");
        button.type = "button";
        button.tabIndex = index || fret ? -1 : 0;
        button.setAttribute("aria-pressed", "false");
        button.setAttribute("aria-label", `String ${index + 1}, ${fret ? `fret ${fret}` : "open"}`);
        button.dataset.string = String(index + 1);
        button.dataset.fret = String(fret);
        row.insertCell().append(button);
        this.places[index].push(button);
      }
    });
  }

  /** @param {Event} event */
  press(event) {
    const button = event.target;
    if (!(button instanceof HTMLButtonElement)) return;
    const isOn = button.getAttribute("aria-pressed") !== "true";
    if (isOn && this.shape.oneEach) {
      const string = this.places[Number(button.dataset.string) - 1];
      for (const other of string) other.setAttribute("aria-pressed", "false");
    }
    button.setAttribute("aria-pressed", String(isOn));
    this.rove(button);
    this.onChange();
  }

  /** @param {KeyboardEvent} event */
  move(event) {
    const button = event.target;
    if (!(button instanceof HTMLButtonElement)) return;
    const string = Number(button.dataset.string) - 1;
    const fret = Number(button.dataset.fret);
    /** @type {Record<string, [number, number]>} */
    const steps = {
      ArrowLeft: [string, fret - 1],
      ArrowRight: [string, fret + 1],
      ArrowUp: [string - 1, fret],
      ArrowDown: [string + 1, fret],
      Home: [string, 0],
      End: [string, this.shape.frets],
    };
    const to = steps[event.key];
    const next = to && this.places[to[0]]?.[to[1]];
    if (!next) return;
    event.preventDefault();
    this.rove(next);
    next.focus();
  }

  /** @param {HTMLButtonElement} button  the one that the tab key comes to from now on */
  rove(button) {
    for (const each of this.places.flat()) each.tabIndex = each === button ? 0 : -1;
  }

  /** @returns {[string: number, fret: number][]} */
  get pressed() {
    return this.places
      .flat()
      .filter((each) => each.getAttribute("aria-pressed") === "true")
      .map((each) => [Number(each.dataset.string), Number(each.dataset.fret)]);
  }

  /** @returns {string} frets from the lowest string up, as guitarists write them: x-3-2-0-1-0 */
  get frets() {
    const held = new Map(this.pressed);
    const strings = this.shape.strings.map((_, index) => held.get(index + 1));
    return strings
      .toReversed()
      .map((fret) => (fret === undefined ? "x" : String(fret)))
      .join("-");
  }

  clear() {
    for (const each of this.places.flat()) each.setAttribute("aria-pressed", "false");
    this.onChange();
  }
}

/**
 * @param {string} words
 * @param {"row" | "col"} scope
 */
function headCell(words, scope) {
  const cell = document.createElement("th");
  cell.scope = scope;
  cell.textContent = words;
  return cell;
}
