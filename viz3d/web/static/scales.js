/* How long lengths and forces look: two bars from the front and the back, one body weight along each axis elsewhere. */
"use strict";

((viz) => {
  const SEEN = 0.12; /* an axis shorter than this share points at the viewer and is left out */
  const [LETTER, SMALL, LINE] = [7.5, 6.2, 18]; /* room of a letter, of one where there is little, and of a line, pixels */

  const NARROW = 2; /* how small axes are whose words stand one below the other */

  const isUpright = ([x, y]) => Math.abs(x) < 0.3 * Math.abs(y);

  /** The axes that are seen: [word, way on the canvas] as long as one body weight; project(way): pixels right and down. */
  viz.axes = (sign, long, project) => {
    const ways = [["up", [0, 1, 0]], ["forward", [1, 0, 0]], ["outward", [0, 0, sign]]];
    const found = ways.map(([word, way]) => [word, project(way)]);
    return found.filter(([, [x, y]]) => Math.hypot(x, y) > SEEN * long);
  };

  const bars = (page, words) => {
    const { figure: f, told, voice } = page;
    const { size, bar, sign } = voice.units.length;
    return [[bar * size, `${bar}${sign}`], [viz.perWeight(told, f.orbit), voice.say(words, { force: voice.absolute(told.bw) })]].map(([metres, text]) => {
      const line = viz.make("i");
      line.style.width = `${(metres * f.scale).toFixed(1)}px`;
      return viz.make("div", {}, line, text);
    });
  };

  const axis = (at, [word, [x, y]], page, under) => {
    const { told, voice } = page;
    const tip = [at[0] + x, at[1] + y];
    const long = Math.hypot(x, y);
    const side = [-y / long * 4, x / long * 4];
    const line = `M${at}L${tip}M${tip[0] - side[0]},${tip[1] - side[1]}L${tip[0] + side[0]},${tip[1] + side[1]}`;
    const anchor = isUpright([x, y]) ? "middle" : x > 0 ? "start" : "end";
    const beside = { x: tip[0] + 6 * x / long, y: tip[1] + (y < -10 ? -5 : y > 10 ? 14 : 4), "text-anchor": anchor };
    const about = !under || isUpright([x, y]) ? beside : { x: x > 0 ? under.wide : 0, y: under.foot(word), "text-anchor": x > 0 ? "end" : "start" };
    return [
      viz.draw("path", { d: line, stroke: told.colours.ink, fill: "none", "stroke-width": 1.5 }),
      viz.draw("text", { ...about, fill: told.colours.soft }, voice.say(`page.axes.${word}`)),
    ];
  };

  /** Room of the axes' words beside and above them, pixels. */
  const room = (axes, voice) => [8 + LETTER * Math.max(...axes.map(([word]) => voice.say(`page.axes.${word}`).length)), LINE];

  /** Where axes between two corners begin in their drawing, and its size, with words beside their tips. */
  const spread = ([low, high], found, voice) => {
    const beside = room(found, voice);
    const at = beside.map((free, i) => free - low[i]);
    return [at, beside.map((free, i) => Math.ceil(at[i] + high[i] + free))];
  };

  const sideways = (found) => found.filter(([, way]) => !isUpright(way)).sort((a, b) => a[1][0] - b[1][0]).map(([word]) => word);

  /** The same with the words of sideways axes below them: in one line, or (narrow) each in its own. */
  const stacked = ([low, high], found, voice, narrow) => {
    const words = sideways(found).map((word) => voice.say(`page.axes.${word}`));
    const lines = narrow ? words : [words.join("    ")];
    const wide = Math.ceil(Math.max(high[0] - low[0] + 8, ...lines.map((line) => SMALL * line.length)));
    return [[(wide - low[0] - high[0]) / 2, LINE - low[1]], [wide, Math.ceil(high[1] - low[1] + (1 + lines.length) * LINE)]];
  };

  const cross = (page, words, small) => {
    const { figure: f, told, voice } = page;
    const size = viz.perWeight(told, f.orbit) * (small ? 0.5 : 1);
    const origin = f.project(told.origin);
    const found = viz.axes(told.sign, size * f.scale, (way) => {
      const [x, y] = f.project(told.origin.map((v, i) => v + size * way[i]));
      return [x - origin[0], y - origin[1]];
    });
    const spans = [[0, 0], ...found.map(([, span]) => span)];
    const ends = [Math.min, Math.max].map((most) => [0, 1].map((i) => most(...spans.map((s) => s[i]))));
    const [at, [wide, tall]] = (small ? stacked : spread)(ends, found, voice, small === NARROW);
    const order = sideways(found);
    const foot = (word) => tall - 4 - (small === NARROW ? LINE * (order.length - 1 - order.indexOf(word)) : 0);
    const svg = viz.draw("svg", { width: wide, height: tall, viewBox: `0 0 ${wide} ${tall}` });
    svg.append(...found.flatMap((one) => axis(at, one, page, small ? { wide, foot } : null)));
    return [svg, viz.make("div", {}, voice.say(words, { force: voice.absolute(told.bw) }))];
  };

  /** What stands in the figure's corner; words: the key of those about the forces; small: 1 in little room, 2 in a narrow one. */
  viz.scales = (page, words, small = 0) => {
    const { orbit } = page.figure;
    if (orbit.close) return [];
    if (orbit.flat) return bars(page, words);
    return cross(page, small ? "page.scale_half" : words, small);
  };
})(globalThis.viz ??= {});
