/* The force polygon: forces head to tail, seen from the front, the person's right at the left. */
"use strict";

((viz) => {
  const LEAST = 0.004; /* body weights of a force that is drawn */
  const WIDE = 300;
  const TALL = 230;
  const PAD = 26;
  const PER_WEIGHT = 84; /* most pixels of one body weight */

  /** The forces of a polygon in their order; a force that is nothing leaves it. */
  viz.inOrder = (order, arrows, weight) => order.map((key) => arrows.find((a) => a.key === key))
    .filter((a) => a && a.size > LEAST * weight);

  /** The corners of forces put head to tail, newtons, right and down. */
  viz.corners = (forces) => {
    const out = [[0, 0]];
    for (const { force } of forces) {
      const [x, y] = out[out.length - 1];
      out.push([x - force[2], y - force[1]]);
    }
    return out;
  };

  /** Pixels a newton, and the newtons of the drawing's middle. */
  viz.fitted = (corners, weight) => {
    const [low, high] = [Math.min, Math.max].map((most) => [0, 1].map((i) => most(...corners.map((p) => p[i]))));
    const scale = Math.min((TALL - 2 * PAD) / Math.max(high[1] - low[1], 0.3 * weight), PER_WEIGHT / weight);
    return { scale, low, high, middle: [0, 1].map((i) => (low[i] + high[i]) / 2) };
  };

  /** The outline of an arrow from p to q, a head at q. */
  viz.outline = (p, q) => {
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
    const along = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
    const head = Math.min(13, long * 0.6);
    const [half, wing] = [2.1, Math.min(6.2, 0.3 * long + 1.5)];
    const neck = [q[0] - along[0] * head, q[1] - along[1] * head];
    const off = ([x, y], by) => [x - along[1] * by, y + along[0] * by];
    return [off(p, half), off(neck, half), off(neck, wing), q, off(neck, -wing), off(neck, -half), off(p, -half)];
  };

  const drawForce = (svg, arrow, p, q, told) => {
    const points = viz.outline(p, q).map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(" ");
    const length = Math.hypot(q[0] - p[0], q[1] - p[1]).toFixed(3);
    svg.append(viz.draw("polygon", {
      points, fill: told.colours[arrow.role], "data-key": arrow.key, "data-length": length,
    }));
  };

  /** Sizes beside the forces: the joint force's at the right, the others' at the left. */
  const drawSizes = (svg, placed, edges, told, voice) => {
    placed.sort((a, b) => a.at - b.at);
    const last = [-99, -99];
    for (const { arrow, at } of placed) {
      const side = arrow.key === "joint" ? 1 : 0;
      last[side] = Math.max(at + 5, last[side] + 17);
      const anchor = side ? "start" : "end";
      const about = { x: edges[side], y: last[side], "text-anchor": anchor, fill: told.colours[arrow.role], class: "value" };
      svg.append(viz.draw("text", about, voice.force(arrow.size, told.bw)));
    }
  };

  const drawScale = (svg, bar, told, voice) => {
    const line = `M20,${TALL - 10}h${bar.toFixed(2)}m0,-4v8m${(-bar).toFixed(2)},-8v8`;
    svg.append(viz.draw("path", { d: line, stroke: told.colours.ink, fill: "none", "stroke-width": 1.3 }));
    svg.append(viz.draw("text", { x: 26 + bar, y: TALL - 6, fill: told.colours.soft }, voice.say("page.scale", { force: voice.absolute(told.bw) })));
  };

  /** d: a situation, with the order in which its forces go head to tail. */
  viz.polygon = (svg, d, told, voice) => {
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${WIDE} ${TALL}`);
    const forces = viz.inOrder(d.polygon, d.arrows, told.bw);
    const corners = viz.corners(forces);
    const { scale, low, high, middle } = viz.fitted(corners, told.bw);
    const place = (p) => [WIDE * 0.46 + (p[0] - middle[0]) * scale, TALL / 2 + (p[1] - middle[1]) * scale];
    const at = corners.map(place);
    const placed = [];
    forces.forEach((arrow, k) => {
      const [p, q] = [at[k], at[k + 1]];
      if (Math.hypot(q[0] - p[0], q[1] - p[1]) < 0.5) return;
      drawForce(svg, arrow, p, q, told);
      placed.push({ arrow, at: (p[1] + q[1]) / 2 });
    });
    drawSizes(svg, placed, [place(low)[0] - 16, place(high)[0] + 16], told, voice);
    drawScale(svg, told.bw * scale, told, voice);
  };
})(globalThis.viz ??= {});
