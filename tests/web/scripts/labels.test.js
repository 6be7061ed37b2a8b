/* Placing labels, and where a figure's points and letters go. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
globalThis.document = { getElementById: () => null };
const viz = require("./load.js")("rows", "labels", "orbit", "notes");

const apart = (tops, heights) => tops.every((y, k) => k === 0 || y >= tops[k - 1] + heights[k - 1] - 1e-9);

test("labels with room stay where they are wished", () => {
  assert.deepEqual(viz.spaced([100, 200, 300], [40, 40, 40], 64, 500), [100, 200, 300]);
});

test("labels never meet, keep their order and stay above the bottom", () => {
  let seed = 1;
  const random = () => {
    seed = (seed * 48271) % 2147483647;
    return seed / 2147483647;
  };
  for (let n = 0; n < 500; n++) {
    const count = 1 + Math.floor(random() * 6);
    const heights = Array.from({ length: count }, () => 20 + 30 * random());
    const wished = Array.from({ length: count }, () => 600 * random()).sort((a, b) => a - b);
    const tops = viz.spaced(wished, heights, 64, 500);
    assert.ok(apart(tops, heights));
    assert.ok(tops[count - 1] + heights[count - 1] <= 500 + 1e-9);
    assert.ok(tops[0] >= 64 - 1e-9);
  }
});

test("a short name stands in two lines, as even as they go", () => {
  assert.equal(viz.twoLines("Weight"), "Weight");
  assert.equal(viz.twoLines("Weight above hip"), "Weight\nabove hip");
  assert.equal(viz.twoLines("Brazo de la muleta"), "Brazo de\nla muleta");
});

test("a leader from below stays level until it is there", () => {
  assert.deepEqual(viz.leaderBelow(100, 50, 1, [220, 20]), [[100, 50], [208, 50], [220, 20]]);
});

test("a leader leaves its label level and ends at what it names", () => {
  assert.deepEqual(viz.leader(100, 50, 1, [120, 80]), [[100, 50], [110, 50], [120, 80]]);
  assert.deepEqual(viz.leader(700, 50, -1, [400, 80])[1], [674, 50]);
});

test("the right side's letter is at the left from the front and at the right from the back", () => {
  const voice = { say: (key) => key.slice(5, 6).toUpperCase() };
  assert.deepEqual(viz.sideLetters(1, false, voice), ["R", "L"]);
  assert.deepEqual(viz.sideLetters(-1, false, voice), ["L", "R"]);
  assert.deepEqual(viz.sideLetters(0.1, false, voice), ["", ""]);
  assert.deepEqual(viz.sideLetters(1, true, voice), ["", ""]);
});

test("the eye turns at most so steeply, keys and named views move it", () => {
  let told = 0;
  const orbit = new viz.Orbit(1, () => {
    told += 1;
  });
  assert.deepEqual([orbit.named, orbit.flat, orbit.close], ["front", true, false]);
  orbit.turn(0, 99);
  assert.ok(orbit.rise < Math.PI / 2);
  assert.equal(orbit.named, "");
  assert.equal(orbit.press("ArrowLeft"), true);
  assert.equal(orbit.press("q"), false);
  orbit.view("side");
  assert.ok(Math.abs(viz.wayToEye(orbit.round, orbit.rise)[0] + 1) < 1e-12); // from the person's right
  orbit.press("0");
  assert.deepEqual([orbit.round, orbit.rise, orbit.named], [-0, 0, "front"]);
  assert.equal(told, 4);
});
