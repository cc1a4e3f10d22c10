/**
 * The few shapes that every cephalometric formula is made of, read from the data of imaging/tracing/formulas.py.
 * Pure; the twin of imaging/cephalometry/shapes.py, held to it by tests/imaging/tracing_vectors.json.
 *
 * A place gives { x, y } for a point's name: profile facing +x, y up. A reading is { value, slopes }: the value, and
 * by point how much it changes with one unit of x and of y. `Coincide` is thrown when two points that give a
 * direction lie in one place, or a divisor is 0.
 */
const LEAST_LENGTH = 1e-9;
const DEGREES = 180 / Math.PI;

export class Coincide extends Error {
  constructor(message, points = []) {
    super(message);
    this.points = points;
  }
}

const minus = (a, b) => ({ x: a.x - b.x, y: a.y - b.y });
const times = (a, factor) => ({ x: a.x * factor, y: a.y * factor });
const left = (a) => ({ x: -a.y, y: a.x });
const dot = (a, b) => a.x * b.x + a.y * b.y;
const turned = (a, b) => a.x * b.y - a.y * b.x;

/** The angle by whole turns nearest to `middle`: from middle − 180, not up to middle + 180. */
export function near(angle, middle) {
  return angle - 360 * Math.floor((angle - middle + 180) / 360);
}

function arrow(place, line) {
  const found = minus(place(line[1]), place(line[0]));
  if (Math.hypot(found.x, found.y) < LEAST_LENGTH) throw new Coincide(`${line[0]} and ${line[1]} lie in one place`, line);
  return found;
}

function add(slopes, name, slope, factor) {
  const known = slopes.get(name);
  slopes.set(name, { x: (known?.x ?? 0) + slope.x * factor, y: (known?.y ?? 0) + slope.y * factor });
}

function ofBoth(one, byOne, other, byOther) {
  const slopes = new Map();
  add(slopes, one[0], byOne, -1);
  add(slopes, one[1], byOne, 1);
  add(slopes, other[0], byOther, -1);
  add(slopes, other[1], byOther, 1);
  return slopes;
}

const KINDS = {
  turn({ start, end, clockwise, middle, plus }, place) {
    const from = arrow(place, start);
    const to = arrow(place, end);
    const sign = clockwise ? -1 : 1;
    const value = near(plus + sign * Math.atan2(turned(from, to), dot(from, to)) * DEGREES, middle);
    const byStart = times(left(from), (-sign * DEGREES) / dot(from, from));
    return { value, slopes: ofBoth(start, byStart, end, times(left(to), (sign * DEGREES) / dot(to, to))) };
  },

  across({ step, line }, place) {
    const along = arrow(place, line);
    const length = Math.hypot(along.x, along.y);
    const went = minus(place(step[1]), place(step[0]));
    const value = turned(along, went) / length;
    const byLine = minus(times({ x: went.y, y: -went.x }, 1 / length), times(along, value / dot(along, along)));
    return { value, slopes: ofBoth(step, times(left(along), 1 / length), line, byLine) };
  },

  along({ step, line }, place) {
    const along = arrow(place, line);
    const length = Math.hypot(along.x, along.y);
    const went = minus(place(step[1]), place(step[0]));
    const value = dot(along, went) / length;
    const byLine = minus(times(went, 1 / length), times(along, value / dot(along, along)));
    return { value, slopes: ofBoth(step, times(along, 1 / length), line, byLine) };
  },

  length({ line }, place) {
    const along = arrow(place, line);
    const length = Math.hypot(along.x, along.y);
    const slopes = new Map();
    add(slopes, line[0], along, -1 / length);
    add(slopes, line[1], along, 1 / length);
    return { value: length, slopes };
  },

  sum({ parts, less }, place) {
    const slopes = new Map();
    let value = 0;
    for (const [shapes, sign] of [[parts, 1], [less, -1]]) {
      for (const shape of shapes) {
        const one = read(shape, place);
        value += sign * one.value;
        for (const [name, slope] of one.slopes) add(slopes, name, slope, sign);
      }
    }
    return { value, slopes };
  },

  ratio({ top, bottom, times: factor, words }, place) {
    const above = read(top, place);
    const below = read(bottom, place);
    if (Math.abs(below.value) < LEAST_LENGTH) throw new Coincide(`the divisor (${words}) is 0`);
    const value = (factor * above.value) / below.value;
    const slopes = new Map();
    for (const [name, slope] of above.slopes) add(slopes, name, slope, factor / below.value);
    for (const [name, slope] of below.slopes) add(slopes, name, slope, -value / below.value);
    return { value, slopes };
  },
};

/** The value and slopes of a shape; throws for a kind that is not known. */
export function read(shape, place) {
  const kind = KINDS[shape.kind];
  if (!kind) throw new Error(`${shape.kind} is no shape that this page knows`);
  return kind(shape, place);
}
