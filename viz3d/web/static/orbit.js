/* The eye: named views, and turning, nearing and shifting by mouse, finger and keyboard. */
"use strict";

((viz) => {
  const VIEWS = { front: [0, 0], back: [Math.PI, 0], side: [Math.PI / 2, 0], turned: [0.61, 0.22], joint: [0.95, -0.5] };
  const REACH = { hip: 0.47, joint: 0.13, least: 0.04, most: 1.6 }; /* half the height seen, metres */
  const BELOW = 0.03; /* metres below the hip that the eye looks at */
  const AROUND = 1.07; /* a whole figure's room over its size */
  const FLOOR = 0.3; /* metres of floor around a figure that is seen from above, over the sine of how far above */
  const LEVEL = 0.02; /* rad above or below the horizon at which heights are true */
  const STEEPEST = 1.4; /* rad above or below the horizon */
  const PER_PIXEL = 0.008; /* rad */
  const PER_KEY = 0.12; /* rad */
  const FAR = 8; /* metres from the eye to the figure */
  const TURNS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

  /** The way from the figure to the eye, in the file's axes. */
  viz.wayToEye = (round, rise) => [Math.sin(round) * Math.cos(rise), Math.sin(rise), Math.cos(round) * Math.cos(rise)];

  /** Our axes (x ahead, y up, z to the person's right) as the file's root turns them. */
  viz.inFile = ([x, y, z]) => [-z, y, x];

  /** sign: +1 when the stance leg is the right one; changed(): the picture is out of date. */
  viz.Orbit = class {
    constructor(sign, changed) {
      this.sign = sign;
      this.changed = changed;
      this.framed = "hip";
      this.place("front");
    }

    /** A named view, from wherever the figure was turned. */
    view(name) {
      this.place(name);
      this.changed();
    }

    place(name) {
      const [round, rise] = VIEWS[name];
      this.named = name;
      this.round = round * (name === "back" ? 1 : -this.sign);
      this.rise = rise;
      this.reach = name === "joint" ? REACH.joint : REACH.hip;
      this.shift = [0, 0];
    }

    /** How much of the person is seen: "pelvis", "hip" or "whole". */
    frame(name) {
      this.framed = name;
      if (this.close) this.place("front");
      else Object.assign(this, { reach: REACH.hip, shift: [0, 0] });
      this.changed();
    }

    get close() { return this.named === "joint"; }

    /** How much of a sideways length is seen: 1 from the front, -1 from the back. */
    get across() { return Math.cos(this.round); }

    /** True where the figure is seen from the front or the back, or nearly. */
    get flat() { return Math.abs(this.across) >= 0.95; }

    /** True where heights are seen as they are. */
    get level() { return Math.abs(this.rise) < LEVEL; }

    /** The point of our world that the eye looks at. */
    middle(hip, told) {
      if (this.close) return hip;
      if (this.framed === "whole") return told.whole[0].map((low, i) => (low + told.whole[1][i]) / 2);
      return this.framed === "pelvis" ? told.pelvis.middle : [0, hip[1] - BELOW, told.middle];
    }

    /** Half the height seen, metres. */
    half(wide, tall, told) {
      const aspect = wide / tall;
      const least = Math.max(1, 0.95 / aspect);
      if (!this.close && this.framed === "pelvis") return told.pelvis.half * this.reach / REACH.hip * least;
      if (this.close || this.framed !== "whole") return this.reach * least;
      const [turned, up] = [Math.abs(Math.sin(this.round)), Math.abs(Math.sin(this.rise))];
      const [x, y, z] = told.whole[0].map((low, i) => (told.whole[1][i] - low) / 2 + (i === 1 ? 0 : FLOOR * up));
      const across = x * turned + z * Math.abs(this.across);
      const high = y * Math.cos(this.rise) + up * (x * Math.abs(this.across) + z * turned);
      return AROUND * Math.max(high, across / aspect) * this.reach / REACH.hip;
    }

    turn(round, rise) {
      if (!this.close) this.named = "";
      this.round += round;
      this.rise = viz.clamp(this.rise + rise, -STEEPEST, STEEPEST);
      this.changed();
    }

    zoom(by) {
      this.reach = viz.clamp(this.reach * by, REACH.least, REACH.most);
      this.changed();
    }

    /** By pixels of a canvas whose camera sees so many metres a pixel. */
    pan(dx, dy, metres) {
      this.shift = [this.shift[0] + dx * metres, this.shift[1] - dy * metres];
      this.changed();
    }

    /** Point a camera at the figure. */
    aim(camera, wide, tall, hip, told) {
      const [aspect, reach, place] = [wide / tall, this.half(wide, tall, told), this.middle(hip, told)];
      Object.assign(camera, { left: -reach * aspect, right: reach * aspect, top: reach, bottom: -reach });
      const centre = new THREE.Vector3(...viz.inFile(place));
      camera.position.copy(centre).addScaledVector(new THREE.Vector3(...viz.wayToEye(this.round, this.rise)), FAR);
      camera.up.set(0, 1, 0);
      camera.lookAt(centre);
      camera.updateMatrixWorld();
      const [right, up] = [0, 1].map((k) => new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, k));
      camera.position.addScaledVector(right, -this.shift[0]).addScaledVector(up, -this.shift[1]);
      camera.updateMatrixWorld();
      camera.updateProjectionMatrix();
    }

    /** What a key does; false where it does nothing. */
    press(key) {
      if (key in TURNS) this.turn(TURNS[key][0] * PER_KEY, TURNS[key][1] * PER_KEY);
      else if (key === "+" || key === "=") this.zoom(0.9);
      else if (key === "-") this.zoom(1 / 0.9);
      else if (key === "0" || key === "Home") this.view("front");
      else return false;
      return true;
    }
  };

  const apart = ([a, b]) => Math.hypot(a[0] - b[0], a[1] - b[1]);

  /** Fingers and mouse on a canvas move an orbit; metres(): metres a pixel. */
  const dragged = (canvas, orbit, metres) => {
    const down = new Map();
    const move = (e) => {
      const from = down.get(e.pointerId);
      if (!from) return;
      const [dx, dy] = [e.clientX - from[0], e.clientY - from[1]];
      const before = down.size === 2 ? apart([...down.values()]) : 0;
      down.set(e.pointerId, [e.clientX, e.clientY]);
      if (down.size === 2) orbit.zoom(before / Math.max(apart([...down.values()]), 1));
      if (down.size === 2 || e.shiftKey || e.buttons === 2) orbit.pan(dx / down.size, dy / down.size, metres());
      else orbit.turn(-dx * PER_PIXEL, dy * PER_PIXEL);
    };
    canvas.addEventListener("pointerdown", (e) => {
      canvas.setPointerCapture(e.pointerId);
      down.set(e.pointerId, [e.clientX, e.clientY]);
    });
    canvas.addEventListener("pointermove", move);
    for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (e) => down.delete(e.pointerId));
  };

  viz.steer = (canvas, orbit, metres) => {
    dragged(canvas, orbit, metres);
    canvas.addEventListener("contextmenu", (e) => e.preventDefault());
    canvas.addEventListener("dblclick", () => orbit.view("front"));
    canvas.addEventListener("keydown", (e) => {
      if (orbit.press(e.key)) e.preventDefault();
    });
    canvas.addEventListener("wheel", (e) => {
      e.preventDefault();
      orbit.zoom(Math.exp(e.deltaY * 0.001));
    }, { passive: false });
  };
})(globalThis.viz ??= {});
