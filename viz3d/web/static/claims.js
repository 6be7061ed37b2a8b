/* What a step's caption says of the numbers, and whether they bear it out; the picture's settings. */
"use strict";

((viz) => {
  const AGAINST = ["falls", "rises"];
  const VERBS = [...AGAINST, "most", "least"];

  /** A claim's line: {what, verb, amount, unit}; amount: of the other step's number, or a value. */
  viz.claimLine = ({ what, verb, amount, unit }) => (
    AGAINST.includes(verb) ? `${what} ${verb} from step ${amount}` : `${what} is at ${verb} ${amount} ${unit}`
  );

  const select = (id, options, label) => {
    const box = viz.make("select", { id, "aria-label": label });
    box.append(...options.map(([value, text]) => viz.make("option", { value }, text)));
    return box;
  };

  /** One claim with what was found for it. */
  const line = (editor, k, text) => {
    const said = viz.make("span");
    const { claims } = editor.draft.steps[k];
    const drop = viz.button("\u00d7", () => {
      editor.act({ do: "step", at: k, key: "claims", value: claims.filter((one) => one !== text) });
    });
    drop.setAttribute("aria-label", editor.voice.say("page.edit.drop_claim", { claim: text }));
    const item = viz.make("li", {}, said, drop);
    editor.fields.push(() => {
      const found = editor.found?.steps[k]?.claims.find((one) => one.text === text);
      const size = found?.found === null || !found ? "" : `${editor.voice.number(found.found, 2)} ${found.unit}`;
      const key = !found ? "waits" : found.holds ? "holds" : size ? "fails" : "unknown";
      said.textContent = editor.voice.say(`page.edit.claim_${key}`, { claim: text, found: size });
      item.classList.toggle("flagged", found?.holds === false);
    });
    return item;
  };

  /** Three choices that make a claim. */
  const maker = (editor, k) => {
    const { voice, told, draft } = editor;
    const name = (part) => voice.say(`page.edit.claim.${part}`);
    const what = select(`step-what-${k}`, Object.keys(told.offered.claims).map((one) => [one, name(one)]), name("what"));
    const others = draft.steps.map((_, n) => n + 1).filter((n) => n !== k + 1);
    const verb = select(`step-verb-${k}`, VERBS.slice(others.length ? 0 : 2).map((one) => [one, name(one)]), name("verb"));
    const step = select(`step-from-${k}`, others.map((n) => [n, voice.say("page.edit.from_step", { number: n })]), name("step"));
    const value = viz.make("input", { id: `step-value-${k}`, type: "number", step: "any", "aria-label": name("value") });
    const unit = viz.make("span");
    const follow = () => {
      const against = AGAINST.includes(verb.value);
      [step.hidden, value.hidden, unit.hidden] = [!against, against, against];
      unit.textContent = told.offered.claims[what.value];
    };
    for (const box of [what, verb]) box.addEventListener("change", follow);
    follow();
    const add = viz.button(viz.said(voice, "page.edit.add_claim"), () => {
      const amount = AGAINST.includes(verb.value) ? step.value : value.value || "0";
      const made = viz.claimLine({ what: what.value, verb: verb.value, amount, unit: told.offered.claims[what.value] });
      editor.act({ do: "step", at: k, key: "claims", value: [...editor.draft.steps[k].claims, made] });
    });
    add.id = `step-claim-${k}`;
    return viz.make("div", { class: "claim-maker" }, what, verb, step, value, unit, add);
  };

  /** The claims of a step: what they found, and a way to make one. */
  viz.claims = (editor, k) => {
    const list = viz.make("ul", { class: "claims" }, ...editor.draft.steps[k].claims.map((text) => line(editor, k, text)));
    const held = viz.make("p", { class: "warn", role: "status" });
    editor.fields.push(() => {
      const bad = viz.unsupported(editor.found?.steps[k]).length > 0;
      held.textContent = bad ? editor.voice.say("page.edit.held_back") : "";
    });
    const more = viz.make("details", {}, viz.make("summary", {}, viz.said(editor.voice, "page.edit.tie")), maker(editor, k));
    return viz.make("div", {}, held, list, more);
  };

  /** Settings of pictures and films, in rows of choices. */
  viz.PictureSettings = class {
    constructor(told, voice, act) {
      this.boxes = [];
      for (const table of ["picture", "film"]) {
        for (const [key, options] of Object.entries(told.offered[table])) this.add(table, key, options, voice, act);
      }
    }

    add(table, key, options, voice, act) {
      const id = `edit-${table}-${key}`;
      const box = viz.make("select", { id });
      const word = (option) => `page.edit.pick.${key}.as_${option.replaceAll(/[ -]/g, "_")}`;
      box.append(...options.map((option) => viz.make("option", { value: option, "data-say": word(option) }, voice.say(word(option)))));
      box.addEventListener("change", () => act({ do: table, key, value: box.value }));
      const name = `page.edit.pick.${key}.name`;
      viz.$("edit-picture").append(viz.make("label", { class: "field" }, viz.said(voice, name), box));
      this.boxes.push((draft) => {
        box.value = draft[table][key]; /* a size that is not offered shows as none */
      });
    }

    show(draft) {
      for (const update of this.boxes) update(draft);
    }
  };
})(globalThis.viz ??= {});
