// The deviation of a point on the tracing page: the default, the reader's own, and more for an uncertain one.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { Tracing } from "../../static/js/tracing/model.js";

const FORMULAS = JSON.parse(readFileSync(new URL("../imaging/tracing_formulas.json", import.meta.url)));
const state = {
  version: 1,
  points: { S: { x: 0, y: 0, uncertain: false }, N: { x: 70, y: 0, uncertain: true }, A: { x: 69, y: 50, uncertain: true } },
  outlines: {},
  mandibular_plane: "go_me",
  faces: "right",
  axes: [1, 0, 0, -1],
  calibrated: true,
  scale_sd_percent: 0,
};
const deviations = (own) => {
  const { spots } = new Tracing(FORMULAS, { ...state, own_sds: own }).face();
  return Object.fromEntries(Object.entries(spots).map(([key, { sd }]) => [key, sd]));
};

test("without own errors every point errs by the default, an uncertain one by more", () => {
  assert.deepEqual(deviations({}), { S: FORMULAS.point_sd, N: FORMULAS.uncertain_sd, A: FORMULAS.uncertain_sd });
  assert.deepEqual(deviations(undefined), deviations({}));
});

test("own errors stand in place of the default and grow for an uncertain point as it does", () => {
  const found = deviations({ S: 0.3, N: 0.4 });
  assert.equal(found.S, 0.3);
  assert.ok(Math.abs(found.N - (0.4 * FORMULAS.uncertain_sd) / FORMULAS.point_sd) < 1e-12);
  assert.equal(found.A, FORMULAS.uncertain_sd);
});
