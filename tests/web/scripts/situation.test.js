/* Picking the muscle that pulls, and looking the lune up. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("rows", "situation");

const close = (found, wanted, within = 1e-9) => assert.ok(Math.abs(found - wanted) <= within, `${found} is not ${wanted}`);

test("the muscle that pulls is the one whose moment is wanted", () => {
  assert.equal(viz.pulling({ moment: [3] }), "abductor");
  assert.equal(viz.pulling({ moment: [0] }), "abductor");
  assert.equal(viz.pulling({ moment: [-3] }), "adductor");
});

test("the lune is looked up between its rows and scales with force over radius squared", () => {
  const table = { from: 0, step: 0.5, gap: [0.4, 0.2, 0.0, -0.2], size: [4, 3, 2, 1] };
  const [pole, most, peak] = viz.lune(table, 100, 0.15, 0.6, 0.02);
  close(pole, 0.6 - 0.1);
  close(most, 2.5 * 100 / 0.02 ** 2, 1e-3);
  close(peak, most);
  const beyond = viz.lune(table, 100, 0.65, 0.6, 0.02);
  close(beyond[0], 0.6 + 0.1);
  close(beyond[2], beyond[1] * Math.cos(-0.1), 1e-6);
  assert.deepEqual(viz.lune(table, 100, -0.9, 0.6, 0.02), [0, 0, 0]);
});
