/**
 * A picture that can be enlarged to single pixels, with points on it that are placed, chosen, dragged and nudged.
 *
 *   <!-- template --> {% include "imaging/parts/picture_view.html" with src=… alt=… name="Radiograph" only %}
 *   with css/picture-view.css; then in the page's module:
 *
 *   const view = new PictureView(root.querySelector("[data-picture-view]"), shown);
 *     // shown: imaging.tracing.selectors.picture_data, { width, height, original, matrix }
 *   view.put({ key: "A", x: 812.5, y: 640, label: "A", className: "" });   // or replaces; all places are ORIGINAL pixels
 *   view.take("A"); view.choose("A" | null); view.reveal("A"); view.at("A"); view.chosen;
 *   view.placing = true;            // a press on empty ground (or Enter, at the cross) places
 *   view.lines                      // an SVG <g> in pixels of the original: put lines and curves in it (css class view-line)
 *   view.label({ key: "FH", x, y, label: "FH" });                  // words that stay as large; "" takes them away; anchor: start, middle, end
 *   view.light({ brightness: 1, contrast: 1, invert: false });     // of the view only
 *   view.addEventListener("moved", ({ detail }) => …)
 *
 * Events, each with `detail`:
 *   place  { x, y }                  a spot was pressed while `placing`, also close to another point; the page
 *                                    decides what it is and puts it
 *   choose { key }                   a point was chosen by the pointer, or null
 *   drag   { key, x, y }             the point moves; comes with every step, also when a drag is called off
 *   moved  { key, x, y, from }       a drag ended or a run of arrow keys came to rest: the time to save
 *   delete { key }                   Delete was pressed with a point chosen
 *   aim    { x, y }                  where a held press would place; view { scale } after zoom and pan
 *
 * Pointer: drag on empty ground pans; wheel or two fingers enlarge around the pointer; holding still enlarges four
 * times around the pointer until it is let go, so that the point is dragged or placed finely (by touch the spot is
 * lifted above the finger). Keys on the ground: + − 0; arrows pan, or move the chosen point by 1 pixel of the
 * original (Shift 10, Alt 0.1); Enter places at the cross; Delete or Backspace; Escape calls a drag off or chooses nothing.
 */
import {
  apply,
  bounded,
  chained,
  inside,
  inverse,
  matrixOf,
  nudgeOf,
  panned,
  panOf,
  revealing,
  uncrowded,
  whole,
  zoomed,
} from "./mapping.js";
import { cross, pin, text, words } from "./pins.js";
import { Pointers } from "./pointers.js";

const SVG = "http://www.w3.org/2000/svg";
const KEY_ZOOM = 1.5;
const KEYS_REST = 500;
const REVEAL_MARGIN = 40;
/** About how much room a name takes, in screen pixels: for each letter, and its height. */
const LETTER = 7.5;
const NAME_HEIGHT = 15;

export class PictureView extends EventTarget {
  #points = new Map();
  #labels = new Map();
  #hand;
  #roomAsked = null;
  #nudged = null;
  #placing = false;

  constructor(holder, shown) {
    super();
    this.holder = holder;
    this.shown = shown;
    this.chosen = null;
    this.ground = holder.querySelector("[data-ground]");
    this.image = this.ground.querySelector("img");
    this.svg = this.ground.querySelector("svg");
    this.lines = this.svg.appendChild(document.createElementNS(SVG, "g"));
    this.pins = this.svg.appendChild(document.createElementNS(SVG, "g"));
    this.aim = this.svg.appendChild(cross());
    this.image.width = shown.width;
    this.image.height = shown.height;
    this.size = { width: this.ground.clientWidth, height: this.ground.clientHeight };
    this.view = whole(shown, this.size);
    this.#hand = new Pointers(this);
    this.#listen();
    this.#draw();
  }

  // ----- what a page asks for

  get placing() {
    return this.#placing;
  }

  set placing(on) {
    this.#placing = Boolean(on);
    this.holder.toggleAttribute("data-placing", this.#placing);
    this.drawAim();
  }

  /** From pixels of the original to those of the screen, from the ground's upper left corner. */
  get matrix() {
    return chained(matrixOf(this.view), this.shown.matrix);
  }

  put({ key, x, y, label = key, className = "" }) {
    const known = this.#points.get(key);
    const mark = known?.mark ?? this.pins.appendChild(pin());
    this.#points.set(key, { x, y, mark });
    mark.setAttribute("class", `pin ${className}`);
    text(mark, label);
    mark.toggleAttribute("data-chosen", key === this.chosen);
    this.#points.get(key).letters = label.length;
    this.#drawPin(this.#points.get(key), this.matrix);
    this.#makeRoomSoon();
  }

  take(key) {
    this.#points.get(key)?.mark.remove();
    this.#points.delete(key);
    this.#hand.letGo(key);
    if (this.#nudged?.key === key) this.#forgetNudge();
    if (this.chosen === key) this.choose(null);
  }

  label({ key, x, y, label, anchor = "middle" }) {
    const mark = this.#labels.get(key)?.mark ?? this.svg.insertBefore(words(), this.pins);
    this.#labels.set(key, { x, y, mark });
    if (!label) {
      mark.remove();
      this.#labels.delete(key);
      return;
    }
    if (mark.textContent !== label) mark.textContent = label;
    mark.setAttribute("text-anchor", anchor);
    Object.assign(this.#labels.get(key), { letters: label.length, anchor });
    this.#drawLabel(this.#labels.get(key), this.matrix);
  }

  /** Where a point lies in pixels of the original; undefined when there is none. */
  at(key) {
    const point = this.#points.get(key);
    return point && { x: point.x, y: point.y };
  }

  keys() {
    return [...this.#points.keys()];
  }

  choose(key) {
    if (this.#nudged && this.#nudged.key !== key) this.flush();
    this.#points.get(this.chosen)?.mark.removeAttribute("data-chosen");
    this.chosen = this.#points.has(key) ? key : null;
    const point = this.#points.get(this.chosen);
    if (point) {
      point.mark.setAttribute("data-chosen", "");
      this.pins.append(point.mark);
    }
    this.#makeRoomSoon();
    this.drawAim();
  }

  /** Pan as far as brings a point into sight. */
  reveal(key) {
    const point = this.#points.get(key);
    if (point) this.show(revealing(this.view, apply(this.matrix, point), REVEAL_MARGIN, this.shown, this.size));
  }

  zoomBy(factor, at = this.#middle()) {
    this.show(zoomed(this.view, factor, at, this.shown, this.size));
  }

  zoomWhole() {
    this.show(whole(this.shown, this.size));
  }

  light({ brightness = 1, contrast = 1, invert = false }) {
    this.image.style.filter = `invert(${invert ? 1 : 0}) brightness(${brightness}) contrast(${contrast})`;
  }

  /** Tell at once what a run of arrow keys has moved. */
  flush() {
    if (!this.#nudged) return;
    const { key, from } = this.#nudged;
    this.#forgetNudge();
    this.tell("moved", { key, ...this.at(key), from });
  }

  // ----- drawing

  tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }

  show(view) {
    this.view = view;
    this.#draw();
    this.tell("view", { scale: view.scale });
  }

  #draw() {
    const { scale, x, y } = this.view;
    this.image.style.transform = `translate(${x}px, ${y}px) scale(${scale})`;
    this.image.toggleAttribute("data-pixels", scale >= 4);
    this.holder.toggleAttribute("data-whole", scale === whole(this.shown, this.size).scale);
    const matrix = this.matrix;
    this.lines.setAttribute("transform", `matrix(${matrix.join(" ")})`);
    for (const point of this.#points.values()) this.#drawPin(point, matrix);
    for (const label of this.#labels.values()) this.#drawLabel(label, matrix);
    this.#makeRoomSoon();
    this.drawAim();
  }

  #makeRoomSoon() {
    this.#roomAsked ??= requestAnimationFrame(() => {
      this.#roomAsked = null;
      this.#makeRoom();
    });
  }

  /** Names that would cover another are left out: the chosen point's comes first, then words, then the other points. */
  #makeRoom() {
    const points = [...this.#points].sort(([a], [b]) => (b === this.chosen) - (a === this.chosen)).map(([, one]) => [one, this.#room(one, 10, -12)]);
    const words = [...this.#labels.values()].map((one) => [one, this.#room(one, 0, 0)]);
    const first = points.length && this.chosen !== null ? 1 : 0;
    const all = [...points.slice(0, first), ...words, ...points.slice(first)];
    const kept = uncrowded(all);
    for (const [one] of all) one.mark.toggleAttribute("data-crowded", !kept.has(one));
  }

  #drawPin(point, matrix) {
    const { x, y } = apply(matrix, point);
    point.mark.setAttribute("transform", `translate(${x} ${y})`);
  }

  /** About which part of the screen the name of a point or a label takes, `across` and `down` from its place. */
  #room({ x, y, letters, anchor }, across, down) {
    const at = apply(this.matrix, { x, y });
    const width = letters * LETTER;
    const left = at.x + across - ({ middle: width / 2, end: width }[anchor] ?? 0);
    return { left, right: left + width, top: at.y + down - NAME_HEIGHT / 2, bottom: at.y + down + NAME_HEIGHT / 2 };
  }

  /** Words whose place is in sight stay whole inside the ground. */
  #drawLabel(label, matrix) {
    const { x, y } = apply(matrix, label);
    const { left, right } = this.#room(label, 0, 0);
    const shift = this.#inSight(label) ? Math.min(Math.max(0, -left), this.size.width) + Math.min(0, this.size.width - right) : 0;
    label.mark.setAttribute("transform", `translate(${x + shift} ${y})`);
  }

  /** The cross: under a held press, or for the keyboard in the middle of the ground. */
  drawAim() {
    const held = this.#hand.aimedAt;
    const byKeys = this.#placing && !this.chosen && this.ground.matches(":focus-visible");
    this.aim.toggleAttribute("hidden", !held && !byKeys);
    const { x, y } = held ?? this.#middle();
    this.aim.setAttribute("transform", `translate(${x} ${y})`);
  }

  #middle() {
    const point = this.#points.get(this.chosen);
    if (point && this.#inSight(point)) return apply(this.matrix, point);
    return { x: this.size.width / 2, y: this.size.height / 2 };
  }

  #inSight(point) {
    const { x, y } = apply(this.matrix, point);
    return x >= 0 && y >= 0 && x <= this.size.width && y <= this.size.height;
  }

  // ----- what hands do; pointers.js has the rest

  #listen() {
    const { ground } = this;
    ground.addEventListener("keydown", (event) => this.#key(event));
    for (const name of ["focus", "blur"]) ground.addEventListener(name, () => this.drawAim());
    ground.addEventListener("blur", () => this.flush());
    this.holder.addEventListener("click", (event) => this.#press(event.target.closest("[data-zoom]")?.dataset.zoom));
    new ResizeObserver(() => this.#resized()).observe(ground);
  }

  #press(zoom) {
    if (zoom === "in") this.zoomBy(KEY_ZOOM);
    if (zoom === "out") this.zoomBy(1 / KEY_ZOOM);
    if (zoom === "whole") this.zoomWhole();
  }

  /** A ground of another size keeps its middle, or the whole picture. */
  #resized() {
    const now = { width: this.ground.clientWidth, height: this.ground.clientHeight };
    const { x, y, scale } = this.view;
    const moved = { scale, x: x + (now.width - this.size.width) / 2, y: y + (now.height - this.size.height) / 2 };
    const all = this.holder.hasAttribute("data-whole");
    this.size = now;
    this.show(all ? whole(this.shown, now) : bounded(moved, this.shown, now));
  }

  /** Screen places of all points, as `[key, { x, y }]`. */
  spots() {
    return [...this.#points].map(([key, point]) => [key, apply(this.matrix, point)]);
  }

  /** From the screen to the original, held inside it. */
  original(spot) {
    return inside(apply(inverse(this.matrix), spot), this.shown.original);
  }

  /** A point moves under a hand. */
  drag(key, { x, y }) {
    const point = this.#points.get(key);
    Object.assign(point, { x, y });
    this.#drawPin(point, this.matrix);
    this.tell("drag", { key, x, y });
  }

  /** A hand chooses a point, or none. */
  chooseByHand(key) {
    if (key === this.chosen) return;
    this.choose(key);
    this.tell("choose", { key });
  }

  // ----- keys

  #key(event) {
    if (event.ctrlKey || event.metaKey) return;
    if (this.#keyed(event)) event.preventDefault();
  }

  #keyed(event) {
    const { key } = event;
    if (key === "+" || key === "=") return this.zoomBy(KEY_ZOOM) ?? true;
    if (key === "-" || key === "−") return this.zoomBy(1 / KEY_ZOOM) ?? true;
    if (key === "0") return this.zoomWhole() ?? true;
    if (key === "Escape") return this.#hand.callOff() || (this.chosen !== null && (this.chooseByHand(null) ?? true));
    if ((key === "Delete" || key === "Backspace") && this.chosen) return this.tell("delete", { key: this.chosen }) ?? true;
    if (key === "Enter" && this.#placing && !this.chosen) return this.tell("place", this.original(this.#middle())) ?? true;
    if (this.chosen) return this.#nudge(event);
    const pan = panOf(key, this.size);
    if (pan) this.show(panned(this.view, pan.x, pan.y, this.shown, this.size));
    return Boolean(pan);
  }

  #nudge(event) {
    const key = this.chosen;
    const step = nudgeOf(event.key, event, this.matrix);
    if (!step || this.#hand.busy) return false;
    const from = this.at(key);
    const to = inside({ x: from.x + step.x, y: from.y + step.y }, this.shown.original);
    clearTimeout(this.#nudged?.timer);
    this.#nudged = { key, from: this.#nudged?.from ?? from, timer: setTimeout(() => this.flush(), KEYS_REST) };
    this.drag(key, to);
    this.reveal(key);
    return true;
  }

  #forgetNudge() {
    clearTimeout(this.#nudged.timer);
    this.#nudged = null;
  }
}
