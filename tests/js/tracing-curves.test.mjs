// Outlines of a tracing: the spline through its knots, where a new knot goes, and teeth from a few landmarks.
import assert from "node:assert/strict";
import test from "node:test";

import { controlsOf, incisor, molar, pathOf, pieces, placeFor, rowOf, teeth } from "../../static/js/tracing/curves.js";

const at = (x, y) => ({ x, y });
const ROW = [at(0, 0), at(10, 4), at(20, 0), at(30, 10)];
const middle = ([a, b, c, d]) => at((a.x + 3 * b.x + 3 * c.x + d.x) / 8, (a.y + 3 * b.y + 3 * c.y + d.y) / 8);
const close = (one, other) => assert.ok(Math.hypot(one.x - other.x, one.y - other.y) < 1e-9, `${JSON.stringify(one)} ${JSON.stringify(other)}`);

test("the curve passes through every knot and is the Catmull-Rom spline in between", () => {
  const found = pieces(ROW);
  assert.deepEqual(found.map(([from]) => from), ROW.slice(0, -1));
  const [p, q, r, s] = ROW;
  close(middle(found[1]), at((-p.x + 9 * q.x + 9 * r.x - s.x) / 16, (-p.y + 9 * q.y + 9 * r.y - s.y) / 16));
});

test("an open curve ends straight on, a closed one comes back to its first knot", () => {
  const two = pieces([at(0, 0), at(9, 3)]);
  close(middle(two[0]), at(4.5, 1.5));
  assert.equal(pieces(ROW, true).length, ROW.length);
  assert.match(pathOf(ROW, true), /Z$/);
  assert.doesNotMatch(pathOf(ROW), /Z/);
});

test("too few knots draw nothing", () => {
  assert.equal(pathOf([at(1, 1)]), "");
  assert.equal(pathOf([at(1, 1), at(2, 2)], true), "");
});

test("a new knot goes into the piece it lies on, or beyond the nearer end", () => {
  assert.equal(placeFor(ROW, at(15, 3)), 2);
  assert.equal(placeFor(ROW, at(4, 2)), 1);
  assert.equal(placeFor(ROW, at(-20, -3)), 0);
  assert.equal(placeFor(ROW, at(50, 20)), 4);
  assert.equal(placeFor([], at(0, 0)), 0);
  assert.equal(placeFor([at(0, 0)], at(5, 5)), 1);
});

test("knots that are landmarks follow them, and stay out while they are not placed", () => {
  const places = { A: at(5, 6) };
  assert.deepEqual(controlsOf(["A", [1, 2], "B"], (key) => places[key] ?? null), [at(5, 6), at(1, 2)]);
});

test("a structure nobody has drawn is shown through its landmarks from three of them on", () => {
  const structure = { anchors: ["A", "B", "C"] };
  assert.equal(rowOf(structure, null, (key) => key !== "C"), null);
  assert.deepEqual(rowOf(structure, null, () => true), ["A", "B", "C"]);
  assert.deepEqual(rowOf(structure, [[1, 2]], () => true), [[1, 2]]);
});

test("a tooth lies between its edge and apex, its face forward", () => {
  const shape = [[0, 0], [0.4, 0.1], [1, 0], [0.4, -0.1]];
  const upper = incisor(shape, "upper", at(10, 0), at(8, 20));
  close(upper[0], at(10, 0));
  close(upper[2], at(8, 20));
  assert.ok(upper[1].x > upper[3].x);
  const lower = incisor(shape, "lower", at(10, 0), at(8, -20));
  assert.ok(lower[1].x > lower[3].x);
  assert.equal(incisor(shape, "upper", at(1, 1), at(1, 1)), null);
  const crown = molar([[0, 0], [0.5, 0], [0, 1]], "upper", at(0, 0), at(1, 0), 10);
  close(crown[1], at(0, 5));
  close(crown[2], at(-10, 0));
  assert.equal(molar([[0, 0]], "upper", at(0, 0), at(0, 0), 10), null);
});

test("teeth are drawn as far as their points are placed", () => {
  const shapes = {
    incisors: { upper: [[0, 0], [1, 0]], lower: [[0, 0], [1, 0]] },
    molars: { upper: [[0, 0], [0, 1]], lower: [[0, 0], [0, 1]] },
    distal_share: 0.72,
    molar_widths_mm: { upper: 10, lower: 11 },
    incisor_lengths_mm: { upper: 23.5, lower: 21.5 },
  };
  const spots = { U1: at(70, -75), U1A: at(65, -53), L6: at(40, -70), OPm: at(40, -70), OPi: at(71, -74) };
  const face = (calibrated) => ({ calibrated, at: (key) => spots[key] ?? null });
  assert.deepEqual(Object.keys(teeth(face(true), shapes)), ["U1", "L6"]);
  assert.deepEqual(Object.keys(teeth(face(false), shapes)), ["U1"]);
});
