/* Names and numbers beside the figure: two quiet columns, in the order of what they name, never one over another. */
"use strict";

((viz) => {
  const GAP = 6; /* between two labels, pixels */
  const EDGE = 12; /* from the canvas's edge */
  const TOP = 64;
  const BOTTOM = 10;

  /** Tops as close to the wished ones as they go without meeting; the order stays. */
  viz.spaced = (wished, heights, top, bottom) => {
    const y = [];
    let at = top;
    wished.forEach((w, k) => {
      y[k] = Math.max(w, at);
      at = y[k] + heights[k];
    });
    at = bottom;
    for (let k = y.length - 1; k >= 0; k--) {
      y[k] = Math.min(y[k], at - heights[k]);
      at = y[k];
    }
    return y;
  };

  /** A leader's corners from a label's edge to what it names. */
  viz.leader = (from, level, way, at) => {
    const bend = from + way * viz.clamp(Math.abs(at[0] - from) * 0.5, 4, 26);
    return [[from, level], [bend, level], at];
  };

  /** host: an element over the canvas. */
  viz.Labels = class {
    constructor(host) {
      this.host = host;
      this.tags = new Map();
      this.lines = viz.draw("svg", { class: "leaders", "aria-hidden": "true" });
      host.append(this.lines);
    }

    /** items: [{key, name, value, role, at: [x, y], side: 0 left, 1 right}] in CSS pixels; wide, tall: the canvas;
        below: what the left and the right column leave free at their feet. */
    place(items, wide, tall, colours, below) {
      const shown = new Set(items.map((item) => item.key));
      for (const [key, tag] of this.tags) tag.hidden = !shown.has(key);
      for (const item of items) this.write(item, colours);
      this.lines.replaceChildren();
      this.lines.setAttribute("viewBox", `0 0 ${wide} ${tall}`);
      for (const side of [0, 1]) {
        this.column(items.filter((item) => item.side === side), side, wide, tall - BOTTOM - below[side], colours);
      }
    }

    write(item, colours) {
      if (!this.tags.has(item.key)) {
        const made = viz.make("div", {}, viz.make("span"), viz.make("strong"));
        this.tags.set(item.key, made);
        this.host.append(made);
      }
      const tag = this.tags.get(item.key);
      tag.firstChild.textContent = item.name;
      tag.lastChild.textContent = item.value;
      tag.lastChild.style.color = colours[item.role] ?? colours.ink;
      tag.className = `tag ${item.side ? "right" : "left"}`;
    }

    column(items, side, wide, bottom, colours) {
      items.sort((a, b) => a.at[1] - b.at[1]);
      const tags = items.map((item) => this.tags.get(item.key));
      const heights = tags.map((tag) => tag.offsetHeight + GAP);
      const wished = items.map((item, k) => item.at[1] - heights[k] / 2);
      const tops = viz.spaced(wished, heights, TOP, bottom);
      items.forEach((item, k) => {
        tags[k].style.top = `${tops[k]}px`;
        const inner = EDGE + tags[k].offsetWidth + GAP;
        const level = tops[k] + Math.min(11, heights[k] / 2);
        const corners = viz.leader(side ? wide - inner : inner, level, side ? -1 : 1, item.at);
        this.line(corners, item.role === "ink" ? colours.soft : colours[item.role], item.role === "ink");
      });
    }

    line(corners, colour, dotted) {
      const points = corners.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
      const dash = dotted ? { "stroke-dasharray": "1.5 3.5" } : {};
      for (const [stroke, width, opacity] of [["#fff", 4, 0.55], [colour, 1.4, 1]]) {
        this.lines.append(viz.draw("polyline", { points, fill: "none", stroke, "stroke-width": width, opacity, ...dash }));
      }
    }
  };
})(globalThis.viz ??= {});
