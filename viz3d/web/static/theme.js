/* Light or dark: as a person chose, as the scene says, or as the device asks. */
"use strict";

((viz) => {
  const { $ } = viz;
  const NAME = "theme";

  /** The backdrop of a choice; dark: whether the device asks for dark. */
  viz.backdrop = (choice, dark) => (choice === "device" ? (dark ? "dark" : "light") : choice);

  /** told.themes: light and dark colours, and which comes first. changed(): everything that is drawn is out of date. */
  viz.Theme = class {
    constructor(told, changed) {
      this.told = told;
      this.asks = window.matchMedia("(prefers-color-scheme: dark)");
      const known = viz.kept(NAME);
      $("theme").value = ["device", "light", "dark"].includes(known) ? known : told.themes.first;
      viz.listen("theme", "change", () => {
        viz.keep(NAME, $("theme").value);
        this.take(changed);
      });
      this.asks.addEventListener("change", () => this.take(changed));
      this.take(() => null);
    }

    take(changed, name = viz.backdrop($("theme").value, this.asks.matches)) {
      document.documentElement.dataset.theme = name;
      Object.assign(this.told, this.told.ramps[name], { colours: { ...this.told.themes[name] } });
      changed();
    }
  };

  const SMALL = "(max-width: 900px), (max-height: 600px)"; /* as in narrow.css */

  /** The settings of words and numbers: folded where the screen is small, and again by a touch elsewhere or Escape. */
  viz.folded = () => {
    const [box, small] = [$("settings"), window.matchMedia(SMALL)];
    const fold = () => { box.open = !small.matches; };
    fold();
    small.addEventListener("change", fold);
    document.addEventListener("pointerdown", (e) => {
      if (!box.contains(e.target)) fold();
    });
    box.addEventListener("keydown", (e) => {
      if (e.key === "Escape") fold();
    });
  };

  /** A figure in the colours of now. */
  viz.recolour = (figure) => {
    if (figure?.root) figure.repaint();
  };
})(globalThis.viz ??= {});
