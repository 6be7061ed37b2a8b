// Reads glTF files with the Khronos validator; prints one JSON line a file.
"use strict";
const validator = require("gltf-validator");
const fs = require("fs");
(async () => {
  for (const name of process.argv.slice(2)) {
    const found = await validator.validateBytes(new Uint8Array(fs.readFileSync(name)));
    console.log(JSON.stringify({ name, errors: found.issues.numErrors, warnings: found.issues.numWarnings,
      messages: found.issues.messages.filter((m) => m.severity < 2).slice(0, 5), animations: found.info.animationCount }));
  }
})();
