/**
 * Where a spot of the original picture lies on the screen, and back. Pure.
 *
 * Three spaces: the ORIGINAL in its pixels; the picture as SHOWN (the rendition) in its own; the SCREEN in CSS
 * pixels from the upper left corner of the ground. A matrix is [xx, yx, xy, yy, x0, y0], as SVG takes it:
 * x' = xx·x + xy·y + x0, y' = yx·x + yy·y + y0. A view { scale, x, y } puts shown onto screen: scale·x + x.
 */

/** The largest number of screen pixels for one pixel of the picture. */
export const LARGEST = 40;
/** How much of an arrow key's pan is one press: this share of the ground. */
export const PAN_SHARE = 0.15;

const STEPS = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };

export function apply([xx, yx, xy, yy, x0, y0], { x, y }) {
  return { x: xx * x + xy * y + x0, y: yx * x + yy * y + y0 };
}

/** The matrix that leads back; throws when the picture has no area. */
export function inverse([xx, yx, xy, yy, x0, y0]) {
  const area = xx * yy - xy * yx;
  if (!area) throw new Error("the picture has no area");
  return [
    yy / area,
    -yx / area,
    -xy / area,
    xx / area,
    (xy * y0 - yy * x0) / area,
    (yx * x0 - xx * y0) / area,
  ];
}

/** First `inner`, then `outer`, as one matrix. */
export function chained(outer, inner) {
  const start = apply(outer, { x: inner[4], y: inner[5] });
  return [
    outer[0] * inner[0] + outer[2] * inner[1],
    outer[1] * inner[0] + outer[3] * inner[1],
    outer[0] * inner[2] + outer[2] * inner[3],
    outer[1] * inner[2] + outer[3] * inner[3],
    start.x,
    start.y,
  ];
}

export function matrixOf({ scale, x, y }) {
  return [scale, 0, 0, scale, x, y];
}

/** The view of the whole picture, in the middle of the ground. */
export function whole(picture, ground) {
  const scale = Math.min(ground.width / picture.width, ground.height / picture.height) || 1;
  return { scale, x: (ground.width - scale * picture.width) / 2, y: (ground.height - scale * picture.height) / 2 };
}

/** The view kept within bounds: no smaller than whole, and some of the picture stays in the middle of the ground. */
export function bounded(view, picture, ground) {
  const least = whole(picture, ground);
  if (view.scale <= least.scale) return least;
  const scale = Math.min(view.scale, Math.max(LARGEST, least.scale));
  const within = (start, length, room) => Math.min(room / 2, Math.max(room / 2 - scale * length, start));
  return {
    scale,
    x: within(view.x, picture.width, ground.width),
    y: within(view.y, picture.height, ground.height),
  };
}

/** The view `factor` times as large; what lies at `at` on the screen stays there where the bounds allow it. */
export function zoomed(view, factor, at, picture, ground) {
  const least = whole(picture, ground).scale;
  const scale = Math.min(Math.max(view.scale * factor, least), Math.max(LARGEST, least));
  const grown = scale / view.scale;
  const moved = { scale, x: at.x - (at.x - view.x) * grown, y: at.y - (at.y - view.y) * grown };
  return bounded(moved, picture, ground);
}

export function panned(view, across, down, picture, ground) {
  return bounded({ ...view, x: view.x + across, y: view.y + down }, picture, ground);
}

/** The view after two fingers went from one pair of places to another. */
export function pinched(view, [a, b], [c, d], picture, ground) {
  const spread = Math.hypot(b.x - a.x, b.y - a.y) || 1;
  const from = { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
  const to = { x: (c.x + d.x) / 2, y: (c.y + d.y) / 2 };
  const grown = zoomed(view, Math.hypot(d.x - c.x, d.y - c.y) / spread, from, picture, ground);
  return panned(grown, to.x - from.x, to.y - from.y, picture, ground);
}

/** The view moved just as far as brings the spot `at` (screen) inside the ground, `margin` from its edges. */
export function revealing(view, at, margin, picture, ground) {
  const short = (place, room) => {
    const edge = Math.min(margin, room / 2);
    return Math.max(0, edge - place) + Math.min(0, room - edge - place);
  };
  return panned(view, short(at.x, ground.width), short(at.y, ground.height), picture, ground);
}

/** How far an arrow key pans, in screen pixels; undefined for another key. */
export function panOf(key, ground) {
  const step = STEPS[key];
  return step && { x: -step[0] * ground.width * PAN_SHARE, y: -step[1] * ground.height * PAN_SHARE };
}

/**
 * How far an arrow key moves a point, in pixels of the original, toward the side that the arrow shows on the
 * screen: 1, with Shift 10, with Alt 0.1. Null for another key.
 */
export function nudgeOf(key, { shiftKey = false, altKey = false }, matrix) {
  const step = STEPS[key];
  if (!step) return null;
  const size = altKey ? 0.1 : shiftKey ? 10 : 1;
  const [xx, yx, xy, yy] = inverse(matrix);
  const along = { x: xx * step[0] + xy * step[1], y: yx * step[0] + yy * step[1] };
  const length = Math.hypot(along.x, along.y);
  return { x: (along.x / length) * size, y: (along.y / length) * size };
}

/** A spot held inside the original, to the hundredth of a pixel, as it is stored. */
export function inside({ x, y }, [width, height]) {
  const held = (value, most) => Math.round(Math.min(Math.max(value, 0), most) * 100) / 100;
  return { x: held(x, width), y: held(y, height) };
}

/** The key of the nearest of `[key, { x, y }]` within `reach`, the `favoured` one first; null when none is near. */
export function nearest(spots, at, reach, favoured = null) {
  let found = null;
  let least = reach;
  for (const [key, { x, y }] of spots) {
    const far = Math.hypot(x - at.x, y - at.y);
    if (far <= reach && key === favoured) return key;
    if (far <= least) [found, least] = [key, far];
  }
  return found;
}

/**
 * Which of `[key, { left, right, top, bottom }]` can be shown without covering one another: those that come first, and
 * each later one that touches none of them. A Set of keys.
 */
export function uncrowded(boxes) {
  const kept = [];
  for (const [key, box] of boxes) {
    const meets = ([, other]) => box.left < other.right && other.left < box.right && box.top < other.bottom && other.top < box.bottom;
    if (!kept.some(meets)) kept.push([key, box]);
  }
  return new Set(kept.map(([key]) => key));
}
