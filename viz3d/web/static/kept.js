/* What a browser keeps for a page from one visit to the next; where it keeps nothing, for this visit only. */
"use strict";

((viz) => {
  const START = "viz3d ";
  const here = new Map();

  /** What was kept under a name; null where nothing was. */
  viz.kept = (name) => {
    try {
      return window.localStorage.getItem(START + name) ?? here.get(name) ?? null;
    } catch {
      return here.get(name) ?? null;
    }
  };

  /** Keep a text under a name; null forgets it. */
  viz.keep = (name, text) => {
    if (text === null) here.delete(name);
    else here.set(name, text);
    try {
      if (text === null) window.localStorage.removeItem(START + name);
      else window.localStorage.setItem(START + name, text);
    } catch {
      /* an embedded page may keep nothing */
    }
  };
})(globalThis.viz ??= {});
