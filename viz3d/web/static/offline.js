/* The offline page: numbers from the solved table. */
(function (viz) {
  "use strict";
  var $ = viz.$, told = JSON.parse($("told").textContent);
  told.ramp = viz.bytes(told.ramp);
  told.grids.forEach(function (g) { g.rows = viz.floats(g.rows); });
  if (told.timeline) told.timeline.rows = viz.floats(told.timeline.rows);

  var page = viz.page = new viz.Page(told), pose = { hand: told.start.hand, lean: told.start.lean, force: told.start.force };
  var moving = "lean", RAD = Math.PI / 180, playing = null;

  function grid() { return told.grids.filter(function (g) { return g.hand === pose.hand; })[0]; }
  function held() { told.aids = grid().aids; }
  function clamp(x, nodes) { return Math.max(nodes[0], Math.min(nodes[nodes.length - 1], x)); }

  function refresh() {
    held();
    pose.lean = clamp(pose.lean, grid().leans);
    pose.force = clamp(pose.force, grid().forces);
    lean.limits(Math.ceil(grid().leans[0] / RAD * 2 - 1e-6) / 2, Math.floor(grid().leans[grid().leans.length - 1] / RAD * 2 + 1e-6) / 2);
    lean.set(pose.lean / RAD);
    force.set(100 * pose.force);
    force.box.hidden = pose.hand === "none";
    page.show(viz.between(told, grid(), pose.lean, pose.force));
    chart();
  }

  function chart() {
    var g = grid(), nodes = moving === "force" && pose.hand !== "none" ? g.forces : g.leans, byLean = nodes === g.leans, points = [];
    for (var k = 0; k <= 48; k++) {
      var x = nodes[0] + (nodes[nodes.length - 1] - nodes[0]) * k / 48;
      points.push([x, viz.derive(viz.between(told, g, byLean ? x : pose.lean, byLean ? pose.force : x), told).joint]);
    }
    var ticks = byLean ? [-10, -5, 0, 5, 10, 15, 20].map(function (x) { return x * RAD; }) : [0, 0.05, 0.1, 0.15, 0.2];
    viz.chart($("chart"), points, [byLean ? pose.lean : pose.force, page.now.joint], null, {
      name: byLean ? "Lean towards the hip" : "Push on the cane",
      ticks: ticks.filter(function (x) { return x >= nodes[0] - 1e-9 && x <= nodes[nodes.length - 1] + 1e-9; }),
      write: function (x) { return byLean ? viz.rounded(x / RAD, 0) + "\u00b0" : viz.rounded(100 * x, 0) + " %"; }
    }, told, page.unit);
  }

  function move(change) {
    stop();
    Object.keys(change).forEach(function (k) { pose[k] = change[k]; });
    $("caption").textContent = "";
    $("message").textContent = "";
    refresh();
  }

  var host = $("inputs");
  viz.hands = viz.choices(host, "hand", "Cane in", told.grids.map(function (g) { return [g.hand, told.handWords[g.hand]]; }), pose.hand,
    function (v) { moving = "force"; move({ hand: v }); });
  var lean = viz.slider(host, "lean", "Lean towards the " + told.stance + " hip", -10, 20, 0.5, pose.lean / RAD,
    function (v) { return viz.degrees(v * RAD); }, function (v) { moving = "lean"; move({ lean: v * RAD }); });
  var force = viz.slider(host, "force", "Push on the cane", 0, 20, 0.5, 100 * pose.force,
    function (v) { return viz.rounded(v, 1) + " % of body weight"; }, function (v) { moving = "force"; move({ force: v / 100 }); });
  var reset = document.createElement("button");
  reset.type = "button";
  reset.textContent = "Back to the start";
  reset.addEventListener("click", function () { move({ hand: told.start.hand, lean: told.start.lean, force: told.start.force }); viz.hands.set(pose.hand); });
  host.appendChild(reset);

  /* ---- timeline ---- */
  function at(time) {
    var t = told.timeline, k = 0, n = 0;
    while (n < t.times.length - 1 && t.times[n + 1] <= time + 1e-6) n++;
    lean.set(t.leans[n] / RAD);
    force.set(100 * t.forces[n]);
    viz.hands.set(t.hand);
    force.box.hidden = t.hand === "none";
    $("message").textContent = t.more ? "This step moves more than the sliders can; moving one leaves the steps." : "";
    $("time").value = time;
    while (k < t.steps.length - 1 && t.steps[k + 1].begin <= time + 1e-6) k++;
    $("caption").textContent = t.steps[k].caption;
    told.aids = t.aids;
    page.show(viz.moment(told, time));
  }
  function stop() {
    if (playing !== null) cancelAnimationFrame(playing);
    playing = null;
    $("play").textContent = "Play";
  }
  function play() {
    if (playing !== null) return stop();
    var from = +$("time").value, end = told.timeline.times[told.timeline.times.length - 1], begun = null;
    if (from > end - 0.05) from = 0;
    $("play").textContent = "Pause";
    function tick(now) {
      begun = begun === null ? now : begun;
      var time = from + (now - begun) / 1000;
      if (time >= end) { at(end); return stop(); }
      at(time);
      playing = requestAnimationFrame(tick);
    }
    playing = requestAnimationFrame(tick);
  }
  if (told.timeline) {
    $("timeline").hidden = false;
    $("time").max = told.timeline.times[told.timeline.times.length - 1];
    $("time").addEventListener("input", function () { stop(); at(+this.value); });
    $("play").addEventListener("click", play);
    told.timeline.steps.forEach(function (step) {
      var b = document.createElement("button");
      b.type = "button";
      b.textContent = step.name;
      b.addEventListener("click", function () { stop(); at(step.held); });
      $("steps").appendChild(b);
    });
  }

  /* ---- questions ---- */
  told.questions.forEach(function (q, n) {
    var box = document.createElement("div"), ask = document.createElement("p"), row = document.createElement("div"), said = document.createElement("p");
    box.className = "question";
    ask.textContent = (n + 1) + ". " + q.ask;
    ask.id = "question-" + n;
    row.className = "row";
    row.setAttribute("role", "group");
    row.setAttribute("aria-labelledby", ask.id);
    said.className = "answer";
    said.setAttribute("role", "status");
    var buttons = q.choices.map(function (words, k) {
      var b = document.createElement("button");
      b.type = "button";
      b.textContent = words;
      b.addEventListener("click", function () {
        b.classList.add("chosen");
        buttons.forEach(function (other, i) { other.disabled = true; other.setAttribute("aria-pressed", String(i === q.right)); });
        said.textContent = (k === q.right ? "Yes. " : "Not quite. ") + q.told;
        moving = q.moving;
        move(q.pose);
        viz.hands.set(pose.hand);
      });
      row.appendChild(b);
      return b;
    });
    [ask, row, said].forEach(function (e) { box.appendChild(e); });
    $("asked").appendChild(box);
    $("questions").hidden = false;
  });

  $("error").textContent = "Between the solved poses this page is at most " + told.error + " off in joint force, muscle force (of the joint force) and highest pressure (measured at " + told.trials + " random poses).";
  held();
  page.now = viz.derive(viz.between(told, grid(), pose.lean, pose.force), told);
  page.start = { newtons: page.now.joint, bw: told.bw };
  page.most = Math.max.apply(0, told.grids.map(function (g) { return g.most; }));
  refresh();
  page.onShow = function () { if (playing === null) chart(); };
  page.draw(viz.bytes($("bones").textContent).buffer);
  viz.at = at;
  viz.move = move;
})(window.viz);
