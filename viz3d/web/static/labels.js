/* Names and numbers beside the figure: two quiet columns, in the order of what they name, never one over another.
   Where they would cover a bone or an arrow, they get shorter: a short name, then the number alone. */
"use strict";

((viz) => {
  const GAP = 6; /* between two labels, pixels */
  const BELOW_LETTERS = [30, 64]; /* top of the columns: on a low canvas, on a high one */
  const LOW = 440; /* pixels of a canvas that is low */
  const BOTTOM = 10;
  const RISE = 12; /* pixels sideways over which a leader from below rises */
  const APART = 1.6; /* widths between the columns' outer edges, of the canvas's height */
  const [FULL, BARE] = [0, 2]; /* how much a label says: all of it, a short name, the number alone */

  /** Tops as close to the wished ones as they go without meeting; the order stays. */
  viz.spaced = (wished, heights, top, bottom) => {
    const y = [];
    let at = top;
    wished.forEach((w, k) => {
      y[k] = Math.max(w, at);
      at = y[k] + heights[k];
    });
    at = bottom;
    for (let k = y.length - 1; k >= 0; k--) {
      y[k] = Math.min(y[k], at - heights[k]);
      at = y[k];
    }
    return y;
  };

  /** A text in two lines, as even as its words go. */
  viz.twoLines = (text) => {
    const words = text.split(" ");
    const ways = words.slice(1).map((_, k) => [words.slice(0, k + 1), words.slice(k + 1)].map((some) => some.join(" ")));
    const longest = (lines) => Math.max(...lines.map((line) => line.length));
    return ways.length ? ways.reduce((best, lines) => (longest(lines) < longest(best) ? lines : best)).join("\n") : text;
  };

  /** A leader's corners from a label's edge to what it names. */
  viz.leader = (from, level, way, at) => {
    const bend = from + way * viz.clamp(Math.abs(at[0] - from) * 0.5, 4, 26);
    return [[from, level], [bend, level], at];
  };

  /** The same for what is led to from below: level until it is there, past what hangs or stands in between. */
  viz.leaderBelow = (from, level, way, at) => [[from, level], [at[0] - way * RISE, level], at];

  /** host: an element over the canvas. */
  viz.Labels = class {
    constructor(host) {
      this.host = host;
      this.tags = new Map();
      this.forms = new Map();
      this.seen = "";
      this.lines = viz.draw("svg", { class: "leaders", "aria-hidden": "true" });
      host.append(this.lines);
    }

    /** items: [{key, name, short, value, role, at: [x, y], side: 0 left, 1 right}] in CSS pixels; about: {wide, tall} of the
        canvas, below: what the left and the right column leave free at their feet, seen: what the labels were cut for,
        room: what bones and arrows leave free, or null where labels may lie over them. */
    place(items, about, colours) {
      const { wide, tall, seen } = about;
      const shown = new Set(items.map((item) => item.key));
      for (const [key, tag] of this.tags) tag.hidden = !shown.has(key);
      if (this.seen !== seen) this.forms.clear();
      this.seen = seen;
      for (const item of items) this.write(item, colours);
      this.host.style.setProperty("--inset", `${Math.max(0, (wide - APART * tall) / 2).toFixed(0)}px`);
      this.lines.replaceChildren();
      this.lines.setAttribute("viewBox", `0 0 ${wide} ${tall}`);
      for (const side of [0, 1]) {
        const some = items.filter((item) => item.side === side).sort((a, b) => a.at[1] - b.at[1]);
        this.lead(some, this.fitted(some, side, about), wide, colours);
      }
    }

    /** Write a label in its form. */
    write(item, colours) {
      if (!this.tags.has(item.key)) {
        const made = viz.make("div", {}, viz.make("span"), viz.make("strong"));
        this.tags.set(item.key, made);
        this.host.append(made);
      }
      const tag = this.tags.get(item.key);
      this.name(item);
      tag.lastChild.textContent = item.value;
      tag.lastChild.style.color = colours[item.role] ?? colours.ink;
      tag.className = `tag ${item.side ? "right" : "left"}`;
    }

    /** Boxes [x, y, wide, tall] of a column's labels; those that would cover something, and all where there is no room
        for them, are cut until they do not; where that is not enough, lengths are left to the table of numbers. */
    fitted(items, side, about) {
      for (;;) {
        const boxes = this.column(items, about, side);
        const crowded = boxes.length > 0 && boxes[0][1] < this.top(about) - 1;
        const long = items.filter((item, k) => (crowded || (about.room && viz.covers(about.room, side, boxes[k]))) && this.cut(item));
        if (!long.length && !(crowded && this.leave(items))) return boxes;
      }
    }

    /** Shorten a label; false where it cannot say less. */
    cut(item) {
      const form = this.forms.get(item.key) ?? FULL;
      if (form === BARE) return false;
      this.forms.set(item.key, form + 1);
      this.name(item);
      return true;
    }

    /** Leave out the last length of a column; false where it has none. */
    leave(items) {
      const k = items.findLastIndex((item) => item.role === "ink");
      if (k < 0) return false;
      this.tags.get(items[k].key).hidden = true;
      items.splice(k, 1);
      return true;
    }

    name(item) {
      this.tags.get(item.key).firstChild.textContent = [item.name, viz.twoLines(item.short), ""][this.forms.get(item.key) ?? FULL];
    }

    top({ tall }) { return BELOW_LETTERS[tall > LOW ? 1 : 0]; }

    column(items, about, side) {
      const tags = items.map((item) => this.tags.get(item.key));
      const heights = tags.map((tag) => tag.offsetHeight + GAP);
      const wished = items.map((item, k) => item.at[1] - heights[k] / 2);
      const tops = viz.spaced(wished, heights, this.top(about), about.tall - BOTTOM - about.below[side]);
      return tags.map((tag, k) => {
        tag.style.top = `${tops[k]}px`;
        return [tag.offsetLeft, tops[k], tag.offsetWidth, heights[k] - GAP];
      });
    }

    /** Lines from a column's labels to what they name. */
    lead(items, boxes, wide, colours) {
      items.forEach((item, k) => {
        const [x, y, w, h] = boxes[k];
        const inner = item.side ? x - GAP : x + w + GAP;
        const led = item.below ? viz.leaderBelow : viz.leader;
        const corners = led(inner, y + Math.min(11, h / 2), item.side ? -1 : 1, item.to ?? item.at);
        const ink = item.role === "ink";
        this.line(corners, ink ? colours.soft : colours[item.role], ink, colours.paper_top);
      });
    }

    line(corners, colour, dotted, halo) {
      const points = corners.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
      const dash = dotted ? { "stroke-dasharray": "1.5 3.5" } : {};
      for (const [stroke, width, opacity] of [[halo, 4, 0.55], [colour, 1.4, 1]]) {
        this.lines.append(viz.draw("polyline", { points, fill: "none", stroke, "stroke-width": width, opacity, ...dash }));
      }
    }
  };
})(globalThis.viz ??= {});
