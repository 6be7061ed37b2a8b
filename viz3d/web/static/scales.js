/* How long lengths and forces look: two bars from the front and the back, one body weight along each axis elsewhere. */
"use strict";

((viz) => {
  const SEEN = 0.12; /* an axis shorter than this share points at the viewer and is left out */
  const [LETTER, LINE] = [7.5, 18]; /* room of a letter and of a line, pixels */

  /** The axes that are seen: [word, way on the canvas] as long as one body weight; project(way): pixels right and down. */
  viz.axes = (sign, long, project) => {
    const ways = [["up", [0, 1, 0]], ["forward", [1, 0, 0]], ["outward", [0, 0, sign]]];
    const found = ways.map(([word, way]) => [word, project(way)]);
    return found.filter(([, [x, y]]) => Math.hypot(x, y) > SEEN * long);
  };

  const bars = (page, words) => {
    const { figure: f, told, voice } = page;
    const { size, bar, sign } = voice.units.length;
    return [[bar * size, `${bar}${sign}`], [told.arrow.weight, voice.say(words, { force: voice.absolute(told.bw) })]].map(([metres, text]) => {
      const line = viz.make("i");
      line.style.width = `${(metres * f.scale).toFixed(1)}px`;
      return viz.make("div", {}, line, text);
    });
  };

  const axis = (at, [word, [x, y]], page) => {
    const { told, voice } = page;
    const tip = [at[0] + x, at[1] + y];
    const long = Math.hypot(x, y);
    const side = [-y / long * 4, x / long * 4];
    const line = `M${at}L${tip}M${tip[0] - side[0]},${tip[1] - side[1]}L${tip[0] + side[0]},${tip[1] + side[1]}`;
    const anchor = Math.abs(x) < 0.3 * Math.abs(y) ? "middle" : x > 0 ? "start" : "end";
    const about = { x: tip[0] + 6 * x / long, y: tip[1] + (y < -10 ? -5 : y > 10 ? 14 : 4), "text-anchor": anchor, fill: told.colours.soft };
    return [
      viz.draw("path", { d: line, stroke: told.colours.ink, fill: "none", "stroke-width": 1.5 }),
      viz.draw("text", about, voice.say(`page.axes.${word}`)),
    ];
  };

  /** Room of the axes' words beside and above them, pixels. */
  const room = (axes, voice) => [8 + LETTER * Math.max(...axes.map(([word]) => voice.say(`page.axes.${word}`).length)), LINE];

  const cross = (page, words) => {
    const { figure: f, told, voice } = page;
    const size = told.arrow.weight;
    const origin = f.project(told.origin);
    const found = viz.axes(told.sign, size * f.scale, (way) => {
      const [x, y] = f.project(told.origin.map((v, i) => v + size * way[i]));
      return [x - origin[0], y - origin[1]];
    });
    const spans = [[0, 0], ...found.map(([, span]) => span)];
    const [low, high] = [Math.min, Math.max].map((most) => [0, 1].map((i) => most(...spans.map((s) => s[i]))));
    const beside = room(found, voice);
    const at = beside.map((free, i) => free - low[i]);
    const [wide, tall] = beside.map((free, i) => Math.ceil(at[i] + high[i] + free));
    const svg = viz.draw("svg", { width: wide, height: tall, viewBox: `0 0 ${wide} ${tall}` });
    svg.append(...found.flatMap((one) => axis(at, one, page)));
    return [svg, viz.make("div", {}, voice.say(words, { force: voice.absolute(told.bw) }))];
  };

  /** What stands in the figure's corner; words: the key of those about the forces; bare: no room for axes, and without them
      nothing is said of lengths that are seen askew. */
  viz.scales = (page, words, bare = false) => {
    const { orbit } = page.figure;
    if (orbit.close) return [];
    if (orbit.flat) return bars(page, words);
    return bare ? [] : cross(page, words);
  };
})(globalThis.viz ??= {});
