/* One situation out of its columns: the muscle that pulls is picked, what each column is called is said beside it.
   No physics and nothing of the page here: every arrow, lever arm and moment is a solved column or lies between some. */
"use strict";

((viz) => {
  const OF_MUSCLE = ["muscle", "joint"];
  const WALKS = "walks"; /* the next step catches a fall, and a leg that swings may pull at its hip */

  /** The muscle that pulls: of both muscles' signed pull, the one that is not negative. */
  viz.pulling = (c) => (c.moment[0] >= 0 ? "abductor" : "adductor");

  /** A column, or that of the muscle that pulls where it depends on it. */
  viz.column = (c, name) => c[name] ?? c[`${name}@${viz.pulling(c)}`];

  /** Angle of a force from the vertical as the front shows it, positive when it points up and inward. */
  viz.tilt = ([, up, right], sign) => Math.atan2(-sign * right, up);

  /** Pole, pressure at the pole and highest pressure of the loaded lune, between its solved rows for 1 N. */
  viz.lune = (rows, force, tilt, edge) => {
    const at = (tilt + edge - rows.from) / rows.step;
    if (at < 0) return [0, 0, 0];
    const k = viz.clamp(Math.floor(at), 0, rows.gap.length - 2);
    const between = (some) => some[k] + (at - k) * (some[k + 1] - some[k]);
    const gap = between(rows.gap);
    const most = between(rows.size) * force;
    return [edge - gap, most, gap >= 0 ? most : most * Math.cos(gap)];
  };

  const arrow = (c, one) => {
    const numbers = viz.column(c, `arrow ${one.key}`);
    const force = numbers.slice(3);
    return { ...one, name: one.names?.[viz.pulling(c)] ?? one.name, at: numbers.slice(0, 3), force, size: viz.norm(force) };
  };

  const lever = (c, one) => {
    const numbers = viz.column(c, `lever ${one.key}`);
    const [from, to] = [numbers.slice(0, 3), numbers.slice(3, 6)];
    return { ...one, name: one.names?.[viz.pulling(c)] ?? one.name, from, to, metres: Math.abs(numbers[6]) };
  };

  /** c: columns; about: what they are; told: what the page knows. */
  viz.situation = (c, about, told) => {
    const lost = c.lost[0] > 0.5;
    const kept = (one) => !lost || !OF_MUSCLE.includes(one.role);
    const joint = viz.column(c, "arrow joint").slice(3);
    const tilt = viz.tilt(joint, told.sign);
    const [pole, polePressure, highest] = about.lune ? viz.lune(about.lune, viz.norm(joint), tilt, c.edge[0]) : c.pressure;
    return {
      lost, tilt, pole, polePressure, peak: told.replaced ? NaN : highest, hip: c.hip, links: told.links.flatMap((name) => c[`link ${name}`]), edge: c.edge[0],
      arrows: about.arrows.map((one) => arrow(c, one)).filter(kept),
      levers: about.levers.map((one) => lever(c, one)).filter(kept),
      turns: about.turns.map((one) => ({ ...one, moment: c[`turn ${one.key}`][0] })).filter(kept),
      muscles: about.muscles.map((one) => ({ ...one, activation: c[`active ${one.name}`][0] })),
      carried: Object.fromEntries(Object.keys(about.aids).map((side) => [side, c[`carried ${side}`]?.[0] ?? 1])),
      polygon: about.polygon, stands: about.stands, aids: about.aids, joint: lost ? null : viz.norm(joint),
      displacement: c.displacement ?? null, falls: c.falls[0] > 0.5 || (about.stands !== WALKS && joint[1] <= 0), short: Math.max(0, -c.margin[0]), weak: about.weak ?? null,
    };
  };
})(globalThis.viz ??= {});
