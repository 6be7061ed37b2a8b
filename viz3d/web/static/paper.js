/* Printing: the page as one sheet, its figure drawn anew in the sheet's size and in the colours of paper. */
"use strict";

((viz) => {
  const { $ } = viz;
  const FINE = 3; /* dots of a pixel on paper */

  /** Lay the page out as a sheet, or as a page again. */
  viz.asSheet = (page, on) => {
    document.body.dataset.paper = on ? "yes" : "no";
    page.theme.take(() => page.recolour(), on ? "light" : undefined);
    $("sheet").hidden = !on;
    if (page.figure?.root) redraw(page.figure, on);
  };

  /** The figure in the size of its place now; a copy of it for paper, which a drawing in space does not always reach. */
  const redraw = (figure, on) => {
    figure.dots(on ? FINE : 1);
    figure.resize();
    figure.paint();
    if (!on) return;
    const [copy, { canvas }] = [$("sheet"), figure];
    [copy.width, copy.height] = [canvas.width, canvas.height];
    copy.getContext("2d").drawImage(canvas, 0, 0);
  };

  viz.onPaper = (page) => {
    window.addEventListener("beforeprint", () => viz.asSheet(page, true));
    window.addEventListener("afterprint", () => viz.asSheet(page, false));
  };
})(globalThis.viz ??= {});
