/* Formatting: numbers and words as the page writes them. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("voice");

const WORDS = {
  plain: { "page.a": "plain {x}", "page.change.same_start": "same", "page.change.less_start": "{size} {share} less", "page.change.more_before": "{size} {share} more", "page.change.times_start": "{size}, {times} times" },
  trade: { "page.a": "trade {x}" },
};
const UNITS = { force: { size: 1, sign: " N", digits: 0 }, length: { size: 0.01, sign: " cm", digits: 1 }, moment: { size: 1, sign: " N\u00b7m", digits: 1 } };
const POUNDS = { force: { size: 4.4482216, sign: " lbf", digits: 0 }, length: { size: 0.0254, sign: " in", digits: 1 }, moment: { size: 1.3558179, sign: " lbf\u00b7ft", digits: 1 } };
const voice = (unit = "BW", point = ".", units = UNITS) => new viz.Voice({ register: "plain", words: WORDS, point, unit, units });

test("a rounded number has a true minus sign and never a negative nothing", () => {
  assert.equal(viz.rounded(-1.26, 1), "\u22121.3");
  assert.equal(viz.rounded(-0.004, 2), "0.00");
  assert.equal(viz.rounded(-0.004, 3), "\u22120.004");
  assert.equal(viz.rounded(2.5, 2, ","), "2,50");
});

test("forces are written in the unit shown", () => {
  assert.equal(voice().force(1600, 628), "2.55 BW");
  assert.equal(voice("absolute").force(1600.4, 628), "1600 N");
  assert.equal(voice("absolute", ".", POUNDS).force(1000, 628), "225 lbf");
  assert.equal(voice("BW", ".", POUNDS).force(1256, 628), "2.00 BW");
  assert.deepEqual([voice().sign, voice("absolute", ".", POUNDS).sign], ["BW", "lbf"]);
  assert.equal(voice("BW", ",").force(1600, 628), "2,55 BW");
});

test("every quantity carries its unit", () => {
  const v = voice();
  const found = [v.length(0.1034), v.angle(Math.PI / 6), v.moment(51.26), v.megapascals(1.704e6), v.percent(0.484)];
  assert.deepEqual(found, ["10.3 cm", "30.0\u00b0", "51.3 N\u00b7m", "1.70 MPa", "48 %"]);
  assert.equal(voice("absolute", ".", POUNDS).moment(51.26), "37.8 lbf\u00b7ft");
});

test("words come in the register shown, holes filled, and none is missing unseen", () => {
  const v = voice();
  assert.equal(v.say("page.a", { x: 3 }), "plain 3");
  v.register = "trade";
  assert.equal(v.say("page.a", { x: 3 }), "trade 3");
  assert.throws(() => v.say("page.b"), /no words for "page.b"/);
  assert.throws(() => v.say("page.a"), /nothing given for \{x\}/);
});

test("two forces are compared in the unit shown, each by its own body weight", () => {
  const then = { newtons: 1000, weight: 500 };
  assert.equal(viz.compared(voice(), { newtons: 500, weight: 500 }, then, "start"), "1.00 BW 50 % less");
  assert.equal(viz.compared(voice("absolute"), { newtons: 1500, weight: 500 }, then, "before"), "500 N 50 % more");
  const pounds = voice("absolute", ".", POUNDS);
  assert.equal(viz.compared(pounds, { newtons: 1444.82216, weight: 500 }, then, "before"), "100 lbf 44 % more");
  assert.equal(viz.compared(voice(), { newtons: 2000, weight: 1000 }, then, "start"), "same");
  assert.equal(viz.compared(voice("BW", ","), { newtons: 2390, weight: 500 }, then, "start"), "2,78 BW, 2,4 times");
  assert.equal(viz.compared(voice(), { newtons: 8650, weight: 500 }, then, "start"), "15.30 BW, 9 times");
});

test("growth is said in times from twice on, whole ones from five on; what is not above nothing never is", () => {
  const told = (before, after) => { const { way, hole } = viz.changeOf(voice(), before, after); return [way, ...Object.values(hole)]; };
  assert.deepEqual(told(1, 1.99), ["more", "99 %"]);
  assert.deepEqual(told(1, 2), ["times", "2"]);
  assert.deepEqual(told(1, 4.96), ["times", "5"]);
  assert.deepEqual(told(1, 4.6), ["times", "4.6"]);
  assert.deepEqual(told(1, 5.4), ["times", "5"]);
  assert.deepEqual(told(1, 0.12), ["less", "88 %"]);
  assert.deepEqual(told(-1, -3), ["less", "200 %"]);
});
