/* Names and numbers beside the figure: two quiet columns, in the order of what they name, never one over another. */
(function (viz) {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg";

  /** host: an element over the canvas. */
  viz.Labels = function (host) {
    this.host = host;
    this.tags = {};
    this.lines = document.createElementNS(SVG, "svg");
    this.lines.setAttribute("class", "leaders");
    this.lines.setAttribute("aria-hidden", "true");
    host.appendChild(this.lines);
  };

  /** items: [{key, name, value, role, at: [x, y]}] in CSS pixels; wide, tall: the canvas. */
  viz.Labels.prototype.place = function (items, wide, tall, colours, middle) {
    var me = this, seen = {}, columns = [[], []], bottom = tall - 10, top = 64;
    items.forEach(function (item) {
      var tag = me.tags[item.key];
      if (!tag) {
        tag = me.tags[item.key] = document.createElement("div");
        tag.className = "tag";
        tag.appendChild(document.createElement("span"));
        tag.appendChild(document.createElement("strong"));
        me.host.appendChild(tag);
      }
      seen[item.key] = true;
      tag.hidden = false;
      tag.firstChild.textContent = item.name;
      tag.lastChild.textContent = item.value;
      tag.lastChild.style.color = colours[item.role] || colours.ink;
      item.side = item.side === undefined ? (item.at[0] > middle ? 1 : 0) : item.side;
      tag.className = "tag " + (item.side ? "right" : "left");
      columns[item.side].push(item);
    });
    Object.keys(this.tags).forEach(function (k) { if (!seen[k]) me.tags[k].hidden = true; });
    while (this.lines.firstChild) this.lines.removeChild(this.lines.firstChild);
    this.lines.setAttribute("viewBox", "0 0 " + wide + " " + tall);
    columns.forEach(function (column, side) {
      column.sort(function (a, b) { return a.at[1] - b.at[1]; });
      var heights = column.map(function (item) { return me.tags[item.key].offsetHeight + 6; });
      var places = spaced(column.map(function (item, k) { return item.at[1] - heights[k] / 2; }), heights, top, side ? bottom : bottom - 46);
      column.forEach(function (item, k) {
        var tag = me.tags[item.key], y = places[k];
        tag.style.top = y + "px";
        var from = side ? wide - 12 - tag.offsetWidth - 6 : 12 + tag.offsetWidth + 6;
        var level = y + Math.min(11, heights[k] / 2), way = side ? -1 : 1;
        var bend = from + way * Math.max(4, Math.min(Math.abs(item.at[0] - from) * 0.5, 26));
        me.line([[from, level], [bend, level], item.at], item.role === "ink" ? colours.soft : colours[item.role], item.role === "ink");
      });
    });
  };

  /** Tops as close to the wished ones as they go without meeting; the order stays. */
  function spaced(wished, heights, top, bottom) {
    var y = [], at = top;
    wished.forEach(function (w, k) {
      y[k] = Math.max(w, at);
      at = y[k] + heights[k];
    });
    at = bottom;
    for (var k = y.length - 1; k >= 0; k--) {
      y[k] = Math.min(y[k], at - heights[k]);
      at = y[k];
    }
    return y;
  }

  viz.Labels.prototype.line = function (points, colour, dotted) {
    [["#fff", 4, 0.55], [colour, 1.4, 1]].forEach(function (pen) {
      var p = document.createElementNS(SVG, "polyline");
      p.setAttribute("points", points.map(function (q) { return q[0].toFixed(1) + "," + q[1].toFixed(1); }).join(" "));
      p.setAttribute("fill", "none");
      p.setAttribute("stroke", pen[0]);
      p.setAttribute("stroke-width", pen[1]);
      p.setAttribute("opacity", pen[2]);
      if (dotted) p.setAttribute("stroke-dasharray", "1.5 3.5");
      this.lines.appendChild(p);
    }, this);
  };
})(window.viz);
