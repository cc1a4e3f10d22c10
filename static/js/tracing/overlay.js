/** Lines, outlines and teeth of a tracing over the picture, each drawn twice, to be seen on light and dark. */
import { controlsOf, pathOf, rowOf, teeth } from "./curves.js";

const SVG = "http://www.w3.org/2000/svg";
/** Lines go on beyond their points by this share of their length, their names a little farther. */
const BEYOND = 0.12;
const NAME_BEYOND = 0.16;
/** Lines that are named at their front or lower end; the others at the start, where fewer points lie. */
const NAMED_AT_END = new Set(["mandibular"]);
/** Teeth are named by their points. */
const UNNAMED = new Set(["upper incisor", "lower incisor"]);
const PLANES = { go_me: "Go-Me", go_gn: "Go-Gn", tangent: "tangent" };

export class Overlay {
  constructor(view, tracing) {
    Object.assign(this, { view, tracing });
    this.drawn = new Map();
    this.shown = { lines: true, outlines: true };
    /** The outline being drawn, which stands out. */
    this.inHand = null;
  }

  draw() {
    const face = this.tracing.onPicture();
    for (const [name, start, end] of this.tracing.formulas.lines) this.#line(name, face.at(start), face.at(end));
    for (const structure of this.tracing.formulas.structures) this.#outline(structure, face);
    this.#teeth();
  }

  #line(name, from, to) {
    const there = this.shown.lines && from && to && (from.x !== to.x || from.y !== to.y);
    if (!there) {
      this.#path(`line ${name}`, "");
      this.view.label({ key: name, x: 0, y: 0, label: "" });
      return;
    }
    const step = { x: (to.x - from.x) * BEYOND, y: (to.y - from.y) * BEYOND };
    this.#path(`line ${name}`, `M${from.x - step.x} ${from.y - step.y}L${to.x + step.x} ${to.y + step.y}`);
    if (UNNAMED.has(name)) return;
    const atEnd = NAMED_AT_END.has(name);
    const at = atEnd ? to : from;
    const out = (atEnd ? NAME_BEYOND : -NAME_BEYOND) / BEYOND;
    const plane = name === "mandibular" ? ` ${PLANES[this.tracing.plane]}` : "";
    const anchor = this.#anchor({ x: step.x * out, y: step.y * out });
    this.view.label({ key: name, x: at.x + step.x * out, y: at.y + step.y * out, label: `${name}${plane}`, anchor });
  }

  /** Words go on the way the line goes; beside a steep line they stand on the side of the back of the head. */
  #anchor({ x, y }) {
    const [xx, yx, xy, yy] = this.view.matrix;
    const [across, down] = [xx * x + xy * y, yx * x + yy * y];
    const forward = Math.abs(across) > Math.abs(down) ? across > 0 : this.tracing.faces === "left";
    return forward ? "start" : "end";
  }

  #outline(structure, face) {
    const stored = this.tracing.outline(structure.key);
    const place = (key) => face.at(key);
    const row = this.shown.outlines || structure.key === this.inHand ? rowOf(structure, stored, place) : null;
    const d = row ? pathOf(controlsOf(row, place), structure.closed) : "";
    this.#path(`outline ${structure.key}`, d, `view-outline${stored ? "" : " view-suggested"}${structure.key === this.inHand ? " view-in-hand" : ""}`);
  }

  /** Teeth are made in the frame of the face, which knows what is up and forward, and laid back on the picture. */
  #teeth() {
    const face = this.shown.outlines ? this.tracing.face() : null;
    const found = face ? teeth(face, this.tracing.formulas.tooth_shapes) : {};
    for (const key of ["U1", "L1", "U6", "L6"]) {
      this.#path(`tooth ${key}`, found[key] ? pathOf(found[key].map((spot) => this.tracing.onOriginal(spot)), true) : "", "view-outline view-tooth");
    }
  }

  #path(name, d, more = "") {
    if (!d && !this.drawn.has(name)) return;
    if (!this.drawn.has(name)) {
      const paths = [0, 1].map(() => document.createElementNS(SVG, "path"));
      for (const path of paths) path.dataset.drawn = name;
      this.view.lines.append(...paths);
      this.drawn.set(name, paths);
    }
    const [under, over] = this.drawn.get(name);
    under.setAttribute("class", `view-line view-line-under ${more}`);
    over.setAttribute("class", `view-line ${more}`);
    for (const path of [under, over]) path.setAttribute("d", d);
  }
}
