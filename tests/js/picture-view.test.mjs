// The picture view: from pixels of the original to the screen and back, and what zoom, pan and keys make of it.
import assert from "node:assert/strict";
import test from "node:test";

import {
  apply,
  bounded,
  chained,
  inside,
  inverse,
  LARGEST,
  matrixOf,
  nearest,
  nudgeOf,
  panOf,
  panned,
  pinched,
  revealing,
  uncrowded,
  whole,
  zoomed,
} from "../../static/js/picture-view/mapping.js";

const PICTURE = { width: 1200, height: 900 };
const GROUND = { width: 600, height: 400 };
// Turned a quarter right and made half as large; mirrored; as it is.
const MATRICES = [
  [0, 0.5, -0.5, 0, 900, 0],
  [-1, 0, 0, 1, 1200, 0],
  [1, 0, 0, 1, 0, 0],
];

const close = (one, other) => {
  assert.ok(Math.abs(one.x - other.x) < 1e-6 && Math.abs(one.y - other.y) < 1e-6, `${JSON.stringify(one)} is not ${JSON.stringify(other)}`);
};

test("a spot goes to the screen and comes back", () => {
  for (const matrix of MATRICES) {
    const screen = chained(matrixOf({ scale: 3, x: -40, y: 25 }), matrix);
    close(apply(inverse(screen), apply(screen, { x: 123.25, y: 456.5 })), { x: 123.25, y: 456.5 });
  }
  assert.throws(() => inverse([0, 0, 0, 0, 5, 5]), /no area/);
});

test("the whole picture is as large as fits, in the middle", () => {
  const view = whole(PICTURE, GROUND);
  assert.equal(view.scale, 400 / 900);
  close(apply(matrixOf(view), { x: 600, y: 450 }), { x: 300, y: 200 });
});

test("enlarging keeps the spot under the pointer, down to single pixels and no further", () => {
  let view = whole(PICTURE, GROUND);
  const at = { x: 250, y: 130 };
  const spot = apply(inverse(matrixOf(view)), at);
  for (let turn = 0; turn < 40; turn += 1) view = zoomed(view, 1.3, at, PICTURE, GROUND);
  assert.equal(view.scale, LARGEST);
  close(apply(matrixOf(view), spot), at);
  for (let turn = 0; turn < 40; turn += 1) view = zoomed(view, 1 / 1.3, at, PICTURE, GROUND);
  assert.deepEqual(view, whole(PICTURE, GROUND));
});

test("the picture cannot be pushed out of sight", () => {
  const view = { scale: 2, x: 0, y: 0 };
  for (const [across, down] of [[1e6, 1e6], [-1e6, -1e6]]) {
    const { x, y } = panned(view, across, down, PICTURE, GROUND);
    assert.ok(x <= 300 && x >= 300 - 2400 && y <= 200 && y >= 200 - 1800);
  }
  assert.deepEqual(bounded({ scale: 0.01, x: 5, y: 5 }, PICTURE, GROUND), whole(PICTURE, GROUND));
});

test("what lies under two fingers stays under them", () => {
  const view = { scale: 1, x: -100, y: -100 };
  const from = [{ x: 200, y: 200 }, { x: 300, y: 200 }];
  const to = [{ x: 180, y: 210 }, { x: 380, y: 210 }];
  const after = pinched(view, from, to, PICTURE, GROUND);
  assert.equal(after.scale, 2);
  for (const at of [0, 1]) close(apply(matrixOf(after), apply(inverse(matrixOf(view)), from[at])), to[at]);
});

test("a point out of sight comes into sight, one in sight leaves the picture where it is", () => {
  const view = { scale: 2, x: -500, y: -500 };
  assert.deepEqual(revealing(view, { x: 300, y: 200 }, 40, PICTURE, GROUND), view);
  const moved = revealing(view, { x: -30, y: 500 }, 40, PICTURE, GROUND);
  assert.deepEqual([moved.x, moved.y], [-430, -640]);
});

test("an arrow key moves a point to the side it shows, by 1, 10 or 0.1 pixels of the original", () => {
  for (const matrix of MATRICES) {
    for (const [key, across, down] of [["ArrowRight", 1, 0], ["ArrowLeft", -1, 0], ["ArrowUp", 0, -1], ["ArrowDown", 0, 1]]) {
      for (const [keys, size] of [[{}, 1], [{ shiftKey: true }, 10], [{ altKey: true }, 0.1]]) {
        const step = nudgeOf(key, keys, chained(matrixOf({ scale: 7, x: 1, y: 2 }), matrix));
        assert.ok(Math.abs(Math.hypot(step.x, step.y) - size) < 1e-9);
        const [xx, yx, xy, yy] = matrix;
        assert.equal(Math.sign(Math.round(1e6 * (xx * step.x + xy * step.y))), across);
        assert.equal(Math.sign(Math.round(1e6 * (yx * step.x + yy * step.y))), down);
      }
    }
  }
  assert.equal(nudgeOf("a", {}, MATRICES[0]), null);
});

test("an arrow key pans toward its side", () => {
  assert.ok(panOf("ArrowRight", GROUND).x < 0);
  assert.ok(panOf("ArrowDown", GROUND).y < 0);
  assert.equal(panOf("Enter", GROUND), undefined);
});

test("a spot is held inside the original, to the hundredth of a pixel", () => {
  assert.deepEqual(inside({ x: -3, y: 12.3456 }, [100, 50]), { x: 0, y: 12.35 });
  assert.deepEqual(inside({ x: 400, y: 51 }, [100, 50]), { x: 100, y: 50 });
});

test("the nearest point within reach is chosen, the chosen one before others", () => {
  const spots = [["A", { x: 0, y: 0 }], ["B", { x: 6, y: 0 }]];
  assert.equal(nearest(spots, { x: 4, y: 0 }, 10), "B");
  assert.equal(nearest(spots, { x: 4, y: 0 }, 10, "A"), "A");
  assert.equal(nearest(spots, { x: 40, y: 0 }, 10, "A"), null);
});

test("names that would cover an earlier one are left out", () => {
  const box = (left, top) => ({ left, right: left + 20, top, bottom: top + 10 });
  const kept = uncrowded([["A", box(0, 0)], ["B", box(15, 5)], ["C", box(30, 5)], ["D", box(20, 0)]]);
  assert.deepEqual([...kept], ["A", "C"]);
});
