/* The live page's questions: asked of the scene as it is now, shut until somebody wants to predict. */
"use strict";

((viz) => {
  const { $ } = viz;
  const SOON = 400; /* ms without a change until they are asked for anew */

  /** What stands chosen and is not yet predicted: [question, choice]. */
  const chosen = (asked) => {
    const box = asked?.host.querySelector(`.choice input:checked:not(:disabled)`);
    return box ? [asked.all[asked.at].id, Number(box.value)] : [];
  };

  /** lasting(): what is changed for every step; look(question, which): show its situation; veil(on): keep back what
      gives an answer away. */
  viz.Asked = class {
    constructor(voice, server, now, { lasting, look, veil }) {
      Object.assign(this, { voice, server, now, lasting, look, veil, about: "", told: "", asked: null });
      this.says = $("asked-says");
      this.host = $("asked-host");
      this.box = $("asked-box");
      this.box.addEventListener("toggle", () => this.toggled());
    }

    toggled() {
      if (this.box.open) this.ask();
      this.veiled(this.asked?.predicting ?? false);
    }

    veiled(on) { this.veil(on && this.box.open); }

    /** The scene may have changed: ask again soon, if anybody looks. */
    soon() {
      clearTimeout(this.timer);
      if (this.box.open) this.timer = setTimeout(() => this.ask(), SOON);
    }

    async ask() {
      const changes = this.lasting();
      const about = JSON.stringify([this.now.scene, changes]);
      if (about === this.about) return;
      this.about = about;
      try {
        const found = await this.server.json("questions", { changes });
        if (about === this.about) this.take(found);
      } catch (error) {
        if (about === this.about) this.about = "";
        this.says.textContent = error.message;
      }
    }

    /** Questions as they are now; what is chosen stays chosen, and the one that is seen stays in sight. */
    take({ questions = [], left_out: left, fault }) {
      this.says.textContent = fault ? fault.replace(/^scene: /, "") : this.missing(questions.length, left);
      const told = JSON.stringify([this.now.scene, questions]);
      if (told === this.told) return;
      this.told = told;
      const inside = this.host.contains(document.activeElement);
      const [seen, choice] = [this.asked?.all[this.asked.at]?.id, chosen(this.asked)];
      this.asked = new viz.Questions({ questions, kept: this.now.scene }, this.voice, this.look, (on) => this.veiled(on), this.host);
      this.again(seen, choice);
      if (!questions.length) this.veiled(false);
      if (inside) this.host.querySelector("fieldset")?.focus();
    }

    /** What is not asked, and why. */
    missing(count, left) {
      if (left) return this.voice.say("page.question.left_out", { count: left });
      return count ? "" : this.voice.say("page.question.none");
    }

    again(seen, [id, choice]) {
      const { asked } = this;
      const at = asked.all.findIndex((q) => q.id === seen);
      if (at < 0) return;
      asked.at = at;
      asked.write();
      const box = id === seen && this.host.querySelector(`.choice input[value="${choice}"]`);
      if (box && !box.disabled) box.checked = true;
    }

    /** In another register, or other units. */
    write() {
      if (this.asked?.all.length) this.asked.write();
    }
  };
})(globalThis.viz ??= {});
