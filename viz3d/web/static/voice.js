/* What the page says: words of the catalogue in a register, numbers in a unit. Nothing here touches the page. */
"use strict";

((viz) => {
  const DEGREES = 180 / Math.PI;

  /** A number with so many decimals, a true minus sign, never a negative zero. */
  viz.rounded = (value, digits, point = ".") => {
    const text = value.toFixed(digits);
    const shown = parseFloat(text) === 0 ? (0).toFixed(digits) : text;
    return shown.replace("-", "\u2212").replace(".", point);
  };

  /** Decimals that tell numbers so far apart from each other. */
  viz.digits = (apart) => (apart < 0.1 ? 2 : apart < 1 ? 1 : 0);

  /** A text with its placeholders {name} filled in. */
  viz.filled = (text, values) => text.replace(/\{(\w+)\}/g, (hole, name) => {
    if (!(name in values)) throw new Error(`nothing given for ${hole} in "${text}"`);
    return values[name];
  });

  viz.Voice = class {
    constructor(speech) {
      this.speak(speech);
      this.register = speech.register;
      this.unit = speech.unit;
    }

    /** Another language. words: register -> key -> text; point: the decimal sign; units: {size, sign, digits} each. */
    speak({ language, words, point, units }) {
      Object.assign(this, { language, texts: words, point, units });
    }

    /** True where a key has words. */
    has(key) { return key in this.texts[this.register]; }

    /** The words of a key. */
    say(key, values = {}) {
      const text = this.texts[this.register][key];
      if (text === undefined) throw new Error(`no words for "${key}"`);
      return viz.filled(text, values);
    }

    number(value, digits) { return viz.rounded(value, digits, this.point); }

    bodyWeights(share) { return `${this.number(share, 2)} BW`; }

    /** A force in newtons as it is written beside body weights. */
    absolute(newtons) { return this.written(newtons, this.units.force); }

    length(metres) { return this.written(metres, this.units.length); }

    written(value, { size, sign, digits }) { return `${this.number(value / size, digits)}${sign}`; }

    /** A force as a bare number of the unit shown; weight: the body weight in newtons. */
    share({ newtons, weight }) { return newtons / (this.unit === "BW" ? weight : this.units.force.size); }

    get sign() { return this.unit === "BW" ? "BW" : this.units.force.sign.trim(); }

    /** A force in the unit shown; weight: the body weight in newtons. */
    force(newtons, weight) {
      return this.unit === "BW" ? this.bodyWeights(newtons / weight) : this.absolute(newtons);
    }

    angle(radians) { return `${this.number(radians * DEGREES, 1)}\u00b0`; }

    moment(newtonMetres) { return this.written(newtonMetres, this.units.moment); }

    megapascals(pascals) { return `${this.number(pascals * 1e-6, 2)} MPa`; }

    /** So many times, whole from ``whole`` on, else with one decimal where it is not nought. */
    times(ratio, whole) { return this.number(ratio, ratio >= whole || Math.round(ratio * 10) % 10 === 0 ? 0 : 1); }

    percent(share) { return `${this.number(100 * share, 0)} %`; }
  };

  /* Growth to so many times and more is said in times, from WHOLE_FROM on in whole ones: as words/change.py says it. */
  const TIMES_FROM = 2, WHOLE_FROM = 5;

  /** How a number differs from an earlier one: way, "less", "more" or "times", and its hole in words. */
  viz.changeOf = (voice, before, after) => {
    const ratio = after / before;
    if (before > 0 && ratio >= TIMES_FROM) return { way: "times", hole: { times: voice.times(ratio, WHOLE_FROM) } };
    return { way: after < before ? "less" : "more", hole: { share: voice.percent(Math.abs((after - before) / before)) } };
  };

  /** How two forces compare, in the unit shown: then and now {newtons, weight}; since: "start" or "before". */
  viz.compared = (voice, now, then, since) => {
    const [a, b] = [now, then].map((one) => voice.share(one));
    const share = Math.abs(a - b) / b;
    if (share < 0.005) return voice.say(`page.change.same_${since}`);
    const by = Math.abs(a - b);
    const size = voice.unit === "BW" ? voice.bodyWeights(by) : voice.absolute(by * voice.units.force.size);
    const { way, hole } = viz.changeOf(voice, b, a);
    return voice.say(`page.change.${way}_${since}`, { size, ...hole });
  };
})(globalThis.viz ??= {});
