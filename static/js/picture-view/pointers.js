/**
 * Mouse, pen and fingers on a picture: pan, pinch, wheel, a press that places or chooses, a point that is dragged,
 * and a press held still that enlarges around itself. Works on a `PictureView`, whose header says what each does.
 */
import { apply, nearest, panned, pinched, zoomed } from "./mapping.js";

const WHEEL_STEP = 1.0015;
/** Two fingers spread on a touch pad come as a wheel with Ctrl, in far smaller numbers. */
const PAD_STEP = 1.01;
const LINE_OF_WHEEL = 16;
const HELD_ZOOM = 4;
const HOLD = 350;
/** A hand that trembles by so many pixels has not moved yet. */
const TREMBLE = { mouse: 3, pen: 5, touch: 8 };
/** How near a point must be to be taken. */
const REACH = { mouse: 10, pen: 14, touch: 26 };
/** By touch, how far above the finger the spot is lifted while it is held. */
const LIFT = 56;

export class Pointers {
  #down = new Map();
  /** What the pointer does: pinch; or { kind, key, from, off, start, spot, begun, held, before, timer }. */
  #gesture = null;

  constructor(view) {
    this.view = view;
    const { ground } = view;
    ground.addEventListener("pointerdown", (event) => this.#begin(event));
    ground.addEventListener("pointermove", (event) => this.#go(event));
    ground.addEventListener("pointerup", (event) => this.#end(event));
    ground.addEventListener("pointercancel", (event) => {
      this.#down.delete(event.pointerId);
      this.callOff();
    });
    ground.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    ground.addEventListener("contextmenu", (event) => this.#down.size && event.preventDefault());
  }

  get busy() {
    return Boolean(this.#gesture?.begun);
  }

  /** Where a held press would place (screen), or null. */
  get aimedAt() {
    return this.#gesture?.held && !this.#gesture.key ? this.#gesture.spot : null;
  }

  /** Forget a point that is there no more. */
  letGo(key) {
    if (this.#gesture?.key === key) this.callOff(false);
  }

  /** End what the pointer does, with the point back where it was; true when there was something to call off. */
  callOff(back = true) {
    const one = this.#gesture;
    this.#gesture = null;
    clearTimeout(one?.timer);
    if (one?.held) this.view.show(one.before);
    if (one?.key && one.begun && back) this.view.drag(one.key, one.start);
    this.view.drawAim();
    return Boolean(one?.begun);
  }

  #place(event) {
    const around = this.view.ground.getBoundingClientRect();
    return { x: event.clientX - around.left - this.view.ground.clientLeft, y: event.clientY - around.top - this.view.ground.clientTop };
  }

  #begin(event) {
    if (event.button !== 0 && event.button !== 1) return;
    event.preventDefault();
    this.view.ground.focus({ preventScroll: true });
    const at = this.#place(event);
    this.#down.set(event.pointerId, at);
    this.view.ground.setPointerCapture(event.pointerId);
    if (this.#down.size === 2) {
      this.callOff();
      this.#gesture = { kind: "pinch" };
    }
    if (this.#down.size !== 1) return;
    const kind = event.pointerType in REACH ? event.pointerType : "mouse";
    const key = event.button === 0 ? nearest(this.view.spots(), at, REACH[kind], this.view.chosen) : null;
    const start = key === null ? null : this.view.at(key);
    const spot = start ? apply(this.view.matrix, start) : at;
    this.#gesture = { kind, key, from: at, start, spot, off: { x: spot.x - at.x, y: spot.y - at.y } };
    if (key !== null) this.view.flush();
    if (event.button === 0 && (key !== null || this.view.placing)) this.#gesture.timer = setTimeout(() => this.#hold(), HOLD);
  }

  /** The press was held still: enlarge around it until it is let go. */
  #hold() {
    const { view } = this;
    const one = this.#gesture;
    const at = [...this.#down.values()][0];
    if (view.placing) Object.assign(one, { key: null, spot: at, off: { x: 0, y: 0 } });
    if (one.key !== null) view.chooseByHand(one.key);
    Object.assign(one, { held: true, begun: true, before: view.view });
    const grown = zoomed(view.view, HELD_ZOOM, one.spot, view.shown, view.size);
    const lift = one.kind === "touch" ? LIFT : 0;
    one.off.y -= lift;
    one.spot = { x: at.x + one.off.x, y: at.y + one.off.y };
    view.show(panned(grown, 0, -lift, view.shown, view.size));
    this.#carry();
  }

  /** The held spot has moved: the point goes with it, or the cross. */
  #carry() {
    const one = this.#gesture;
    const to = this.view.original(one.spot);
    if (one.key !== null) return this.view.drag(one.key, to);
    this.view.drawAim();
    return this.view.tell("aim", to);
  }

  #go(event) {
    const before = this.#down.get(event.pointerId);
    if (!before) return;
    const at = this.#place(event);
    this.#down.set(event.pointerId, at);
    const one = this.#gesture;
    if (one?.kind === "pinch") this.#pinch(event.pointerId, before);
    if (!one || one.kind === "pinch") return;
    if (!one.begun && Math.hypot(at.x - one.from.x, at.y - one.from.y) < TREMBLE[one.kind]) return;
    clearTimeout(one.timer);
    if (!one.begun && one.key !== null) this.view.chooseByHand(one.key);
    one.begun = true;
    one.spot = { x: at.x + one.off.x, y: at.y + one.off.y };
    if (one.key !== null || one.held) this.#carry();
    else this.view.show(panned(this.view.view, at.x - before.x, at.y - before.y, this.view.shown, this.view.size));
  }

  #pinch(moved, before) {
    if (this.#down.size !== 2) return;
    const now = [...this.#down.values()];
    const then = [...this.#down].map(([id, at]) => (id === moved ? before : at));
    this.view.show(pinched(this.view.view, then, now, this.view.shown, this.view.size));
  }

  #end(event) {
    if (!this.#down.delete(event.pointerId)) return;
    const one = this.#gesture;
    if (!one || this.#down.size) return;
    this.#gesture = null;
    if (one.kind === "pinch") return;
    clearTimeout(one.timer);
    const to = this.view.original(one.spot);
    if (one.held) this.view.show(one.before);
    if (one.key !== null && one.begun) this.view.tell("moved", { key: one.key, ...this.view.at(one.key), from: one.start });
    else if (event.button === 0 && (one.held || !one.begun)) this.#pressed(one, to);
    this.view.drawAim();
  }

  /** While placing a press places, also close to another point; else it chooses that point, or none. */
  #pressed(one, to) {
    if (this.view.placing) this.view.tell("place", one.held ? to : this.view.original(one.from));
    else this.view.chooseByHand(one.key);
  }

  #wheel(event) {
    event.preventDefault();
    const turned = event.deltaY * (event.deltaMode ? LINE_OF_WHEEL : 1);
    this.view.zoomBy((event.ctrlKey ? PAD_STEP : WHEEL_STEP) ** -turned, this.#place(event));
  }
}
