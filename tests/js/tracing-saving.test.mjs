// What the tracing page holds and saves: changes on top of what the server says, conflicts, refusals, deviations in words.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";

import { deviationOf, normWords, onBar } from "../../static/js/tracing/deviation.js";
import { Tracing } from "../../static/js/tracing/model.js";
import { Saving } from "../../static/js/tracing/saving.js";

const FORMULAS = {
  ...JSON.parse(readFileSync(new URL("../imaging/tracing_formulas.json", import.meta.url), "utf8")),
  landmarks: ["S", "N", "A", "U6", "L6", "OPm"].map((key) => ({ key })),
};
const at = (x, y, uncertain = false) => ({ x, y, uncertain });
const state = (more = {}) => ({
  version: 3,
  points: { S: at(10, 20) },
  outlines: {},
  mandibular_plane: "go_me",
  faces: "right",
  axes: [0.1, 0, 0, -0.1],
  calibrated: true,
  scale_sd_percent: 0.4,
  why: "",
  undo: 3,
  redo: 0,
  offers: [{ key: "anb", seen: 7 }],
  ...more,
});

/** A page with a queue that keeps its jobs, and what was told. */
function page() {
  const tracing = new Tracing(FORMULAS, state());
  const jobs = [];
  const marks = [];
  const said = [];
  const saving = new Saving({ put: (job) => jobs.push(job) }, tracing, { save: "/save/", step: "/step/", takeOver: "/take/" }, {
    drawn: () => {},
    say: (words) => said.push(words),
    mark: (key, kind, words, choices) => marks.push({ key, kind, words, choices }),
  });
  return { tracing, jobs, marks, said, saving };
}

test("a change made here lies on top of what the server says until it is saved", () => {
  const { tracing, jobs, marks, saving } = page();
  tracing.edit("N", at(50, 15));
  saving.point("N");
  assert.deepEqual(jobs[0].build(), { seen: 3, points: { N: at(50, 15) } });
  assert.equal(tracing.unsaved, 1);
  jobs[0].saved(state({ version: 4, points: { S: at(10, 20), N: at(50, 15) } }));
  assert.equal(tracing.unsaved, 0);
  assert.deepEqual(marks.at(-1), { key: "N", kind: "", words: "", choices: undefined });
});

test("a newer change of the same point outlives the answer to the older one", () => {
  const { tracing, jobs, saving } = page();
  tracing.edit("N", at(50, 15));
  saving.point("N");
  tracing.edit("N", at(60, 15));
  jobs[0].saved(state({ points: { S: at(10, 20), N: at(50, 15) } }));
  assert.deepEqual(tracing.point("N"), at(60, 15));
});

test("a conflict about another point is sent again by itself, one about the same point is asked about", () => {
  const { tracing, jobs, marks, saving } = page();
  tracing.edit("S", at(11, 20));
  saving.point("S");
  jobs[0].build();
  jobs[0].changed(state({ version: 4, points: { S: at(10, 20), A: at(1, 1) } }));
  assert.equal(jobs.length, 2);
  assert.equal(jobs[1].build().seen, 4);
  jobs[1].changed(state({ version: 5, points: { S: at(99, 20) } }));
  assert.equal(jobs.length, 2);
  assert.equal(marks.at(-1).kind, "changed");
  const [[keep, giveWay], [mine, insist]] = marks.at(-1).choices;
  assert.deepEqual([keep, mine], ["Keep the other", "Save mine"]);
  insist();
  assert.deepEqual(jobs[2].build(), { seen: 5, points: { S: at(11, 20) } });
  giveWay();
  assert.deepEqual(tracing.point("S"), at(99, 20));
});

test("what is refused stays on the page with the reason, and can be put back", () => {
  const { tracing, jobs, marks, saving } = page();
  tracing.edit("S", at(-5, 0));
  saving.point("S");
  jobs[0].refused({ faults: [{ point: "S", message: "S lies outside the picture." }] });
  assert.equal(marks.at(-1).words, "Not saved. S lies outside the picture.");
  assert.deepEqual(tracing.point("S"), at(-5, 0));
  marks.at(-1).choices[0][1]();
  assert.deepEqual(tracing.point("S"), at(10, 20));
});

test("outlines are saved as rows of knots, and taken away by null", () => {
  const { tracing, jobs, saving } = page();
  tracing.editOutline("sella", [[1, 2], "S"]);
  saving.outline("sella", "Sella");
  assert.deepEqual(jobs[0].build(), { seen: 3, outlines: { sella: [[1, 2], "S"] } });
  jobs[0].saved(state({ outlines: { sella: [[1, 2], "S"] } }));
  tracing.editOutline("sella", null);
  saving.outline("sella", "Sella");
  assert.deepEqual(jobs[1].build().outlines, { sella: null });
});

test("undo means the change that is newest when its turn comes", () => {
  const { tracing, jobs, said, saving } = page();
  saving.step("undo");
  tracing.take(state({ undo: 8 }));
  assert.deepEqual(jobs[0].build(), { action: "undo", number: 8 });
  jobs[0].changed(state());
  assert.match(said.at(-1), /changed in another window/);
});

test("measures are taken over with the change of the finding that was seen", () => {
  const { jobs, saving } = page();
  saving.takeOver(["anb"]);
  assert.deepEqual(jobs[0].build(), { seen: 3, take: { anb: 7 } });
});

test("a point is placed, uncertain, made of others or missing, and the next missing one goes round the list", () => {
  const tracing = new Tracing(FORMULAS, state({ points: { S: at(1, 1), U6: at(2, 2), L6: at(3, 3, true) } }));
  assert.deepEqual(["S", "L6", "OPm", "A"].map((key) => tracing.standing(key)), ["placed", "uncertain", "made", "missing"]);
  assert.equal(tracing.madeOf("OPm"), "U6 and L6");
  assert.equal(tracing.nextMissing("A"), "N");
  assert.equal(tracing.nextMissing("S"), "N");
  assert.equal(tracing.nextMissing("N"), "A");
});

test("a spot of the face goes back to the pixel it came from", () => {
  const tracing = new Tracing(FORMULAS, state({ axes: [0, -0.2, 0.1, 0], points: { S: at(120, 340) } }));
  const { x, y } = tracing.onOriginal(tracing.face().spots.S);
  assert.ok(Math.abs(x - 120) < 1e-9 && Math.abs(y - 340) < 1e-9);
});

test("nothing is measured while the head lies, or is mirrored, and the page says why", () => {
  const lying = new Tracing(FORMULAS, state({ axes: null, why: "The picture lies on its side." }));
  assert.equal(lying.read().size, 0);
  assert.equal(lying.why, "The picture lies on its side.");
  const mirrored = new Tracing(FORMULAS, state({ points: { S: at(0, 100), N: at(70, 90), Me: at(50, 0) } }));
  assert.equal(mirrored.read().size, 0);
  assert.match(mirrored.why, /^Me lies above S-N/);
});

const norm = (more) => ({ value: "", sd: "", low: "", high: "", age: "", ...more });

test("a norm is told as it is published", () => {
  assert.equal(normWords(norm({ value: "82", sd: "3.5" })), "82 ± 3.5");
  assert.equal(normWords(norm({ value: "-4.6", low: "-9", high: "0" })), "−4.6 (−9 to 0)");
  assert.equal(normWords(norm({ low: "-4", high: "-3", sd: "2" })), "−4 to −3 ± 2");
  assert.equal(normWords(norm({ age: "87 at 9 years" })), "87 at 9 years; not told for this age");
});

test("a value stands over, under or inside its norm, in deviations where there are any", () => {
  assert.deepEqual(deviationOf(89, 0.7, norm({ value: "82", sd: "3.5" })), { words: "2.0 SD over", deviation: 2, error: 0.19999999999999998 });
  assert.equal(deviationOf(80.9, null, norm({ value: "82" })).words, "1.1 under");
  assert.equal(deviationOf(76.5, null, norm({ low: "76", high: "77" })).words, "inside");
  assert.equal(deviationOf(80, null, norm({ low: "76", high: "77" })).words, "3.0 over");
  assert.equal(deviationOf(82.01, null, norm({ value: "82", sd: "3.5" })).words, "at the norm");
  assert.equal(deviationOf(1, null, norm({ age: "87 at 9 years" })), null);
});

test("a bar ends at four deviations and says that it is cut", () => {
  assert.deepEqual(onBar(0, 80), { x: 40, cut: false });
  assert.deepEqual(onBar(-2, 80), { x: 20, cut: false });
  assert.deepEqual(onBar(9, 80), { x: 80, cut: true });
});
