/* What of a scene holds for every step, what captions lack, and what a browser keeps for each of its tabs. */
"use strict";

const assert = require("node:assert/strict");
const { test } = require("node:test");
const viz = require("./load.js")("elements", "steps", "drafts", "claims", "edit", "desk");

const step = (pose, sets = []) => ({ pose, sets });

test("what a step sets is not the whole scene's; a hand that takes something is set as a whole", () => {
  const steps = [step({}), step({ "hands.right.holds": "cane", "posture.lean": "5 deg" }), step({}, ["posture.obliquity"])];
  const changes = { "person.mass": "80 kg", "posture.lean": "2 deg", "posture.obliquity": "1 deg", "hands.right.force": "9 %BW", "hands.left.mass": "1 kg" };
  assert.deepEqual(viz.lasting(changes, steps), { "person.mass": "80 kg", "hands.left.mass": "1 kg" });
});

test("a caption lacks half seconds until it can be read", () => {
  assert.deepEqual([4, 4.01, 4.5, 5.2].map((needs) => viz.lacking({ needs, hold: 4 })), [0, 0.5, 0.5, 1.5]);
});

test("claims are written as a scene file has them", () => {
  assert.equal(viz.claimLine({ what: "joint", verb: "falls", amount: "2", unit: "BW" }), "joint falls from step 2");
  assert.equal(viz.claimLine({ what: "obliquity", verb: "most", amount: "1.5", unit: "deg" }), "obliquity is at most 1.5 deg");
});

test("the step that is seen follows the edit", () => {
  const seen = [{ do: "add", at: 1 }, { do: "move", at: 1, to: 0 }, { do: "delete", at: 2 }, { do: "title" }].map((edit) => viz.seenAfter(edit, 2));
  assert.deepEqual(seen, [2, 0, 1, undefined]);
});

/** A storage as browsers have it, which holds so many texts. */
const storage = (most = 99) => {
  const kept = {};
  const own = (name, value) => Object.defineProperty(kept, name, { value });
  own("getItem", (key) => kept[key] ?? null);
  own("removeItem", (key) => delete kept[key]);
  own("setItem", (key, text) => {
    if (Object.keys(kept).length >= most) throw new Error("full");
    kept[key] = text;
  });
  return kept;
};

/** Locks as browsers have them: what one holder has no other gets. */
const locks = (held = new Set()) => ({
  request: (name, _, got) => {
    const free = !held.has(name);
    held.add(name);
    return got(free ? {} : null);
  },
});

test("a reloaded tab finds its scene, its twin gets a copy, another tab only sees it", async () => {
  const [kept, session] = [storage(), storage()];
  const first = new viz.Drafts(kept, session, locks());
  assert.equal(await first.begin(), null);
  assert.ok(first.keep({ title: "A", data: {} }, 5));
  const again = new viz.Drafts(kept, session, locks());
  assert.equal((await again.begin()).title, "A");
  assert.equal(again.id, first.id);
  const twin = new viz.Drafts(kept, Object.assign(storage(), session), locks(new Set([`viz3d draft ${first.id}`])));
  assert.equal((await twin.begin()).title, "A");
  assert.notEqual(twin.id, first.id);
  const other = new viz.Drafts(kept, storage(), locks());
  assert.equal(await other.begin(), null);
  assert.deepEqual(other.others().map((one) => one.title), ["A"]);
  other.forget(first.id);
  assert.deepEqual(other.others(), []);
});

test("a browser that keeps nothing more says so", async () => {
  const full = new viz.Drafts(storage(0), null, null);
  await full.begin();
  assert.equal(full.keep({ title: "A", data: {} }, 1), false);
  const none = new viz.Drafts(null, null, null);
  assert.equal(await none.begin(), null);
  assert.deepEqual(none.others(), []);
});

test("a pose is apart from a step where it differs in what steps set, however it is written", () => {
  const steps = [{ pose: {}, sets: [] }, { pose: { "posture.lean": "5 deg", "hands.left.holds": "cane" }, sets: [] }];
  assert.equal(viz.apart(steps[1].pose, { "posture.lean": "5.0000 deg", "hands.left.holds": "cane" }, steps), false);
  assert.equal(viz.apart(steps[1].pose, { "posture.lean": "6 deg", "hands.left.holds": "cane" }, steps), true);
  assert.equal(viz.apart({}, { "person.mass": "80 kg" }, steps), false);
  assert.equal(viz.apart({}, { "hands.left.force": "5 %BW" }, steps), true);
});
