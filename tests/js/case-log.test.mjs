import assert from "node:assert/strict";
import test from "node:test";

import { column, neighbour } from "../../static/js/case-log/keys.js";

const field = (row, key) => ({ row, dataset: { key } });
const fields = [field(1, "overjet"), field(1, "anb"), field(2, "overjet"), field(2, "anb")];

test("Enter goes on through a row into the next, and stays at either end", () => {
  assert.equal(neighbour(fields, fields[1], 1), fields[2]);
  assert.equal(neighbour(fields, fields[2], -1), fields[1]);
  assert.equal(neighbour(fields, fields[3], 1), null);
  assert.equal(neighbour(fields, fields[0], -1), null);
  assert.equal(neighbour(fields, field(9, "anb"), 1), null);
});

test("arrows stay in their column", () => {
  assert.deepEqual(column(fields, fields[3]), [fields[1], fields[3]]);
});
