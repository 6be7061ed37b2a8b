/* A walk on the live page: its whole solved cycle, a slider for the moment of it that is seen, a button that lets it run. */
"use strict";

((viz) => {
  const { $ } = viz;
  const PIECES = 100; /* of the curve over a cycle */
  const JOINT = (name) => name === "moment" || name.startsWith("arrow joint");

  /** Size of the joint force of a grid at a phase, newtons. */
  const joint = (grid, phase) => viz.norm(viz.column(viz.between(grid, { phase }, JOINT), "arrow joint").slice(3));

  /** The phase, 0 to 1, that comes so many seconds after another one; seconds: of a cycle. */
  viz.later = (phase, after, seconds) => (phase + after / seconds) % 1;

  viz.Cycle = class {
    /** shown(columns, about): another moment is seen. */
    constructor(told, voice, shown) {
      Object.assign(this, { told, voice, shown, grid: null, first: null, phase: 0, running: null });
      this.box = viz.make("div", { class: "cycle", hidden: "" });
      $("inputs").before(this.box);
      this.slider = viz.slider(this.box, {
        id: "phase", name: viz.said(voice, "page.control.phase"), low: 0, high: 100, step: 1, value: 0,
        write: (v) => `${voice.number(v, 0)} %`,
        moved: (v) => {
          this.run(false);
          this.see(v / 100);
        },
      });
      this.button = viz.button("", () => this.run(this.running === null));
      this.button.id = "run";
      this.box.append(this.button);
      viz.tell("run", voice, "page.cycle.run");
    }

    /** What is shown of an answer: [columns, what they are], of a walk at the moment that is seen; anew: the page begins. */
    take({ cycle, layout, row, about }, anew) {
      const { voice, told } = this;
      viz.tell("chart-name", voice, cycle ? "page.chart.cycle" : "page.chart.moved");
      viz.tell("level", voice, cycle ? "page.level_walk" : "caution.full.static");
      this.box.hidden = !cycle;
      if (!cycle) {
        this.run(false);
        Object.assign(this, { grid: null, first: null });
        return [viz.columns(layout, row), about];
      }
      const begins = !this.grid;
      this.grid = viz.indexed(Object.assign(cycle, { rows: viz.floats(cycle.rows) }));
      if (anew || !this.first) this.first = { grid: this.grid, weight: told.bw };
      if (begins || anew) this.put(cycle.phase);
      return this.now;
    }

    get now() { return [viz.between(this.grid, { phase: this.phase }), Object.assign(this.grid.about, { lune: this.grid.lune })]; }

    /** What a picture of the moment that is seen needs besides the step. */
    get moment() { return this.grid ? { phase: this.phase } : {}; }

    /** The joint force of the cycle that the page began with, at the moment that is seen; null where nobody walks. */
    start() { return this.first && { newtons: joint(this.first.grid, this.phase), weight: this.first.weight }; }

    /** Joint force over the cycle. */
    chart(force) {
      const { voice, told, grid } = this;
      const at = Array.from({ length: PIECES + 1 }, (_, k) => k / PIECES);
      grid.curve ??= at.map((phase) => [phase, joint(grid, phase)]);
      const axis = { name: voice.say("page.control.phase"), ticks: viz.ticks(0, 1), write: (x) => `${voice.number(100 * x, 0)} %` };
      return { points: grid.curve.map((p) => [...p, told.bw]), now: [this.phase, force, told.bw], before: null, axis };
    }

    put(phase) {
      this.phase = phase;
      this.slider.set(100 * phase);
    }

    see(phase) {
      this.put(phase);
      this.shown(...this.now);
    }

    /** Walk on while steps are played. */
    follow(playing) { if (this.grid) this.run(playing); }

    /** Let the walk go on, or stop it. */
    run(on) {
      cancelAnimationFrame(this.running);
      this.running = null;
      viz.tell("run", this.voice, on ? "page.cycle.stop" : "page.cycle.run");
      if (!on) return;
      const from = this.phase;
      let begun = null;
      const tick = (clock) => {
        begun ??= clock;
        this.running = requestAnimationFrame(tick);
        this.see(viz.later(from, (clock - begun) / 1000, this.grid.seconds));
      };
      this.running = requestAnimationFrame(tick);
    }
  };
})(globalThis.viz ??= {});
