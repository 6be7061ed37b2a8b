/* The scene's own steps on the live page: the inputs move, the solver follows. */
"use strict";

((viz) => {
  const { $ } = viz;

  /** The number of a written value, as "7.5 deg". */
  viz.amount = (text) => parseFloat(text.replace("\u2212", "-"));

  /** Written values on the way from numbers to a step's, a share of the way. */
  viz.onTheWay = (from, set, share) => Object.fromEntries(Object.entries(set).map(([key, text]) => {
    const value = from[key] + (viz.amount(text) - from[key]) * share;
    return [key, `${value.toFixed(4)} ${text.slice(text.indexOf(" ") + 1)}`];
  }));

  /** True where a person changed what the scene's own steps rely on; own: the keys that these change themselves. */
  viz.otherwise = (changes, own = []) => Object.keys(changes).some((key) => /\.holds$|stance$|lifted$/.test(key) && !own.includes(key));

  /** value(key): what an input is set to; begun(key, at): step number `at` begins to move it; moved(changes); staged(step): it is seen. */
  viz.Steps = class {
    constructor(voice, { value, begun, moved, staged }) {
      Object.assign(this, { voice, value, begun, moved, staged, steps: [], walking: null, playing: null });
      viz.listen("play", "click", () => this.play());
    }

    show(answer, changes) {
      const own = answer.steps.flatMap((step) => [...Object.keys(step.cut), ...Object.keys(step.set)]);
      this.steps = viz.otherwise(changes, own) ? [] : answer.steps;
      $("timeline").hidden = !this.steps.length;
      $("time").hidden = true;
      $("play").hidden = !this.steps.length;
      const buttons = this.steps.map((step) => viz.button(step.name, () => this.alone(step)));
      $("steps").replaceChildren(...buttons);
    }

    /** What the steps are called; name(k): of a step. */
    named(name) { [...$("steps").children].forEach((button, k) => { button.textContent = name(k); }); }

    alone(step) {
      this.pause();
      this.walk(step);
    }

    /** All steps one after the other, as in the film. */
    play() {
      if (this.playing !== null) {
        this.pause();
        return;
      }
      viz.tell("play", this.voice, "page.pause");
      const some = this.steps.slice();
      const next = () => {
        const step = some.shift();
        if (!step) {
          this.pause();
          return;
        }
        this.walk(step);
        this.playing = setTimeout(next, 1000 * (step.change + step.hold));
      };
      next();
    }

    pause() {
      clearTimeout(this.playing);
      cancelAnimationFrame(this.walking);
      this.playing = null;
      viz.tell("play", this.voice, "page.play");
    }

    walk(step) {
      cancelAnimationFrame(this.walking);
      $("caption").textContent = step.caption;
      const keys = Object.keys(step.set);
      const from = Object.fromEntries(keys.map((key) => [key, this.value(key) ?? viz.amount(step.set[key])]));
      this.begun(keys[0], this.steps.indexOf(step));
      this.staged(step);
      this.moved({ ...step.cut, ...viz.onTheWay(from, step.set, step.change > 0 ? 0 : 1) }); /* at once: neither makes a scene alone */
      let begun = null;
      const tick = (clock) => {
        begun ??= clock;
        const share = step.change > 0 ? viz.clamp((clock - begun) / 1000 / step.change, 0, 1) : 1;
        this.moved(viz.onTheWay(from, step.set, viz.eased(share)));
        if (share < 1) this.walking = requestAnimationFrame(tick);
      };
      tick(performance.now());
    }
  };
})(globalThis.viz ??= {});
