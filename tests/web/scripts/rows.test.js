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
  const [leans, pushes] = [[0, 1, 2, 3, 4, 5, 6], [0, 2, 3, 5]];
  const axes = [{ word: "lean", nodes: leans }, { word: "push", nodes: pushes }];
  const layout = [["both", 2, [[0, 1], [1, 1]]], ["thin", 1, [[0, 2]]], ["still", 1, []]];
  const rows = [...leans.flatMap((x) => pushes.flatMap((y) => surface(x, y))), ...[0, 2, 4, 6].map((x) => x * x), 7];
  const grid = viz.indexed({ axes, layout, rows: Float64Array.from(rows) });
  const found = viz.between(grid, { lean: 1.7, push: 2.2 });
  surface(1.7, 2.2).forEach((wanted, k) => close(found.both[k], wanted));
  close(found.thin[0], 1.7 ** 2);
  assert.deepEqual(found.still, [7]);
  assert.deepEqual(Object.keys(viz.between(grid, { lean: 1, push: 2 }, (name) => name === "thin")), ["thin"]);
});

test("a moment lies on the line between its samples and stops at the ends", () => {
  const line = { fixed: [["y", [5]]], layout: [["x", 2]], times: [0, 1, 3], rows: Float64Array.from([0, 10, 4, 20, 8, 40]) };
  assert.deepEqual(viz.moment(line, 2).x, [6, 30]);
  assert.deepEqual(viz.moment(line, 1).x, [4, 20]);
  assert.deepEqual(viz.moment(line, -5).x, [0, 10]);
  assert.deepEqual(viz.moment(line, 99), { x: [8, 40], y: [5] });
  assert.deepEqual(viz.moment({ fixed: [["y", [5]]], layout: [], times: [0] }, 3), { y: [5] });
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
