import assert from "node:assert/strict";
import test from "node:test";

import { lacksDirection, same, typedText } from "../../static/js/measure/cell.js";
import { neighbour, withSense } from "../../static/js/measure/keys.js";

const field = (text, direction = "") => ({ text, direction, plane: "", note: "" });

test("a direction in words becomes the sign of the number", () => {
  assert.equal(typedText(field("2", "-")), "-2");
  assert.equal(typedText(field(" 4,5 ", "+")), "4,5");
  assert.equal(typedText(field("", "-")), "");
});

test("a sign or a word that was typed is left as it is", () => {
  assert.equal(typedText(field("-2", "-")), "-2");
  assert.equal(typedText(field("−2", "-")), "−2");
  assert.equal(typedText(field("none", "-")), "none");
});

test("a number needs its direction, nought and words do not", () => {
  assert.equal(lacksDirection(field("2"), true), true);
  assert.equal(lacksDirection(field("-2"), true), false);
  assert.equal(lacksDirection(field("0.0"), true), false);
  assert.equal(lacksDirection(field("none"), true), false);
  assert.equal(lacksDirection(field("2"), false), false);
  assert.equal(lacksDirection(field("2", "+"), true), false);
});

test("a direction without a number says nothing", () => {
  assert.equal(same(field("", "+"), field("", "-")), true);
  assert.equal(same(field("2", "+"), field("2", "-")), false);
  assert.equal(same(field("2"), { ...field("2"), note: "seen on the cast" }), false);
});

test("a sense button puts its key before the number and takes it away again", () => {
  assert.equal(withSense("3.5", "x"), "x 3.5");
  assert.equal(withSense("x 3.5", "x"), "3.5");
  assert.equal(withSense("3.5o", "o"), "3.5");
  assert.equal(withSense("−2", "x"), "x 2");
  assert.equal(withSense("", "o"), "o");
});

test("edge to edge stands alone", () => {
  assert.equal(withSense("3", "e"), "e");
  assert.equal(withSense("e", "e"), "");
});

test("going on ends at the last field and going back at the first", () => {
  assert.equal(neighbour(["a", "b"], "a", 1), "b");
  assert.equal(neighbour(["a", "b"], "b", 1), null);
  assert.equal(neighbour(["a", "b"], "a", -1), null);
  assert.equal(neighbour(["a", "b"], "z", 1), null);
});
