/* The scene on the live page as it is edited: its steps, what its captions claim, and what the browser keeps of it. */
"use strict";

((viz) => {
  const { $ } = viz;
  const [SOON, QUIET] = [400, 300]; /* ms until captions are judged, until the scene is kept */

  /** The step that is seen after an edit of steps; undefined after other edits. */
  viz.seenAfter = ({ do: what, at, to }, count) => ({
    add: at + 1, replace: at, duplicate: at + 1, delete: Math.min(at, count - 1), move: to,
  })[what];

  /** now: {scene, changes, at, own}, shared with the page; remember, ask, spoken, back: what the page does. */
  viz.Desk = class {
    constructor(told, voice, server, now, page) {
      Object.assign(this, { told, voice, server, now, page, found: null, judged: "", dirty: false, veiled: null, pending: [], queue: Promise.resolve() });
      this.docs = new Map([[told.scene, told.draft]]);
      this.drafts = new viz.Drafts(viz.storage("localStorage"), viz.storage("sessionStorage"), window.navigator.locks);
      this.editor = new viz.Editor(told, voice, { act: (edit, more) => this.act(edit, more), go: (k) => this.go(k) });
      this.inPlace();
      window.addEventListener("pagehide", () => this.keep());
      window.addEventListener("storage", () => this.list());
    }

    /** Title, aim and caption are typed over where they stand. */
    inPlace() {
      const step = () => ({ do: "step", at: this.now.at, key: "caption" });
      for (const [id, edit] of [["title", () => ({ do: "title" })], ["aim", () => ({ do: "aim" })], ["caption", step]]) {
        const box = $(id);
        box.addEventListener("input", () => this.editor.later(box, { ...edit(), value: box.textContent.trim() }));
        box.addEventListener("blur", () => this.editor.commit());
        box.addEventListener("keydown", (e) => {
          if (e.key !== "Enter") return;
          e.preventDefault();
          box.blur();
        });
        box.spellcheck = false;
        if (id !== "caption") box.contentEditable = "plaintext-only";
      }
    }

    get draft() { return this.docs.get(this.now.scene); }

    /** What the scene is made with: all changes, or where a step is seen those that hold for every step; where a question
        is looked at, what there was before. */
    lasting() {
      const { changes, at, looked } = this.now;
      return looked ?? (at === null ? changes : viz.lasting(changes, this.draft.steps));
    }

    /** The step that is seen, or where the pose is no step's its changes. */
    seen() { return this.now.own ? { changes: this.now.changes } : { step: this.now.at ?? 0 }; }

    /** Whether what is seen is in no film of the scene yet. */
    get apart() {
      const { changes, at, own, looked } = this.now;
      return own && !looked && viz.apart(this.draft.steps[at ?? 0].pose, changes, this.draft.steps);
    }

    /** Steps whose words the numbers do not bear out. */
    get silent() { return (this.found?.steps ?? []).flatMap((one, k) => (viz.unsupported(one).length ? [k] : [])); }

    /** The title as it may be read: kept back while somebody predicts, or where the numbers do not bear the scene out. */
    get title() {
      if (this.veiled !== null) return this.veiled;
      return this.silent.length ? this.voice.say(`page.question.neutral_${this.told.stance}`) : this.draft.title;
    }

    learn({ scene, draft }) { this.docs.set(scene, draft); }

    says(line) { $("edit-says").textContent = line; }

    /** One edit after the other; more: as part of the edit before, with no step back of its own. */
    act(edit, more = false) {
      this.queue = this.queue.then(() => this.edited(edit, more));
      return this.queue;
    }

    async edited(edit, more) {
      try {
        const opened = await this.server.edit(edit);
        if (!more) this.page.remember();
        this.learn(opened);
        this.now.scene = opened.scene;
        const at = viz.seenAfter(edit, opened.draft.steps.length);
        if (at !== undefined) Object.assign(this.now, { at, own: false, changes: { ...opened.draft.steps[at].pose }, looked: null });
        if (edit.do === "picture") this.page.spoken(opened.speech);
        this.says("");
        this.page.ask(at !== undefined);
      } catch (error) {
        if (error.status === undefined) this.pending.push(edit); /* nobody answers: it is kept, and done later */
        this.says(error.message.replace(/^scene: /, ""));
      }
      this.dirty = true;
      this.show();
      this.keep();
    }

    /** Keep back the scene's title and the editor while somebody predicts; null: show them again. */
    veil(title) {
      this.veiled = title;
      document.body.dataset.predict = title === null ? "no" : "yes";
      this.head();
      document.title = this.title;
    }

    /** What is changed where a step is seen: what holds for every step, and the step's own. */
    pose(k) {
      const { changes, looked } = this.now;
      return { ...viz.lasting(looked ?? changes, this.draft.steps), ...this.draft.steps[k].pose };
    }

    /** The steps of a scene that change more than the pose: each is shown at once. */
    cuts() { return this.draft.steps.length > 1 ? this.draft.steps.map((step) => ({ ...step, set: {} })) : []; }

    /** The tables of a scene with one step that says nothing yet; the person stays. */
    blank() {
      const { format, person } = this.draft.data;
      const name = this.voice.say("page.edit.step_name", { number: 1 });
      const title = this.voice.say("page.edit.blank_title");
      const picture = { words: this.voice.register };
      return { format, title, person, posture: { stance: person.painful_hip ?? "left" }, picture, steps: [{ name, hold: "4 s" }] };
    }

    /** See a step. */
    go(k) {
      this.page.remember();
      const { now } = this;
      Object.assign(now, { at: k, own: false, changes: this.pose(k), looked: null });
      this.show();
      this.page.ask(true);
    }

    /** Bring editor and caption up to date; ask soon whether captions are borne out. */
    show() {
      const { now, draft } = this;
      if (!draft) return;
      this.head();
      if (now.at !== null && now.at >= draft.steps.length) now.at = null;
      if (this.found && this.found.steps.length !== draft.steps.length) this.found = null;
      this.editor.show(draft, now.at, this.found);
      this.caption();
      clearTimeout(this.soon);
      this.soon = setTimeout(() => this.judge(), SOON);
      clearTimeout(this.quiet);
      this.quiet = setTimeout(() => this.keep(), QUIET);
    }

    /** Title and aim where they are read, and the names of steps; typed over only where they are the scene's own. */
    head() {
      const { draft, silent } = this;
      const own = this.title === draft.title;
      for (const id of ["title", "aim"]) if (own !== ($(id).contentEditable !== "false")) $(id).contentEditable = own ? "plaintext-only" : "false";
      const whole = document.querySelector("header"); /* words that go leave their room: nothing moves under a finger */
      whole.style.minHeight = silent.length ? whole.style.minHeight || `${whole.offsetHeight}px` : "";
      this.editor.write($("title"), this.title);
      this.editor.write($("aim"), silent.length ? "" : draft.aim);
      $("edit-apart").textContent = this.apart ? this.voice.say("page.edit.apart") : "";
      const numbers = silent.map((k) => k + 1).join(", ");
      $("edit-held").textContent = silent.length ? this.voice.say("page.edit.held_words", { steps: numbers }) : "";
      this.page.named((k) => (silent.includes(k) ? this.voice.say("page.edit.step_name", { number: k + 1 }) : draft.steps[k]?.name ?? ""));
    }

    /** The caption of the step that is seen; held back until its claims are known to hold. */
    caption() {
      const { at, own } = this.now;
      const step = at === null || own ? null : this.draft.steps[at];
      const found = this.found?.steps[at];
      const bad = step !== null && viz.unsupported(found).length > 0;
      const waits = step !== null && step.claims.length > 0 && !found;
      const text = step === null || waits ? "" : step.caption;
      this.editor.write($("caption"), bad ? this.voice.say("page.edit.withheld") : text);
      $("caption").contentEditable = text && !bad ? "plaintext-only" : "false";
    }

    async judge() {
      const changes = this.lasting();
      const about = JSON.stringify([this.now.scene, changes]);
      if (about === this.judged) return;
      this.judged = about;
      try {
        const found = await this.server.json("judge", { changes });
        if (about !== this.judged) return;
        if (found.fault) {
          this.says(found.fault.replace(/^scene: /, ""));
          return;
        }
        this.found = found;
        this.editor.show(this.draft, this.now.at, found);
        this.head();
        this.caption();
      } catch {
        if (about === this.judged) this.judged = "";
      }
    }

    /* ---- what the browser keeps ---- */
    keep() {
      if (!this.dirty || !this.draft) return;
      const { at, own, looked } = this.now;
      const changes = looked ?? this.now.changes; /* what a question shows is nobody's edit */
      const { data, title } = this.draft;
      const kept = this.drafts.keep({ title, data, changes, at, own, pending: this.pending }, Date.now());
      if (!kept) this.says(this.voice.say("page.edit.not_kept"));
    }

    /** Another scene was opened: what was edited before stays kept. */
    async another(opened) {
      this.keep();
      this.dirty = false;
      this.pending = [];
      this.learn(opened);
      await this.drafts.another();
      this.list();
    }

    /** Go on where this tab was before it was reloaded, if it was anywhere. */
    async begin() {
      const had = await this.drafts.begin();
      if (had?.data) await this.restore(had);
      else this.offer();
      this.list();
      this.page.ask(true);
    }

    async restore({ data, changes, at, own, pending = [] }) {
      try {
        const opened = await this.server.open({ data });
        this.learn(opened);
        Object.assign(this.now, { scene: opened.scene, changes, at: at ?? null, own: Boolean(own), looked: null });
        this.page.spoken(opened.speech);
        this.dirty = true;
        this.says(this.voice.say("page.edit.restored"));
        this.pending = [];
        for (const edit of pending) await this.act(edit);
      } catch (error) {
        this.says(error.message);
      }
      this.show();
    }

    async goOn(one) {
      this.keep();
      this.page.remember();
      await this.drafts.take(one.id);
      await this.restore(one);
      $("found").hidden = true;
      this.list();
      this.page.ask(true);
    }

    /** What was kept before, offered where nothing was begun yet. */
    offer() {
      const [last] = this.drafts.others();
      $("found").hidden = !last;
      if (!last) return;
      $("found-says").textContent = this.voice.say("page.edit.found", { title: last.title });
      $("found-go").onclick = () => this.goOn(last);
    }

    list() {
      const rows = this.drafts.others().map((one) => {
        const drop = viz.button(viz.said(this.voice, "page.edit.forget"), () => {
          this.drafts.forget(one.id);
          this.list();
        });
        const go = viz.button(viz.said(this.voice, "page.edit.go_on"), () => this.goOn(one));
        const when = new Date(one.time).toLocaleString(this.voice.language);
        return viz.make("li", {}, viz.make("span", {}, `${one.title}, ${when}`), go, drop);
      });
      $("kept").replaceChildren(...rows);
    }
  };
})(globalThis.viz ??= {});
