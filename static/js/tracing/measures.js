/**
 * All measures of a traced face with their errors, and what cannot be told with the reason. Pure; the twin of
 * imaging/cephalometry/{face,errors,measuring}.py, held to it by tests/imaging/tracing_vectors.json.
 */
import { Coincide, read } from "./shapes.js";

const MP_BACK = "MP back";
const MP_FRONT = "MP front";
export const SCALE = "scale";
export const NOT_CALIBRATED = "not calibrated";

/**
 * A face: `spots` by landmark { x, y, sd }, profile facing +x, y up; in millimetres when `calibrated`, else in the
 * picture's own unit. `scaleSd` is the standard deviation of the scale in per cent, shared by all lengths.
 */
export class Face {
  #made = new Map();
  #places = new Map();

  constructor(spots, { calibrated = true, scaleSd = 0, plane = "go_me" } = {}, formulas) {
    Object.assign(this, { spots, calibrated, scaleSd, plane, order: formulas.order, chin: formulas.chin });
    const [back, front] = formulas.planes[plane];
    this.constructed = {
      ...formulas.constructed,
      [MP_BACK]: { ways: [[back]], asks: back },
      [MP_FRONT]: { ways: [[front]], asks: front },
    };
    this.place = (name) => this.#place(name);
  }

  /** The placed points whose mean is the point of a name; empty when it cannot be had. */
  madeOf(name) {
    const known = this.#made.get(name);
    if (known) return known;
    const ways = this.constructed[name]?.ways ?? [[name]];
    const found = ways.find((way) => way.every((part) => part in this.spots)) ?? [];
    this.#made.set(name, found);
    return found;
  }

  /** Where a placed or constructed point lies; null when it cannot be had. */
  at(name) {
    return this.madeOf(name).length ? this.#place(name) : null;
  }

  #place(name) {
    const known = this.#places.get(name);
    if (known) return known;
    const parts = this.madeOf(name).map((part) => this.spots[part]);
    const sum = parts.reduce((all, one) => ({ x: all.x + one.x, y: all.y + one.y }), { x: 0, y: 0 });
    const found = { x: sum.x / parts.length, y: sum.y / parts.length };
    this.#places.set(name, found);
    return found;
  }

  /** Points of the chin above a line of the skull, and that line; null when the face is the right way up. */
  mirroredAt() {
    for (const [back, front] of [["S", "N"], ["Po", "Or"]]) {
      const [start, end] = [this.spots[back], this.spots[front]];
      if (!start || !end) continue;
      const above = this.chin.filter((key) => {
        const spot = this.spots[key];
        return spot && (end.x - start.x) * (spot.y - start.y) - (end.y - start.y) * (spot.x - start.x) > 0;
      });
      return above.length ? { chin: above, line: `${back}-${front}` } : null;
    }
    return null;
  }

  /** The landmarks to be placed before all of the named points can be had, in the list's order. */
  lacks(names) {
    const found = new Set();
    for (const name of names) {
      if (this.madeOf(name).length) continue;
      const known = this.constructed[name];
      if (!known || known.asks) found.add(known ? known.asks : name);
      else for (const part of known.ways[0]) if (!(part in this.spots)) found.add(part);
    }
    return found.size ? this.order.filter((name) => found.has(name)) : [];
  }
}

/** The named parts of a measure's error: its change by one standard deviation of each cause. */
export function partsOf(face, value, slopes, isLength) {
  const found = new Map();
  const add = (name, part) => found.set(name, (found.get(name) ?? 0) + part);
  for (const [name, slope] of slopes) {
    const made = face.madeOf(name);
    for (const part of made) {
      const { sd } = face.spots[part];
      add(`${part}.x`, (slope.x * sd) / made.length);
      add(`${part}.y`, (slope.y * sd) / made.length);
    }
  }
  if (isLength) found.set(SCALE, (value * face.scaleSd) / 100);
  for (const [name, part] of found) if (!part) found.delete(name);
  return found;
}

export function sdOf(parts) {
  let squares = 0;
  for (const part of parts.values()) squares += part * part;
  return Math.sqrt(squares);
}

/** Why a line has no direction, with the landmarks' own names in place of constructed ones. */
function wordsOf(face, coincide) {
  if (!coincide.points.length) return coincide.message;
  const ends = coincide.points.map((name) => {
    const made = face.madeOf(name);
    return made.length === 1 ? made[0] : `the middle of ${made.join(" and ")}`;
  });
  return `${ends.join(" and ")} lie in one place`;
}

/**
 * Every measure of a face: a Map from its key to { value, sd, parts, plane } or to { why }. `sd` and `parts` are
 * null without a scale; `plane` is the mandibular plane of a measure that follows it, else null.
 */
export function measureFace(face, measures) {
  const found = new Map();
  for (const measure of measures) found.set(measure.key, measured(face, measure));
  return found;
}

function measured(face, measure) {
  const isLength = measure.unit === "mm";
  const reasons = isLength && !face.calibrated ? [NOT_CALIBRATED] : [];
  const missing = face.lacks(measure.names);
  if (missing.length) reasons.push(`missing ${missing.join(", ")}`);
  if (reasons.length) return { why: reasons.join("; ") };
  try {
    const { value, slopes } = read(measure.shape, face.place);
    const parts = face.calibrated ? partsOf(face, value, slopes, isLength) : null;
    return { value, parts, sd: parts && sdOf(parts), plane: measure.takes_plane ? face.plane : null };
  } catch (fault) {
    if (!(fault instanceof Coincide)) throw fault;
    return { why: wordsOf(face, fault) };
  }
}

/** A number with a fixed count of decimals, half away from zero, never a minus zero; − for minus. */
export function fixed(value, places = 2) {
  const size = Math.abs(value);
  const held = Number(size.toFixed(9));
  const step = 10 ** places;
  const rounded = (Math.floor(Number((held * step).toPrecision(15)) + 0.5) / step).toFixed(places);
  return value < 0 && Number(rounded) !== 0 ? `−${rounded}` : rounded;
}
