/**
 * The outlines: a list of the structures, and one in hand whose knots are set by pressing along it, dragged, nudged
 * and taken away. A press close to a placed landmark makes that landmark a knot, which then follows it.
 */
import { nearest } from "../picture-view/mapping.js";
import { controlsOf, placeFor, rowOf } from "./curves.js";

const KNOT = "knot ";
const MOST_KNOTS = 60;
/** A press so near to a landmark, in screen pixels, means the landmark. */
const SNAP = 8;

export class Outlines {
  /** `actions`: save(key, name), drawn(), say(words), leave() when one comes into hand. */
  constructor(root, view, tracing, overlay, actions) {
    Object.assign(this, { root, view, tracing, overlay, actions });
    this.structures = new Map(tracing.formulas.structures.map((one) => [one.key, one]));
    this.marks = new Map();
    root.addEventListener("click", (event) => {
      const key = event.target.closest("[data-structure]")?.dataset.structure;
      if (key) this.take(key === this.inHand ? null : key);
      const press = event.target.closest("[data-outline-do]")?.dataset.outlineDo;
      if (press === "done") this.take(null);
      if (press === "remove") this.#removeAll();
    });
  }

  get inHand() {
    return this.overlay.inHand;
  }

  owns(key) {
    return key?.startsWith(KNOT) ?? false;
  }

  /** Take a structure in hand, or none. */
  take(key) {
    if (key) this.actions.leave();
    this.overlay.inHand = key;
    this.view.choose(null);
    this.view.placing = Boolean(key);
    if (key) {
      const { label, follows } = this.structures.get(key);
      this.actions.say(`${label}: press along it, from one end to the other. ${follows[0].toUpperCase()}${follows.slice(1)}.`);
      this.view.ground.focus({ preventScroll: true });
    } else this.actions.say("");
    this.actions.drawn();
  }

  #place(key) {
    return this.tracing.onPicture().at(key);
  }

  #row() {
    return rowOf(this.structures.get(this.inHand), this.tracing.outline(this.inHand), (key) => this.#place(key)) ?? [];
  }

  #set(row, save = true) {
    this.tracing.editOutline(this.inHand, row.length ? row : null);
    if (save) this.actions.save(this.inHand, this.structures.get(this.inHand).label);
  }

  /** A press on the picture: it chooses the knot it meets, or makes a new one where it belongs. */
  placed(spot) {
    const row = this.#row();
    const met = this.#knotAt(row, spot);
    if (met !== null) {
      this.view.choose(met);
      return;
    }
    if (row.length >= MOST_KNOTS) {
      this.actions.say(`An outline takes ${MOST_KNOTS} knots. Take one away first.`);
      return;
    }
    const landmark = this.#nearest(Object.entries(this.tracing.points), spot);
    // Landmarks of the row that are not placed have no part in the curve, and keep their place in the row.
    const there = row.map((knot, at) => at).filter((at) => typeof row[at] !== "string" || this.#place(row[at]));
    const among = placeFor(controlsOf(there.map((at) => row[at]), (key) => this.#place(key)), spot, this.structures.get(this.inHand).closed);
    const at = among < there.length ? there[among] : row.length;
    this.#set([...row.slice(0, at), landmark ?? [spot.x, spot.y], ...row.slice(at)]);
    if (!landmark) this.view.choose(`${KNOT}${at}`);
  }

  /** The key of the mark of a knot near a spot: a landmark's own, or that of a knot; null where there is none. */
  #knotAt(row, spot) {
    const marks = row.map((knot, at) => (typeof knot === "string" ? [knot, this.#place(knot)] : [`${KNOT}${at}`, { x: knot[0], y: knot[1] }]));
    return this.#nearest(marks.filter(([, at]) => at), spot);
  }

  #nearest(marks, spot) {
    const scale = Math.hypot(this.view.matrix[0], this.view.matrix[1]);
    return nearest(marks, spot, SNAP / scale);
  }

  dragged({ key, x, y }) {
    const row = [...this.#row()];
    row[Number(key.slice(KNOT.length))] = [x, y];
    this.#set(row, false);
  }

  moved() {
    this.#set(this.#row());
  }

  /** Take one knot away; a landmark leaves the outline and stays where it is. */
  remove(key) {
    const row = this.#row();
    const at = this.owns(key) ? Number(key.slice(KNOT.length)) : row.indexOf(key);
    this.view.choose(null);
    if (at >= 0) this.#set([...row.slice(0, at), ...row.slice(at + 1)]);
  }

  #removeAll() {
    if (!this.inHand) return;
    this.#set([]);
    this.actions.say(`${this.structures.get(this.inHand).label} is taken away; Undo brings it back.`);
  }

  mark(key, kind, words, choices) {
    if (kind) this.marks.set(key, { kind, words, choices });
    else this.marks.delete(key);
    this.draw();
  }

  /** Knots on the picture and words in the list. */
  draw() {
    const row = this.inHand ? this.#row() : [];
    const wanted = new Set();
    row.forEach((knot, at) => {
      if (typeof knot === "string") return;
      wanted.add(`${KNOT}${at}`);
      this.view.put({ key: `${KNOT}${at}`, x: knot[0], y: knot[1], label: "", className: "knot" });
    });
    for (const key of this.view.keys()) if (this.owns(key) && !wanted.has(key)) this.view.take(key);
    for (const [key, structure] of this.structures) this.#drawItem(key, structure);
  }

  #words(key, structure) {
    const stored = this.tracing.outline(key);
    if (stored) return `${stored.length} ${stored.length === 1 ? "knot" : "knots"}`;
    return rowOf(structure, null, (name) => this.#place(name)) ? "through its points" : "not drawn";
  }

  #drawItem(key, structure) {
    const item = this.root.querySelector(`[data-structure="${key}"]`);
    const holder = item.parentElement;
    const mark = this.marks.get(key);
    item.setAttribute("aria-pressed", String(key === this.inHand));
    item.querySelector("[data-words]").textContent = mark && mark.kind !== "saving" ? "not saved" : this.#words(key, structure);
    holder.querySelector("[data-outline-tools]").hidden = key !== this.inHand;
    holder.querySelector('[data-outline-do="remove"]').disabled = !this.tracing.outline(key);
    const box = holder.querySelector("[data-mark]");
    box.hidden = !mark?.words;
    box.querySelector("[data-mark-words]").textContent = mark?.words ?? "";
    const buttons = (mark?.choices ?? []).map(([words, press]) => {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-outline-primary btn-sm", textContent: words });
      button.addEventListener("click", press);
      return button;
    });
    box.querySelector("[data-mark-choices]").replaceChildren(...buttons);
  }
}
