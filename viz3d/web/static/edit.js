/* The editor of the live page: title, aim, steps and captions of the scene that is seen. */
"use strict";

((viz) => {
  const { $ } = viz;
  const PAUSE = 600; /* ms without a key until what was typed counts */

  /** Seconds that a caption lacks to be read; 0 for none. */
  viz.lacking = (step) => Math.max(0, Math.ceil(2 * (step.needs - step.hold) - 1e-9) / 2);

  /** Keys that any step sets; a hand that takes something is set as a whole. */
  viz.setBySteps = (steps) => {
    const keys = new Set(steps.flatMap((step) => Object.keys(step.pose)).concat(steps.flatMap((step) => step.sets)));
    const hands = [...keys].filter((key) => key.endsWith(".holds")).map((key) => key.replace("holds", ""));
    return (key) => keys.has(key) || hands.some((hand) => key.startsWith(hand));
  };

  /** Changes that hold for the whole scene, whichever step is seen. */
  viz.lasting = (changes, steps) => {
    const set = viz.setBySteps(steps);
    return Object.fromEntries(Object.entries(changes).filter(([key]) => !set(key)));
  };

  /** Whether a pose differs from a step's in what steps set: pose, own: written values; a film does not show it then. */
  viz.apart = (pose, own, steps) => {
    const set = viz.setBySteps(steps);
    const same = (a, b) => a === b || (viz.amount(a ?? "") === viz.amount(b ?? "") && !Number.isNaN(viz.amount(a ?? "")));
    return Object.keys({ ...pose, ...own }).some((key) => set(key) && !same(pose[key], own[key]));
  };

  /** Claims of a step that the numbers do not bear out. */
  viz.unsupported = (found) => (found?.claims ?? []).filter((one) => !one.holds);

  /** act(edit, more): edit the scene; more: as part of the edit before. go(at): see a step. */
  viz.Editor = class {
    constructor(told, voice, { act, go }) {
      Object.assign(this, { told, voice, act, go, layout: "", fields: [], typed: null, last: null, draft: told.draft, at: null, found: null });
      viz.listen("add-step", "click", () => {
        const at = this.at ?? this.draft.steps.length - 1;
        this.act({ do: "add", at, value: this.voice.say("page.edit.step_name", { number: at + 2 }) });
      });
      this.head();
      this.picture = new viz.PictureSettings(told, voice, act);
    }

    head() {
      const fixed = (id, key) => {
        $(id).addEventListener("input", () => this.later($(id), { do: key, value: $(id).value }));
        $(id).addEventListener("change", () => this.commit());
      };
      fixed("edit-title", "title");
      fixed("edit-aim", "aim");
    }

    /** What is typed counts after a pause, or at once where the field is left. */
    later(box, edit) {
      clearTimeout(this.typed?.timer);
      this.typed = { box, edit, timer: setTimeout(() => this.commit(), PAUSE) };
    }

    commit() {
      if (!this.typed) return Promise.resolve();
      const { box, edit, timer } = this.typed;
      clearTimeout(timer);
      this.typed = null;
      const more = this.last === box && document.activeElement === box;
      this.last = box;
      return this.act(edit, more);
    }

    /** draft: the scene; at: the step that is seen, null for none; found: what its claims found. */
    show(draft, at, found) {
      Object.assign(this, { draft, at, found });
      const layout = JSON.stringify([draft.steps.length, at, this.voice.register, at === null ? [] : draft.steps[at].claims]);
      if (layout !== this.layout) this.build(layout);
      for (const [box, text] of [["edit-title", draft.title], ["edit-aim", draft.aim]]) this.fill($(box), text);
      for (const update of this.fields) update();
      this.picture.show(draft);
    }

    /** The same of what is typed over where it stands. */
    write(box, text) {
      if (this.typed?.box !== box && document.activeElement !== box && box.textContent !== text) box.textContent = text;
    }

    fill(box, text) {
      if (this.typed?.box !== box && document.activeElement !== box && box.value !== String(text)) box.value = text;
    }

    build(layout) {
      const focus = document.activeElement?.id;
      Object.assign(this, { layout, fields: [] });
      $("edit-steps").replaceChildren(...this.draft.steps.map((_, k) => this.row(k)));
      if (focus?.startsWith("step-")) $(focus)?.focus();
    }

    row(k) {
      const [name, size] = [viz.make("span", { class: "step-name" }), viz.make("span", { class: "step-size" })];
      const pick = viz.button(name, () => this.go(k));
      pick.id = `step-pick-${k}`;
      pick.append(size);
      pick.setAttribute("aria-expanded", String(this.at === k));
      const item = viz.make("li", {}, pick);
      if (this.at === k) item.append(this.details(k));
      this.fields.push(() => {
        const step = this.draft.steps[k];
        name.textContent = `${k + 1}  ${step.name}`;
        const bad = viz.unsupported(this.found?.steps[k]).length > 0 || viz.lacking(step) > 0;
        size.textContent = `${this.size(k)}${bad ? "  !" : ""}`;
        pick.classList.toggle("flagged", bad);
      });
      return item;
    }

    size(k) {
      const one = this.found?.steps[k];
      return one?.joint ? this.voice.force(one.joint, one.weight) : "";
    }

    details(k) {
      const box = viz.make("div", { class: "step-edit" });
      box.append(
        this.field(k, "name", "input", { type: "text", maxlength: 120 }),
        this.field(k, "caption", "textarea", { rows: 3, maxlength: 200 }),
        this.reading(k), viz.claims(this, k),
        viz.make("div", { class: "pair" },
          this.field(k, "change", "input", { type: "number", min: 0, max: 60, step: 0.5 }),
          this.field(k, "hold", "input", { type: "number", min: 0, max: 600, step: 0.5 })),
        this.buttons(k),
      );
      return box;
    }

    /** A field of a step, which follows the scene unless it is being typed into. */
    field(k, key, kind, about) {
      const box = viz.make(kind, { id: `step-${key}-${k}`, ...about });
      const seconds = about.type === "number";
      const edit = () => ({ do: "step", at: k, key, value: seconds ? `${box.value || 0} s` : box.value.trim() });
      box.addEventListener("input", () => this.later(box, edit()));
      box.addEventListener("change", () => this.commit());
      this.fields.push(() => this.fill(box, this.draft.steps[k][key]));
      return viz.make("label", { class: "field" }, viz.said(this.voice, `page.edit.field.${key}`), box);
    }

    /** How long the caption takes to read, and a button that gives it the time. */
    reading(k) {
      const line = viz.make("span");
      const give = viz.button("", () => {
        const step = this.draft.steps[k];
        this.act({ do: "step", at: k, key: "hold", value: `${step.hold + viz.lacking(step)} s` });
      });
      const box = viz.make("p", { class: "reading", role: "status" }, line, give);
      this.fields.push(() => {
        const step = this.draft.steps[k];
        const [needs, lacks] = [this.voice.number(step.needs, 1), viz.lacking(step)];
        const key = lacks ? "page.edit.too_long" : "page.edit.readable";
        line.textContent = step.caption ? this.voice.say(key, { needs, hold: this.voice.number(step.hold, 1) }) : "";
        give.hidden = !lacks;
        give.textContent = this.voice.say("page.edit.give", { hold: this.voice.number(step.hold + lacks, 1) });
        box.classList.toggle("flagged", lacks > 0);
      });
      return box;
    }

    buttons(k) {
      const last = this.draft.steps.length - 1;
      const make = (key, edit, off = false) => {
        const one = viz.button(viz.said(this.voice, `page.edit.${key}`), () => this.act(edit));
        one.id = `step-${key}-${k}`;
        one.disabled = off;
        return one;
      };
      return viz.make("div", { class: "row" },
        make("replace", { do: "replace", at: k }), make("earlier", { do: "move", at: k, to: k - 1 }, k === 0),
        make("later", { do: "move", at: k, to: k + 1 }, k === last), make("duplicate", { do: "duplicate", at: k }),
        make("delete", { do: "delete", at: k }, last === 0));
    }
  };
})(globalThis.viz ??= {});
