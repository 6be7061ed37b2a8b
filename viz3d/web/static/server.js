/* Talking to the server behind the live page, and what was set before. */
"use strict";

((viz) => {
  const GONE = 410; /* the server had to forget the scene */

  /** silent: said where nobody answers; asked(where): what every question carries. */
  viz.Server = class {
    constructor(silent, asked) {
      Object.assign(this, { silent, asked, files: new Map() });
    }

    /** The reply to a question. Throws an error with the server's line and its status. */
    async post(where, about = {}) {
      const asked = { ...this.asked(where), ...about };
      const reply = await this.sent(where, asked);
      const again = reply.status === GONE && await this.reopened(asked.scene, asked.before?.scene);
      return this.good(again ? await this.sent(where, asked) : reply);
    }

    async sent(where, asked) {
      const headers = { "Content-Type": "application/json" };
      return fetch(where, { method: "POST", headers, body: JSON.stringify(asked) }).catch(() => {
        throw new Error(this.silent);
      });
    }

    async good(reply) {
      if (reply.ok) return reply;
      const said = await reply.json();
      throw Object.assign(new Error(said.error), { status: reply.status });
    }

    /** Open a scene: {library} or {text, name}. It is kept here, to be sent again. */
    async open(about) {
      const opened = await this.json("open", about);
      this.files.set(opened.scene, about);
      return opened;
    }

    /** Send scenes again that the server forgot; false where none came from here. */
    async reopened(...scenes) {
      const ours = scenes.filter((scene) => this.files.has(scene));
      for (const scene of ours) await this.good(await this.sent("open", this.files.get(scene)));
      return ours.length > 0;
    }

    /** Edit the scene; what it became is kept here as well. */
    async edit(edit) {
      const opened = await this.json("edit", { edit });
      this.files.set(opened.scene, { data: opened.draft.data });
      return opened;
    }

    async json(where, about) {
      const reply = await this.post(where, about);
      return reply.json();
    }
  };

  const MOST = 200;

  /** Undo and redo; what is remembered are texts. */
  viz.History = class {
    constructor() {
      this.past = [];
      this.future = [];
    }

    remember(now) {
      this.past.push(now);
      if (this.past.length > MOST) this.past.shift();
      this.future = [];
    }

    /** What there was before now; undefined where nothing was. */
    undo(now) { return this.step(this.past, this.future, now); }

    redo(now) { return this.step(this.future, this.past, now); }

    step(from, to, now) {
      if (!from.length) return undefined;
      to.push(now);
      return from.pop();
    }

    /** Forget the last step where it only remembers this. */
    forget(same) {
      if (this.past[this.past.length - 1] === same) this.past.pop();
    }
  };
})(globalThis.viz ??= {});
