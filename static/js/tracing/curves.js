/**
 * Outlines of a tracing as SVG paths: splines through knots, and teeth made from a few landmarks. Pure; the twin of
 * imaging/cephalometry/outlines.py and imaging/tracing/outlines.py. The spline is the uniform Catmull-Rom, written as
 * the same curve in Bézier pieces.
 */
const FEWEST_LANDMARKS = 3;

/** The row of control points with one more at either end, as the pieces need them. */
function extended(controls, closed) {
  const last = controls.length - 1;
  const mirrored = (a, b) => ({ x: 2 * a.x - b.x, y: 2 * a.y - b.y });
  if (closed) return [controls[last], ...controls, controls[0], controls[1]];
  return [mirrored(controls[0], controls[1]), ...controls, mirrored(controls[last], controls[last - 1])];
}

/** The pieces of the spline, each [from, first handle, second handle, to]. */
export function pieces(controls, closed = false) {
  if (controls.length < (closed ? 3 : 2)) return [];
  const row = extended(controls, closed);
  const found = [];
  for (let at = 1; at < row.length - 2; at += 1) {
    const [before, from, to, after] = row.slice(at - 1, at + 3);
    found.push([
      from,
      { x: from.x + (to.x - before.x) / 6, y: from.y + (to.y - before.y) / 6 },
      { x: to.x - (after.x - from.x) / 6, y: to.y - (after.y - from.y) / 6 },
      to,
    ]);
  }
  return found;
}

/** An SVG path; empty where the knots are too few. */
export function pathOf(controls, closed = false) {
  const found = pieces(controls, closed);
  if (!found.length) return "";
  const told = found.map(([, a, b, to]) => `C${a.x} ${a.y} ${b.x} ${b.y} ${to.x} ${to.y}`);
  return `M${found[0][0].x} ${found[0][0].y}${told.join("")}${closed ? "Z" : ""}`;
}

function onPiece([a, b, c, d], t) {
  const s = 1 - t;
  const [i, j, k, l] = [s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t];
  return { x: i * a.x + j * b.x + k * c.x + l * d.x, y: i * a.y + j * b.y + k * c.y + l * d.y };
}

/**
 * Where in a row a new knot at `spot` belongs: inside the piece it lies nearest to, or beyond the nearer end of an
 * open row. The number is the place in the row that it takes.
 */
export function placeFor(controls, spot, closed = false) {
  if (controls.length < 2) return controls.length;
  const row = controls.length < 3 ? pieces(controls) : pieces(controls, closed);
  let found = { far: Infinity };
  row.forEach((piece, at) => {
    for (let step = 0; step <= 10; step += 1) {
      const { x, y } = onPiece(piece, step / 10);
      const far = Math.hypot(x - spot.x, y - spot.y);
      if (far < found.far) found = { far, at, step };
    }
  });
  if (!closed && found.at === 0 && found.step === 0) return 0;
  return found.at + 1 + (!closed && found.at === row.length - 1 && found.step === 10 ? 1 : 0);
}

/** Control points of a row: a landmark's key or [x, y]; `at(key)` gives null for a landmark that is not placed. */
export function controlsOf(row, at) {
  return row.map((knot) => (typeof knot === "string" ? at(knot) : { x: knot[0], y: knot[1] })).filter(Boolean);
}

/** The row of a structure: as it is stored, or through its landmarks where three or more are placed; else null. */
export function rowOf(structure, stored, at) {
  if (stored) return stored;
  const row = structure.anchors.filter((key) => at(key));
  return row.length >= FEWEST_LANDMARKS ? row : null;
}

/** The control points of an incisor through edge and apex, in the face's frame; null where they lie in one place. */
export function incisor(shape, jaw, edge, apex) {
  const axis = { x: apex.x - edge.x, y: apex.y - edge.y };
  if (!axis.x && !axis.y) return null;
  const side = jaw === "upper" ? -1 : 1;
  const labial = { x: -axis.y * side, y: axis.x * side };
  return shape.map(([u, v]) => ({ x: edge.x + axis.x * u + labial.x * v, y: edge.y + axis.y * u + labial.y * v }));
}

/** The control points of a first molar at its mesiobuccal cusp; `forward` along the occlusal plane. */
export function molar(shape, jaw, cusp, forward, width) {
  const length = Math.hypot(forward.x, forward.y);
  if (!length || !(width > 0)) return null;
  const unit = { x: forward.x / length, y: forward.y / length };
  const side = jaw === "upper" ? width : -width;
  const root = { x: -unit.y * side, y: unit.x * side };
  return shape.map(([u, v]) => ({
    x: cusp.x + root.x * u - unit.x * width * v,
    y: cusp.y + root.y * u - unit.y * width * v,
  }));
}

function molarWidth(face, shapes, jaw, letter) {
  const between = (one, other) => Math.hypot(one.x - other.x, one.y - other.y);
  if (letter === "U" && face.at("U6D")) return between(face.at("U6D"), face.at("U6")) / shapes.distal_share;
  if (face.calibrated) return shapes.molar_widths_mm[jaw];
  const [edge, apex] = [face.at(`${letter}1`), face.at(`${letter}1A`)];
  return edge && apex ? (between(edge, apex) * shapes.molar_widths_mm[jaw]) / shapes.incisor_lengths_mm[jaw] : 0;
}

/** Control points of the teeth that can be drawn on a face, by U1, L1, U6, L6. */
export function teeth(face, shapes) {
  const found = {};
  for (const [jaw, letter] of [["upper", "U"], ["lower", "L"]]) {
    const [edge, apex, cusp] = [face.at(`${letter}1`), face.at(`${letter}1A`), face.at(`${letter}6`)];
    if (edge && apex) found[`${letter}1`] = incisor(shapes.incisors[jaw], jaw, edge, apex);
    const [front, back] = [face.at("OPi"), face.at("OPm")];
    if (!cusp || !front || !back) continue;
    const forward = { x: front.x - back.x, y: front.y - back.y };
    found[`${letter}6`] = molar(shapes.molars[jaw], jaw, cusp, forward, molarWidth(face, shapes, jaw, letter));
  }
  return Object.fromEntries(Object.entries(found).filter(([, controls]) => controls));
}
