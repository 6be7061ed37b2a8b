/* Files on the live page: opening and saving scenes, downloads that take longer. */
"use strict";

((viz) => {
  const { $ } = viz;
  const FILMS = ["film", "model", "page"]; /* what plays the scene's steps, not the pose that is seen */
  const LARGEST = 250_000; /* bytes of a scene file */
  const ENDINGS = { still: ".png", vector: ".svg", film: ".mp4", page: ".html", model: ".glb" };
  const [LOOK, AGAIN, KEPT] = [300, 800, 10_000]; /* ms between looks, after a failed one, until a file is let go */

  const later = (ms) => new Promise((done) => {
    setTimeout(done, ms);
  });

  /** Hand a file to the person. */
  const hand = (blob, name) => {
    const link = viz.make("a", { href: URL.createObjectURL(blob), download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), KEPT);
  };

  /** opened(scene): an opened scene's name, language and draft; tell(line): say it to the person. */
  viz.Files = class {
    constructor(told, voice, server, opened, tell) {
      Object.assign(this, { told, voice, server, opened, tell });
      viz.listen("open", "change", (e) => this.file(e.target));
      const options = Object.entries(told.library).map(([name, title]) => viz.make("option", { value: name }, title));
      $("library").append(viz.make("option", { value: "", "data-say": "page.choose" }, voice.say("page.choose")), ...options);
      viz.listen("library", "change", (e) => {
        if (e.target.value) this.open({ library: e.target.value });
        e.target.value = "";
      });
      viz.listen("save", "click", () => this.fetched("save", "scene.toml"));
    }

    /** Open a scene; false where it could not be opened. */
    async open(about) {
      try {
        await this.opened(await this.server.open(about));
        return true;
      } catch (error) {
        this.tell(error.message);
        return false;
      }
    }

    async file(input) {
      const [file] = input.files;
      if (!file) return;
      if (file.size > LARGEST) {
        this.tell(this.voice.say("page.too_large", { file: file.name }));
        return;
      }
      await this.open({ text: await file.text(), name: file.name });
      input.value = "";
    }

    async fetched(where, name) {
      try {
        const reply = await this.server.post(where);
        hand(await reply.blob(), name);
      } catch (error) {
        this.tell(error.message);
      }
    }
  };

  /** Pictures, films and pages that the server makes, one at a time. */
  viz.Downloads = class {
    /** seen(): the step or the pose that a picture shows, and whether a film lacks it. */
    constructor(told, voice, server, files, seen) {
      Object.assign(this, { voice, server, files, job: null });
      const kinds = told.kinds.map((kind) => viz.button(viz.said(voice, `page.kind.${kind}`), () => {
        const { apart, seen: what } = seen();
        if (apart && FILMS.includes(kind)) files.tell(voice.say("page.edit.apart"));
        this.begin(kind, { seen: what });
      }));
      const data = viz.button(viz.said(voice, "page.kind.data"), () => files.fetched("data", "scene.json"));
      $("downloads").append(...kinds, data);
      viz.listen("stop", "click", () => {
        if (this.job) fetch(`job/${this.job}/stop`, { method: "POST" });
      });
    }

    /** about: what more the question carries, as a film from before to now. */
    async begin(kind, about = {}) {
      if (this.job) {
        this.files.tell(this.voice.say("page.job.one"));
        return;
      }
      try {
        const { job, silent } = await this.server.json("job", { kind, ...about });
        Object.assign(this, { job, silent });
        $("job").hidden = false;
        $("progress").removeAttribute("value");
        $("job-says").textContent = this.voice.say("page.job.begun", { what: this.voice.say(`page.kind.${kind}`) });
        await this.ended(kind, await this.watched(kind));
      } catch (error) {
        this.files.tell(error.message);
      }
    }

    /** What became of the job: looked at again and again until it is no longer running. */
    async watched(kind) {
      for (;;) {
        const got = await fetch(`job/${this.job}`).then((reply) => reply.json()).catch(() => null);
        if (got && got.state !== "running") return got;
        if (got?.of) {
          $("progress").value = got.done / got.of;
          const what = this.voice.say(`page.kind.${kind}`);
          $("job-says").textContent = this.voice.say("page.job.frames", { what, done: got.done, of: got.of });
        }
        await later(got ? LOOK : AGAIN);
      }
    }

    async ended(kind, got) {
      const name = this.job;
      this.job = null;
      $("job").hidden = true;
      if (got.state !== "done") {
        this.files.tell(got.error || this.voice.say(got.state === "stopped" ? "page.job.stopped" : "page.job.failed"));
        return;
      }
      const reply = await fetch(`job/${name}/file`);
      hand(await reply.blob(), `scene${ENDINGS[kind]}`);
      const left = this.silent.length ? ` ${this.voice.say("page.edit.silent", { steps: this.silent.join(", ") })}` : "";
      this.files.tell(`${this.voice.say("page.job.done")}${left}`);
    }
  };
})(globalThis.viz ??= {});
