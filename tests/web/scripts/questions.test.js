/* Questions: what is kept, how they are scored, how a why is told; and the room that bones leave. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
globalThis.document = { getElementById: () => null };
globalThis.window = { location: { hash: "" } };
const viz = require("./load.js")("voice", "rows", "kept", "room", "why", "questions");

const questions = [{ id: "a", choices: ["x", "y"], right: 1 }, { id: "b", choices: ["x", "y", "z"], right: 0 }];

test("only answers that the questions have are taken from what was kept", () => {
  assert.deepEqual(viz.answersKept('{"a": 1, "b": 7, "c": 0}', questions), { a: 1 });
  for (const text of [null, "null", "[", '{"a": "1"}', "3"]) assert.deepEqual(viz.answersKept(text, questions), {});
});

test("the score counts what is answered and what is right", () => {
  assert.deepEqual(viz.score(questions, {}), { answered: 0, right: 0 });
  assert.deepEqual(viz.score(questions, { a: 1, b: 2 }), { answered: 2, right: 1 });
});

test("a browser that keeps nothing is remembered for while it is open", () => {
  assert.equal(viz.kept("n"), null);
  viz.keep("n", "1");
  assert.equal(viz.kept("n"), "1");
  viz.keep("n", null);
  assert.equal(viz.kept("n"), null);
});

test("numbers of a why are told in their units", () => {
  const voice = {
    force: (newtons, weight) => `${(newtons / weight).toFixed(2)} BW`, moment: (m) => `${m} N m`, length: (m) => `${100 * m} cm`,
    megapascals: (p) => `${p / 1e6} MPa`, percent: (x) => `${100 * x} %`, angle: (x) => x.toFixed(3), say: (key, { share }) => `${key} ${share}`,
  };
  assert.equal(viz.quantity(voice, "force", 1200, 600), "2.00 BW");
  assert.equal(viz.quantity(voice, "BW", 1.5, 600), "1.50 BW");
  assert.equal(viz.quantity(voice, "cm", 10, 600), "10 cm");
  assert.equal(viz.quantity(voice, "MPa", 2, 600), "2 MPa");
  assert.equal(viz.quantity(voice, "deg", 180, 600), "3.142");
  assert.deepEqual(viz.pair(voice, { unit: "force", values: [600, 600] }, [600, 300]), ["1.00 BW", "2.00 BW"]);
  assert.equal(viz.change(voice, [200, 100]), "page.question.less 50 %");
});

test("a box at an edge covers what reaches into it in one of its rows, and nothing else", () => {
  const room = viz.bare(400, 300);
  viz.fillLine(room, [100, 50], [200, 100]);
  assert.equal(viz.covers(room, 0, [0, 40, 120, 20]), true);
  assert.equal(viz.covers(room, 0, [0, 40, 90, 20]), false);
  assert.equal(viz.covers(room, 0, [0, 150, 390, 20]), false);
  assert.equal(viz.covers(room, 1, [150, 80, 250, 30]), true);
  assert.equal(viz.covers(room, 1, [210, 80, 190, 30]), false);
  viz.fillBone(room, [300, 200, 340, 260, 320, 230]);
  assert.equal(viz.covers(room, 1, [335, 250, 65, 20]), true);
  assert.equal(viz.covers(room, 1, [345, 200, 55, 60]), false);
});
