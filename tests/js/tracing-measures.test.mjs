// The measures of a tracing: the page's script gives what the vector file expects, as the server does.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";

import { Face, fixed, measureFace } from "../../static/js/tracing/measures.js";

const json = (name) => JSON.parse(readFileSync(new URL(`../imaging/${name}`, import.meta.url), "utf8"));
const VECTORS = json("tracing_vectors.json");
const FORMULAS = json("tracing_formulas.json");
const BY_KEY = new Map(FORMULAS.measures.map((measure) => [measure.key, measure]));

/** The face of a tracing file: profile to +x, y up, in millimetres where there is a scale. */
function faceOf(whole) {
  const unit = [whole.mm_per_unit ?? "1"].flat().map(Number);
  const across = unit[0] * (whole.faces === "left" ? -1 : 1);
  const down = (unit[1] ?? unit[0]) * (whole.y === "down" ? -1 : 1);
  const spots = Object.fromEntries(
    Object.entries(whole.points).map(([key, [x, y, sd = FORMULAS.point_sd]]) => [key, { x: x * across, y: y * down, sd }]),
  );
  const scaleSd = Number(whole.scale_sd_percent ?? 0);
  const how = { calibrated: "mm_per_unit" in whole, scaleSd, plane: whole.mandibular_plane ?? "go_me" };
  return new Face(spots, how, FORMULAS);
}

const plain = (text) => text.replace("−", "-");

for (const { name, tracing, measures, refused } of VECTORS.cases) {
  test(`the script gives what the vector file expects: ${name}`, () => {
    const found = measureFace(faceOf(tracing), FORMULAS.measures);
    assert.equal(found.size, Object.keys(measures).length + Object.keys(refused).length);
    for (const [key, expected] of Object.entries(measures)) {
      const { value, sd, plane } = found.get(key);
      const told = { value: plain(fixed(value)), unit: BY_KEY.get(key).unit };
      if (sd !== null) told.sd = fixed(sd);
      if (plane) told.plane = plane;
      assert.deepEqual(told, expected, key);
    }
    for (const [key, why] of Object.entries(refused)) assert.equal(found.get(key).why, why, key);
  });
}

test("what is not placed is named in the order of the list, with what a constructed point is made of", () => {
  const { tracing } = VECTORS.cases[0];
  const points = Object.fromEntries(Object.entries(tracing.points).filter(([key]) => !["A", "N", "OPm", "U6", "Sn"].includes(key)));
  const found = measureFace(faceOf({ ...tracing, points, mm_per_unit: undefined }), FORMULAS.measures);
  assert.equal(found.get("anb").why, "missing N, A");
  assert.equal(found.get("op_sn").why, "missing N, OPm");
});

test("two points in one place are named, not computed", () => {
  const { tracing } = VECTORS.cases[0];
  const found = measureFace(faceOf({ ...tracing, points: { ...tracing.points, N: tracing.points.S } }), FORMULAS.measures);
  assert.equal(found.get("sn_mp").why, "S and N lie in one place");
  const chin = { ...tracing.points, Pog: tracing.points.B };
  assert.match(measureFace(faceOf({ ...tracing, points: chin }), FORMULAS.measures).get("holdaway_ratio").why, /^the divisor .* is 0$/);
});

test("errors of shared points cancel or add before they are squared", () => {
  const found = measureFace(faceOf(VECTORS.cases[0].tracing), FORMULAS.measures);
  const [sna, snb, anb] = ["sna", "snb", "anb"].map((key) => found.get(key));
  assert.ok(anb.sd < Math.hypot(sna.sd, snb.sd));
  assert.ok(!anb.parts.has("S.x") || Math.abs(anb.parts.get("S.x")) < 1e-12);
});

test("numbers are rounded once, half away from zero, with a true minus and no minus zero", () => {
  assert.equal(fixed(0.25, 1), "0.3");
  assert.equal(fixed(-0.25, 1), "−0.3");
  assert.equal(fixed(1.005), "1.01");
  assert.equal(fixed(-0.001), "0.00");
  assert.equal(fixed(123.449999999999, 1), "123.5");
  assert.equal(fixed(8.35, 1), "8.4");
});

test("a chin above a line of the skull is told with its points, and turning the whole head does not matter", () => {
  const { tracing } = VECTORS.cases[0];
  assert.equal(faceOf(tracing).mirroredAt(), null);
  const wrong = { ...tracing, points: { ...tracing.points, Me: [50, 60], Gn: [55, 50] } };
  assert.deepEqual(faceOf(wrong).mirroredAt(), { chin: ["Gn", "Me"], line: "S-N" });
  const turned = Object.fromEntries(Object.entries(tracing.points).map(([key, [x, y]]) => [key, [-x, -y]]));
  assert.equal(faceOf({ ...tracing, points: turned }).mirroredAt(), null);
  const lacking = Object.fromEntries(Object.entries(wrong.points).filter(([key]) => key !== "S"));
  assert.deepEqual(faceOf({ ...tracing, points: lacking }).mirroredAt(), { chin: ["Gn", "Me"], line: "Po-Or" });
});
