/* What hangs on the eye: labels, side letters, scale bars, notes. */
"use strict";

((viz) => {
  const { $ } = viz;
  const SHARES = { joint: 0.45, muscle: 0.6, weight: 0.4 }; /* where along an arrow its label points */
  const NEAR = 0.9; /* the same seen from close by, where an arrow's tail is out of sight */
  const MARGIN = 4;
  const HANDS = 0.11; /* metres that the leader of the weight's lever arm runs lower than it */
  const ASIDE = 0.3; /* of a sideways length that must be seen to tell left from right */

  viz.along = (a, b, share) => a.map((x, i) => x + share * (b[i] - x));

  const inside = ([x, y], f) => [viz.clamp(x, MARGIN, f.wide - MARGIN), viz.clamp(y, MARGIN, f.tall - MARGIN)];

  /** A short name for what has a long one, or the long one itself. */
  viz.shortName = (voice, name) => {
    const short = `page.short.${name.replace("page.name.", "")}`;
    return voice.say(voice.has(short) ? short : name);
  };

  /** The labels of a figure: what they name, what they say and where that is on the canvas. */
  const items = (page) => {
    const { figure: f, now, told } = page;
    const right = (told.sign > 0 ? -1 : 1) * f.orbit.across > 0;
    const item = (one, value, role, at) => ({
      key: one.key, name: page.name(one), short: viz.shortName(page.voice, one.name), value, role, at: inside(f.project(at), f),
      side: one.own === right ? 1 : 0,
    });
    const arrows = now.arrows.filter((a) => f.forces.arrows[a.key]?.visible)
      .map((a) => item(a, page.size(a), a.role, viz.along(a.tail, a.end, f.orbit.close ? NEAR : SHARES[a.key] ?? 0.5)));
    const levers = now.levers.filter((v) => f.forces.lines[v.key]?.visible)
      .map((v) => {
        const made = item(v, page.length(v), "ink", v.drop === null ? viz.along(v.a, v.b, 0.5) : v.a);
        if (v.key !== "weight_lever") return made;
        const [x, y] = made.at; /* hands hang, and press, at this height: from below them */
        return Object.assign(made, { to: [x, y], at: inside([x, y + HANDS * f.scale], f), below: true });
      });
    return [...arrows, ...levers];
  };

  /** The letters of the sides of a figure, at the left and at the right of the canvas. */
  viz.sideLetters = (across, close, voice) => {
    if (close || Math.abs(across) <= ASIDE) return ["", ""];
    const letters = [voice.say("page.right_letter"), voice.say("page.left_letter")];
    return across > 0 ? letters : letters.reverse();
  };

  const SCALES = [
    ["page.scale", 0], ["page.scale_short", 0], ["page.scale_short", 1], ["page.scale_short", 0, 1], ["page.scale_short", 1, 1],
    ["page.scale_short", 0, 2], ["page.scale_short", 1, 2]];

  /** The scale in its corner; where it would lie over something it says less, moves to the other corner, or is smaller; where it fits
      nowhere, the smallest stands there, or under a whole person none. */
  viz.writeScale = (page, room) => {
    const corner = $("scale");
    for (const [words, side, bare] of SCALES) {
      corner.replaceChildren(...viz.scales(page, words, bare));
      corner.classList.toggle("moved", side === 1);
      const box = [corner.offsetLeft, corner.offsetTop, corner.offsetWidth, corner.offsetHeight];
      if (!room || !viz.covers(room, side, box)) return side;
    }
    const { framed, flat } = page.figure.orbit; /* the floor under a whole person says where one looks from */
    corner.replaceChildren(...(framed === "whole" && !flat ? [] : viz.scales(page, "page.scale_short", 2)));
    corner.classList.remove("moved");
    return 0;
  };

  /** What is said over the figure: near the hip, where feet are out of sight, what the person stands on. */
  viz.noteWords = (orbit, stands, voice) => {
    if (orbit.close) return voice.say("page.note.joint");
    const key = `page.note.stands_${stands}`;
    return orbit.framed !== "whole" && voice.has(key) ? voice.say(key) : "";
  };

  /** Bring all that up to date. */
  viz.annotate = (page) => {
    const { figure: f, now, told, voice } = page;
    if (!f || !now) return;
    const arrows = now.arrows.filter((a) => f.forces.arrows[a.key]?.visible);
    const room = f.orbit.close ? null : viz.room(f, arrows);
    const corner = viz.writeScale(page, room);
    $("legend").hidden = !f.orbit.close || !f.layers.pressure || now.lost || told.replaced;
    const below = [0, 1].map((side) => (side === corner ? $("scale") : $("legend")).offsetHeight);
    const seen = [f.wide, f.tall, f.orbit.named, f.orbit.reach, voice.register, voice.unit].join();
    page.labels.place(items(page), { wide: f.wide, tall: f.tall, below, seen, room }, told.colours);
    $("note").textContent = viz.noteWords(f.orbit, now.stands, voice);
    const letters = viz.sideLetters(f.orbit.across, f.orbit.close, voice);
    ["first", "second"].forEach((id, k) => {
      $(id).textContent = letters[k];
    });
    for (const button of document.querySelectorAll("[data-view]")) {
      button.setAttribute("aria-pressed", String(button.dataset.view === f.orbit.named));
    }
    for (const button of document.querySelectorAll("[data-frame]")) {
      button.setAttribute("aria-pressed", String(!f.orbit.close && button.dataset.frame === f.orbit.framed));
    }
  };
})(globalThis.viz ??= {});
