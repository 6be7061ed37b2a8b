/* What both pages share: one situation in, everything on the page brought up to date. */
"use strict";

((viz) => {
  const { $ } = viz;
  const LAYERS = ["bones", "skin", "weight", "muscle", "joint", "cane", "lever", "pressure"];

  /** What Python wrote into the page: words, numbers, names. */
  viz.read = () => {
    const told = JSON.parse($("told").textContent);
    for (const one of Object.values(told.ramps)) one.ramp = viz.bytes(one.ramp);
    return told;
  };

  const UNTOLD = ["lever", "pressure"]; /* layers that a page for patients shows only where they are asked for */
  const STAGED = { "three-quarter": "turned" }; /* views of a scene that pages call otherwise */

  /** told: what the page knows. */
  viz.Page = class {
    constructor(told) {
      this.told = told;
      this.voice = new viz.Voice(told.speech);
      this.start = null;
      this.since = "start";
      this.most = 0;
      this.figure = null;
      this.now = null;
      this.onShow = () => {};
      this.onReword = () => {};
      this.labels = new viz.Labels($("labels"));
      this.worn = 0;
      this.theme = new viz.Theme(told, () => {
        this.recolour();
      });
      viz.legend(told, this.voice);
      $("source").textContent = told.source;
      this.switches();
      this.views();
      for (const layer of LAYERS) this.layer(layer);
      viz.folded();
      viz.measured();
      viz.onPaper(this);
    }

    /** Everything drawn, in the colours of now. */
    recolour() {
      viz.recolour(this.figure);
      viz.legend(this.told, this.voice);
      viz.chartAgain($("chart"), this.told, this.voice);
      this.again();
    }

    /** Another body of the page's. */
    wear(index) {
      if (this.told.bodies) Object.assign(this.told, this.told.bodies[index]);
      this.worn = index;
      this.figure?.wear(index);
    }

    /** What a clip of the scene's film shows, and from where; null: what the reader chose. */
    stage(clip) {
      const { figure } = this;
      if (!figure || clip === this.staged) return;
      const before = this.staged ?? this.told.timeline?.clips[0];
      this.staged = clip;
      for (const name of LAYERS) figure.layers[name] = $(`layer-${name}`).checked && this.isStaged(name);
      if (clip) this.seen(clip, before ?? {});
    }

    /** Show as much of the person as a scene asks for, where that is not as before; opened: of another scene, what it
        opens with where it asks for nothing. */
    framed(before, opened) {
      const { frame, dress, walks } = this.told;
      const usual = dress === "patient" || walks ? "whole" : "hip";
      if (opened) this.figure?.orbit.frame(frame ?? usual);
      else if (frame && frame !== before) this.figure?.orbit.frame(frame);
    }

    /** Look at what is played from where it is to be seen, unless that is as before. */
    seen({ frame, view }, before) {
      const { orbit } = this.figure;
      if (frame && frame !== before.frame) orbit.frame(frame);
      if (view !== before.view) orbit.view(STAGED[view] ?? view);
    }

    /** Whether what is played shows a layer; the reader's own view shows all. */
    isStaged(name) { return !this.staged || name === "skin" || this.staged.layers.includes(name); }

    switches() {
      $("words").value = this.voice.register;
      $("unit").value = this.voice.unit;
      viz.listen("unit", "change", (e) => {
        this.voice.unit = e.target.value;
        this.onReword();
        this.again();
      });
      viz.listen("words", "change", (e) => {
        this.voice.register = e.target.value;
        viz.reword(this.voice);
        this.onReword();
        this.again();
      });
    }

    /** How much of the person is seen: buttons before that of the joint. */
    frames() {
      const joint = document.querySelector("[data-view=joint]");
      for (const name of ["pelvis", "hip", "whole"]) {
        const button = viz.button(viz.said(this.voice, `page.frame.${name}`), () => this.figure?.orbit.frame(name));
        button.dataset.frame = name;
        button.setAttribute("aria-pressed", String(name === "hip"));
        joint?.before(button);
      }
    }

    views() {
      this.frames();
      for (const button of document.querySelectorAll("[data-view]")) {
        button.addEventListener("click", () => this.figure?.orbit.view(button.dataset.view));
      }
    }

    layer(name) {
      const box = viz.make("input", { type: "checkbox", id: `layer-${name}` });
      box.checked = this.told.dress !== "patient" || !UNTOLD.includes(name);
      box.addEventListener("change", () => {
        this.layered(name);
        this.again();
      });
      const words = viz.make("span", { "data-say": `page.layer.${name}` }, this.voice.say(`page.layer.${name}`));
      $("layers").append(viz.make("label", {}, box, words));
      this.layered(name);
    }

    /** Whether a layer is asked for: what is not is not read out either. */
    tells(name) { return $(`layer-${name}`).checked; }

    /** Bring a layer to what is asked for. */
    layered(name) {
      const on = this.tells(name);
      if (this.figure) this.figure.layers[name] = on && this.isStaged(name);
      if (UNTOLD.includes(name)) document.body.dataset[name] = on ? "yes" : "no";
    }

    /** Draw the bones of a glTF file's bytes; made: the stature they are of, where the page's may move on. */
    draw(glb, made) {
      const ready = (figure) => {
        figure.wear(this.worn);
        for (const name of LAYERS) figure.layers[name] = $(`layer-${name}`).checked && this.isStaged(name);
        figure.onDraw = () => viz.annotate(this);
        this.again();
        document.body.dataset.ready = "yes";
      };
      const failed = (key) => {
        this.figure = null;
        $("note").textContent = this.voice.say(key);
        document.body.dataset.ready = "yes";
      };
      try {
        this.figure = new viz.Figure($("figure"), this.told, glb, ready, () => failed("page.note.no_bones"), made);
      } catch {
        failed("page.note.no_webgl");
      }
    }

    /** Show a situation: its columns and what they are. */
    show(columns, about) {
      if (columns.weight) [this.told.bw] = columns.weight;
      this.now = viz.situation(columns, about, this.told);
      this.again();
    }

    again() {
      if (!this.now) return;
      this.figure?.show(this.now);
      $("who").textContent = this.told.person[this.voice.register];
      viz.writeResult(this);
      this.onShow(this.now);
    }

    /** A force of the situation, for comparing it with another one. */
    joint() { return { newtons: this.now.joint, weight: this.told.bw }; }

    name(one) { return this.voice.say(one.name); }

    size(arrow) { return this.voice.force(arrow.size, this.told.bw); }

    length(lever) { return this.voice.length(lever.metres); }
  };

  /** Every element that says a key, and every label of one, in the register shown. */
  viz.reword = (voice) => {
    document.documentElement.lang = voice.language;
    document.querySelector("option[value=absolute]").dataset.say = voice.units.force.name;
    for (const e of document.querySelectorAll("[data-say]")) e.textContent = voice.say(e.dataset.say);
    for (const e of document.querySelectorAll("[data-label]")) e.setAttribute("aria-label", voice.say(e.dataset.label));
  };

  /** The bar that says which colour is which pressure. */
  viz.legend = (told, voice) => {
    const bar = viz.make("canvas", { width: 256, height: 1 });
    const pen = bar.getContext("2d", { willReadFrequently: true }); /* no graphics card for one line of colours */
    const line = pen.createImageData(256, 1);
    for (let k = 0; k < 256; k++) line.data.set([...told.ramp.slice(3 * k, 3 * k + 3), 255], 4 * k);
    pen.putImageData(line, 0, 0);
    const [low, high] = told.range.map((pascals) => voice.number(pascals * 1e-6, pascals % 1e6 ? 1 : 0));
    $("legend").replaceChildren(bar, viz.make("span", {}, voice.say("page.legend", { low, high })));
  };

  /** Heights of what stays in sight, for what sticks or scrolls beneath it. */
  viz.measure = () => {
    for (const [name, element] of [["head", document.querySelector("header")], ["result", $("result")]]) {
      document.documentElement.style.setProperty(`--${name}`, `${element.offsetHeight}px`);
    }
  };

  viz.measured = () => {
    viz.measure();
    window.addEventListener("resize", viz.measure);
    if (!window.ResizeObserver) return;
    const seen = new ResizeObserver(viz.measure);
    for (const element of [document.querySelector("header"), $("result")]) seen.observe(element);
  };
})(globalThis.viz ??= {});
