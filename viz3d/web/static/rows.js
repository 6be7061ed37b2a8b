/* Rows of numbers: out of the page's text, into named columns, and between solved rows. Nothing here touches the page. */
"use strict";

((viz) => {
  /** A base64 text as bytes. */
  viz.bytes = (text) => {
    const raw = atob(text);
    const out = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
    return out;
  };

  /** A base64 text as numbers of 32 bits. */
  viz.floats = (text) => new Float32Array(viz.bytes(text).buffer);

  viz.norm = (v) => Math.hypot(...v);

  viz.clamp = (x, low, high) => Math.max(low, Math.min(high, x));

  /** How many numbers a row has; layout: [[name, width], ...]. */
  viz.width = (layout) => layout.reduce((sum, [, width]) => sum + width, 0);

  /** One row as named columns: name -> its numbers. */
  viz.columns = (layout, row) => {
    const out = {};
    let at = 0;
    for (const [name, width] of layout) {
      out[name] = Array.from(row.slice(at, at + width));
      at += width;
    }
    return out;
  };

  /** Weight of every node for the cubic (or lower) polynomial through the nearest ones. */
  viz.weights = (nodes, at) => {
    const count = Math.min(4, nodes.length);
    const above = nodes.findIndex((node) => node >= at);
    const middle = (above < 0 ? nodes.length : above) - Math.floor(count / 2);
    const first = viz.clamp(middle, 0, nodes.length - count);
    const near = nodes.slice(first, first + count);
    const share = (own) => near.reduce((part, node) => (node === own ? part : part * (at - node) / (own - node)), 1);
    return nodes.map((node, k) => (k >= first && k < first + count ? share(node) : 0));
  };

  /** Rows added up in shares: shares [[row, share], ...] of numbers that lie row by row. */
  viz.blend = (rows, width, shares) => {
    const sum = new Float64Array(width);
    for (const [row, share] of shares) {
      for (let k = 0; k < width; k++) sum[k] += share * rows[row * width + k];
    }
    return sum;
  };

  /** The columns of a pose between the rows of a grid. */
  viz.between = (grid, lean, force) => {
    const a = viz.weights(grid.leans, lean);
    const b = viz.weights(grid.forces, force);
    const shares = a.flatMap((x, i) => b.map((y, j) => [i * b.length + j, x * y])).filter(([, share]) => share !== 0);
    return viz.columns(grid.layout, viz.blend(grid.rows, viz.width(grid.layout), shares));
  };

  /** Which sample a time lies behind, and how far it is to the next one (0 to 1). */
  viz.sample = (times, time) => {
    let k = 0;
    while (k < times.length - 2 && times[k + 1] <= time) k++;
    return [k, viz.clamp((time - times[k]) / (times[k + 1] - times[k]), 0, 1)];
  };

  /** The columns of a moment of the timeline, on a straight line between its samples. */
  viz.moment = (line, time) => {
    const [k, share] = viz.sample(line.times, time);
    const shares = [[k, 1 - share], [k + 1, share]];
    return viz.columns(line.layout, viz.blend(line.rows, viz.width(line.layout), shares));
  };

  /** A step from 0 to 1 that begins and ends at rest. */
  viz.eased = (f) => f * f * f * (f * (6 * f - 15) + 10);
})(globalThis.viz ??= {});
