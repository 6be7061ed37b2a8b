/* One situation out of its columns: which muscle pulls, which arrows and lever arms there are. Nothing here touches the page. */
"use strict";

((viz) => {
  const HANDS = ["stance", "swing"];
  const SHOWN = 0.5; /* newtons of a carried load that is drawn */

  /** The muscle that pulls: of both muscles' signed pull, the one that is not negative. */
  viz.pulling = (c) => (c.moment[0] >= 0 ? "abductor" : "adductor");

  const frontal = (told, v) => [0, v[1], told.sign * v[0]];
  const beside = (told, c, v) => [c.hip[0], c.hip[1] + v[1], c.hip[2] + told.sign * v[0]];

  /** The muscle's signed pull, foot and direction, and the joint force, seen from the front. */
  const balance = (c) => {
    const [pull, x, y, dx, dy, lever] = c[viz.pulling(c)];
    const way = Math.hypot(dx, dy);
    const direction = [dx / way, dy / way];
    const joint = [-(c.external[0] + pull * direction[0]), -(c.external[1] + pull * direction[1])];
    return { pull, foot: [x, y], direction, lever, joint, size: Math.hypot(joint[0], joint[1], c.forward[0]) };
  };

  const carried = (c) => [...HANDS.map((where) => `bag_${where}`), "backpack"].filter((key) => c[key][3] > SHOWN);
  const pressing = (told) => HANDS.filter((where) => {
    const held = told.aids[told.sides[where]];
    return held && held !== "bag";
  });

  const arrows = (c, told, b) => {
    const world = (v) => frontal(told, v);
    const out = [
      { key: "weight", role: "weight", at: c.weight.slice(0, 3), force: [0, -c.weight[3], 0] },
      { key: "muscle", role: "muscle", at: beside(told, c, b.foot), force: world(b.direction.map((x) => b.pull * x)) },
      { key: "joint", role: "joint", at: c.hip, force: world(b.joint), tip: true, size: b.size },
    ];
    for (const where of pressing(told)) {
      const h = c[`hand_${where}`];
      out.push({ key: `cane_${where}`, role: "hand", at: h.slice(0, 3), force: world([h[3], h[4]]) });
    }
    for (const key of carried(c)) {
      out.push({ key, role: "load", at: c[key].slice(0, 3), force: [0, -c[key][3], 0] });
    }
    if (Math.abs(c.foot[3]) > SHOWN) {
      out.push({ key: "other_foot", role: "ground", at: c.foot.slice(0, 3), force: [0, c.foot[3], 0], tip: true });
    }
    return out.map((a) => ({ ...a, size: a.size ?? viz.norm(a.force) }));
  };

  const level = (key, of, role, ends, drop, metres) => ({ key, of, role, from: ends[0], to: ends[1], drop, metres });

  const levers = (c, told, b) => {
    const along = b.foot[0] * b.direction[0] + b.foot[1] * b.direction[1];
    const near = b.foot.map((x, i) => x - along * b.direction[i]);
    const out = [
      level("weight_lever", "weight", "weight", [c.weight.slice(0, 3), c.hip], told.drops[0], c.weight[4]),
      { key: "muscle_lever", of: "muscle", role: "muscle", from: c.hip, to: beside(told, c, near), drop: null, metres: Math.abs(b.lever) },
    ];
    for (const where of pressing(told)) {
      const h = c[`hand_${where}`];
      out.push(level(`cane_lever_${where}`, `cane_${where}`, "hand", [h.slice(0, 3), c.hip], told.drops[1], h[5]));
    }
    if (Math.abs(c.foot[3]) > SHOWN) {
      out.push(level("other_foot_lever", "other_foot", "ground", [c.foot.slice(0, 3), c.hip], told.drops[1], c.foot[4]));
    }
    for (const key of carried(c)) {
      out.push({ ...level(`${key}_lever`, key, "load", [c.hip, c.hip], null, Math.abs(c[key][2] - c.hip[2])), told: true });
    }
    return out;
  };

  /** Pole, pressure at the pole and highest pressure of the loaded lune, looked up in the solved rows. */
  viz.lune = (table, force, angle, edge, radius) => {
    const at = (angle + edge - table.from) / table.step;
    if (at < 0) return [0, 0, 0];
    const k = viz.clamp(Math.floor(at), 0, table.gap.length - 2);
    const between = (rows) => rows[k] + (at - k) * (rows[k + 1] - rows[k]);
    const gap = between(table.gap);
    const most = between(table.size) * force / (radius * radius);
    return [edge - gap, most, gap >= 0 ? most : most * Math.cos(gap)];
  };

  /** What a situation shows: arrows, lever arms, and the sizes that the labels write. */
  viz.situation = (c, told) => {
    const b = balance(c);
    const lost = (c.lost?.[0] ?? 0) > 0.5;
    const kept = (one) => !lost || !["muscle", "joint"].includes(one.of ?? one.key);
    const angle = Math.atan2(-b.joint[0], b.joint[1]);
    const [pole, polePressure, peak] = viz.lune(told.lune, b.size, angle, c.edge[0], c.radius[0]);
    return {
      lost, hip: c.hip, arrows: arrows(c, told, b).filter(kept), levers: levers(c, told, b).filter(kept),
      joint: lost ? null : b.size, angle, moment: c.moment[0], muscle: viz.pulling(c),
      pole, polePressure, peak: c.facet_peak?.[0] ?? peak, edge: c.edge[0], displacement: c.displacement ?? null,
      falls: c.falls[0] > 0.5 || b.joint[1] <= 0, short: Math.max(0, -c.margin[0]),
    };
  };
})(globalThis.viz ??= {});
