/* The chart of joint force against what is being moved. */
"use strict";

((viz) => {
  const [WIDE, TALL] = [340, 210];
  const drawn = new WeakMap(); /* what a chart was drawn from */
  const [LEFT, RIGHT, TOP, BOTTOM] = [46, 22, 26, 44];

  /** The round number next to x: 1, 2 or 5 times a power of ten. */
  viz.nice = (x) => {
    const power = 10 ** Math.floor(Math.log10(x));
    const m = x / power;
    return power * (m < 1.5 ? 1 : m < 3.5 ? 2 : m < 7.5 ? 5 : 10);
  };

  /** Round places between two ends, about five of them. */
  viz.ticks = (low, high) => {
    const step = viz.nice((high - low) / 4);
    const out = [];
    for (let x = Math.ceil(low / step - 1e-9) * step; x <= high + 1e-9; x += step) out.push(Math.round(x * 1e6) / 1e6);
    return out;
  };

  /** Levels of a scale that holds a largest value: from nothing up, in round steps. */
  viz.levels = (most) => {
    const step = viz.nice(most / 4);
    return Array.from({ length: Math.ceil(most / step + 1e-9) + 1 }, (_, k) => k * step);
  };

  const grid = (svg, levels, y, told, voice) => {
    const digits = levels[1] < 1 ? 1 : 0;
    for (const level of levels) {
      svg.append(viz.draw("path", { d: `M${LEFT},${y(level)}H${WIDE - RIGHT}`, stroke: told.colours.card_line, fill: "none" }));
      const about = { x: LEFT - 7, y: y(level) + 4, "text-anchor": "end", fill: told.colours.soft };
      svg.append(viz.draw("text", about, voice.number(level, digits)));
    }
  };

  const axes = (svg, x, axis, told, voice) => {
    for (const tick of axis.ticks) {
      const about = { x: x(tick), y: TALL - BOTTOM + 17, "text-anchor": "middle", fill: told.colours.soft };
      svg.append(viz.draw("text", about, axis.write(tick)));
    }
    const middle = { x: (LEFT + WIDE - RIGHT) / 2, y: TALL - 8, "text-anchor": "middle", fill: told.colours.ink };
    svg.append(viz.draw("text", middle, axis.name));
    svg.append(viz.draw("text", { x: 6, y: 12, fill: told.colours.ink }, voice.sign));
  };

  const curve = (points, x, y) => points.map((p, k) => `${k ? "L" : "M"}${x(p).toFixed(1)},${y(p).toFixed(1)}`).join("");

  /** The same chart anew, in the colours of now. */
  viz.chartAgain = (svg, told, voice) => {
    if (drawn.has(svg)) viz.chart(svg, drawn.get(svg), told, voice);
  };

  /** points [[x, newtons, body weight]]; now and before: such a point or null; axis {name, ticks, write}. */
  viz.chart = (svg, shown, told, voice) => {
    const { points, now, before, axis } = shown;
    drawn.set(svg, shown);
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${WIDE} ${TALL}`);
    if (!points.length) return;
    const size = ([, newtons, weight]) => voice.share({ newtons, weight });
    const levels = viz.levels(Math.max(...[...points, now, before].filter(Boolean).map(size)));
    const [first, last] = [points[0][0], points[points.length - 1][0]];
    const x = (v) => LEFT + (WIDE - LEFT - RIGHT) * (v - first) / (last - first || 1);
    const y = (v) => TALL - BOTTOM - (TALL - BOTTOM - TOP) * v / levels[levels.length - 1];
    grid(svg, levels, y, told, voice);
    axes(svg, x, axis, told, voice);
    const line = curve(points, (p) => x(p[0]), (p) => y(size(p)));
    const { joint, card } = told.colours;
    svg.append(viz.draw("path", { d: line, stroke: joint, fill: "none", "stroke-width": 2.6, "stroke-linejoin": "round" }));
    const dot = (p, about) => p && svg.append(viz.draw("circle", { cx: x(p[0]), cy: y(size(p)), ...about }));
    dot(before, { r: 5, fill: card, stroke: joint, "stroke-width": 2 });
    dot(now, { r: 5.5, fill: joint, stroke: card, "stroke-width": 1.5, class: "now" });
  };
})(globalThis.viz ??= {});
