/* What the live page waits for, said over the figure. */
"use strict";

((viz) => {
  const { $ } = viz;

  /** solving: an answer that takes its time, as of walks; reshaping: bones, where those shown are still those of other
      measures, from the moment on that these are asked for. */
  viz.Waits = class {
    constructor(voice) {
      Object.assign(this, { voice, solving: false, reshaping: false });
    }

    /** Begin or end to wait for something. */
    are(more) {
      Object.assign(this, more);
      const words = this.reshaping ? "page.reshaping" : this.solving ? "page.solving" : "";
      $("badge").hidden = !words;
      $("badge").textContent = words && this.voice.say(words);
      if ("reshaping" in more) document.body.dataset.bones = this.reshaping ? "reshaping" : "true";
    }
  };
})(globalThis.viz ??= {});
