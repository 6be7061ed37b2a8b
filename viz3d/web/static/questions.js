/* Predict, then look: questions one at a time, what gives them away kept back until they are answered, progress kept. */
"use strict";

((viz) => {
  const { $ } = viz;
  const EVERYTHING = "#everything"; /* an address that ends so opens with nothing kept back */

  /** The text of a prompt, and of a choice: a key's, or the author's own. */
  viz.promptWords = (voice, q) => q.text ?? voice.say(q.ask, q.values);

  viz.choiceWords = (voice, q) => q.choices.map((one) => (q.text ? one : voice.say(one)));

  /** How many are answered, and how many of those rightly; answers: id -> choice. */
  viz.score = (questions, answers) => {
    const answered = questions.filter((q) => q.id in answers);
    return { answered: answered.length, right: answered.filter((q) => answers[q.id] === q.right).length };
  };

  /** Kept answers of a page: nothing but choices that its questions have. */
  viz.answersKept = (text, questions) => {
    let kept = {};
    try {
      kept = JSON.parse(text ?? "{}") ?? {};
    } catch {
      return {};
    }
    const good = questions.filter((q) => Number.isInteger(kept[q.id]) && kept[q.id] in q.choices);
    return Object.fromEntries(good.map((q) => [q.id, kept[q.id]]));
  };

  /** told: what the page knows; look(question, which): show its situation 0 or 1; veil(on): keep back what gives it away;
      host: where they stand, in a section of their own or under a heading that is there already. */
  viz.Questions = class {
    constructor(told, voice, look, veil, host = $("questions")) {
      Object.assign(this, { told, voice, look, veil, host, all: told.questions, name: `answers ${told.kept}` });
      this.answers = viz.answersKept(viz.kept(this.name), this.all);
      this.open = window.location.hash === EVERYTHING || viz.kept(`${this.name} open`) === "yes";
      this.at = Math.max(0, this.all.findIndex((q) => !(q.id in this.answers)));
      this.host.hidden = !this.all.length;
      if (this.all.length) this.write();
    }

    get predicting() {
      return !this.open && viz.score(this.all, this.answers).answered < this.all.length;
    }

    say(key, values = {}) { return this.voice.say(`page.question.${key}`, values); }

    /** Everything anew: for another question, another register, other units. */
    write() {
      const q = this.all[this.at];
      const host = viz.make("div", { class: "question" });
      this.status = viz.make("p", { class: "answer", role: "status", tabindex: "-1" });
      this.card = viz.make("div");
      host.append(this.place(), this.card, this.status);
      this.explained = viz.make("div", { class: "why" });
      host.append(this.explained, this.steps());
      const head = this.host.id === "questions" ? [viz.make("h2", {}, this.say("title"))] : [];
      this.host.replaceChildren(...head, host, this.foot(), this.paper());
      this.choices(q);
      if (q.id in this.answers) this.explain(q);
      this.veil(this.predicting);
    }

    place() {
      const { answered, right } = viz.score(this.all, this.answers);
      const at = viz.make("span", {}, this.say("place", { number: this.at + 1, count: this.all.length }));
      return viz.make("p", { class: "place" }, at, viz.make("span", {}, answered ? this.say("score", { right, answered }) : ""));
    }

    choices(q) {
      const known = this.answers[q.id];
      const done = known !== undefined;
      const boxes = viz.choiceWords(this.voice, q).map((words, k) => {
        const box = viz.make("input", { type: "radio", name: "choice", id: `choice-${k}`, value: k });
        box.checked = k === known;
        box.disabled = done;
        const marks = [k === q.right && "correct", k === known && "own"].filter((mark) => done && mark);
        const said = marks.map((mark) => viz.make("small", {}, this.say(mark)));
        const kind = [k === q.right ? "right" : "wrong", k === known ? "own" : "other"].join(" ");
        return viz.make("label", { class: done ? `choice ${kind}` : "choice" }, box, viz.make("span", {}, words), ...said);
      });
      const legend = viz.make("legend", {}, viz.promptWords(this.voice, q));
      this.card.replaceChildren(viz.make("fieldset", { class: done ? "done" : "", tabindex: "-1" }, legend, ...boxes));
      if (!done) this.card.append(this.sender(q));
    }

    sender(q) {
      const made = viz.button(this.say("predict"), () => this.predict(q));
      made.className = "primary";
      return made;
    }

    predict(q) {
      const box = this.card.querySelector("input:checked");
      if (!box) {
        this.status.textContent = this.say("choose");
        return;
      }
      this.answers[q.id] = Number(box.value);
      viz.keep(this.name, JSON.stringify(this.answers));
      this.write();
      this.status.focus();
      this.look(q, 1);
    }

    explain(q) {
      const { voice } = this;
      const right = this.answers[q.id] === q.right;
      this.status.textContent = `${this.say(right ? "yes" : "no")} ${viz.foundWords(voice, q)}`;
      const sentences = viz.whyWords(voice, q).map((text) => viz.make("p", {}, text));
      const seen = ["before", "after"].map((which, k) => viz.button(this.say(`see_${which}`), () => this.look(q, k)));
      const rows = q.alone ? seen.slice(1) : seen;
      this.explained.replaceChildren(viz.make("h3", {}, this.say("why")), ...sentences, viz.whyTable(voice, q), viz.make("div", { class: "row" }, ...rows));
    }

    steps() {
      const go = (by) => () => {
        this.at += by;
        this.write();
        this.host.querySelector("fieldset").focus();
      };
      const [back, on] = [viz.button(this.say("previous"), go(-1)), viz.button(this.say("next"), go(1))];
      back.disabled = this.at === 0;
      on.disabled = this.at === this.all.length - 1;
      return viz.make("div", { class: "turn" }, back, on);
    }

    foot() {
      const { answered, right } = viz.score(this.all, this.answers);
      const foot = viz.make("div", { class: "foot" });
      if (this.predicting) {
        foot.append(viz.make("p", { class: "quiet" }, this.say("veiled")), viz.button(this.say("everything"), () => this.uncover("yes")));
      } else if (answered === this.all.length) {
        foot.append(viz.make("p", {}, this.say("done", { right, count: answered })));
      }
      if (answered) foot.append(viz.button(this.say("again"), () => this.restart()));
      return foot;
    }

    uncover(open) {
      this.open = open === "yes";
      viz.keep(`${this.name} open`, open);
      this.write();
      this.host.querySelector("fieldset").focus();
    }

    restart() {
      this.answers = {};
      this.at = 0;
      viz.keep(this.name, null);
      this.uncover(null);
    }

    /** All prompts with boxes to tick, for a printed sheet. */
    paper() {
      const asked = this.all.map((q) => viz.make("li", {}, viz.promptWords(this.voice, q),
        viz.make("span", {}, ...viz.choiceWords(this.voice, q).map((words) => viz.make("span", {}, words)))));
      return viz.make("ol", { class: "paper" }, ...asked);
    }
  };
})(globalThis.viz ??= {});
