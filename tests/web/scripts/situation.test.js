/* Picking the muscle that pulls, and looking the lune up. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("rows", "situation");

const TOLD = { sign: 1, links: ["pelvis"] };

const close = (found, wanted, within = 1e-9) => assert.ok(Math.abs(found - wanted) <= within, `${found} is not ${wanted}`);

const ABOUT = {
  arrows: [
    { key: "weight", role: "weight", name: "w" }, { key: "muscle", role: "muscle", name: "ab", names: { adductor: "ad" } },
    { key: "joint", role: "joint", name: "j", tip: true },
  ],
  levers: [{ key: "weight_lever", role: "weight", of: "weight", drop: 0.1, name: "wl" }],
  turns: [{ key: "weight_turn", role: "weight" }, { key: "muscle_turn", role: "muscle" }],
  polygon: ["weight", "muscle", "joint"], aids: { left: "cane", right: "bag" },
  muscles: [{ name: "belly", faint: false }],
};
const columns = (moment, more = {}) => ({
  moment: [moment], lost: [0], falls: [0], margin: [12], edge: [0.5], hip: [0, 0.9, 0.1],
  "link pelvis": [1, 2, 3, 0, 0, 0, 1], "active belly": [0.4], "carried right": [0],
  "arrow weight": [0, 1, 0, 0, -500, 0],
  "arrow muscle@abductor": [0, 1, 0.2, 0, -300, 100], "arrow muscle@adductor": [0, 0.9, 0, 0, -30, -40],
  "arrow joint@abductor": [0, 0.9, 0.1, 0, 800, -100], "arrow joint@adductor": [0, 0.9, 0.1, 0, 530, 40],
  "lever weight_lever": [0, 1, 0, 0, 0.9, 0.1, -0.1], "turn weight_turn": [50], "turn muscle_turn": [-moment],
  pressure: [0.1, 2e6, 2e6], ...more,
});

test("the muscle that pulls is the one whose moment is wanted", () => {
  assert.equal(viz.pulling({ moment: [3] }), "abductor");
  assert.equal(viz.pulling({ moment: [0] }), "abductor");
  assert.equal(viz.pulling({ moment: [-3] }), "adductor");
});

test("what depends on the muscle is taken from the one that pulls, with its name", () => {
  const found = viz.situation(columns(-3), ABOUT, TOLD);
  const [weight, muscle, joint] = found.arrows;
  assert.deepEqual([muscle.name, muscle.size, muscle.at], ["ad", 50, [0, 0.9, 0]]);
  assert.deepEqual(joint.force, [0, 530, 40]);
  assert.deepEqual([weight.name, weight.size], ["w", 500]);
  assert.equal(viz.situation(columns(3), ABOUT, TOLD).arrows[1].name, "ab");
});

test("bones, muscles and what is carried come with the pose", () => {
  const found = viz.situation(columns(3), ABOUT, TOLD);
  assert.deepEqual(found.links, [1, 2, 3, 0, 0, 0, 1]);
  assert.deepEqual(found.muscles, [{ name: "belly", faint: false, activation: 0.4 }]);
  assert.deepEqual(found.carried, { left: 1, right: 0 });
});

test("a lever's length is told without its sign; moments and order come as they are", () => {
  const found = viz.situation(columns(3), ABOUT, TOLD);
  assert.deepEqual([found.levers[0].metres, found.levers[0].to], [0.1, [0, 0.9, 0.1]]);
  assert.deepEqual(found.turns.map((t) => t.moment), [50, -3]);
  assert.deepEqual([found.polygon, found.aids, found.short], [ABOUT.polygon, ABOUT.aids, 0]);
});

test("where no muscle balances the pose there is neither muscle nor joint", () => {
  const found = viz.situation(columns(3, { lost: [1] }), ABOUT, TOLD);
  assert.deepEqual(found.arrows.map((a) => a.key), ["weight"]);
  assert.deepEqual(found.turns.map((t) => t.key), ["weight_turn"]);
  assert.equal(found.joint, null);
});

test("a joint that would have to pull cannot be held, nor a muscle without the strength", () => {
  const down = { "arrow joint@abductor": [0, 0.9, 0.1, 0, -20, 0] };
  assert.equal(viz.situation(columns(3, down), ABOUT, TOLD).falls, true);
  assert.equal(viz.situation(columns(3, { margin: [-7] }), ABOUT, TOLD).short, 7);
});

test("a force that points up and inward has a positive tilt on either side", () => {
  close(viz.tilt([0, 1, -1], 1), Math.PI / 4);
  close(viz.tilt([0, 1, 1], -1), Math.PI / 4);
});

test("the lune is looked up between its rows and scales with the force", () => {
  const rows = { from: 0, step: 0.5, gap: [0.4, 0.2, 0.0, -0.2], size: [4, 3, 2, 1] };
  const [pole, most, peak] = viz.lune(rows, 100, 0.15, 0.6);
  close(pole, 0.6 - 0.1);
  close(most, 250);
  close(peak, most);
  const beyond = viz.lune(rows, 100, 0.65, 0.6);
  close(beyond[0], 0.6 + 0.1);
  close(beyond[2], beyond[1] * Math.cos(-0.1));
  assert.deepEqual(viz.lune(rows, 100, -0.9, 0.6), [0, 0, 0]);
});

test("a page without rows of the lune shows the pressure that was solved", () => {
  assert.deepEqual(viz.situation(columns(3), ABOUT, TOLD).polePressure, 2e6);
});
