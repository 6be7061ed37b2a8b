/* The offline page: numbers from the solved table. */
"use strict";

((viz) => {
  const { $ } = viz;
  const RAD = Math.PI / 180;
  const POINTS = 48; /* pieces of the chart's curve */
  const TICKS = { lean: [-10, -5, 0, 5, 10, 15, 20].map((x) => x * RAD), force: [0, 0.05, 0.1, 0.15, 0.2] };

  const told = viz.read();
  for (const solved of [...told.grids, told.timeline].filter(Boolean)) solved.rows = viz.floats(solved.rows);
  const page = new viz.Page(told);
  const { voice } = page;
  const pose = { ...told.start };
  let moving = "lean";

  const grid = () => told.grids.find((g) => g.hand === pose.hand);
  const ends = (nodes) => [nodes[0], nodes[nodes.length - 1]];
  const columns = (lean, force) => viz.between(grid(), lean, force);

  const axis = (byLean, low, high) => ({
    name: voice.say(byLean ? "page.axis.lean" : "page.axis.force"),
    ticks: TICKS[byLean ? "lean" : "force"].filter((x) => x >= low - 1e-9 && x <= high + 1e-9),
    write: (x) => (byLean ? `${voice.number(x / RAD, 0)}\u00b0` : voice.percent(x)),
  });

  const chart = () => {
    const byLean = moving === "lean" || pose.hand === "none";
    const [low, high] = ends(byLean ? grid().leans : grid().forces);
    const points = Array.from({ length: POINTS + 1 }, (_, k) => {
      const x = low + (high - low) * k / POINTS;
      const c = byLean ? columns(x, pose.force) : columns(pose.lean, x);
      return [x, viz.situation(c, grid().about, told).joint, told.bw];
    });
    const now = [byLean ? pose.lean : pose.force, page.now.joint, told.bw];
    viz.chart($("chart"), { points, now, before: null, axis: axis(byLean, low, high) }, told, voice);
  };

  const refresh = () => {
    const [low, high] = ends(grid().leans);
    pose.lean = viz.clamp(pose.lean, low, high);
    pose.force = viz.clamp(pose.force, ...ends(grid().forces));
    lean.limits(Math.ceil(low / RAD * 2 - 1e-6) / 2, Math.floor(high / RAD * 2 + 1e-6) / 2);
    lean.set(pose.lean / RAD);
    force.set(100 * pose.force);
    force.box.hidden = pose.hand === "none";
    page.show(columns(pose.lean, pose.force), grid().about);
    chart();
  };

  const move = (change, over) => {
    moving = over ?? moving;
    timeline.stop();
    Object.assign(pose, change);
    hands.set(pose.hand);
    $("caption").textContent = "";
    $("message").textContent = "";
    refresh();
  };

  const hands = viz.choices($("inputs"), {
    id: "hand", name: viz.said(voice, "page.hand.name"), options: told.grids.map((g) => [g.hand, viz.said(voice, told.hands[g.hand])]),
    value: pose.hand, moved: (hand) => move({ hand }, "force"),
  });
  const lean = viz.slider($("inputs"), {
    id: "lean", name: viz.said(voice, `page.lean_${told.stance}`), low: -10, high: 20, step: 0.5, value: pose.lean / RAD,
    write: (v) => voice.angle(v * RAD), moved: (v) => move({ lean: v * RAD }, "lean"),
  });
  const force = viz.slider($("inputs"), {
    id: "force", name: viz.said(voice, "page.axis.force"), low: 0, high: 20, step: 0.5, value: 100 * pose.force,
    write: (v) => voice.say("page.of_weight", { number: voice.number(v, 1) }), moved: (v) => move({ force: v / 100 }, "force"),
  });
  $("inputs").append(viz.button(viz.said(voice, "page.reset"), () => move(told.start)));

  const timeline = new viz.Timeline(told, voice, (sample, step, time) => {
    const line = told.timeline;
    lean.set(line.leans[sample] / RAD);
    force.set(100 * line.forces[sample]);
    hands.set(line.hand);
    force.box.hidden = line.hand === "none";
    $("message").textContent = line.more ? voice.say("page.more") : "";
    $("caption").textContent = step.caption;
    page.show(viz.moment(line, time), line.about);
  });

  /** Go from one situation of a question to the other. */
  const look = (q, which) => {
    const [from, to] = which ? q.look : [...q.look].reverse();
    if ("hand" in to) {
      viz.travel((share) => move({ hand: to.hand, lean: viz.mix(from.lean, to.lean, share), force: viz.mix(from.force, to.force, share) }, q.moving));
    } else if (told.timeline) {
      const [a, b] = [from, to].map((where) => told.timeline.steps[where.step].held);
      viz.travel((share) => timeline.jump(share < 1 ? viz.mix(a, b, share) : b));
    }
  };
  const questions = new viz.Questions(told, voice, look, (on) => viz.veil(on, told, voice));
  $("error").textContent = voice.say("page.error", { error: `${voice.number(100 * told.error, 2)} %`, trials: told.trials });
  page.now = viz.situation(columns(pose.lean, pose.force), grid().about, told);
  page.start = page.joint();
  page.most = Math.max(...told.grids.map((g) => g.most));
  refresh();
  page.onReword = () => {
    if (told.questions.length) questions.write();
  };
  page.onShow = () => {
    if (timeline.playing === null) chart();
  };
  page.draw(viz.bytes($("bones").textContent).buffer);
  viz.page = page;
})(globalThis.viz ??= {});
