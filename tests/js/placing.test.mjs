// Undoing and doing again on a page of named spots, and which spot comes next.
import assert from "node:assert/strict";
import { test } from "node:test";
import { nextFree, Steps } from "../../static/js/placing/steps.js";

const at = (x) => ({ x, y: 1, uncertain: false });

test("undo sets the old place and doing again the new one", () => {
  const steps = new Steps();
  steps.note({ key: "S", old: null, new: at(1) });
  steps.note({ key: "S", old: at(1), new: at(2) });
  assert.deepEqual(steps.undo(), { key: "S", to: at(1) });
  assert.deepEqual(steps.undo(), { key: "S", to: null });
  assert.equal(steps.undo(), null);
  assert.deepEqual(steps.redo(), { key: "S", to: at(1) });
  assert.deepEqual(steps.redo(), { key: "S", to: at(2) });
  assert.equal(steps.redo(), null);
});

test("a new change leaves nothing to do again", () => {
  const steps = new Steps();
  steps.note({ key: "S", old: null, new: at(1) });
  steps.undo();
  steps.note({ key: "N", old: null, new: at(3) });
  assert.equal(steps.redoable, false);
  assert.deepEqual(steps.undo(), { key: "N", to: null });
});

test("what was noted is forgotten once somebody else has changed things", () => {
  const steps = new Steps();
  steps.note({ key: "S", old: null, new: at(1) });
  steps.forget();
  assert.equal(steps.undoable, false);
});

test("the next spot is the first one without a place after this, going round", () => {
  const keys = ["S", "N", "A", "B"];
  assert.equal(nextFree(keys, { S: at(1) }, "S"), "N");
  assert.equal(nextFree(keys, { A: at(1), B: at(1) }, "A"), "S");
  assert.equal(nextFree(keys, Object.fromEntries(keys.map((key) => [key, at(1)])), "N"), null);
});
