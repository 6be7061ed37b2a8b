/* The offline page's controls: a slider for each input that its author lists, and which hand presses. */
"use strict";

((viz) => {
  const RAD = Math.PI / 180;
  const POUND = 0.45359237;
  const LABELS = { push: "page.axis.force", near: "page.axis.force", drop: "page.control.drop", bag: "page.control.bag", strength: "page.control.strength",
    mass: "page.control.mass", lever: "page.control.lever", neck: "page.control.neck", phase: "page.control.phase" };
  const IDS = { push: "force" }; /* ids of sliders that are not called as their input */

  /** Position in a list of ascending numbers of the one nearest to a value. */
  viz.nearest = (nodes, at) => nodes.reduce((best, node, k) => (Math.abs(node - at) < Math.abs(nodes[best] - at) ? k : best), 0);

  /** The unit of a slider: its size, its step and how it is written; told: what the page knows. */
  const unitOf = (word, voice, told) => {
    const pounds = voice.units.mass.sign.trim() === "lb";
    const mass = { size: pounds ? POUND : 1, step: pounds ? 1 : 0.5, write: (v) => `${voice.number(v, pounds ? 0 : 1)}${voice.units.mass.sign}` };
    const share = { size: 0.01, step: 0.5 };
    const push = { ...share, write: (v) => voice.say("page.push", { number: voice.number(v, 1), force: voice.absolute(v / 100 * told.bw) }) };
    return {
      lean: { size: RAD, step: 0.5, write: (v) => voice.angle(v * RAD) },
      drop: { size: RAD, step: 0.5, write: (v) => voice.angle(v * RAD) },
      neck: { size: RAD, step: 1, write: (v) => voice.angle(v * RAD) },
      push, near: push,
      phase: { size: 0.01, step: 1, write: (v) => `${voice.number(v, 0)} %` },
      strength: { ...share, step: 5, write: (v) => `${voice.number(v, 0)} %` },
      lever: { size: 0.001, step: 0.5, write: (v) => voice.length(v / 1000) },
      bag: mass, mass: { ...mass, step: 1 },
    }[word];
  };

  const label = (word, told) => (word === "lean" ? `page.lean_${told.stance}` : LABELS[word]);

  /** The name of a push: what is pressed, and by which hand where both press. */
  const pushed = (axis, grid, voice) => {
    const what = voice.say(`page.pushes.${axis.holds}`);
    const both = grid.axes.filter(({ side }) => side).length > 1;
    return both ? voice.say("page.of_side", { what, side: voice.say(`page.side.${axis.side}`) }) : what;
  };

  viz.Controls = class {
    /** move(change, over): what a person does. */
    constructor(host, told, voice, move) {
      Object.assign(this, { told, voice, sliders: {} });
      if (told.grids.length > 1) {
        this.hands = viz.choices(host, {
          id: "hand", name: viz.said(voice, "page.hand.name"), value: told.start.hand,
          options: told.grids.map((g) => [g.hand, viz.said(voice, told.hands[g.hand])]), moved: (hand) => move({ hand }, "push"),
        });
      }
      const words = [...new Set(told.grids.flatMap((g) => g.axes.map((axis) => axis.word)))];
      for (const word of words) {
        const unit = unitOf(word, voice, told);
        const [low, high] = this.ends(word, told.grids.find((g) => g.axes.some((a) => a.word === word)), unit);
        this.sliders[word] = viz.slider(host, {
          id: IDS[word] ?? word, name: viz.said(voice, label(word, told)), low, high, step: this.step(word, unit),
          value: told.start.pose[word] / unit.size, write: (v) => unitOf(word, voice, told).write(v), moved: (v) => move({ [word]: v * unit.size }, word),
        });
      }
    }

    axis(word) { return this.told.grids.flatMap((g) => g.axes).find((axis) => axis.word === word); }

    /** Steps of a slider; where every node has its own bones it stands on nodes only. */
    step(word, unit) {
      const axis = this.axis(word);
      return axis.each ? (axis.nodes[1] - axis.nodes[0]) / unit.size : unit.step;
    }

    ends(word, grid, { size, step }) {
      const axis = grid.axes.find((a) => a.word === word);
      const [low, high] = [axis.nodes[0], axis.nodes[axis.nodes.length - 1]].map((x) => x / size);
      return axis.each ? [low, high] : [Math.ceil(low / step - 1e-6) * step, Math.floor(high / step + 1e-6) * step];
    }

    /** The same in another register. */
    again() { this.show(...this.shown); }

    /** Bring the sliders to a pose of a grid. */
    show(pose, grid) {
      this.shown = [pose, grid];
      this.hands?.set(pose.hand);
      for (const [word, slider] of Object.entries(this.sliders)) {
        const unit = unitOf(word, this.voice, this.told);
        const axis = grid.axes.find((one) => one.word === word);
        slider.box.hidden = !axis;
        if (!axis) continue;
        if (axis.holds) slider.label.textContent = pushed(axis, grid, this.voice);
        slider.limits(...this.ends(word, grid, unit));
        slider.set(pose[word] / unit.size);
      }
    }
  };

  /** The chart's axis of a control. */
  viz.controls = {
    axis: (axis, grid, voice, told) => {
      const { word, nodes } = axis;
      const [low, high] = [nodes[0], nodes[nodes.length - 1]];
      const unit = unitOf(word, voice, told);
      const size = word === "lever" ? voice.units.length.size : unit.size;
      const ticks = viz.ticks(low / size, high / size).map((x) => x * size);
      const apart = ticks.length > 1 ? (ticks[1] - ticks[0]) / size : 1;
      const sign = { lean: "\u00b0", drop: "\u00b0", neck: "\u00b0", push: " %", near: " %", phase: " %", strength: " %", lever: voice.units.length.sign }[word] ?? voice.units.mass.sign;
      const name = axis.holds ? pushed(axis, grid, voice) : voice.say(word === "lean" ? "page.axis.lean" : label(word, told));
      return { name, ticks, write: (x) => `${voice.number(x / size, viz.digits(apart))}${sign}` };
    },
  };
})(globalThis.viz ??= {});
