/* The live page's chart: joint force against what was moved last, or over a walk's cycle. */
"use strict";

((viz) => {
  const { $ } = viz;

  const tick = (voice, unit, apart) => (v) => `${voice.number(v, viz.digits(apart))}${unit === "deg" ? "\u00b0" : ` ${unit.replace("BW", "")}`}`;

  /** What a curve hangs on: everything but the value of the input that it runs over. */
  const hangsOn = ({ scene, changes, moving }, slider) => {
    const others = Object.entries(changes).filter(([key]) => key !== moving).sort();
    return JSON.stringify([scene, moving, others, slider?.range.min, slider?.range.max]);
  };

  /** The curve over what was moved last; asked for only where something else has changed since. */
  const curve = async (server, now, slider) => {
    const about = hangsOn(now, slider);
    if (now.curve?.about !== about) now.curve = { about, found: await server.json("chart", { over: now.moving }) };
    return now.curve.found;
  };

  /** Draw it anew; of a walk without asking anybody. */
  viz.charted = async ({ told, voice, server, now, page, inputs, cycle }) => {
    if (cycle.grid) {
      viz.chart($("chart"), cycle.chart(page.now.joint), told, voice);
      return;
    }
    const slider = inputs.sliders[now.moving];
    const found = await curve(server, now, slider).catch(() => null);
    if (!found?.points.length || page.now.lost) return;
    const { points, unit } = found;
    const pinned = now.before;
    const before = pinned?.values[now.moving];
    const ticks = viz.ticks(points[0][0], points[points.length - 1][0]);
    const axis = { name: slider?.label.textContent ?? "", ticks, write: tick(voice, unit, ticks[1] - ticks[0]) };
    viz.chart($("chart"), {
      points, axis,
      now: slider ? [Number(slider.range.value), page.now.joint, told.bw] : null,
      before: before === undefined ? null : [before, pinned.joint.newtons, pinned.joint.weight],
    }, told, voice);
  };
})(globalThis.viz ??= {});
