// Marks of rulers: what stands in the fields, which mark comes next, and the line between both.
import assert from "node:assert/strict";
import test from "node:test";

import { ENDS, keyOf, lineOf, nextMark, placesOf, texts } from "../../static/js/scale/marks.js";

const fields = (values) => (name) => values[name] ?? "";

test("both marks are read from four fields, with a comma or a point", () => {
  const places = placesOf(fields({ start_across: "10,5", start_down: " 20 ", end_across: "30.25", end_down: "0" }));
  assert.deepEqual(places, { start: { x: 10.5, y: 20 }, end: { x: 30.25, y: 0 } });
});

test("a mark with an empty field or one that is no number is not there", () => {
  for (const text of ["", " ", "-3", "1e3", "ten", "1.2.3", "NaN"])
    assert.equal(placesOf(fields({ start_across: text, start_down: "2" })).start, null, text);
});

test("the first mark that is missing comes next", () => {
  const at = { x: 1, y: 2 };
  assert.equal(nextMark({ start: null, end: null }), "start");
  assert.equal(nextMark({ start: at, end: null }), "end");
  assert.equal(nextMark({ start: null, end: at }), "start");
  assert.equal(nextMark({ start: at, end: at }), null);
});

test("a line is drawn once both marks are there", () => {
  assert.equal(lineOf({ start: { x: 1, y: 2 }, end: null }), null);
  assert.deepEqual(lineOf({ start: { x: 1, y: 2 }, end: { x: 3, y: 4 } }), { x1: 1, y1: 2, x2: 3, y2: 4 });
});

test("what is placed reads back as it was, to the hundredth of a pixel", () => {
  for (const at of [{ x: 0, y: 0 }, { x: 812.5, y: 640.01 }, { x: 1 / 3, y: 2000 / 3 }]) {
    const { across, down } = texts(at);
    const { start } = placesOf(fields({ start_across: across, start_down: down }));
    assert.ok(Math.abs(start.x - at.x) <= 0.005 && Math.abs(start.y - at.y) <= 0.005);
  }
});

test("each mark has a key of its own", () => {
  const keys = [1, 2].flatMap((ruler) => ENDS.map((end) => keyOf(ruler, end)));
  assert.deepEqual(keys, ["1a", "1b", "2a", "2b"]);
});
