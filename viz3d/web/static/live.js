/* The live page: every number asked of the solver behind it. */
(function (viz) {
  "use strict";
  var $ = viz.$, told = JSON.parse($("told").textContent);
  told.ramp = viz.bytes(told.ramp);
  var page = viz.page = new viz.Page(told);
  var charted = "BW", scene = told.scene, changes = {}, past = [], future = [], moving = "posture.lean", bonesKey = null, state = null;
  var asking = false, again = false, widgets = {}, drawn = "", points = [], pinned = null, charting = null, good = null;

  function say(line) { $("message").textContent = line || ""; }

  function post(where, about) {
    return fetch(where, { method: "POST", headers: { "Content-Type": "application/json" },
      body: JSON.stringify(Object.assign({ scene: scene, changes: changes }, about || {})) })
      .then(function (r) {
        if (r.ok) return r;
        return r.json().then(function (said) {
          var error = new Error(said.error);
          error.status = r.status;
          throw error;
        });
      }, function () { throw new Error("viz3d is not answering; start it again, then reload this page"); });
  }

  /* ---- one question at a time; the last wish wins ---- */
  function ask() {
    if (asking) { again = true; return; }
    asking = true;
    again = false;
    var begun = performance.now(), sent = JSON.stringify([scene, changes]);
    post("solve").then(function (r) { return r.json(); }).then(function (answer) {
      viz.took = performance.now() - begun;
      say("");
      good = sent;
      take(answer);
    }).catch(function (error) {
      if (error.status === 429) { setTimeout(ask, 120); return; }
      say(error.message.replace(/^scene: /, ""));
      if (error.status === 422 && good !== null && !again) back();
      document.body.dataset.ready = "yes";
    }).then(function () {
      asking = false;
      if (again) ask();
    });
  }

  /** What was refused is taken back: the page stays as it was, and says why. */
  function back() {
    var was = JSON.parse(good);
    scene = was[0];
    changes = was[1];
    held = null;
    if (past.length && past[past.length - 1] === good) past.pop();
    buttons();
    widgets = {};
    inputs(state);
  }

  function take(answer) {
    state = answer;
    Object.keys(answer.told).forEach(function (k) { told[k] = answer.told[k]; });
    told.layout = answer.layout;
    $("who").textContent = told.person;
    $("title").textContent = answer.title;
    $("aim").textContent = answer.aim;
    inputs(answer);
    page.start = pinned ? pinned.joint : page.start;
    viz.measure();
    var c = viz.columns(told.layout, answer.row);
    page.columns = c;
    page.now = viz.derive(c, told);
    if (!page.start && !page.now.lost) page.start = { newtons: page.now.joint, bw: told.bw };
    page.show(c, answer.shown);
    viz.settled = (viz.settled || 0) + 1;
    if (answer.bones !== bonesKey) bones(answer.bones);
    clearTimeout(charting);
    charting = setTimeout(chart, 60);
  }

  /* ---- bones: warped at once, the true ones when they are built ---- */
  function bones(key) {
    bonesKey = key;
    post("bones").then(function (r) {
      var true_ = r.headers.get("X-Bones") === "true";
      return r.arrayBuffer().then(function (data) { return [true_, data]; });
    }).then(function (got) {
      if (key !== bonesKey) return;
      $("badge").hidden = got[0];
      $("badge").textContent = got[0] ? "" : "Reshaping the bones \u2026";
      document.body.dataset.bones = got[0] ? "true" : "reshaping";
      if (!page.figure && drawn === "") {
        drawn = "first";
        page.draw(got[1]);
      } else if (page.figure) {
        page.figure.swap(got[1], function () { page.again(); });
      }
      if (!got[0]) setTimeout(function () { if (key === bonesKey) bones(key); }, 500);
    }).catch(function (error) { say(error.message); });
  }

  /* ---- inputs ---- */
  function words(c) { return page.words === "trade" ? c.trade : c.plain; }
  function write(c) {
    return function (v) {
      if (c.unit === "deg" && v < 0 && /obliquity$/.test(c.key || "")) return "rises " + viz.rounded(-v, 1) + "\u00b0";
      if (c.unit === "deg" && v < 0 && /lean$/.test(c.key || "")) return viz.rounded(-v, 1) + "\u00b0 away from it";
      if (c.unit === "deg") return viz.rounded(v, 1) + "\u00b0";
      return viz.rounded(v, c.step < 1 ? 1 : 0) + " " + (c.unit === "%BW" ? "% of body weight" : c.unit);
    };
  }

  function set(more, keep, walks) {
    if (!keep) remember();
    if (!walks) {
      pause();
      $("caption").textContent = "";
    }
    Object.keys(more).forEach(function (k) {
      if (more[k] === null) delete changes[k];
      else changes[k] = more[k];
    });
    ask();
  }
  var held = null, walking = null, playing = null, played = [];
  function remember() {
    past.push(JSON.stringify([scene, changes]));
    if (past.length > 200) past.shift();
    future = [];
    buttons();
  }
  function buttons() {
    $("undo").disabled = !past.length;
    $("redo").disabled = !future.length;
  }
  function step(from, to) {
    if (!from.length) return;
    to.push(JSON.stringify([scene, changes]));
    var was = JSON.parse(from.pop());
    scene = was[0];
    changes = was[1];
    buttons();
    widgets = {};
    $("caption").textContent = "";
    ask();
  }
  $("undo").addEventListener("click", function () { step(past, future); });
  $("redo").addEventListener("click", function () { step(future, past); });
  document.addEventListener("keydown", function (e) {
    if (!(e.ctrlKey || e.metaKey) || /^(text|number)$/.test(e.target.type || "")) return;
    if (e.key === "z" && !e.shiftKey) step(past, future);
    else if (e.key === "y" || (e.key === "z" && e.shiftKey)) step(future, past);
    else return;
    e.preventDefault();
  });

  /** Build what is missing, bring the rest up to date; a slider being moved is left alone. */
  function inputs(answer) {
    var layout = answer.controls.map(function (c) { return c.key; }).join() + JSON.stringify(["left", "right"].map(function (s) { return answer.hands[s].holds; })) +
      page.words + answer.choices["posture.stance"] + answer.choices.feet;
    if (widgets.layout !== layout) build(answer, layout);
    answer.controls.forEach(function (c) {
      if (document.activeElement !== widgets[c.key].range || held === null) widgets[c.key].set(c.value);
    });
    ["left", "right"].forEach(function (side) {
      var hand = answer.hands[side], w = widgets["hands." + side + (hand.holds === "bag" ? ".mass" : ".force")];
      if (w && (document.activeElement !== w.range || held === null)) w.set(hand.holds === "bag" ? hand.mass : hand.force);
    });
    Object.keys(answer.choices).forEach(function (k) { if (widgets["choice " + k]) widgets["choice " + k].set(answer.choices[k]); });
  }

  function slide(host, key, name, c, value) {
    widgets[key] = viz.slider(host, key.replace(/\./g, "-"), name, c.low, c.high, c.step, value, write(c), function (v) {
      if (held !== key) { remember(); held = key; }
      moving = key;
      var more = {};
      more[key] = v + " " + c.unit;
      set(more, true);
    });
    widgets[key].range.addEventListener("change", function () { held = null; });
  }

  function build(answer, layout) {
    var focus = document.activeElement && document.activeElement.id, host = $("inputs"), more = $("body-inputs");
    host.textContent = "";
    more.textContent = "";
    widgets = { layout: layout };
    widgets["choice posture.stance"] = viz.choices(host, "stance", "Hip shown", [["left", "left"], ["right", "right"]], answer.choices["posture.stance"], function (v) {
      moving = "posture.lean";
      set({ "posture.stance": v });
    });
    widgets["choice feet"] = viz.choices(host, "feet", "Standing on", [["one", "that leg"], ["both", "both legs"]], answer.choices.feet, function (v) {
      moving = v === "both" ? "posture.share" : "posture.lean";
      set(v === "both" ? { "posture.lifted": "0 %", "posture.obliquity": "0 deg", "posture.share": "50 %" } : { "posture.share": "100 %", "posture.lifted": "100 %" });
    });
    answer.controls.forEach(function (c) {
      slide(c.group === "Pose" || c.group === "Strength" ? host : more, c.key, words(c), c, c.value);
    });
    ["right", "left"].forEach(function (side) {
      var hand = answer.hands[side], key = "hands." + side;
      var kinds = told.held.indexOf(hand.holds) < 0 ? told.held.concat([hand.holds]) : told.held;
      widgets["choice " + key] = viz.choices(host, "hand-" + side, "In the " + side + " hand", kinds.map(function (k) { return [k, k]; }), hand.holds, function (v) {
        var now = {};
        now[key + ".holds"] = v;
        now[key + ".force"] = v === "cane" || v === "elbow crutch" || v === "frame" ? "0 %BW" : null;
        now[key + ".mass"] = v === "bag" ? "5 kg" : null;
        moving = v === "bag" ? key + ".mass" : v === "nothing" ? "posture.lean" : key + ".force";
        set(now);
      });
      if (hand.holds === "nothing") return;
      var bag = hand.holds === "bag", r = bag ? told.bag : told.force, c = { unit: r[0], low: r[1], high: r[2], step: r[3] };
      slide(host, key + (bag ? ".mass" : ".force"), bag ? "Weight of the bag" : "Push on the " + hand.holds, c, bag ? hand.mass : hand.force);
    });
    widgets["choice person.sex"] = viz.choices(more, "sex", "Bones of a typical", [["female", "woman"], ["male", "man"]], answer.choices["person.sex"], function (v) { set({ "person.sex": v }); });
    widgets["choice model.muscles"] = viz.choices(more, "model", "Muscles", told.models.map(function (m) { return [m, { equivalent: "one", "frontal set": "a set, from the front", "three-axis set": "a set, in space" }[m]]; }),
      answer.choices["model.muscles"], function (v) { set({ "model.muscles": v }); });
    steps(answer);
    if (focus && $(focus)) $(focus).focus();
  }

  /* ---- the scene's own steps: the inputs move, the solver follows ---- */
  function steps(answer) {
    var other = Object.keys(changes).some(function (k) { return /\.holds$|stance$|lifted$/.test(k); }), some = other ? [] : answer.steps;
    $("steps").textContent = "";
    $("timeline").hidden = !some.length && !(answer.film && !answer.steps.length);
    $("time").hidden = true;
    $("play").hidden = !some.length;
    played = some;
    if (answer.film && !answer.steps.length) $("steps").textContent = "The steps of this scene change more than the pose; download its film to see them.";
    some.forEach(function (one) {
      var b = document.createElement("button");
      b.type = "button";
      b.textContent = one.name;
      b.addEventListener("click", function () { walk(one); });
      $("steps").appendChild(b);
    });
  }
  function amount(text) { return parseFloat(text.replace("\u2212", "-")); }
  /** All steps one after the other, as in the film. */
  function play() {
    if (playing !== null) return pause();
    var some = played.slice();
    $("play").textContent = "Pause";
    (function next() {
      var one = some.shift();
      if (!one) return pause();
      walk(one, true);
      playing = setTimeout(next, 1000 * (one.change + one.hold));
    })();
  }
  function pause() {
    clearTimeout(playing);
    cancelAnimationFrame(walking);
    playing = null;
    $("play").textContent = "Play";
  }
  $("play").addEventListener("click", play);

  function walk(one, plays) {
    var from = {}, begun = null;
    if (!plays) pause();
    cancelAnimationFrame(walking);
    remember();
    $("caption").textContent = one.caption;
    Object.keys(one.set).forEach(function (k) {
      var w = widgets[k] || null;
      from[k] = changes[k] !== undefined ? amount(changes[k]) : w ? +w.range.value : amount(one.set[k]);
    });
    moving = Object.keys(one.set)[0] || moving;
    (function tick(now) {
      now = now || performance.now();
      begun = begun === null ? now : begun;
      var f = one.change > 0 ? Math.min(1, (now - begun) / 1000 / one.change) : 1, e = f * f * f * (f * (6 * f - 15) + 10), more = {};
      Object.keys(one.set).forEach(function (k) {
        more[k] = (from[k] + (amount(one.set[k]) - from[k]) * e).toFixed(4) + " " + one.set[k].replace(/^[^ ]+ /, "");
      });
      set(more, true, true);
      if (f < 1) walking = requestAnimationFrame(tick);
    })();
  }

  /* ---- chart ---- */
  function chart() {
    post("chart", { over: moving }).then(function (r) { return r.json(); }).then(function (c) {
      points = c.points;
      var w = widgets[moving], x = w ? +w.range.value : null, unit = c.unit;
      charted = page.unit;
      if (!points.length || page.now.lost) return;
      $("chart-name").textContent = "Load against what was moved last";
      var ticks = viz.ticks(points[0][0], points[points.length - 1][0]);
      var name = w ? w.box.querySelector("label").textContent : "";
      viz.chart($("chart"), points, x === null ? null : [x, page.now.joint, told.bw], pinned && pinned.values[moving] !== undefined ? [pinned.values[moving], pinned.joint.newtons, pinned.joint.bw] : null,
        { name: name, ticks: ticks, write: function (v) { return viz.rounded(v, 0) + (unit === "deg" ? "\u00b0" : " " + unit.replace("BW", "")); } }, told, page.unit);
    }).catch(function () { return null; });
  }
  page.onShow = function () {
    if (state && charted !== page.unit) chart();
    if (state && page.words !== widgets.words) { widgets.words = page.words; inputs(state); }
  };

  $("pin").addEventListener("click", function () {
    if (page.now.lost) { say("There is no load to pin in this pose"); return; }
    pinned = { joint: { newtons: page.now.joint, bw: told.bw }, values: {} };
    Object.keys(widgets).forEach(function (k) { if (widgets[k].range) pinned.values[k] = +widgets[k].range.value; });
    page.start = pinned.joint;
    page.before = "before";
    page.again();
    chart();
    say("Pinned: " + viz.force(pinned.joint.newtons, told, page.unit));
  });

  /* ---- files ---- */
  function opened(about) {
    return post("open", about).then(function (r) { return r.json(); }).then(function (got) {
      remember();
      scene = got.scene;
      changes = {};
      pinned = null;
      page.start = null;
      page.before = null;
      widgets = {};
      $("caption").textContent = "";
      ask();
    }).catch(function (error) { say(error.message); });
  }
  $("open").addEventListener("change", function () {
    var file = this.files[0], input = this;
    if (!file) return;
    if (file.size > 250000) { say(file.name + ": is too large; a scene file has at most 0.25 MB"); return; }
    file.text().then(function (text) { return opened({ text: text, name: file.name }); }).then(function () { input.value = ""; });
  });
  var none = document.createElement("option");
  none.value = "";
  none.textContent = "choose \u2026";
  $("library").appendChild(none);
  Object.keys(told.library).forEach(function (name) {
    var o = document.createElement("option");
    o.value = name;
    o.textContent = told.library[name];
    $("library").appendChild(o);
  });
  $("library").addEventListener("change", function () { if (this.value) opened({ library: this.value }); this.value = ""; });

  function hand(blob, name) {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    document.body.appendChild(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 10000);
  }
  function fetched(where, name) {
    return post(where).then(function (r) { return r.blob(); }).then(function (b) { hand(b, name); }).catch(function (error) { say(error.message); });
  }
  $("save").addEventListener("click", function () { fetched("save", "scene.toml"); });

  /* ---- downloads ---- */
  var job = null, WORDS = { still: "Picture", vector: "Drawing (SVG)", film: "Film", page: "Offline page", model: "3-D film (glTF)" };
  function download(kind) {
    if (job) { say("One download at a time; stop the other first."); return; }
    post("job", { kind: kind }).then(function (r) { return r.json(); }).then(function (got) {
      job = got.job;
      $("job").hidden = false;
      $("progress").removeAttribute("value");
      $("job-says").textContent = WORDS[kind] + " \u2026";
      watch(kind);
    }).catch(function (error) { say(error.message); });
  }
  function watch(kind) {
    if (!job) return;
    fetch("job/" + job).then(function (r) { return r.json(); }).then(function (got) {
      if (got.state === "running") {
        if (got.of) {
          $("progress").value = got.done / got.of;
          $("job-says").textContent = WORDS[kind] + ": " + got.done + " of " + got.of + " frames";
        }
        setTimeout(function () { watch(kind); }, 300);
        return;
      }
      var name = job;
      job = null;
      $("job").hidden = true;
      if (got.state !== "done") { say(got.error || (got.state === "stopped" ? "Stopped." : "It could not be made.")); return; }
      fetch("job/" + name + "/file").then(function (r) { return r.blob(); }).then(function (b) {
        hand(b, "scene" + { still: ".png", vector: ".svg", film: ".mp4", page: ".html", model: ".glb" }[kind]);
        say("Downloaded.");
      });
    }).catch(function () { setTimeout(function () { watch(kind); }, 800); });
  }
  $("stop").addEventListener("click", function () {
    if (job) fetch("job/" + job + "/stop", { method: "POST" });
  });
  told.kinds.forEach(function (kind) {
    var b = document.createElement("button");
    b.type = "button";
    b.textContent = WORDS[kind];
    b.addEventListener("click", function () { download(kind); });
    $("downloads").appendChild(b);
  });
  var data = document.createElement("button");
  data.type = "button";
  data.textContent = "All numbers (JSON)";
  data.addEventListener("click", function () { fetched("data", "scene.json"); });
  $("downloads").appendChild(data);

  viz.set = set;
  viz.changes = function () { return changes; };
  ask();
})(window.viz);
