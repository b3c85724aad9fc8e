"use strict";

/**
 * A sign of a note on a plate, in mm.
 * @typedef {[left: number, top: number, width: number, height: number, system: number]} Box
 */
/**
 * What the page says of one plate.
 * @typedef {object} Drawing
 * @property {number} width  in mm
 * @property {Record<string, Box[]>} boxes  by note id; several where a note stands in staff and tab, or is tied
 * @property {[top: number, height: number][]} systems
 */

const SVG = "http://www.w3.org/2000/svg";
/** White between a note and the frame drawn around it. */
const FRAME_GAP_MM = 0.55;
/** Most white between a bracket and the note that it opens or closes on. */
const BRACKET_GAP_MM = 1.6;
const BRACKET_FOOT_MM = 1.4;
/** How far from a note a press still means that note: half of a 24 pixel target and more. */
const REACH_PX = 28;

/** One engraved copy of an exercise, and what is drawn onto it while it is practised. */
class Plate {
  /**
   * @param {HTMLElement} holder
   * @param {Drawing} drawing
   */
  constructor(holder, { width, boxes, systems }) {
    this.holder = holder;
    this.boxes = boxes;
    this.systems = systems;
    const svg = holder.querySelector("svg");
    if (!(svg instanceof SVGSVGElement)) throw new Error("a plate without its drawing");
    this.svg = svg;
    /** User units in a mm. */
    this.unit = svg.viewBox.baseVal.width / width;
    this.brackets = this.layer("brackets");
    this.frames = this.layer("frames");
  }

  /** @param {string} name */
  layer(name) {
    const layer = document.createElementNS(SVG, "g");
    layer.setAttribute("class", `drawn ${name}`);
    layer.setAttribute("transform", `scale(${this.unit})`);
    layer.setAttribute("aria-hidden", "true");
    this.svg.append(layer);
    return layer;
  }

  /** @returns {boolean} whether it is the copy that is seen at this width */
  get isShown() {
    return this.holder.getClientRects().length > 0;
  }

  /**
   * Frame the notes that sound, with a pointer under each stack of them.
   * @param {string[]} ids
   * @param {boolean} yours  whether it is the student who plays them
   */
  frame(ids, yours) {
    this.frames.replaceChildren();
    this.frames.classList.toggle("yours", yours);
    for (const id of ids) {
      const boxes = this.boxes[id] || [];
      for (const box of boxes) this.frames.append(frameAround(box, id));
      const lowest = boxes.toSorted((one, other) => other[1] - one[1])[0];
      if (lowest) this.frames.append(pointerUnder(lowest));
    }
  }

  /**
   * Set brackets around the marked part.
   * @param {string | null} firstId
   * @param {string | null} lastId
   */
  bracket(firstId, lastId) {
    this.brackets.replaceChildren();
    if (firstId) this.brackets.append(this.bracketAt(firstId, -1));
    if (lastId) this.brackets.append(this.bracketAt(lastId, 1));
  }

  /**
   * A bracket over the height of a note's system, open towards the part.
   * @param {string} id
   * @param {-1 | 1} side  before the note or after it
   */
  bracketAt(id, side) {
    const boxes = this.boxes[id] || [];
    const bracket = document.createElementNS(SVG, "path");
    const box = side < 0 ? boxes[0] : boxes[boxes.length - 1];
    if (!box) return bracket;
    const [top, height] = this.systems[box[4]];
    const x = this.besideNote(boxes.filter((each) => each[4] === box[4]), side);
    const foot = -side * BRACKET_FOOT_MM;
    bracket.setAttribute("d", `M${x + foot} ${top - 1}h${-foot}v${height + 2}h${foot}`);
    return bracket;
  }

  /**
   * Half way from a note to its neighbour in the same system, or a little before or after it at the end of one.
   * @param {Box[]} own
   * @param {-1 | 1} side
   * @returns {number} mm from the left
   */
  besideNote(own, side) {
    const [lefts, rights] = [own.map(([left]) => left), own.map(([left, , width]) => left + width)];
    const edge = side < 0 ? Math.min(...lefts) : Math.max(...rights);
    const gaps = Object.values(this.boxes)
      .flat()
      .filter((box) => box[4] === own[0][4])
      .map(([left, , width]) => (side < 0 ? edge - left - width : left - edge))
      .filter((gap) => gap > 0);
    return edge + side * Math.min(BRACKET_GAP_MM, ...gaps.map((gap) => gap / 2));
  }

  /**
   * @param {PointerEvent | MouseEvent} event
   * @returns {string | null} id of the note nearest to where the plate was pressed
   */
  noteAt(event) {
    const matrix = this.svg.getScreenCTM();
    if (!matrix) return null;
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    const [x, y] = [place.x / this.unit, place.y / this.unit];
    let [nearest, distance] = [/** @type {string | null} */ (null), REACH_PX / (matrix.a * this.unit)];
    for (const [id, boxes] of Object.entries(this.boxes)) {
      for (const [left, top, width, height] of boxes) {
        const away = Math.hypot(
          Math.max(left - x, 0, x - left - width),
          Math.max(top - y, 0, y - top - height),
        );
        if (away < distance) [nearest, distance] = [id, away];
      }
    }
    return nearest;
  }

  /** Bring the frames into view if they lie outside it; never by a moving picture where none is wanted. */
  follow() {
    const frame = this.frames.firstElementChild;
    if (!frame || !this.isShown) return;
    const { top, bottom } = frame.getBoundingClientRect();
    if (top >= 0 && bottom <= window.innerHeight * 0.8) return;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    frame.scrollIntoView({ block: "center", behavior: still ? "instant" : "smooth" });
  }
}

/**
 * @param {Box} box
 * @param {string} id
 */
function frameAround([left, top, width, height], id) {
  const frame = document.createElementNS(SVG, "rect");
  frame.setAttribute("data-around", id);
  frame.setAttribute("x", String(left - FRAME_GAP_MM));
  frame.setAttribute("y", String(top - FRAME_GAP_MM));
  frame.setAttribute("width", String(width + 2 * FRAME_GAP_MM));
  frame.setAttribute("height", String(height + 2 * FRAME_GAP_MM));
  frame.setAttribute("rx", "0.7");
  return frame;
}

/** @param {Box} box */
function pointerUnder([left, top, width, height]) {
  const [x, y] = [left + width / 2, top + height + FRAME_GAP_MM + 0.35];
  const pointer = document.createElementNS(SVG, "path");
  pointer.setAttribute("d", `M${x} ${y}l1.2 2h-2.4z`);
  return pointer;
}
