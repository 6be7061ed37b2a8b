/* Interpolation: what a page makes of solved rows. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("rows");

const NODES = [-1, 0, 0.5, 2, 3, 5];
const sum = (numbers) => numbers.reduce((a, b) => a + b, 0);
const close = (found, wanted, within = 1e-9) => assert.ok(Math.abs(found - wanted) <= within, `${found} is not ${wanted}`);

test("weights are one at a node and nothing at the others", () => {
  NODES.forEach((node, k) => {
    const found = viz.weights(NODES, node);
    found.forEach((w, i) => close(w, i === k ? 1 : 0));
  });
});

test("weights add up to one and reproduce any cubic, inside and outside the nodes", () => {
  const cubic = (x) => 2 - 3 * x + 0.5 * x ** 2 - 0.25 * x ** 3;
  for (const at of [-1.5, -0.3, 0.2, 1.1, 2.6, 4.9, 5.5]) {
    const found = viz.weights(NODES, at);
    close(sum(found), 1);
    close(sum(found.map((w, k) => w * cubic(NODES[k]))), cubic(at));
    assert.ok(found.filter((w) => w !== 0).length <= 4);
  }
});

test("one node alone carries everything, two make a straight line", () => {
  assert.deepEqual(viz.weights([0], 7), [1]);
  const [a, b] = viz.weights([0, 4], 1);
  close(a, 0.75);
  close(b, 0.25);
});

test("a pose between rows has the value of the surface the rows lie on", () => {
  const surface = (lean, force) => [1 + 2 * lean ** 3 - force ** 2, lean * force];
  const grid = { leans: [0, 1, 2, 3, 4], forces: [0, 2, 3, 5], layout: [["first", 1], ["second", 1]] };
  grid.rows = Float64Array.from(grid.leans.flatMap((x) => grid.forces.flatMap((y) => surface(x, y))));
  const found = viz.between(grid, 1.7, 2.2);
  close(found.first[0], surface(1.7, 2.2)[0]);
  close(found.second[0], surface(1.7, 2.2)[1]);
});

test("a moment lies on the line between its samples and stops at the ends", () => {
  const line = { layout: [["x", 2]], times: [0, 1, 3], rows: Float64Array.from([0, 10, 4, 20, 8, 40]) };
  assert.deepEqual(viz.moment(line, 2).x, [6, 30]);
  assert.deepEqual(viz.moment(line, 1).x, [4, 20]);
  assert.deepEqual(viz.moment(line, -5).x, [0, 10]);
  assert.deepEqual(viz.moment(line, 99).x, [8, 40]);
});

test("columns are cut by their widths", () => {
  assert.deepEqual(viz.columns([["a", 1], ["b", 3]], [1, 2, 3, 4]), { a: [1], b: [2, 3, 4] });
  assert.equal(viz.width([["a", 1], ["b", 3]]), 4);
});

test("numbers of 32 bits come out of base64 as they went in", () => {
  const wanted = Float32Array.from([0, -1.5, 3e8]);
  const text = Buffer.from(wanted.buffer).toString("base64");
  assert.deepEqual(viz.floats(text), wanted);
});

test("a step begins and ends at rest", () => {
  assert.deepEqual([0, 0.5, 1].map(viz.eased), [0, 0.5, 1]);
  close((viz.eased(1e-4) - viz.eased(0)) / 1e-4, 0, 1e-6);
  close((viz.eased(1) - viz.eased(1 - 1e-4)) / 1e-4, 0, 1e-6);
});
