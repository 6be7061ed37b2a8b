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

  /** Where the columns of a grid begin in its numbers, and the nodes of each along the axes that it depends on. */
  viz.indexed = (grid) => {
    let at = 0;
    grid.columns = grid.layout.map(([name, width, along]) => {
      const axes = along.map(([axis, stride]) => {
        const { word, nodes } = grid.axes[axis];
        return { word, stride, nodes: nodes.filter((_, k) => k % stride === 0) };
      });
      const one = { name, width, axes, from: at };
      at += width * axes.reduce((all, { nodes }) => all * nodes.length, 1);
      return one;
    });
    return grid;
  };

  /** Rows of a column with their shares, for the weights along each of its axes. */
  const mixed = (axes, weights) => axes.reduce((rows, axis, k) => rows.flatMap(([row, share]) => weights[k]
    .map((w, n) => [row * axis.nodes.length + n, share * w]).filter(([, w]) => w !== 0)), [[0, 1]]);

  /** The columns of a pose between the rows of a grid; pose: word -> value; only(name): which are asked for. */
  viz.between = (grid, pose, only = () => true) => {
    const known = {};
    const along = ({ word, stride, nodes }) => (known[`${word} ${stride}`] ??= viz.weights(nodes, pose[word]));
    const out = {};
    for (const { name, width, axes, from } of grid.columns) {
      if (!only(name)) continue;
      const key = axes.map(({ word, stride }) => `${word} ${stride}`).join();
      const rows = (known[`rows ${key}`] ??= mixed(axes, axes.map(along)));
      const sum = new Array(width).fill(0);
      for (const [row, share] of rows) {
        const start = from + row * width;
        for (let k = 0; k < width; k++) sum[k] += share * grid.rows[start + k];
      }
      out[name] = sum;
    }
    return out;
  };

  /** Which sample a time lies behind, and how far it is to the next one (0 to 1). */
  viz.sample = (times, time) => {
    let k = 0;
    while (k < times.length - 2 && times[k + 1] <= time) k++;
    return times.length < 2 ? [0, 0] : [k, viz.clamp((time - times[k]) / (times[k + 1] - times[k]), 0, 1)];
  };

  /** The columns of a moment of a clip, on a straight line between its samples; what does not move is kept once. */
  viz.moment = (clip, time) => {
    const fixed = Object.fromEntries(clip.fixed);
    if (!clip.layout.length) return fixed;
    const [k, share] = viz.sample(clip.times, time);
    const shares = share === 0 ? [[k, 1]] : [[k, 1 - share], [k + 1, share]];
    return { ...fixed, ...viz.columns(clip.layout, viz.blend(clip.rows, viz.width(clip.layout), shares)) };
  };

  /** A step from 0 to 1 that begins and ends at rest. */
  viz.eased = (f) => f * f * f * (f * (6 * f - 15) + 10);
})(globalThis.viz ??= {});
