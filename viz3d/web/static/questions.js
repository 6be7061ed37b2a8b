/* Predict, then look: questions with their solved answers. */
"use strict";

((viz) => {
  const { $ } = viz;

  const question = (q, n, voice, answered) => {
    const ask = viz.make("p", { id: `question-${n}` }, `${n + 1}. `, viz.said(voice, q.ask));
    const said = viz.make("p", { class: "answer", role: "status" });
    const answer = (k) => {
      buttons[k].classList.add("chosen");
      buttons.forEach((one, i) => {
        one.disabled = true;
        one.setAttribute("aria-pressed", String(i === q.right));
      });
      const [before, after] = [q.before, q.after].map((share) => voice.bodyWeights(share));
      const told = voice.say(q.told, { before, after });
      said.textContent = voice.say(k === q.right ? "page.question.yes" : "page.question.no", { told });
      answered(q);
    };
    const buttons = q.choices.map((words, k) => viz.button(viz.said(voice, words), () => answer(k)));
    const row = viz.make("div", { class: "row", role: "group", "aria-labelledby": ask.id }, ...buttons);
    return viz.make("div", { class: "question" }, ask, row, said);
  };

  /** answered(question): show its pose. */
  viz.ask = (questions, voice, answered) => {
    $("asked").append(...questions.map((q, n) => question(q, n, voice, answered)));
    $("questions").hidden = !questions.length;
  };
})(globalThis.viz ??= {});
