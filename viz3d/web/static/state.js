/* Numbers of one situation: rows to columns, columns between rows, and the vectors they add up to.
   No physics here: the rows come from the solver; this file adds, takes norms and formats. */
(function (viz) {
  "use strict";

  /** A base64 text as numbers of 32 bits. */
  viz.floats = function (text) {
    return new Float32Array(viz.bytes(text).buffer);
  };

  viz.bytes = function (text) {
    var raw = atob(text), out = new Uint8Array(raw.length);
    for (var i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
    return out;
  };

  /** One row as named columns; layout: [[name, width], ...]. */
  viz.columns = function (layout, row) {
    var out = {}, at = 0;
    layout.forEach(function (part) {
      out[part[0]] = row.subarray ? row.subarray(at, at + part[1]) : row.slice(at, at + part[1]);
      at += part[1];
    });
    return out;
  };

  viz.width = function (layout) {
    return layout.reduce(function (sum, part) { return sum + part[1]; }, 0);
  };

  /** Weight of every node for the cubic (or lower) polynomial through the nearest ones. */
  viz.weights = function (nodes, at) {
    var count = Math.min(4, nodes.length), first = 0, out = nodes.map(function () { return 0; });
    while (first < nodes.length && nodes[first] < at) first++;
    first = Math.max(0, Math.min(nodes.length - count, first - Math.floor(count / 2)));
    for (var i = first; i < first + count; i++) {
      var part = 1;
      for (var j = first; j < first + count; j++) {
        if (i !== j) part *= (at - nodes[j]) / (nodes[i] - nodes[j]);
      }
      out[i] = part;
    }
    return out;
  };

  /** The columns of a pose between the rows of a grid. */
  viz.between = function (told, grid, lean, force) {
    var wide = viz.width(told.layout), sum = new Float64Array(wide);
    var a = viz.weights(grid.leans, lean), b = viz.weights(grid.forces, force);
    a.forEach(function (x, i) {
      if (x === 0) return;
      b.forEach(function (y, j) {
        if (y === 0) return;
        var from = (i * grid.forces.length + j) * wide, share = x * y;
        for (var k = 0; k < wide; k++) sum[k] += share * grid.rows[from + k];
      });
    });
    return viz.columns(told.layout, sum);
  };

  /** The columns of a moment of the timeline, on a straight line between its samples. */
  viz.moment = function (told, time) {
    var t = told.timeline, wide = viz.width(told.layout), k = 0;
    while (k < t.times.length - 2 && t.times[k + 1] <= time) k++;
    var share = Math.max(0, Math.min(1, (time - t.times[k]) / (t.times[k + 1] - t.times[k])));
    var sum = new Float64Array(wide);
    for (var i = 0; i < wide; i++) {
      sum[i] = (1 - share) * t.rows[k * wide + i] + share * t.rows[(k + 1) * wide + i];
    }
    return viz.columns(told.layout, sum);
  };

  viz.norm = function (v) { return Math.sqrt(v.reduce(function (s, x) { return s + x * x; }, 0)); };

  /** What a situation shows: arrows, lever arms, and the sizes that the labels write. */
  viz.derive = function (c, told) {
    var sign = told.sign, hip = Array.from(c.hip);
    var pull = c.moment[0] >= 0 ? c.abductor : c.adductor;
    var way = Math.hypot(pull[3], pull[4]), dir = [pull[3] / way, pull[4] / way];
    var sum = [c.external[0] + pull[0] * dir[0], c.external[1] + pull[0] * dir[1]];
    var joint = [-sum[0], -sum[1]];
    var size = Math.hypot(joint[0], joint[1], c.forward[0]);
    function world(v) { return [0, v[1], sign * v[0]]; }
    function beside(v) { return [hip[0], hip[1] + v[1], hip[2] + sign * v[0]]; }
    var arrows = [
      { key: "weight", role: "weight", at: Array.from(c.weight.slice(0, 3)), force: [0, -c.weight[3], 0] },
      { key: "muscle", role: "muscle", at: beside([pull[1], pull[2]]), force: world([pull[0] * dir[0], pull[0] * dir[1]]) },
      { key: "joint", role: "joint", at: hip, force: world(joint), tip: true, size: size }
    ];
    var levers = [
      { key: "weight_lever", of: "weight", role: "weight", from: Array.from(c.weight.slice(0, 3)), to: hip, drop: told.drops[0], metres: c.weight[4] }
    ];
    var foot = [pull[1], pull[2]], along = foot[0] * dir[0] + foot[1] * dir[1];
    levers.push({ key: "muscle_lever", of: "muscle", role: "muscle", from: hip,
      to: beside([foot[0] - along * dir[0], foot[1] - along * dir[1]]), drop: null, metres: Math.abs(pull[5]) });
    ["stance", "swing"].forEach(function (where) {
      var h = c["hand_" + where], bag = c["bag_" + where];
      if (told.aids[told.sides[where]] && told.aids[told.sides[where]] !== "bag") {
        arrows.push({ key: "cane_" + where, role: "hand", at: Array.from(h.slice(0, 3)), force: world([h[3], h[4]]) });
        levers.push({ key: "cane_lever_" + where, of: "cane_" + where, role: "hand", from: Array.from(h.slice(0, 3)), to: hip, drop: told.drops[1], metres: h[5] });
      }
      if (bag[3] > 0.5) {
        arrows.push({ key: "bag_" + where, role: "load", at: Array.from(bag.slice(0, 3)), force: [0, -bag[3], 0] });
      }
    });
    if (c.backpack[3] > 0.5) {
      arrows.push({ key: "backpack", role: "load", at: Array.from(c.backpack.slice(0, 3)), force: [0, -c.backpack[3], 0] });
    }
    if (Math.abs(c.foot[3]) > 0.5) {
      arrows.push({ key: "other_foot", role: "ground", at: Array.from(c.foot.slice(0, 3)), force: [0, c.foot[3], 0], tip: true });
      levers.push({ key: "other_foot_lever", of: "other_foot", role: "ground", from: Array.from(c.foot.slice(0, 3)), to: hip, drop: told.drops[1], metres: c.foot[4] });
    }
    arrows.forEach(function (a) { a.size = a.size || viz.norm(a.force); });
    ["stance", "swing"].forEach(function (where) { carried("bag_" + where, c["bag_" + where]); });
    carried("backpack", c.backpack);
    function carried(key, load) {
      if (load[3] > 0.5) levers.push({ key: key + "_lever", of: key, role: "load", from: hip, to: hip, drop: null, metres: Math.abs(load[2] - hip[2]), told: true });
    }
    var lost = !!c.lost && c.lost[0] > 0.5;
    if (lost) {
      arrows = arrows.filter(function (a) { return a.key !== "muscle" && a.key !== "joint"; });
      levers = levers.filter(function (v) { return v.of !== "muscle"; });
    }
    var angle = Math.atan2(-joint[0], joint[1]), load = lune(told.lune, size, angle, c.edge[0], c.radius[0]);
    return {
      lost: lost,
      hip: hip, arrows: arrows, levers: levers, joint: lost ? null : size,
      angle: angle, moment: c.moment[0],
      pole: load[0], polePressure: load[1], peak: c.facet_peak ? c.facet_peak[0] : load[2], edge: c.edge[0],
      displacement: c.displacement ? Array.from(c.displacement) : null,
      muscle: c.moment[0] >= 0 ? "abductor" : "adductor",
      falls: c.falls[0] > 0.5 || joint[1] <= 0, short: Math.max(0, -c.margin[0])
    };
  };

  /** Pole, pressure at the pole and highest pressure of the loaded lune, looked up in the solved rows. */
  function lune(t, force, angle, edge, radius) {
    var at = (angle + edge - t.from) / t.step, k = Math.max(0, Math.min(t.gap.length - 2, Math.floor(at))), f = at - k;
    if (at < 0) return [0, 0, 0];
    var gap = t.gap[k] + f * (t.gap[k + 1] - t.gap[k]), most = (t.size[k] + f * (t.size[k + 1] - t.size[k])) * force / (radius * radius);
    return [edge - gap, most, gap >= 0 ? most : most * Math.cos(gap)];
  }

  /* ---- writing numbers: as the pictures do ---- */
  function rounded(value, digits) {
    var text = value.toFixed(digits);
    if (parseFloat(text) === 0) text = (0).toFixed(digits);
    return text.replace("-", "\u2212");
  }
  viz.rounded = rounded;
  viz.bw = function (newtons, told) { return rounded(newtons / told.bw, 2) + " BW"; };
  viz.newtons = function (newtons) { return rounded(newtons, 0) + " N"; };
  viz.centimetres = function (metres) { return rounded(100 * metres, 1) + " cm"; };
  viz.degrees = function (radians) { return rounded(radians * 180 / Math.PI, 1) + "\u00b0"; };
  viz.newtonMetres = function (value) { return rounded(value, 1) + " N\u00b7m"; };
  viz.megapascals = function (pascals) { return rounded(pascals * 1e-6, 2) + " MPa"; };
  viz.percent = function (share) { return rounded(100 * share, 0) + " %"; };
  viz.force = function (newtons, told, unit) { return unit === "N" ? viz.newtons(newtons) : viz.bw(newtons, told); };
})(window.viz = window.viz || {});
