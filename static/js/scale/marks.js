/** Marks of rulers as texts of fields and as points of the original picture. Pure. */

export const ENDS = ["start", "end"];
const NUMBER = /^\d+([.,]\d+)?$/;

/** The key of a mark on the picture: 1a and 1b, 2a and 2b. */
export function keyOf(ruler, end) {
  return `${ruler}${end === "start" ? "a" : "b"}`;
}

function number(text) {
  const bare = text.trim();
  return NUMBER.test(bare) ? Number(bare.replace(",", ".")) : null;
}

/** The places of both marks, { start, end }, each { x, y } or null; `text` gives what stands in a field. */
export function placesOf(text) {
  const places = {};
  for (const end of ENDS) {
    const [x, y] = [number(text(`${end}_across`)), number(text(`${end}_down`))];
    places[end] = x === null || y === null ? null : { x, y };
  }
  return places;
}

/** The mark that is still to be placed; null when both are. */
export function nextMark(places) {
  return ENDS.find((end) => !places[end]) ?? null;
}

/** Attributes of the line between both marks; null while one is missing. */
export function lineOf({ start, end }) {
  return start && end ? { x1: start.x, y1: start.y, x2: end.x, y2: end.y } : null;
}

/** What the fields of a mark say, to the hundredth of a pixel. */
export function texts({ x, y }) {
  const text = (value) => String(Math.round(value * 100) / 100);
  return { across: text(x), down: text(y) };
}
