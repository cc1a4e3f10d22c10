// The frame of crop and mask: drawn, moved, pulled and nudged, always inside the picture and never too thin.
import assert from "node:assert/strict";
import test from "node:test";

import { drawn, EDGES, fromTexts, LEAST, MIDDLE, moved, nudged, pulled } from "../../static/js/pictures/frame.js";

const wide = (frame) => 100 - frame.left - frame.right;
const high = (frame) => 100 - frame.top - frame.bottom;

/** Many numbers of no pattern, the same at each run. */
function* numbers(count) {
  let state = 7;
  for (let i = 0; i < count; i += 1) {
    state = (state * 1103515245 + 12345) % 2147483648;
    yield (state / 2147483648) * 160 - 30;
  }
}

function isWhole(frame, least) {
  for (const edge of EDGES) {
    assert.ok(frame[edge] >= 0 && frame[edge] <= 100, JSON.stringify(frame));
    assert.equal(frame[edge], Math.round(frame[edge] * 10) / 10, "to the tenth");
  }
  assert.ok(wide(frame) >= least - 1e-9 && high(frame) >= least - 1e-9, JSON.stringify(frame));
}

test("a frame is drawn between two points in any order", () => {
  const wanted = { left: 10, right: 40, top: 20.5, bottom: 30 };
  assert.deepEqual(drawn({ x: 10, y: 20.5 }, { x: 60, y: 70 }, 5), wanted);
  assert.deepEqual(drawn({ x: 60, y: 70 }, { x: 10, y: 20.5 }, 5), wanted);
  assert.deepEqual(drawn({ x: 10, y: 70 }, { x: 60, y: 20.5 }, 5), wanted);
});

test("whatever is done, the frame stays inside and keeps its least size", () => {
  const all = [...numbers(4000)];
  for (const least of Object.values(LEAST)) {
    for (let i = 0; i + 6 < all.length; i += 6) {
      const [a, b, c, d, e, f] = all.slice(i, i + 6);
      const frame = drawn({ x: a, y: b }, { x: c, y: d }, least);
      isWhole(frame, least);
      const after = moved(frame, e, f);
      isWhole(after, least);
      assert.ok(Math.abs(wide(after) - wide(frame)) < 1e-6 && Math.abs(high(after) - high(frame)) < 1e-6);
      for (const edges of ["left", "right", "top", "bottom", "left top", "right bottom"])
        isWhole(pulled(frame, edges.split(" "), { x: e, y: f }, least), least);
      assert.notEqual(fromTexts(Object.fromEntries(EDGES.map((edge) => [edge, String(frame[edge])])), least), null);
    }
  }
});

test("an arrow moves the edge it stands on the way it points, and no other key does", () => {
  assert.equal(nudged(MIDDLE, "left", "ArrowRight", 1, 5).left, 41);
  assert.equal(nudged(MIDDLE, "right", "ArrowRight", 1, 5).right, 39);
  assert.equal(nudged(MIDDLE, "top", "ArrowUp", 0.1, 5).top, 39.9);
  assert.equal(nudged(MIDDLE, "bottom", "ArrowDown", 1, 5).bottom, 39);
  assert.equal(nudged(MIDDLE, "left", "ArrowUp", 1, 5), null);
  assert.equal(nudged(MIDDLE, "top", "a", 1, 5), null);
  const thin = { left: 50, right: 45, top: 0, bottom: 0 };
  assert.equal(nudged(thin, "left", "ArrowRight", 1, 5).left, 50, "not past the least size");
  assert.equal(nudged({ ...thin, left: 0 }, "left", "ArrowLeft", 1, 5).left, 0, "not out of the picture");
});

test("fields are read with point or comma, and refused when they make no frame", () => {
  const texts = (left, right = "0") => ({ left, right, top: "", bottom: " 3 " });
  assert.deepEqual(fromTexts(texts("12,5"), 5), { left: 12.5, right: 0, top: 0, bottom: 3 });
  for (const [left, right] of [["x"], ["-1"], ["1.25"], ["60", "40"], ["1e1"], ["999"]])
    assert.equal(fromTexts(texts(left, right), 5), null, left);
});
