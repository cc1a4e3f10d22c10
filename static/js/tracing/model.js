/**
 * A tracing as the page holds it: what the server has said, and over it what was changed here and is not saved yet.
 * Places are pixels of the original picture, y down. Pure but for the memory of its last reading.
 */
import { Face, measureFace } from "./measures.js";

export const same = (one, other) =>
  one === other || (Boolean(one && other) && one.x === other.x && one.y === other.y && one.uncertain === other.uncertain);

export const sameRow = (one, other) => JSON.stringify(one) === JSON.stringify(other);

export class Tracing {
  /** `formulas` is page_data of imaging/tracing/formulas.py, `state` that of imaging/tracing/selectors.py. */
  constructor(formulas, state) {
    this.formulas = formulas;
    this.measures = formulas.measures;
    this.edits = new Map();
    this.outlineEdits = new Map();
    this.planeWaits = false;
    this.why = "";
    this.take(state);
  }

  /** Take what the server says; what was changed here and is not saved stays on top. */
  take(state) {
    this.state = state;
    if (!this.planeWaits) this.plane = state.mandibular_plane;
    for (const [key, at] of this.edits) if (same(at, state.points[key] ?? null)) this.edits.delete(key);
    for (const [key, row] of this.outlineEdits) if (sameRow(row, state.outlines[key] ?? null)) this.outlineEdits.delete(key);
  }

  /** Where a point lies, as { x, y, uncertain }; null when it is not placed. */
  point(key) {
    return this.edits.has(key) ? this.edits.get(key) : (this.state.points[key] ?? null);
  }

  /** Change a point here; null takes it away. */
  edit(key, at) {
    if (same(at, this.state.points[key] ?? null)) this.edits.delete(key);
    else this.edits.set(key, at);
  }

  /** The row of knots of an outline: a landmark's key or [x, y]; null while nobody has drawn it. */
  outline(key) {
    return this.outlineEdits.has(key) ? this.outlineEdits.get(key) : (this.state.outlines[key] ?? null);
  }

  /** Change an outline here; null takes it away. */
  editOutline(key, row) {
    if (sameRow(row, this.state.outlines[key] ?? null)) this.outlineEdits.delete(key);
    else this.outlineEdits.set(key, row);
  }

  /** How many changes made here are not saved. */
  get unsaved() {
    return this.edits.size + this.outlineEdits.size;
  }

  get points() {
    const found = { ...this.state.points };
    for (const [key, at] of this.edits) {
      if (at) found[key] = at;
      else delete found[key];
    }
    return found;
  }

  /** The side of the picture to which the patient faces: right or left; "up" or "down" when the head lies. */
  get faces() {
    return this.state.faces;
  }

  /** The face in its own frame, profile to +x, y up, in millimetres with a scale; null while the head lies. */
  face() {
    const { axes, calibrated, scale_sd_percent: scaleSd } = this.state;
    if (!axes) return null;
    const spots = {};
    for (const [key, { x, y, uncertain }] of Object.entries(this.points)) {
      spots[key] = { x: axes[0] * x + axes[1] * y, y: axes[2] * x + axes[3] * y, sd: this.#sd(key, uncertain) };
    }
    return new Face(spots, { calibrated, scaleSd, plane: this.plane }, this.formulas);
  }

  /** The deviation of a coordinate in millimetres: the reader's own where known, more when uncertain. */
  #sd(key, uncertain) {
    const { point_sd: usual, uncertain_sd: more } = this.formulas;
    const own = this.state.own_sds?.[key] ?? usual;
    return uncertain ? (own * more) / usual : own;
  }

  /** From the frame of the face back to pixels of the original. */
  onOriginal({ x, y }) {
    const [a, b, c, d] = this.state.axes;
    const area = a * d - b * c;
    return { x: (d * x - b * y) / area, y: (a * y - c * x) / area };
  }

  /** The same points on the original picture, to draw lines between placed and constructed ones. */
  onPicture() {
    return new Face(this.points, { calibrated: false, plane: this.plane }, this.formulas);
  }

  /** All measures by key, or an empty map while the head lies or is mirrored; `why` then says so. */
  read() {
    const face = this.face();
    const mirrored = face?.mirroredAt();
    this.why = face ? "" : this.state.why;
    if (mirrored) {
      const { chin, line } = mirrored;
      this.why =
        `${chin.join(", ")} ${chin.length > 1 ? "lie" : "lies"} above ${line}, as in a mirrored or upside-down picture. ` +
        "Check to which side the patient faces, and where these points lie.";
    }
    return face && !mirrored ? measureFace(face, this.measures) : new Map();
  }

  /** Of a landmark: placed, uncertain, made (of others), or missing. */
  standing(key) {
    const at = this.point(key);
    if (at) return at.uncertain ? "uncertain" : "placed";
    const ways = this.formulas.constructed[key]?.ways ?? [];
    return ways.some((way) => way.every((part) => this.point(part))) ? "made" : "missing";
  }

  /** What a landmark that is not placed is made of, in words; empty when it is not. */
  madeOf(key) {
    const ways = this.formulas.constructed[key]?.ways ?? [];
    return ways.find((way) => way.every((part) => this.point(part)))?.join(" and ") ?? "";
  }

  /** The next landmark of the list that is missing, after `key`, around the end; null when none is. */
  nextMissing(key) {
    const order = this.formulas.landmarks.map((one) => one.key);
    const from = order.indexOf(key) + 1;
    const turned = [...order.slice(from), ...order.slice(0, from)];
    return turned.find((one) => this.standing(one) === "missing") ?? null;
  }
}
