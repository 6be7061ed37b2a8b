/* What both pages share: one situation in, everything on the page brought up to date. */
(function (viz) {
  "use strict";
  function $(id) { return document.getElementById(id); }
  viz.$ = $;

  var NAMES = {
    plain: { weight: "Weight above the hip", muscle: "Pull of the hip muscle", joint: "Load on the joint", cane: "Push of the cane",
      load: "Bag", other_foot: "Ground under the other foot", weight_lever: "Weight's distance", muscle_lever: "Muscle's distance",
      cane_lever: "Cane's distance", other_foot_lever: "Ground's distance", load_lever: "Its distance", result: "Load on the joint",
      adductor: "Pull of the inner thigh muscle", adductor_lever: "Muscle's distance" },
    trade: { weight: "Weight above the hip", muscle: "Abductor force", joint: "Joint reaction force", cane: "Cane reaction force",
      load: "Carried load", other_foot: "Ground reaction, other foot", weight_lever: "Weight's lever arm", muscle_lever: "Abductor lever arm",
      cane_lever: "Cane's lever arm", other_foot_lever: "Ground reaction's lever arm", load_lever: "Load's lever arm",
      result: "Joint reaction force", adductor: "Adductor force", adductor_lever: "Adductor lever arm" }
  };
  var SHOWN = [["bones", "Bones"], ["skin", "Body outline"], ["weight", "Weight"], ["muscle", "Muscle"], ["joint", "Joint force"],
    ["cane", "Hands and ground"], ["lever", "Lever arms"], ["pressure", "Pressure"]];

  /** The page. told: what it knows; words(key): the solver's own strings for a situation, where there are any. */
  viz.Page = function (told) {
    var me = this;
    this.told = told;
    this.unit = "BW";
    this.words = "plain";
    this.start = null;
    this.labels = new viz.Labels($("labels"));
    legend(told);
    $("who").textContent = told.person;
    $("model").textContent = told.model;
    $("source").textContent = told.source;
    $("unit").addEventListener("change", function () { me.unit = this.value; me.again(); });
    $("words").addEventListener("change", function () { me.words = this.value; me.again(); });
    viz.measure();
    var views = document.querySelectorAll("[data-view]");
    Array.prototype.forEach.call(views, function (button) {
      button.addEventListener("click", function () { if (me.figure) me.figure.view(button.dataset.view); });
    });
    SHOWN.forEach(function (layer) {
      var label = document.createElement("label"), box = document.createElement("input");
      box.type = "checkbox";
      box.checked = true;
      box.id = "layer-" + layer[0];
      box.addEventListener("change", function () {
        if (me.figure) me.figure.layers[layer[0]] = box.checked;
        me.again();
      });
      label.appendChild(box);
      label.appendChild(document.createTextNode(layer[1]));
      $("layers").appendChild(label);
    });
  };

  var P = viz.Page.prototype;

  P.draw = function (glb) {
    var me = this;
    this.figure = new viz.Figure($("figure"), this.told, glb, function (figure) {
      figure.onDraw = function () { me.annotate(); };
      figure.view("front");
      me.again();
      document.body.dataset.ready = "yes";
    }, function (line) {
      me.figure = null;
      $("note").textContent = line;
      document.body.dataset.ready = "yes";
    });
    if (!this.figure.renderer) this.figure = null;
  };

  /** Show a situation: its columns; shown: the solver's own strings, or nothing. */
  P.show = function (columns, shown) {
    this.columns = columns;
    this.shown = shown || null;
    this.now = viz.derive(columns, this.told);
    this.again();
  };

  P.again = function () {
    if (!this.now) return;
    if (this.figure) this.figure.show(this.columns, this.now);
    this.write();
    if (this.onShow) this.onShow(this.now);
  };

  P.name = function (key) {
    var k = key.replace(/_(stance|swing)$/, "").replace(/^(bag|backpack)$/, "load");
    if (this.now.muscle === "adductor") k = k.replace(/^muscle/, "adductor");
    if (key === "backpack") return "Backpack";
    return NAMES[this.words][k] || k;
  };

  P.size = function (a) {
    var said = this.shown && this.shown[a.key];
    if (said && this.unit === "BW" && said.lines.length) return said.lines[0];
    return viz.force(a.size, this.told, this.unit);
  };
  P.length = function (v) {
    var said = this.shown && this.shown[v.key];
    return said && said.lines.length ? said.lines[0] : viz.centimetres(Math.abs(v.metres));
  };

  /** The numbers beside the figure. */
  P.write = function () {
    var me = this, d = this.now, told = this.told, start = this.start;
    var joint = d.arrows.filter(function (a) { return a.key === "joint"; })[0];
    var per = function (one) { return me.unit === "N" ? one.newtons : one.newtons / one.bw; }, now = { newtons: d.joint, bw: told.bw };
    var held = !d.lost && !d.falls && d.short <= 0.05;
    $("result-name").textContent = NAMES[this.words].result + (held || d.lost ? "" : ", if the pose could be held");
    $("joint").textContent = joint ? this.size(joint) : "\u2013";
    $("peak").textContent = d.lost ? "\u2013" : this.shown ? this.shown.peak_pressure.lines[0] : d.peak > 0 ? viz.megapascals(d.peak) : "no surface carries it";
    document.body.dataset.held = held ? "yes" : "no";
    var most = Math.max(this.unit === "N" ? 3 * told.bw : 3, joint ? per(now) : 0, start ? per(start) : 0, this.most ? per({ newtons: this.most, bw: told.bw }) : 0);
    $("gauge").style.width = joint ? 100 * per(now) / most + "%" : "0";
    $("mark").style.left = "calc(" + 100 * (start ? per(start) : joint ? per(now) : 0) / most + "% - 1px)";
    $("change").textContent = joint && held && start ? change(per(now), per(start), this.unit, this.before) : "";
    $("held").textContent = d.lost ? "This pose cannot be held: all muscles together are too weak" : d.falls ? "This pose cannot be held: the body would fall" :
      d.short > 0.05 ? "This pose cannot be held: the " + (this.words === "trade" ? "abductors are " : "hip muscle is ") + viz.newtonMetres(d.short) + " too weak" : "";
    viz.polygon($("polygon"), d, told, this.unit);
    var body = $("numbers").tBodies[0];
    body.textContent = "";
    d.arrows.forEach(function (a) {
      if (a.size < 0.004 * told.bw && a.key !== "joint") return;
      var lever = d.levers.filter(function (v) { return v.of === a.key; })[0];
      var row = body.insertRow(), head = document.createElement("th");
      head.scope = "row";
      head.textContent = me.name(a.key);
      row.appendChild(head);
      row.dataset.key = a.key;
      row.insertCell().textContent = me.size(a);
      row.insertCell().textContent = lever ? me.length(lever) : "";
    });
    if (joint) {
      var last = body.insertRow(), name = document.createElement("th");
      name.scope = "row";
      name.textContent = "Its tilt from the vertical";
      last.appendChild(name);
      last.insertCell().textContent = viz.degrees(d.angle);
      last.insertCell();
    }
    var alt = this.name("weight") + " " + this.size(d.arrows[0]) + ", " + this.length(d.levers[0]) + " from the hip. ";
    if (joint) {
      alt += this.name("muscle") + " " + this.size(d.arrows[1]) + ", " + this.length(d.levers[1]) + " from the hip. " +
        NAMES[this.words].result + " " + this.size(joint) + ". Highest pressure " + $("peak").textContent + ". ";
    }
    alt += $("held").textContent;
    clearTimeout(this.saying);
    this.saying = setTimeout(function () { $("alt").textContent = alt; }, 400);
  };

  function change(now, start, unit, before) {
    var by = now - start, share = Math.abs(by) / start, than = before || "at the start";
    if (share < 0.005) return "As " + than;
    return (by < 0 ? "\u25bc " : "\u25b2 ") + (unit === "N" ? viz.newtons(Math.abs(by)) : viz.rounded(Math.abs(by), 2) + " BW") + " (" + viz.percent(share) + ") " +
      (by < 0 ? "less than " : "more than ") + than;
  }

  /** Labels, side letters, scale bars: whatever hangs on the camera. */
  P.annotate = function () {
    var me = this, f = this.figure, d = this.now, told = this.told, items = [];
    if (!f || !d) return;
    var flat = f.foreshortening() >= 0.95, close = f.named === "joint", middle = f.project([0, d.hip[1], told.middle])[0];
    var across = Math.cos(f.round) * 1, stanceRight = (told.sign > 0 ? -1 : 1) * across > 0;
    d.arrows.forEach(function (a) {
      if (!f.arrows[a.key] || !f.arrows[a.key].visible) return;
      if (close && a.key !== "joint") return;
      var share = { joint: 0.45, muscle: 0.6, weight: 0.4 }[a.key] || 0.5;
      var at = f.project([0, 1, 2].map(function (i) { return a.tail[i] + share * (a.end[i] - a.tail[i]); }));
      var own = ["muscle", "joint", "cane_stance", "bag_stance"].indexOf(a.key) >= 0;
      items.push({ key: a.key, name: me.name(a.key), value: me.size(a), role: a.role, at: inside(at, f), side: (own === stanceRight) ? 1 : 0 });
    });
    d.levers.forEach(function (v) {
      if (!flat || close || v.told || !f.lines[v.key] || !f.lines[v.key].visible) return;
      var own = ["muscle_lever", "cane_lever_stance"].indexOf(v.key) >= 0;
      var at = f.project(v.drop === null ? [0, 1, 2].map(function (i) { return (v.a[i] + v.b[i]) / 2; }) : v.a);
      items.push({ key: v.key, name: me.name(v.key), value: me.length(v), role: "ink", at: inside(at, f), side: (own === stanceRight) ? 1 : 0 });
    });
    this.labels.place(items, f.wide, f.tall, told.colours, middle);
    $("note").textContent = close ? "The thigh bone is drawn out of the socket; arrows not to scale" : flat ? "" : "Arrows not to scale in this view";
    $("legend").hidden = !close || !f.layers.pressure || d.lost;
    if (close) across = 0;
    $("first").textContent = Math.abs(across) > 0.3 ? (across > 0 ? "R" : "L") : "";
    $("second").textContent = Math.abs(across) > 0.3 ? (across > 0 ? "L" : "R") : "";
    var metre = f.tall / (2 * f.camera.top), scale = $("scale");
    scale.textContent = "";
    if (flat) {
      [[0.1, "10 cm"], [told.arrow.weight, "1 BW = " + viz.newtons(told.bw)]].forEach(function (bar) {
        var line = document.createElement("div"), i = document.createElement("i");
        i.style.width = (bar[0] * metre).toFixed(1) + "px";
        line.appendChild(i);
        line.appendChild(document.createTextNode(bar[1]));
        scale.appendChild(line);
      });
    }
    Array.prototype.forEach.call(document.querySelectorAll("[data-view]"), function (b) {
      b.setAttribute("aria-pressed", String(b.dataset.view === f.named));
    });
  };

  /** The bar that says which colour is which pressure. */
  function legend(told) {
    var bar = document.createElement("canvas"), pen;
    bar.width = 256;
    bar.height = 1;
    pen = bar.getContext("2d");
    for (var k = 0; k < 256; k++) {
      pen.fillStyle = "rgb(" + Array.from(told.ramp.subarray(3 * k, 3 * k + 3)).join() + ")";
      pen.fillRect(k, 0, 1, 1);
    }
    $("legend").appendChild(bar);
    var words = document.createElement("span");
    words.textContent = "Pressure " + told.range[0] * 1e-6 + " to " + told.range[1] * 1e-6 + " MPa";
    $("legend").appendChild(words);
  }

  /** The header's height, for what sticks below it. */
  viz.measure = function () {
    document.documentElement.style.setProperty("--head", document.querySelector("header").offsetHeight + "px");
  };
  window.addEventListener("resize", function () { viz.measure(); });

  function inside(at, f) {
    return [Math.max(4, Math.min(f.wide - 4, at[0])), Math.max(4, Math.min(f.tall - 4, at[1]))];
  }

  /** A labelled slider; write(value): its words; moved(value). */
  viz.slider = function (host, id, name, low, high, step, value, write, moved) {
    var box = document.createElement("div"), head = document.createElement("div"), label = document.createElement("label");
    var said = document.createElement("output"), range = document.createElement("input");
    box.className = "input";
    head.className = "name";
    label.htmlFor = range.id = id;
    label.textContent = name;
    said.htmlFor = id;
    range.type = "range";
    range.min = low;
    range.max = high;
    range.step = step;
    range.value = value;
    function tell() {
      said.textContent = write(+range.value);
      range.setAttribute("aria-valuetext", said.textContent);
    }
    range.addEventListener("input", function () { tell(); moved(+range.value); });
    head.appendChild(label);
    head.appendChild(said);
    box.appendChild(head);
    box.appendChild(range);
    host.appendChild(box);
    tell();
    return { box: box, range: range, set: function (v) { range.value = v; tell(); }, limits: function (a, b) { range.min = a; range.max = b; tell(); } };
  };

  /** Radio buttons in a row: [[value, words], ...]. */
  viz.choices = function (host, id, name, options, value, moved) {
    var set = document.createElement("fieldset"), legend = document.createElement("legend"), row = document.createElement("div");
    legend.textContent = name;
    row.className = "choices";
    set.appendChild(legend);
    set.appendChild(row);
    var boxes = options.map(function (o) {
      var label = document.createElement("label"), box = document.createElement("input"), words = document.createElement("span");
      box.type = "radio";
      box.name = id;
      box.value = o[0];
      box.id = id + "-" + o[0];
      box.checked = o[0] === value;
      box.addEventListener("change", function () { moved(box.value); });
      words.textContent = o[1];
      label.appendChild(box);
      label.appendChild(words);
      row.appendChild(label);
      return box;
    });
    host.appendChild(set);
    return { set: function (v) { boxes.forEach(function (b) { b.checked = b.value === v; }); } };
  };
})(window.viz);
