/* The offline page's timeline: the scene's own film, clip after clip, from its solved samples. */
"use strict";

((viz) => {
  const { $ } = viz;

  /** The last of ascending times that is not after a time. */
  viz.lastAt = (times, time) => Math.max(0, times.findLastIndex((t) => t <= time + 1e-6));

  /** The clip that is seen at a time. */
  viz.clipAt = (clips, time) => clips[viz.lastAt(clips.map((clip) => clip.from), time)];

  /** told: what the page knows; shown(clip, step, time): show a moment. */
  viz.Timeline = class {
    constructor(told, voice, shown) {
      Object.assign(this, { told, voice, shown, playing: null });
      const line = told.timeline;
      if (!line) return;
      this.end = line.end;
      $("timeline").hidden = false;
      $("time").max = this.end;
      viz.listen("time", "input", () => this.jump(Number($("time").value)));
      viz.listen("play", "click", () => this.play());
      $("steps").append(...line.steps.map((step) => viz.button(step.name, () => this.jump(step.held))));
      viz.markStep(told.step);
    }

    at(time) {
      const { clips, steps } = this.told.timeline;
      $("time").value = time;
      const seen = viz.lastAt(steps.map((s) => s.begin), time);
      viz.markStep(seen);
      this.shown(viz.clipAt(clips, time), steps[seen], time);
    }

    jump(time) {
      this.stop();
      this.at(time);
    }

    stop() {
      if (this.playing !== null) cancelAnimationFrame(this.playing);
      this.playing = null;
      viz.tell("play", this.voice, "page.play");
    }

    play() {
      if (this.playing !== null) {
        this.stop();
        return;
      }
      const now = Number($("time").value);
      const from = now > this.end - 0.05 ? 0 : now;
      let begun = null;
      const tick = (clock) => {
        begun ??= clock;
        const time = from + (clock - begun) / 1000;
        this.playing = requestAnimationFrame(tick);
        if (time >= this.end) this.stop();
        this.at(Math.min(time, this.end));
      };
      viz.tell("play", this.voice, "page.pause");
      this.playing = requestAnimationFrame(tick);
    }
  };
})(globalThis.viz ??= {});
