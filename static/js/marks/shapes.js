/**
 * Marks as plain data: { kind, label, places: [{ x, y, zoom }] }, places in pixels of the original. Pure.
 */

/** How many screen pixels show one pixel of the original, by the matrix from original to screen. */
export function zoomOf([xx, yx, xy, yy]) {
  return Math.sqrt(Math.abs(xx * yy - xy * yx));
}

/** The next key that no mark has: m1, m2, … */
export function nextKey(keys) {
  const used = [...keys].map((key) => Number(/^m(\d+)$/.exec(key)?.[1] ?? 0));
  return `m${Math.max(0, ...used) + 1}`;
}

/** The next plain name that no mark has: A, B, … Z, A2, B2, … */
export function nextLabel(labels) {
  const used = new Set(labels);
  for (let round = 1; ; round += 1) {
    for (const letter of "ABCDEFGHIJKLMNOPQRSTUVWXYZ") {
      const name = round === 1 ? letter : `${letter}${round}`;
      if (!used.has(name)) return name;
    }
  }
}

/** The foot of the perpendicular from a place on the line through two others; null when these coincide. */
export function foot([a, b, c]) {
  const along = { x: b.x - a.x, y: b.y - a.y };
  const square = along.x ** 2 + along.y ** 2;
  if (!square) return null;
  const part = ((c.x - a.x) * along.x + (c.y - a.y) * along.y) / square;
  return { x: a.x + part * along.x, y: a.y + part * along.y };
}

/** The path of a mark's lines in pixels of the original; empty for a point and for a mark just begun. */
export function path(kind, places) {
  if (places.length < 2) return "";
  const line = (points) => `M${points.map(({ x, y }) => `${x} ${y}`).join("L")}`;
  if (kind !== "from_line") return line(places);
  const [a, b, c] = places;
  const down = c && foot(places);
  if (!down) return line([a, b]);
  // The line is drawn on as far as the foot where that lies beyond its ends.
  const ends = [a, b, down].sort((one, other) => (one.x - other.x) * (b.x - a.x) + (one.y - other.y) * (b.y - a.y));
  return `${line([ends[0], ends[2]])}${line([down, c])}`;
}

/** Whether two marks say the same. */
export function same(one, other) {
  return JSON.stringify(one ?? null) === JSON.stringify(other ?? null);
}

/** A mark with one place moved. */
export function moved(mark, number, place) {
  return { ...mark, places: mark.places.map((old, at) => (at === number ? place : old)) };
}
