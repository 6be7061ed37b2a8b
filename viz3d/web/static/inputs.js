/* The live page's inputs: built for what the scene has, then kept up to date. */
"use strict";

((viz) => {
  const { $ } = viz;
  const SIDES = ["right", "left"];
  const PRESSED = ["cane", "elbow crutch", "frame"];
  const OTHER = "Other"; /* group of the measures of the hip that is not stood on */
  const BOTH_FEET = { "posture.lifted": "0 %", "posture.obliquity": "0 deg", "posture.share": "50 %" };
  const ONE_FOOT = { "posture.share": "100 %", "posture.lifted": "100 %" };

  /** How a value of an input is written; c: {key, unit, step}; bw: the body weight, newtons. */
  viz.written = (voice, c, v, bw) => {
    const size = voice.number(Math.abs(v), 1);
    if (c.unit === "deg" && v < 0 && c.key?.endsWith("obliquity")) return voice.say("page.rises", { angle: `${size}\u00b0` });
    if (c.unit === "deg" && v < 0 && c.key?.endsWith("lean")) return voice.say("page.away", { angle: `${size}\u00b0` });
    if (c.unit === "deg") return `${voice.number(v, 1)}\u00b0`;
    const number = voice.number(v, viz.digits(c.step));
    return c.unit === "%BW" ? voice.say("page.push", { number, force: voice.absolute(v / 100 * bw) }) : `${number} ${c.unit}`;
  };

  /** What changes when a hand takes something. */
  viz.taken = (side, held) => ({
    [`hands.${side}.holds`]: held,
    [`hands.${side}.force`]: PRESSED.includes(held) ? "0 %BW" : null,
    [`hands.${side}.mass`]: held === "bag" ? "5 kg" : null,
  });

  /** The key of what a hand's slider moves. */
  viz.handKey = (side, held) => `hands.${side}.${held === "bag" ? "mass" : "force"}`;

  /** set(changes, over, sliding): what a person did; over: the key that is moved. */
  viz.Inputs = class {
    constructor(told, voice, set) {
      Object.assign(this, { told, voice, set, layout: "", sliders: {}, rows: {}, held: null });
    }

    forget() { this.layout = ""; }

    /** Build what is missing, bring the rest up to date; a slider being moved is left alone. */
    show(answer) {
      const holds = SIDES.map((side) => answer.hands[side].holds);
      const keys = answer.controls.map((c) => [c.key, c.unit]);
      const layout = JSON.stringify([keys, holds, this.voice.register, answer.choices["posture.stance"], answer.choices.feet]);
      if (this.layout !== layout) this.build(answer, layout);
      for (const c of answer.controls) this.update(c.key, c.value);
      for (const side of SIDES) {
        const { holds: held, value } = answer.hands[side];
        this.update(viz.handKey(side, held), value);
      }
      for (const [key, value] of Object.entries(answer.choices)) this.rows[key]?.set(value);
    }

    update(key, value) {
      const slider = this.sliders[key];
      if (slider && (this.held === null || document.activeElement !== slider.range)) slider.set(value);
    }

    build(answer, layout) {
      const focus = document.activeElement?.id;
      Object.assign(this, { layout, sliders: {}, rows: {} });
      const [main, more] = [$("inputs"), $("body-inputs")];
      main.replaceChildren();
      more.replaceChildren();
      this.standing(main, answer.choices);
      for (const c of answer.controls.filter(({ group }) => group !== OTHER)) {
        this.slide(["Pose", "Strength"].includes(c.group) ? main : more, c, this.voice.say(c.words));
      }
      this.otherHip(more, answer);
      for (const side of SIDES) this.hand(main, side, answer.hands[side]);
      this.model(more, answer.choices);
      if (focus) $(focus)?.focus();
    }

    /** A row of choices; about: {key, id, name, options, value, moved}, in keys of words. */
    choose(host, about) {
      const options = about.options.map(([option, name]) => [option, this.voice.say(name)]);
      this.rows[about.key] = viz.choices(host, { ...about, options, name: this.voice.say(about.name) });
    }

    standing(host, choices) {
      this.choose(host, {
        key: "posture.stance", id: "stance", name: "page.stance", value: choices["posture.stance"],
        options: ["left", "right"].map((side) => [side, `page.side.${side}`]),
        moved: (v) => this.set({ "posture.stance": v }, "posture.lean"),
      });
      if (choices["walk.change"]) this.walking(host, choices);
      if (!choices.feet) return; /* a walk goes from foot to foot */
      this.choose(host, {
        key: "feet", id: "feet", name: "page.feet.name", value: choices.feet,
        options: [["one", "page.feet.one"], ["both", "page.feet.two"]],
        moved: (v) => (v === "both" ? this.set(BOTH_FEET, "posture.share") : this.set(ONE_FOOT, "posture.lean")),
      });
    }

    walking(host, choices) {
      this.choose(host, {
        key: "walk.change", id: "walk", name: "page.walk.name", value: choices["walk.change"],
        options: this.told.ways.map((change) => [change, `page.walk.${change.replaceAll(" ", "_")}`]),
        moved: (v) => this.set({ "walk.change": v }),
      });
    }

    slide(host, c, name) {
      const slider = viz.slider(host, {
        ...c, id: c.key.replaceAll(".", "-"), name, write: (v) => viz.written(this.voice, c, v, this.told.bw),
        moved: (v) => {
          const begins = this.held !== c.key;
          this.held = c.key;
          this.set({ [c.key]: `${v} ${c.unit}` }, c.key, !begins);
        },
      });
      slider.range.addEventListener("change", () => {
        this.held = null;
      });
      this.sliders[c.key] = slider;
    }

    /** Measures of the hip that is not stood on, in a list of their own. */
    otherHip(host, { controls, choices }) {
      const side = this.voice.say(`page.side.${choices["posture.stance"] === "left" ? "right" : "left"}`);
      const list = viz.make("details", { id: "other-hip" }, viz.make("summary", {}, this.voice.say("page.other_hip", { side })));
      list.open = this.otherOpen ?? false;
      list.addEventListener("toggle", () => {
        this.otherOpen = list.open;
      });
      for (const c of controls.filter(({ group }) => group === OTHER)) {
        this.slide(list, c, this.voice.say("page.of_side", { what: this.voice.say(c.words), side }));
      }
      host.append(list);
    }

    hand(host, side, { holds, ...slider }) {
      const kinds = this.told.held.includes(holds) ? this.told.held : [...this.told.held, holds];
      this.choose(host, {
        key: `hands.${side}`, id: `hand-${side}`, name: `page.in_hand.${side}`, value: holds,
        options: kinds.map((kind) => [kind, `page.holds.${kind.replace(" ", "_")}`]),
        moved: (v) => this.set(viz.taken(side, v), v === "nothing" ? "posture.lean" : viz.handKey(side, v)),
      });
      if (holds === "nothing") return;
      this.slide(host, { ...slider, key: viz.handKey(side, holds) }, this.voice.say(`page.pushes.${holds.replace(" ", "_")}`));
    }

    model(host, choices) {
      this.choose(host, {
        key: "person.sex", id: "sex", name: "page.sex.name", value: choices["person.sex"],
        options: ["female", "male"].map((sex) => [sex, `page.sex.${sex}`]),
        moved: (v) => this.set({ "person.sex": v }),
      });
      this.choose(host, {
        key: "model.muscles", id: "model", name: "page.muscles.name", value: choices["model.muscles"],
        options: this.told.models.map((m) => [m, `page.muscles.${m.replaceAll(/[ -]/g, "_")}`]),
        moved: (v) => this.set({ "model.muscles": v }),
      });
    }
  };
})(globalThis.viz ??= {});
