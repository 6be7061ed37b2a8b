/* Scenes being edited, kept in this browser: after a reload, a crash of the server, beside another tab. */
"use strict";

((viz) => {
  const [KEPT, TAB] = ["viz3d draft ", "viz3d tab"];

  const fresh = () => Array.from({ length: 3 }, () => Math.random().toString(36).slice(2, 8)).join("");

  const read = (text) => {
    try {
      return JSON.parse(text);
    } catch {
      return null; /* somebody else wrote there */
    }
  };

  /** Hold a name for this tab as long as it is open; false where another tab has it. */
  viz.claimed = (locks, name) => {
    if (!locks) return Promise.resolve(true);
    return new Promise((done) => {
      locks.request(name, { ifAvailable: true }, (lock) => {
        done(lock !== null);
        return lock && new Promise(() => {}); /* until the tab is closed */
      });
    });
  };

  /** storage, session: the browser's; locks: its locks, if it has any. */
  viz.Drafts = class {
    constructor(storage, session, locks) {
      Object.assign(this, { storage, session, locks, id: null });
    }

    /** What this tab had before it was reloaded; null where it had nothing. A tab's twin gets a copy of its own. */
    async begin() {
      const id = this.session?.getItem(TAB) ?? null;
      const had = id === null ? null : this.of(id);
      await this.take(id ?? fresh());
      return had;
    }

    /** Go on under a name, or under a new one where another tab has it. */
    async take(id) {
      this.id = await viz.claimed(this.locks, KEPT + id) ? id : fresh();
      if (this.id !== id) await viz.claimed(this.locks, KEPT + this.id);
      this.session?.setItem(TAB, this.id);
    }

    /** What is edited from now on is another scene: the one before stays as it is. */
    another() { return this.take(fresh()); }

    of(id) { return read(this.storage?.getItem(KEPT + id) ?? "null"); }

    /** Keep a scene; false where the browser keeps nothing more. */
    keep(draft, time) {
      try {
        this.storage.setItem(KEPT + this.id, JSON.stringify({ ...draft, time }));
        return true;
      } catch {
        return false;
      }
    }

    /** All that is kept but this tab's own, newest first: [{id, title, time, ...}]. */
    others() {
      const ids = Object.keys(this.storage ?? {}).filter((key) => key.startsWith(KEPT)).map((key) => key.slice(KEPT.length));
      const all = ids.filter((id) => id !== this.id).map((id) => ({ ...this.of(id), id })).filter((one) => one.data);
      return all.sort((a, b) => b.time - a.time);
    }

    forget(id) { this.storage?.removeItem(KEPT + id); }
  };

  /** A browser's storage of a kind; null where it has none. */
  viz.storage = (kind) => {
    try {
      return window[kind] ?? null;
    } catch {
      return null; /* forbidden here */
    }
  };
})(globalThis.viz ??= {});
