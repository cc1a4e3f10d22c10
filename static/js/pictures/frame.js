/**
 * The frame of crop and mask as numbers, without a page: { left, right, top, bottom } in per cent from each edge of
 * the picture, to the tenth. Points are { x, y } in per cent from the upper left corner.
 */
export const EDGES = ["left", "right", "top", "bottom"];
export const MIDDLE = { left: 40, right: 40, top: 40, bottom: 40 };

/** Per cent that must be left between two edges, as the server wants it. */
export const LEAST = { crop: 5, mask: 1 };

const OPPOSITE = { left: "right", right: "left", top: "bottom", bottom: "top" };
const tenth = (value) => Math.round(value * 10) / 10;
const within = (value, least, most) => Math.min(most, Math.max(least, value));

/** The frame with one edge at so many per cent from its side, as far as the other edge lets it. */
function withEdge(frame, edge, value, least) {
  return { ...frame, [edge]: within(tenth(value), 0, tenth(100 - least - frame[OPPOSITE[edge]])) };
}

/** The frame between two points, in any order, at least `least` wide and high and inside the picture. */
export function drawn(from, to, least) {
  const side = (a, b) => {
    const low = within(Math.min(a, b), 0, 100 - least);
    const high = within(Math.max(a, b), low + least, 100);
    return [tenth(low), tenth(100 - high)];
  };
  const [left, right] = side(from.x, to.x);
  const [top, bottom] = side(from.y, to.y);
  return { left, right, top, bottom };
}

/** The frame moved as a whole; it keeps its size and stays inside. */
export function moved(frame, across, down) {
  const x = within(tenth(across), -frame.left, frame.right);
  const y = within(tenth(down), -frame.top, frame.bottom);
  return {
    left: tenth(frame.left + x),
    right: tenth(frame.right - x),
    top: tenth(frame.top + y),
    bottom: tenth(frame.bottom - y),
  };
}

/** The frame with the named edges (one, or two at a corner) pulled to a point. */
export function pulled(frame, edges, to, least) {
  const place = { left: to.x, right: 100 - to.x, top: to.y, bottom: 100 - to.y };
  return edges.reduce((sofar, edge) => withEdge(sofar, edge, place[edge], least), frame);
}

/** The frame with one edge moved by an arrow key; arrows across the edge only, `step` in per cent. */
export function nudged(frame, edge, key, step, least) {
  const upright = edge === "left" || edge === "right";
  const way = upright ? { ArrowLeft: -1, ArrowRight: 1 }[key] : { ArrowUp: -1, ArrowDown: 1 }[key];
  if (!way) return null;
  const inwards = edge === "left" || edge === "top" ? way : -way;
  return withEdge(frame, edge, frame[edge] + inwards * step, least);
}

/** The frame that the texts of four fields say; null where one is no number or too little is left. */
export function fromTexts(texts, least) {
  const frame = {};
  for (const edge of EDGES) {
    const text = texts[edge].trim().replace(",", ".") || "0";
    if (!/^\d{1,3}(\.\d)?$/.test(text)) return null;
    frame[edge] = Number(text);
  }
  const fits = (one, other) => frame[one] + frame[other] <= 100 - least;
  return fits("left", "right") && fits("top", "bottom") ? frame : null;
}
