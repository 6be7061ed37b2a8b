/* Talking to the server behind the live page, and what was set before. */
"use strict";

((viz) => {
  /** silent: said where nobody answers; asked(): what every question carries. */
  viz.Server = class {
    constructor(silent, asked) {
      Object.assign(this, { silent, asked });
    }

    /** The reply to a question. Throws an error with the server's line and its status. */
    async post(where, about = {}) {
      const body = JSON.stringify({ ...this.asked(), ...about });
      const headers = { "Content-Type": "application/json" };
      const reply = await fetch(where, { method: "POST", headers, body }).catch(() => {
        throw new Error(this.silent);
      });
      if (reply.ok) return reply;
      const said = await reply.json();
      throw Object.assign(new Error(said.error), { status: reply.status });
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
