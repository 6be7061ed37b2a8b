/* Talking to the server: a scene that it forgot is sent again, once. */
"use strict";

const assert = require("node:assert/strict");
const { beforeEach, test } = require("node:test");
const viz = require("./load.js")("server");

let asked = [];
let known = new Set();

/** A server that knows some scenes by the text they came from. */
const answer = (where, body) => {
  if (where === "open") {
    known.add(body.text);
    return [200, { scene: body.text }];
  }
  return known.has(body.scene) ? [200, { of: body.scene }] : [410, { error: "no longer open here" }];
};

beforeEach(() => {
  [asked, known] = [[], new Set(["first"])];
  globalThis.fetch = async (where, { body }) => {
    const about = JSON.parse(body);
    asked.push([where, about.text ?? about.scene]);
    const [status, said] = answer(where, about);
    return { ok: status === 200, status, json: async () => said };
  };
});

test("a forgotten scene is opened again and the question asked once more", async () => {
  let scene = "first";
  const server = new viz.Server("silent", () => ({ scene, changes: {} }));
  ({ scene } = await server.open({ text: "mine", name: "a.toml" }));
  known.delete("mine");
  assert.deepEqual(await server.json("solve"), { of: "mine" });
  assert.deepEqual(asked.map(([where]) => where), ["open", "solve", "open", "solve"]);
});

test("a scene that never came from here is not asked for again", async () => {
  const server = new viz.Server("silent", () => ({ scene: "never", changes: {} }));
  await assert.rejects(server.json("solve"), { message: "no longer open here", status: 410 });
  assert.equal(asked.length, 1);
});

test("where nobody answers that is said", async () => {
  globalThis.fetch = async () => {
    throw new TypeError("network");
  };
  const server = new viz.Server("silent", () => ({ scene: "first", changes: {} }));
  await assert.rejects(server.json("solve"), { message: "silent" });
});
