/* The polygon, the chart's scales, dimension lines, and what is remembered. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("rows", "voice", "polygon", "chart", "forces", "turns", "scales", "pressure", "server", "steps", "inputs");

const close = (found, wanted, within = 1e-9) => assert.ok(Math.abs(found - wanted) <= within, `${found} is not ${wanted}`);

test("forces that add up to nothing close their polygon", () => {
  const forces = [[0, -500, 0], [0, -900, 300], [0, 1400, -300]].map((force) => ({ force }));
  const corners = viz.corners(forces);
  assert.equal(corners.length, 4);
  close(corners[3][0], 0);
  close(corners[3][1], 0);
  assert.ok(corners[1][1] > 0); // a weight points down the screen
});

test("forces go head to tail in the plan's order, those that are nothing left out", () => {
  const arrows = [["joint", 900], ["weight", 500], ["cane", 1], ["muscle", 400]].map(([key, size]) => ({ key, size }));
  const found = viz.inOrder(["cane", "weight", "muscle", "joint"], arrows, 600);
  assert.deepEqual(found.map((a) => a.key), ["weight", "muscle", "joint"]);
});

test("arcs that turn the same way stand end to end, short ones are left out", () => {
  const about = { apart: 0.3, perNewtonMetre: 0.02, shortest: 0.1 };
  const turns = [["weight", 40], ["muscle", -50], ["load", 10], ["hand", 1]].map(([key, moment]) => ({ key, moment }));
  const [weight, muscle, load, ...none] = viz.arcs(turns, about);
  assert.deepEqual([weight.key, muscle.key, load.key, none.length], ["weight", "muscle", "load", 0]);
  close(weight.begin, Math.PI / 2 + 0.3);
  close(load.begin, weight.begin + weight.sweep);
  close(muscle.begin, Math.PI / 2 - 0.3);
  close(muscle.sweep, -1);
});

test("an arc's band keeps its radius and its head ends where the moment does", () => {
  const corners = viz.arcTriangles(2, -1, { radius: 0.1, width: 0.01, head: 0.02 });
  const tip = corners[corners.length - 1];
  close(tip[0], 0.1 * Math.cos(1));
  close(tip[1], 0.1 * Math.sin(1));
  for (const [x, y] of corners) assert.ok(Math.abs(Math.hypot(x, y) - 0.1) <= 0.0141);
});

test("an axis that points at the viewer has no bar", () => {
  const project = ([x, y, z]) => [100 * z, -100 * y + 5 * x];
  const found = viz.axes(-1, 100, project);
  assert.deepEqual(found, [["up", [0, -100]], ["outward", [-100, 0]]]);
});

test("an arrow's outline ends at its tip and is as wide to either side", () => {
  const outline = viz.outline([0, 0], [100, 0]);
  assert.equal(outline.length, 7);
  assert.deepEqual(outline[3], [100, 0]);
  close(outline[0][1], -outline[6][1]);
});

test("round numbers are 1, 2 or 5 times a power of ten, and a scale holds its largest value", () => {
  assert.deepEqual([0.012, 0.7, 1.2, 2.9, 60].map(viz.nice), [0.01, 0.5, 1, 2, 50]);
  for (const most of [0.3, 0.97, 2.55, 4, 1603, 4000.1]) {
    const levels = viz.levels(most);
    assert.equal(levels[0], 0);
    assert.ok(levels[levels.length - 1] >= most - 1e-9);
    assert.ok(levels[levels.length - 2] <= most + 1e-9);
  }
});

test("ticks lie between the ends", () => {
  assert.deepEqual(viz.ticks(-10, 20), [-10, 0, 10, 20]);
  assert.deepEqual(viz.ticks(50, 100), [50, 60, 70, 80, 90, 100]);
});

test("a force ends where it acts or begins there", () => {
  const force = [0, 500, 0];
  assert.deepEqual(viz.ends({ at: [0, 1, 0], force }, 500, 0.15), { tail: [0, 1, 0], end: [0, 1.15, 0] });
  const held = viz.ends({ at: [0, 1, 0], force, tip: true }, 500, 0.15);
  close(held.end[1], 1);
  close(held.tail[1], 0.85);
});

test("a pressure's colour is the table's, the colour above the range beyond it", () => {
  const told = { range: [1e6, 3e6], over: [255, 0, 0], ramp: Uint8Array.from({ length: 768 }, (_, k) => Math.floor(k / 3)) };
  assert.deepEqual(viz.pressureColour(told, 4e6), [1, 0, 0]);
  assert.deepEqual(viz.pressureColour(told, 0), [0, 0, 0]);
  const grey = viz.pressureColour(told, 2e6);
  close(grey[0], ((127 / 255 + 0.055) / 1.055) ** 2.4);
  assert.equal(grey[0], grey[2]);
});

test("the lune presses as the cosine from its pole and not beyond its edge", () => {
  const d = { pole: 0.2, polePressure: 2e6, edge: 0.6 };
  const at = (angle) => viz.lunePressure(d, 0, Math.sin(angle), Math.cos(angle));
  close(at(0.2), 2e6, 1e-3);
  close(at(-0.3), 2e6 * Math.cos(0.5), 1e-3);
  assert.equal(at(0.7), 0);
  assert.ok(at(0.59) > 0);
});

test("a head pressed against a horseshoe presses only ahead of itself", () => {
  assert.equal(viz.horseshoePressure([0, 1e6, 0], [0, 1, 0]), 1e6);
  assert.equal(viz.horseshoePressure([0, 1e6, 0], [0, -1, 0]), 0);
});

test("undo and redo walk the same way", () => {
  const history = new viz.History();
  history.remember("a");
  history.remember("b");
  assert.equal(history.undo("c"), "b");
  assert.equal(history.undo("b"), "a");
  assert.equal(history.undo("a"), undefined);
  assert.equal(history.redo("a"), "b");
  assert.equal(history.redo("b"), "c");
  history.remember("c");
  assert.equal(history.redo("d"), undefined);
});

test("a step's values go all the way, in their units", () => {
  const set = { "posture.lean": "15 deg", "hands.left.force": "\u22122 %BW" };
  const from = { "posture.lean": 5, "hands.left.force": 0 };
  assert.deepEqual(viz.onTheWay(from, set, 1), { "posture.lean": "15.0000 deg", "hands.left.force": "-2.0000 %BW" });
  assert.deepEqual(viz.onTheWay(from, set, 0)["posture.lean"], "5.0000 deg");
  assert.equal(viz.otherwise({ "hands.left.holds": "bag" }), true);
  assert.equal(viz.otherwise({ "posture.lean": "1 deg" }), false);
});

test("what a hand takes sets its force or its mass and clears the other", () => {
  assert.deepEqual(viz.taken("left", "bag"), { "hands.left.holds": "bag", "hands.left.force": null, "hands.left.mass": "5 kg" });
  assert.deepEqual(viz.taken("left", "cane")["hands.left.force"], "0 %BW");
  assert.equal(viz.handKey("right", "bag"), "hands.right.mass");
});

test("an input's value is written with its unit and its direction in words", () => {
  const texts = { plain: { "page.rises": "rises {angle}", "page.away": "{angle} away", "page.push": "{number} %, {force}" } };
  const units = { force: { size: 1, sign: " N", digits: 0 } };
  const voice = new viz.Voice({ register: "plain", words: texts, point: ".", units });
  assert.equal(viz.written(voice, { key: "posture.lean", unit: "deg", step: 0.5 }, 2), "2.0\u00b0");
  assert.equal(viz.written(voice, { key: "posture.lean", unit: "deg", step: 0.5 }, -2), "2.0\u00b0 away");
  assert.equal(viz.written(voice, { key: "posture.obliquity", unit: "deg", step: 0.5 }, -2), "rises 2.0\u00b0");
  assert.equal(viz.written(voice, { key: "person.mass", unit: "kg", step: 1 }, 64.2), "64 kg");
  assert.equal(viz.written(voice, { unit: "%BW", step: 0.5 }, 7.5, 600), "7.5 %, 45 N");
});
