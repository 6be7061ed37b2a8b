/* A worked why: what turns about the hip, what the muscle makes of it, before and after. Words and numbers, nothing solved. */
"use strict";

((viz) => {
  const SMALL = { "N m": "moment", "%": "percent", "deg": "angle", "MPa": "megapascals" };
  const SIZE = { "cm": 0.01, "%": 0.01, "deg": Math.PI / 180, "MPa": 1e6 };

  /** A number of a unit in words; weight: newtons of the body that a force is told beside. */
  viz.quantity = (voice, unit, value, weight) => {
    if (unit === "force") return voice.force(value, weight);
    if (unit === "BW") return voice.force(value * weight, weight);
    const kind = SMALL[unit] ?? (unit === "cm" ? "length" : unit);
    return voice[kind](value * (SIZE[unit] ?? 1));
  };

  /** Both numbers of a row in words. */
  viz.pair = (voice, { unit, values }, weights) => values.map((v, k) => viz.quantity(voice, unit, v, weights[k] ?? weights[0]));

  /** How much a second number is off a first one, in words. */
  viz.change = (voice, [before, after]) => {
    const { way, hole } = viz.changeOf(voice, before, after);
    return voice.say(`page.question.${way}`, hole);
  };

  /** What was found for a question, in one sentence. */
  viz.foundWords = (voice, q) => {
    const { weights, rows } = q.why;
    if (!q.found) {
      const joint = rows[rows.length - 1];
      const [before, after] = viz.pair(voice, joint, weights);
      const [a, b] = joint.values;
      const { way, hole } = viz.changeOf(voice, a, b);
      const told = way === "times" ? "page.question.it_multiplies" : q.told;
      return voice.say(told, { before, after, ...hole });
    }
    const name = voice.say(q.found.name);
    const [before, after] = viz.pair(voice, q.found, q.found.values.length > 1 ? weights : [weights[1]]);
    if (after === undefined) return voice.say("page.question.found", { name, value: before });
    return voice.say("page.question.compared", { name, before, after, share: viz.change(voice, q.found.values) });
  };

  /** The reason and what follows from it, sentence by sentence. */
  viz.whyWords = (voice, q) => {
    const { reason, rows, weights } = q.why;
    const [balance, lever, pull, joint] = rows.slice(-4).map((row) => viz.pair(voice, row, weights)[1]);
    const so = voice.say("page.question.so", { moment: balance, lever, pull, joint });
    if (q.alone) return [q.own, so].filter(Boolean);
    const [before, after] = viz.pair(voice, reason, weights);
    const by = viz.quantity(voice, reason.unit, Math.abs(reason.values[1] - reason.values[0]), weights[1]);
    const name = voice.say(reason.name);
    const words = reason.key.endsWith("lever") ? { name, before, after } : { name, before, after, by };
    return [q.own, voice.say(reason.key, words), so].filter(Boolean);
  };

  const line = (voice, row, weights, alone) => {
    const cells = viz.pair(voice, row, weights).slice(alone ? 1 : 0);
    return viz.make("tr", {}, viz.make("th", { scope: "row" }, voice.say(row.name)), ...cells.map((text) => viz.make("td", {}, text)));
  };

  /** All numbers of the why as a table. */
  viz.whyTable = (voice, q) => {
    const heads = q.alone ? ["value"] : ["before", "after"];
    const head = heads.map((name) => viz.make("th", { scope: "col" }, voice.say(`page.question.${name}`)));
    const part = (key, rows) => viz.make("tbody", {},
      viz.make("tr", { class: "part" }, viz.make("th", { scope: "rowgroup", colspan: heads.length + 1 }, voice.say(key))),
      ...rows.map((row) => line(voice, row, q.why.weights, q.alone)));
    const { rows, turning } = q.why;
    return viz.make("table", { class: "sums" },
      viz.make("thead", {}, viz.make("tr", {}, viz.make("th", { scope: "col" }, voice.say("page.numbers.what")), ...head)),
      part("page.question.turning", rows.slice(0, turning + 1)), part("page.question.forces", rows.slice(turning + 1)));
  };
})(globalThis.viz ??= {});
