/* What would give an answer away, kept back while a student predicts; and going from one situation to another. */
"use strict";

((viz) => {
  const { $ } = viz;
  const LONG = 1100; /* ms */
  let running = null;

  viz.mix = (a, b, share) => a + (b - a) * share;

  /** at(share) again and again until it is 1; at once where motion is not wanted. */
  viz.travel = (at) => {
    viz.rest();
    if (window.matchMedia("(prefers-reduced-motion: reduce)").matches) {
      at(1);
      return;
    }
    let begun = null;
    const tick = (clock) => {
      begun ??= clock;
      const share = Math.min(1, (clock - begun) / LONG);
      at(share * share * (3 - 2 * share));
      if (share < 1) running = window.requestAnimationFrame(tick);
    };
    running = window.requestAnimationFrame(tick);
  };

  /** Stay where one is on the way. */
  viz.rest = () => window.cancelAnimationFrame(running);

  /** Hide the scene's title, aim, steps and curve, or show them again. */
  viz.veil = (on, told, voice) => {
    document.body.dataset.predict = on ? "yes" : "no";
    const title = on ? voice.say(`page.question.neutral_${told.stance}`) : told.title;
    $("title").textContent = title;
    document.title = title;
  };
})(globalThis.viz ??= {});
