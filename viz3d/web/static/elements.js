/* Making elements: text always as text, never as markup. */
"use strict";

((viz) => {
  const SVG = "http://www.w3.org/2000/svg";

  viz.$ = (id) => document.getElementById(id);

  viz.listen = (id, name, heard) => viz.$(id).addEventListener(name, heard);

  const dressed = (element, about, inside) => {
    for (const [name, value] of Object.entries(about)) element.setAttribute(name, value);
    element.append(...inside);
    return element;
  };

  /** An element with attributes and what is inside it: texts or elements. */
  viz.make = (name, about = {}, ...inside) => dressed(document.createElement(name), about, inside);

  /** The same in a drawing. */
  viz.draw = (name, about = {}, ...inside) => dressed(document.createElementNS(SVG, name), about, inside);

  /** The words of a key, which follow the register shown. */
  viz.said = (voice, key) => viz.make("span", { "data-say": key }, voice.say(key));

  /** Let an element say a key from now on. */
  viz.tell = (id, voice, key) => {
    viz.$(id).dataset.say = key;
    viz.$(id).textContent = voice.say(key);
  };

  /** Mark one of the steps' buttons as the step that is seen; -1: none is. */
  viz.markStep = (at) => [...viz.$("steps").children].forEach((button, k) => {
    if (k === at) button.setAttribute("aria-current", "step");
    else button.removeAttribute("aria-current");
  });

  viz.button = (text, pressed) => {
    const made = viz.make("button", { type: "button" }, text);
    made.addEventListener("click", () => pressed(made));
    return made;
  };

  /** A labelled slider. write(value): its words; moved(value). */
  viz.slider = (host, { id, name, low, high, step, value, write, moved }) => {
    const label = viz.make("label", { for: id }, name);
    const said = viz.make("output", { for: id });
    const range = viz.make("input", { id, type: "range", min: low, max: high, step });
    range.value = value;
    const tell = () => {
      said.textContent = write(Number(range.value));
      range.setAttribute("aria-valuetext", said.textContent);
    };
    range.addEventListener("input", () => {
      tell();
      moved(Number(range.value));
    });
    const box = viz.make("div", { class: "input" }, viz.make("div", { class: "name" }, label, said), range);
    host.append(box);
    tell();
    return {
      box, range, label,
      set(v) {
        range.value = v;
        tell();
      },
      limits(a, b) {
        range.min = a;
        range.max = b;
        tell();
      },
    };
  };

  /** Radio buttons in a row; options: [[value, words], ...]. */
  viz.choices = (host, { id, name, options, value, moved }) => {
    const boxes = options.map(([option]) => {
      const box = viz.make("input", { type: "radio", name: id, value: option, id: `${id}-${option}` });
      box.checked = option === value;
      box.addEventListener("change", () => moved(box.value));
      return box;
    });
    const labels = boxes.map((box, k) => viz.make("label", {}, box, viz.make("span", {}, options[k][1])));
    host.append(viz.make("fieldset", {}, viz.make("legend", {}, name), viz.make("div", { class: "choices" }, ...labels)));
    return {
      set(v) {
        for (const box of boxes) box.checked = box.value === v;
      },
    };
  };
})(globalThis.viz ??= {});
