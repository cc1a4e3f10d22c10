// Marks as plain data: keys and names, what is drawn, and how large the picture was when a place was pressed.
import assert from "node:assert/strict";
import test from "node:test";

import { foot, moved, nextKey, nextLabel, path, same, zoomOf } from "../../static/js/marks/shapes.js";

test("the zoom is that of lengths, whatever way the picture is turned or mirrored", () => {
  assert.equal(zoomOf([3, 0, 0, 3, 50, 60]), 3);
  assert.equal(zoomOf([0, 3, -3, 0, 50, 60]), 3);
  assert.equal(zoomOf([-0.5, 0, 0, 0.5, 0, 0]), 0.5);
});

test("a new mark never takes the key or name of another, also when some were taken away", () => {
  assert.equal(nextKey([]), "m1");
  assert.equal(nextKey(["m1", "m7", "other"]), "m8");
  assert.equal(nextLabel([]), "A");
  assert.equal(nextLabel(["A", "C"]), "B");
  assert.equal(nextLabel([..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"]), "A2");
});

test("the foot of a perpendicular lies on the line and square to it", () => {
  assert.deepEqual(foot([{ x: 0, y: 0 }, { x: 10, y: 0 }, { x: 4, y: 7 }]), { x: 4, y: 0 });
  assert.equal(foot([{ x: 1, y: 1 }, { x: 1, y: 1 }, { x: 4, y: 7 }]), null);
});

test("a mark begun is drawn as far as it goes", () => {
  assert.equal(path("distance", [{ x: 1, y: 2 }]), "");
  assert.equal(path("distance", [{ x: 1, y: 2 }, { x: 3, y: 4 }]), "M1 2L3 4");
  assert.equal(path("from_line", [{ x: 0, y: 0 }, { x: 10, y: 0 }]), "M0 0L10 0");
  assert.equal(path("angle", [{ x: 0, y: 0 }, { x: 5, y: 0 }, { x: 5, y: 5 }]), "M0 0L5 0L5 5");
});

test("the line is drawn on as far as the foot where that lies beyond its ends", () => {
  const places = [{ x: 0, y: 0 }, { x: 10, y: 0 }, { x: 15, y: 5 }];
  assert.equal(path("from_line", places), "M0 0L15 0M15 0L15 5");
  places[2] = { x: -5, y: 5 };
  assert.equal(path("from_line", places), "M-5 0L10 0M-5 0L-5 5");
});

test("a moved place leaves the mark it came from as it was", () => {
  const mark = { kind: "distance", label: "A", places: [{ x: 1, y: 1, zoom: 1 }, { x: 2, y: 2, zoom: 1 }] };
  const after = moved(mark, 1, { x: 9, y: 9, zoom: 4 });
  assert.deepEqual(mark.places[1], { x: 2, y: 2, zoom: 1 });
  assert.deepEqual(after.places, [{ x: 1, y: 1, zoom: 1 }, { x: 9, y: 9, zoom: 4 }]);
  assert.equal(same(mark, after), false);
  assert.equal(same(undefined, null), true);
});
