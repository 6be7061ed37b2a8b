// Reads WebVTT files with the W3C's parser and checker; prints one JSON line a file.
"use strict";
const { WebVTTParser } = require("webvtt-parser");
const fs = require("fs");
for (const name of process.argv.slice(2)) {
  const found = new WebVTTParser().parse(fs.readFileSync(name, "utf8"), "captions");
  console.log(JSON.stringify({ name, errors: found.errors, cues: found.cues.map((cue) => (
    { start: cue.startTime, end: cue.endTime, text: cue.tree.children.map((node) => node.value ?? `<${node.name}>`).join("") })) }));
}
