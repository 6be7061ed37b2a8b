/* The result in words and numbers: the joint force, the table of all numbers, the text for screen readers. */
"use strict";

((viz) => {
  const { $ } = viz;
  const LEAST = 0.004; /* body weights of a force with a row of its own */
  const WEAK = 0.05; /* newton metres that a muscle may lack */
  const GAUGE = 3; /* body weights that the gauge holds at least */
  const NONE = "\u2013";
  let saying = null;

  /** Why a pose cannot be held, or "". */
  viz.heldWords = (d, voice) => {
    if (d.weak) return voice.say("page.held.walk", { phase: voice.percent(d.weak.phase), moment: voice.moment(d.weak.moment) });
    if (d.lost) return voice.say("page.held.weak");
    if (d.falls) return voice.say("page.held.fall");
    return d.short > WEAK ? voice.say("page.held.short", { moment: voice.moment(d.short) }) : "";
  };

  /** Largest number on the gauge, in the unit shown; forces: {newtons, weight} each. */
  viz.gaugeEnd = (voice, weight, forces) => {
    const all = [{ newtons: GAUGE * weight, weight }, ...forces];
    return Math.max(...all.map((one) => voice.share(one)));
  };

  const gauge = (page, shown) => {
    const { voice, told, start } = page;
    const most = { newtons: page.most, weight: told.bw };
    const end = viz.gaugeEnd(voice, told.bw, [shown, start, most].filter(Boolean));
    const share = (one) => 100 * voice.share(one) / end;
    $("gauge").style.width = shown ? `${share(shown)}%` : "0";
    const mark = start ?? shown;
    const at = mark ? share(mark) : 0;
    $("mark").style.left = `calc(${at}% - 1px)`;
    $("mark-name").style.left = `${at}%`;
    viz.tell("mark-name", voice, `page.mark.${page.since}`);
    $("mark-name").hidden = !start;
  };

  const peakWords = ({ now, voice, told }) => {
    if (now.lost) return NONE;
    if (told.replaced) return voice.say("page.pressure_replaced");
    return now.peak > 0 ? voice.megapascals(now.peak) : voice.say("page.no_pressure");
  };

  const row = (body, name, key, ...cells) => {
    const line = viz.make("tr", key ? { "data-key": key } : {}, viz.make("th", { scope: "row" }, name));
    line.append(...cells.map((text) => viz.make("td", {}, text)));
    body.append(line);
  };

  const table = (page) => {
    const { now, told, voice } = page;
    const [body] = $("numbers").tBodies;
    body.replaceChildren();
    for (const arrow of now.arrows) {
      if (arrow.size < LEAST * told.bw && arrow.key !== "joint") continue;
      const lever = now.levers.find((v) => v.of === arrow.key);
      row(body, page.name(arrow), arrow.key, page.size(arrow), lever ? page.length(lever) : "");
    }
    if (!now.lost && page.tells("lever")) row(body, voice.say("page.tilt"), "", voice.angle(now.tilt), "");
  };

  /** The figure in words. */
  viz.altWords = (page) => {
    const { now, told, voice } = page;
    const forces = now.arrows.filter((a) => a.key !== "joint" && (a.size >= LEAST * told.bw || a.key === "muscle"));
    const said = forces.map((arrow) => {
      const lever = now.levers.find((v) => v.of === arrow.key);
      const words = { name: page.name(arrow), size: page.size(arrow) };
      if (!lever || !page.tells("lever")) return voice.say("page.alt.alone", words);
      return voice.say("page.alt.force", { ...words, distance: page.length(lever) });
    });
    const joint = now.arrows.find((a) => a.key === "joint");
    if (joint) {
      const words = { name: page.name(joint), size: page.size(joint) };
      const whole = { ...words, peak: peakWords(page) };
      said.push(page.tells("pressure") ? voice.say("page.alt.joint", whole) : voice.say("page.alt.alone", words));
    }
    return [...said, viz.heldWords(now, voice)].join(" ").trim();
  };

  viz.writeResult = (page) => {
    const { now, told, voice } = page;
    const joint = now.arrows.find((a) => a.key === "joint");
    const held = viz.heldWords(now, voice);
    const sure = !held;
    viz.tell("result-name", voice, sure || now.lost ? "page.result" : "page.result_if");
    $("joint").textContent = joint ? page.size(joint) : NONE;
    $("peak").textContent = peakWords(page);
    document.body.dataset.held = sure ? "yes" : "no";
    gauge(page, joint ? page.joint() : null);
    $("change").textContent = joint && sure && page.start ? viz.compared(voice, page.joint(), page.start, page.since) : "";
    $("held").textContent = held;
    viz.polygon($("polygon"), now, told, voice);
    table(page);
    clearTimeout(saying);
    saying = setTimeout(() => {
      $("alt").textContent = viz.altWords(page);
    }, 400);
  };
})(globalThis.viz ??= {});
