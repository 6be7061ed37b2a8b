/* Our page scripts outside a browser: the pure functions of the namespace, and a document only where a test gives one. */
"use strict";

const fs = require("node:fs");
const path = require("node:path");
const vm = require("node:vm");

const STATIC = path.join(__dirname, "..", "..", "..", "viz3d", "web", "static");

/** The namespace after reading scripts by name, in that order. */
module.exports = (...names) => {
  globalThis.viz = {};
  for (const name of names) {
    const file = path.join(STATIC, `${name}.js`);
    vm.runInThisContext(fs.readFileSync(file, "utf-8"), { filename: file });
  }
  return globalThis.viz;
};
