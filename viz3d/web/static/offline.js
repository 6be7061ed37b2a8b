/* The offline page: numbers from the solved table. */
"use strict";

((viz) => {
  const { $ } = viz;
  const POINTS = 48; /* pieces of the chart's curve */
  const CURVE = (name) => name === "moment" || name === "weight" || name === "lost" || name.startsWith("arrow joint");

  const told = viz.read();
  for (const grid of told.grids) viz.indexed(Object.assign(grid, { rows: viz.floats(grid.rows) }));
  for (const clip of told.timeline?.clips ?? []) clip.rows = viz.floats(clip.rows);
  const page = new viz.Page(told);
  const { voice } = page;
  const pose = { hand: told.start.hand, ...told.start.pose };
  let stepped = null; /* what a step of the film shows, as far as the sliders can */
  let moving = told.grids[0].axes[0]?.word;

  const grid = () => told.grids.find((g) => g.hand === pose.hand);
  const axisOf = (word) => grid().axes.find((axis) => axis.word === word);
  const columns = (at, only) => viz.between(grid(), at, only);

  /** The body of a pose: the only one, or that of the node nearest on the axis that shapes bones. */
  const body = () => {
    const axis = grid().axes.find((one) => one.each);
    const near = axis ? viz.nearest(axis.nodes, pose[axis.word]) : 0;
    return grid().body[near];
  };

  const joint = (c) => (c.lost[0] > 0.5 ? null : viz.norm(viz.column(c, "arrow joint").slice(3)));

  const chart = () => {
    const axis = axisOf(moving) ?? grid().axes[0];
    if (!axis) return;
    const [low, high] = [axis.nodes[0], axis.nodes[axis.nodes.length - 1]];
    const points = Array.from({ length: POINTS + 1 }, (_, k) => {
      const x = low + (high - low) * k / POINTS;
      const c = columns({ ...pose, [axis.word]: x }, CURVE);
      return [x, joint(c), c.weight[0]];
    });
    viz.chart($("chart"), {
      points, now: [pose[axis.word], page.now.joint, told.bw], before: null, axis: viz.controls.axis(axis, grid(), voice, told),
    }, told, voice);
  };

  const refresh = () => {
    for (const axis of grid().axes) pose[axis.word] = viz.clamp(pose[axis.word], axis.nodes[0], axis.nodes[axis.nodes.length - 1]);
    page.wear(body());
    page.stage(null);
    page.show(columns(pose), Object.assign(grid().about, { lune: grid().lune }));
    controls.show(pose, grid());
    chart();
  };

  const move = (change, over) => {
    moving = over ?? moving;
    timeline.stop();
    viz.markStep(-1);
    Object.assign(pose, stepped, change);
    stepped = null;
    $("caption").textContent = "";
    $("message").textContent = "";
    refresh();
  };

  const controls = new viz.Controls($("inputs"), told, voice, move);
  $("inputs").append(viz.button(viz.said(voice, "page.reset"), () => move({ hand: told.start.hand, ...told.start.pose })));

  const timeline = new viz.Timeline(told, voice, (clip, step, time) => {
    const known = told.grids.find((g) => g.hand === clip.hand);
    const [k, share] = viz.sample(clip.times, time);
    const at = Object.fromEntries(Object.entries(clip.poses).map(([word, some]) => [word, some[k] + share * ((some[k + 1] ?? some[k]) - some[k])]));
    stepped = known ? { ...at, hand: clip.hand } : null;
    if (known) controls.show({ ...pose, ...stepped }, known);
    $("message").textContent = told.timeline.more ? voice.say("page.more") : "";
    $("caption").textContent = step.caption;
    page.wear(clip.body);
    page.stage(clip);
    page.show(viz.moment(clip, time), clip.about);
  });

  /** Go from one situation of a question to the other. */
  const look = (q, which) => {
    const [from, to] = which ? q.look : [...q.look].reverse();
    if ("hand" in to) {
      const over = q.moving === "force" ? "push" : q.moving;
      viz.travel((share) => move({ hand: to.hand, lean: viz.mix(from.lean, to.lean, share), push: viz.mix(from.force, to.force, share) }, over));
    } else if (told.timeline) {
      const [a, b] = [from, to].map((where) => told.timeline.steps[where.step].held);
      viz.travel((share) => timeline.jump(share < 1 ? viz.mix(a, b, share) : b));
    }
  };
  const questions = new viz.Questions(told, voice, look, (on) => viz.veil(on, told, voice));
  $("error").textContent = voice.say(told.walks ? "page.error_cycle" : "page.error", { error: `${voice.number(100 * told.error, 2)} %`, trials: told.trials });
  page.most = Math.max(...told.grids.map((g) => g.most));
  page.wear(body());
  page.now = viz.situation(columns(pose), Object.assign(grid().about, { lune: grid().lune }), told);
  page.start = page.joint();
  refresh();
  page.onReword = () => {
    controls.again();
    if (told.questions.length) questions.write();
  };
  page.onShow = () => {
    if (timeline.playing === null) chart();
  };
  page.draw(viz.bytes($("bones").textContent).buffer);
  viz.page = page;
})(globalThis.viz ??= {});
