/* The figure in space: a body of the glTF file with its forces and pressure, and where points fall on the canvas. */
"use strict";

((viz) => {
  const [COARSE, FINE] = [1, 2]; /* dots to a pixel: without smoothed edges, and twice as fine, which smooths them */
  const [REST, QUICK] = [450, 24]; /* ms without motion until the fine picture; ms that it may take to be always drawn */
  const TIMED = 3; /* fine pictures that are timed, at most */
  const [SKY, GROUND, AROUND] = [0xffffff, 0xb8ad98, 0.5 * Math.PI]; /* a surface sends back a share of the light over pi */
  const LIGHTS = [[0xfff6e8, 0.58 * Math.PI, [0.45, 0.85, 1]], [0xecebea, 0.14 * Math.PI, [-0.9, 0.15, 0.6]]];

  /** The colour of a light: its numbers are amounts of light, and are taken as they are. */
  const glow = (colour) => new THREE.Color().setHex(colour, THREE.LinearSRGBColorSpace);

  const lit = (scene, camera) => {
    scene.add(new THREE.HemisphereLight(glow(SKY), glow(GROUND), AROUND), camera);
    for (const [colour, strength, place] of LIGHTS) {
      const light = new THREE.DirectionalLight(glow(colour), strength);
      light.position.set(...place);
      camera.add(light);
    }
  };

  /** How much of each colour a surface sends back with its normal n, in GLSL: what the lamps below do, point for point;
      for skin, which is worked out at its corners and not at every dot. */
  viz.shade = () => {
    const three = (some) => `vec3(${some.map((x) => x.toFixed(5)).join(", ")})`;
    const share = (hex, strength) => three(glow(hex).toArray().map((x) => x * strength / Math.PI));
    const lamps = LIGHTS.map(([colour, strength, place]) => `${share(colour, strength)} * max(dot(n, normalize(${three(place)} - viewMatrix[3].xyz)), 0.0)`); /* a lamp shines on the world's middle */
    const sky = `mix(${share(GROUND, AROUND)}, ${share(SKY, AROUND)}, 0.5 * dot(n, (viewMatrix * vec4(0.0, 1.0, 0.0, 0.0)).xyz) + 0.5)`;
    return [sky, ...lamps].join(" + ");
  };

  /** A figure in a canvas. told: what the page knows; glb: the bodies' file as bytes; throws without WebGL. */
  viz.Figure = class {
    constructor(canvas, told, glb, ready, failed, made) {
      this.told = told;
      this.canvas = canvas;
      this.layers = { bones: true, skin: true, weight: true, muscle: true, joint: true, cane: true, lever: true, pressure: true };
      this.onDraw = () => {};
      this.awaits = () => false; /* whether another picture is on its way */
      this.bodies = [];
      this.renderer = new THREE.WebGLRenderer({ canvas, alpha: true, preserveDrawingBuffer: true });
      this.renderer.debug.checkShaderErrors = false; /* asking would wait for each of them */
      this.renderer.setPixelRatio(COARSE);
      Object.assign(this, { slow: true, timed: 0 }); /* until a fine picture was timed */
      this.scene = new THREE.Scene();
      this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.01, 40);
      lit(this.scene, this.camera);
      this.orbit = new viz.Orbit(told.sign, () => this.turned());
      this.forces = new viz.Forces(told);
      this.turns = new viz.Turns(told);
      this.floor = new viz.Floor(told);
      this.read(glb, () => {
        this.listen();
        this.resize();
        ready(this);
      }, failed, made);
    }

    /** made: the stature that its bones are of, where the page's may have moved on. */
    read(glb, done, failed, made) {
      new THREE.GLTFLoader().parse(glb, "", (file) => {
        const [had, first] = [this.body?.worn, !this.bodies.length];
        for (const body of this.bodies) body.drop();
        this.body?.scene.removeFromParent();
        this.bodies = file.scenes.map((scene) => Object.assign(new viz.Body(scene, this.told), { made }));
        this.body = null;
        this.wear(0);
        if (first || (this.body.worn && !had)) this.frame();
        this.renderer.compile(this.scene, this.camera); /* all at once, before the first of them is waited for */
        done();
      }, failed);
    }

    /** As much of the person as the scene asks for; of somebody in clothes, or walking, the whole. */
    frame() {
      const { frame, walks } = this.told;
      this.orbit.framed = frame ?? (this.body.worn || walks ? "whole" : this.orbit.framed);
    }

    /** Other bones in the same view. */
    swap(glb, ready, made) {
      this.read(glb, ready, () => null, made);
    }

    /** Another body of the file. */
    wear(index) {
      const body = this.bodies[index];
      if (!body || body === this.body) return;
      this.body?.scene.removeFromParent();
      this.body = body;
      this.scene.add(body.scene);
      body.root.add(this.forces.group, this.turns.group, this.floor.group);
    }

    get root() { return this.body?.root; }

    get shapes() { return this.body.shapes; }

    get links() { return this.told.links.map((name) => this.body.nodes[name]); }

    get cartilage() { return this.body.cartilage; }

    get isobars() { return this.body.isobars; }

    /** In the colours that the page knows now. */
    repaint() {
      for (const one of [...this.bodies, this.forces, this.turns, this.floor]) one.repaint(this.told);
      this.again();
    }

    /** Put the body into a situation. */
    show(d) {
      if (!this.body) return;
      const { told, layers, orbit } = this;
      this.last = d;
      this.hip = d.hip;
      orbit.sign = told.sign;
      this.body.pose(d, told, orbit);
      this.body.choose(d, layers, orbit, told);
      this.forces.show(d, layers, orbit, this.window);
      this.turns.show(d, layers, orbit);
      this.floor.show(orbit);
      this.body.load(layers.pressure ? d : null, told);
      this.draw();
    }

    again() {
      if (this.last) this.show(this.last);
    }

    /** Heights between which a figure that is seen level is in sight, metres; null where it is seen from above. */
    get window() {
      const { orbit } = this;
      if (!orbit.level || orbit.close) return null;
      const half = orbit.half(this.wide, this.tall, this.told);
      const middle = orbit.middle(this.hip, this.told)[1] + orbit.shift[1];
      return [middle - half, middle + half];
    }

    /** The eye has moved: what depends on where from is brought up to date. */
    turned() {
      const { named, framed, flat, reach, level, shift } = this.orbit;
      const seen = `${named} ${framed} ${flat} ${reach} ${level} ${shift[1]}`;
      if (seen !== this.seen) this.again();
      this.seen = seen;
      this.draw();
    }

    resize() {
      const box = this.canvas.parentNode.getBoundingClientRect();
      this.wide = Math.max(1, box.width);
      this.tall = Math.max(1, box.height);
      this.renderer.setSize(this.wide, this.tall, false);
      this.again();
      this.draw();
    }

    /** Soon; where the machine is slow, coarse while something moves and fine once it rests. */
    draw() {
      if (!this.body || this.waiting) return;
      this.waiting = true;
      window.requestAnimationFrame(() => {
        this.waiting = false;
        this.dots(this.slow ? COARSE : FINE);
        this.paint();
        clearTimeout(this.resting);
        if (this.slow) this.resting = setTimeout(() => this.rest(), REST);
      });
    }

    /** Dots of the picture to a pixel of the page. */
    dots(count) {
      if (this.renderer.getPixelRatio() !== count) this.renderer.setPixelRatio(count);
    }

    /** The fine picture of what rests; how long it takes says whether every picture may be as fine. */
    rest() {
      if (!this.body || this.waiting || document.body.dataset.paper === "yes") return;
      if (this.awaits()) {
        this.resting = setTimeout(() => this.rest(), REST);
        return;
      }
      const begun = performance.now();
      this.dots(FINE);
      this.render();
      if (this.timed > TIMED) return;
      this.timed += 1;
      const gl = this.renderer.getContext();
      gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4)); /* waits until it is there */
      this.slow = performance.now() - begun > QUICK;
    }

    paint() {
      this.orbit.aim(this.camera, this.wide, this.tall, this.hip ?? [0, 0.9, 0], this.told);
      this.render();
      this.onDraw(this);
    }

    render() {
      if (this.hip) this.body.worn?.aim(this, this.renderer.getPixelRatio());
      this.renderer.render(this.scene, this.camera);
    }

    /** Pixels of a metre across the line of sight. */
    get scale() { return this.tall / (2 * this.camera.top); }

    /** Where a point of our world falls on the canvas, in CSS pixels. */
    project(point) {
      const v = new THREE.Vector3(...viz.inFile(point)).project(this.camera);
      return [(v.x + 1) / 2 * this.wide, (1 - v.y) / 2 * this.tall];
    }

    listen() {
      viz.steer(this.canvas, this.orbit, () => 1 / this.scale);
      if (window.ResizeObserver) new ResizeObserver(() => this.resize()).observe(this.canvas.parentNode);
      window.addEventListener("resize", () => this.resize());
    }
  };
})(globalThis.viz ??= {});
