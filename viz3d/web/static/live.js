/* The live page: every number asked of the solver behind it. */
"use strict";

((viz) => {
  const { $ } = viz;
  const [SOON, LATER, CHARTED] = [120, 500, 60]; /* ms until asking again, until looking for bones, until a chart */
  const PATIENCE = 400; /* ms without an answer until the page says that it waits for one */

  const told = viz.read();
  const page = new viz.Page(told);
  const { voice } = page;
  const [history, waits] = [new viz.History(), new viz.Waits(voice)];
  const now = {
    scene: told.scene, changes: {}, at: null, own: false, before: null, looked: null, first: told.scene,
    moving: "posture.lean", state: null, bones: null, drawn: false,
  };
  const asked = { busy: false, again: false, good: null, start: null, charting: null, unit: voice.unit, register: voice.register };

  const say = (line) => {
    $("message").textContent = line;
  };
  const WHOLE = ["save", "job"]; /* asked about the scene, not about what is seen of it */
  const server = new viz.Server(voice.say("page.silent"), (where) => (
    { scene: now.scene, changes: WHOLE.includes(where) ? desk.lasting() : now.changes }
  ));
  const written = () => JSON.stringify([now.scene, now.changes, now.at, now.own, now.before, now.looked]);
  const back = (text) => {
    [now.scene, now.changes, now.at, now.own, now.before, now.looked] = JSON.parse(text);
    page.start = now.before?.joint ?? asked.start;
    page.since = now.before ? "before" : "start";
  };

  const buttons = () => {
    $("undo").disabled = !history.past.length;
    $("redo").disabled = !history.future.length;
  };
  const remember = () => {
    history.remember(written());
    desk.dirty = true;
    buttons();
  };

  /* ---- what a person does ---- */
  const change = (more) => {
    for (const [key, value] of Object.entries(more)) {
      if (value === null) delete now.changes[key];
      else now.changes[key] = value;
    }
    ask();
  };
  const set = (more, over, sliding = false) => {
    now.moving = over ?? now.moving;
    if (!sliding) remember();
    steps.pause();
    viz.rest();
    Object.assign(now, { own: true, looked: null });
    page.stage(null);
    desk.caption();
    change(more);
  };
  const inputs = new viz.Inputs(told, voice, set);
  const steps = new viz.Steps(voice, {
    value: (key) => {
      if (now.changes[key] !== undefined) return viz.amount(now.changes[key]);
      return inputs.sliders[key] && Number(inputs.sliders[key].range.value);
    },
    begun: (key, at) => {
      remember();
      viz.rest();
      if (key === undefined || now.looked) now.changes = desk.pose(at);
      Object.assign(now, { moving: key ?? now.moving, at, own: false, looked: null });
      desk.show();
    },
    moved: change,
    staged: (step) => page.stage(step),
  });

  const step = (text) => {
    if (text === undefined) return;
    back(text);
    buttons();
    askAnew();
  };
  const cycle = new viz.Cycle(told, voice, (columns, about) => {
    page.start = now.before?.joint ?? cycle.start();
    page.show(columns, about);
    chart();
  });
  viz.listen("play", "click", () => cycle.follow(steps.playing !== null));

  const undo = () => step(history.undo(written()));
  const redo = () => step(history.redo(written()));
  viz.listen("undo", "click", undo);
  viz.listen("redo", "click", redo);
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.target.isContentEditable || /^(text|number|textarea)$/.test(e.target.type ?? "")) return;
    if (e.key === "z" && !e.shiftKey) undo();
    else if (e.key === "y" || (e.key === "z" && e.shiftKey)) redo();
    else return;
    e.preventDefault();
  });

  const speak = (speech) => {
    voice.speak(speech);
    voice.register = speech.register;
    $("words").value = speech.register;
    viz.reword(voice);
  };
  /** Ask after more than the inputs may have changed. */
  const askAnew = () => {
    steps.pause();
    inputs.held = null;
    inputs.forget();
    desk.show();
    ask();
  };
  const desk = new viz.Desk(told, voice, server, now, {
    remember, spoken: speak, ask: (anew) => (anew ? askAnew() : ask()), named: (name) => steps.named(name),
  });

  /** Go from one situation of a question to the other. */
  const look = (q, which) => {
    const [from, to] = which ? q.look : [...q.look].reverse();
    steps.pause();
    if ("step" in to) {
      desk.go(from.step);
      const played = steps.steps[to.step];
      if (played) steps.walk(played);
      else desk.go(to.step);
      return;
    }
    remember();
    const looked = desk.lasting();
    Object.assign(now, { at: null, own: true, changes: { ...desk.pose(0), ...from.cut, ...from.set }, looked });
    askAnew();
    const numbers = Object.fromEntries(Object.entries(from.set).map(([key, text]) => [key, viz.amount(text)]));
    now.moving = Object.keys(to.set).at(-1);
    viz.travel((share) => change(viz.onTheWay(numbers, to.set, share)));
  };
  const questions = new viz.Asked(voice, server, now, {
    lasting: () => desk.lasting(), look,
    veil: (on) => desk.veil(on ? voice.say(`page.question.neutral_${told.stance}`) : null),
  });

  /* ---- one question at a time; the last wish wins ---- */
  const ask = async () => {
    asked.again = asked.busy;
    if (asked.busy) return;
    asked.busy = true;
    const [begun, sent, scene] = [performance.now(), written(), now.scene];
    const timer = setTimeout(() => waits.are({ solving: true }), PATIENCE);
    const other = () => asked.again && written() !== sent; /* the same is not asked twice: a walk takes its time */
    try {
      const answer = await server.json("solve");
      asked.again = other();
      viz.took = performance.now() - begun;
      say("");
      asked.good = sent;
      if (scene === now.scene) take(answer); /* another was opened meanwhile: its own answer is on its way */
    } catch (error) {
      asked.again = other();
      refused(error);
    }
    clearTimeout(timer);
    asked.busy = false;
    if (asked.again) ask();
    else waits.are({ solving: false });
  };

  /** What was refused is taken back: the page stays as it was, and says why. */
  const refused = (error) => {
    if (error.status === 429) {
      setTimeout(ask, SOON);
      return;
    }
    say(error.message.replace(/^scene: /, ""));
    document.body.dataset.ready = "yes";
    if (error.status !== 422 || asked.good === null || asked.again) return;
    back(asked.good);
    history.forget(asked.good);
    buttons();
    inputs.held = null;
    inputs.forget();
    showInputs();
  };

  const showInputs = () => {
    const stale = inputs.layout;
    inputs.show(now.state);
    if (inputs.layout === stale && asked.stepsOf === now.scene) return;
    asked.stepsOf = now.scene;
    steps.show({ ...now.state, steps: now.state.steps.length ? now.state.steps : desk.cuts() }, desk.lasting());
    viz.markStep(now.own ? -1 : now.at ?? -1);
  };

  const take = (answer) => {
    now.state = answer;
    Object.assign(told, answer.told);
    page.framed(asked.frame, asked.opened);
    Object.assign(asked, { frame: told.frame, opened: false });
    showInputs();
    desk.show();
    questions.soon();
    viz.measure();
    const [columns, about] = cycle.take(answer, !asked.start);
    page.now = viz.situation(columns, about, told);
    if (!asked.start && !page.now.lost) asked.start = page.joint();
    page.start = now.before?.joint ?? cycle.start() ?? asked.start;
    page.show(columns, about);
    if (page.figure) page.figure.awaits = () => asked.busy;
    viz.settled = (viz.settled ?? 0) + 1;
    if (answer.bones !== now.bones) bones(answer.bones);
    clearTimeout(asked.charting);
    asked.charting = setTimeout(chart, CHARTED);
  };

  /* ---- bones: warped at once, the true ones when they are built ---- */
  const bones = async (key) => {
    if (key !== now.bones) waits.are({ reshaping: now.drawn });
    now.bones = key;
    try {
      const reply = await server.post("bones");
      const whole = reply.headers.get("X-Bones") === "true";
      const data = await reply.arrayBuffer();
      if (key !== now.bones) return;
      const made = Number(reply.headers.get("X-Stature"));
      const grown = reply.headers.get("X-Flesh") === "true";
      waits.are({ reshaping: !whole });
      if (page.figure) page.figure.swap(data, () => page.again(), made);
      else if (!now.drawn) page.draw(data, made);
      now.drawn = true;
      if (!whole || !grown) setTimeout(() => key === now.bones && bones(key), LATER);
    } catch (error) {
      say(error.message);
    }
  };

  const chart = () => {
    asked.unit = voice.unit;
    return viz.charted({ told, voice, server, now, page, inputs, cycle });
  };
  page.onShow = () => {
    if (!now.state) return;
    if (asked.register !== voice.register) showInputs();
    if (asked.unit !== voice.unit || asked.register !== voice.register) questions.write();
    if (asked.unit !== voice.unit) chart();
    asked.register = voice.register;
  };

  viz.listen("pin", "click", () => {
    if (page.now.lost) {
      say(voice.say("page.no_pin"));
      return;
    }
    const values = Object.entries(inputs.sliders).map(([key, slider]) => [key, Number(slider.range.value)]);
    remember();
    now.before = { scene: now.scene, changes: { ...now.changes }, joint: page.joint(), values: Object.fromEntries(values) };
    page.start = now.before.joint;
    page.since = "before";
    page.again();
    chart();
    say(voice.say("page.pinned", { force: voice.force(page.now.joint, told.bw) }));
  });

  /* ---- files ---- */
  const files = new viz.Files(told, voice, server, async (opened) => {
    remember();
    voice.speak(opened.speech);
    viz.reword(voice);
    await desk.another(opened);
    Object.assign(now, { scene: opened.scene, changes: {}, at: null, own: false, before: null, looked: null, first: opened.scene });
    Object.assign(asked, { start: null, opened: true });
    Object.assign(page, { start: null, since: "start" });
    askAnew();
  }, say);
  viz.listen("blank", "click", async () => {
    if (!await files.open({ data: desk.blank() })) return;
    now.at = 0; /* its only step lies open, to be filled in */
    desk.show();
  });
  const downloads = new viz.Downloads(told, voice, server, files, () => ({ seen: { ...desk.seen(), ...cycle.moment }, apart: desk.apart }));
  viz.listen("between", "click", () => {
    const { scene, changes } = now.before ?? { scene: now.first, changes: {} };
    downloads.begin("film", { changes: now.changes, before: { scene, changes } });
  });

  viz.page = page;
  viz.set = set;
  viz.changes = () => now.changes;
  viz.desk = desk;
  viz.questions = questions;
  desk.begin();
})(globalThis.viz ??= {});
