/* Flat drawings: the force polygon and the chart of joint force. */
(function (viz) {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg";

  function make(name, about, parent, text) {
    var e = document.createElementNS(SVG, name);
    Object.keys(about).forEach(function (k) { e.setAttribute(k, about[k]); });
    if (text !== undefined) e.textContent = text;
    parent.appendChild(e);
    return e;
  }
  function clear(svg) { while (svg.firstChild) svg.removeChild(svg.firstChild); }

  /** Forces head to tail, seen from the front: the person's right is at the left. */
  viz.polygon = function (svg, d, told, unit) {
    clear(svg);
    var order = ["cane_swing", "cane_stance", "other_foot", "bag_swing", "bag_stance", "backpack", "weight", "muscle", "joint"];
    var forces = order.map(function (k) { return d.arrows.filter(function (a) { return a.key === k; })[0]; })
      .filter(function (a) { return a && a.size > 0.004 * told.bw; });
    var at = [0, 0], points = [[0, 0]];
    forces.forEach(function (a) {
      at = [at[0] - a.force[2], at[1] - a.force[1]];
      points.push(at);
    });
    var xs = points.map(function (p) { return p[0]; }), ys = points.map(function (p) { return p[1]; });
    var low = [Math.min.apply(0, xs), Math.min.apply(0, ys)], high = [Math.max.apply(0, xs), Math.max.apply(0, ys)];
    var wide = 300, tall = 230, pad = 26;
    var scale = Math.min((tall - 2 * pad) / Math.max(high[1] - low[1], 0.3 * told.bw), 84 / told.bw);
    var mid = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    function place(p) { return [wide * 0.46 + (p[0] - mid[0]) * scale, tall / 2 + (p[1] - mid[1]) * scale]; }
    svg.setAttribute("viewBox", "0 0 " + wide + " " + tall);
    var sides = [[], []];
    forces.forEach(function (a, k) {
      var p = place(points[k]), q = place(points[k + 1]), n = Math.hypot(q[0] - p[0], q[1] - p[1]);
      if (n < 0.5) return;
      var u = [(q[0] - p[0]) / n, (q[1] - p[1]) / n], head = Math.min(13, n * 0.6), w = 2.1, h = Math.min(6.2, 0.3 * n + 1.5);
      var b = [q[0] - u[0] * head, q[1] - u[1] * head], s = [-u[1], u[0]];
      var line = [[p, w], [b, w], [b, h], [q, 0], [b, -h], [b, -w], [p, -w]].map(function (v) {
        return (v[0][0] + s[0] * v[1]).toFixed(2) + "," + (v[0][1] + s[1] * v[1]).toFixed(2);
      });
      make("polygon", { points: line.join(" "), fill: told.colours[a.role], "data-key": a.key,
        "data-length": n.toFixed(3), stroke: "#fff", "stroke-width": 0.6 }, svg);
      var m = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
      sides[a.key === "joint" ? 1 : 0].push([m, a]);
    });
    sides.forEach(function (some, side) {
      some.sort(function (x, y) { return x[0][1] - y[0][1]; });
      var last = -99, edge = place(side ? [high[0], 0] : [low[0], 0])[0] + (side ? 16 : -16);
      some.forEach(function (one) {
        var y = Math.max(one[0][1] + 5, last + 17);
        last = y;
        make("text", { x: edge, y: y, "text-anchor": side ? "start" : "end", fill: told.colours[one[1].role], "class": "value" },
          svg, viz.force(one[1].size, told, unit));
      });
    });
    var bar = told.bw * scale;
    make("path", { d: "M20," + (tall - 10) + "h" + bar.toFixed(2) + "m0,-4v8m" + (-bar).toFixed(2) + ",-8v8", stroke: told.colours.ink, fill: "none", "stroke-width": 1.3 }, svg);
    make("text", { x: 26 + bar, y: tall - 6, fill: told.colours.soft }, svg, "1 BW");
    return scale;
  };

  /** Joint force against what is being moved: points [[x, joint newtons]...], the place now, and a place pinned before. */
  viz.chart = function (svg, points, now, before, axis, told, unit) {
    clear(svg);
    var wide = 340, tall = 210, l = 46, r = 22, t = 26, b = 44;
    svg.setAttribute("viewBox", "0 0 " + wide + " " + tall);
    if (!points.length) return;
    function per(p) { return unit === "N" ? p[1] : p[1] / (p[2] || told.bw); }
    var most = Math.max.apply(0, points.map(per).concat(now ? [per(now)] : [], before ? [per(before)] : []));
    var step = nice(most / 4), top = step * Math.ceil(most / step + 1e-9);
    var x0 = points[0][0], x1 = points[points.length - 1][0];
    function X(x) { return l + (wide - l - r) * (x - x0) / (x1 - x0 || 1); }
    function Y(f) { return tall - b - (tall - b - t) * f / top; }
    for (var v = 0; v <= top + 1e-9; v += step) {
      make("path", { d: "M" + l + "," + Y(v) + "H" + (wide - r), stroke: told.colours.card_line, fill: "none" }, svg);
      make("text", { x: l - 7, y: Y(v) + 4, "text-anchor": "end", fill: told.colours.soft }, svg, viz.rounded(v, step < 1 ? 1 : 0));
    }
    axis.ticks.forEach(function (x) {
      make("text", { x: X(x), y: tall - b + 17, "text-anchor": "middle", fill: told.colours.soft }, svg, axis.write(x));
    });
    make("text", { x: (l + wide - r) / 2, y: tall - 8, "text-anchor": "middle", fill: told.colours.ink }, svg, axis.name);
    make("text", { x: 6, y: 12, fill: told.colours.ink }, svg, unit === "N" ? "N" : "BW");
    make("path", { d: points.map(function (p, k) { return (k ? "L" : "M") + X(p[0]).toFixed(1) + "," + Y(per(p)).toFixed(1); }).join(""),
      stroke: told.colours.joint, fill: "none", "stroke-width": 2.6, "stroke-linejoin": "round" }, svg);
    if (before) make("circle", { cx: X(before[0]), cy: Y(per(before)), r: 5, fill: told.colours.card, stroke: told.colours.joint, "stroke-width": 2 }, svg);
    if (now) make("circle", { cx: X(now[0]), cy: Y(per(now)), r: 5.5, fill: told.colours.joint, stroke: "#fff", "stroke-width": 1.5, "class": "now" }, svg);
  };

  /** Round places between two ends, about five of them. */
  viz.ticks = function (low, high) {
    var step = nice((high - low) / 4), out = [];
    for (var x = Math.ceil(low / step - 1e-9) * step; x <= high + 1e-9; x += step) out.push(Math.round(x * 1e6) / 1e6);
    return out;
  };

  function nice(x) {
    var p = Math.pow(10, Math.floor(Math.log(x) / Math.LN10)), m = x / p;
    return p * (m < 1.5 ? 1 : m < 3.5 ? 2 : m < 7.5 ? 5 : 10);
  }
})(window.viz);
