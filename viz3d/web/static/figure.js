/* The figure in space: bones from the glTF file with their forces and pressure, and where points fall on the canvas. */
"use strict";

((viz) => {
  const [SKY, GROUND, AROUND] = [0xffffff, 0xb8ad98, 0.5 * Math.PI]; /* a surface sends back a share of the light over pi */
  const LIGHTS = [[0xfff6e8, 0.58 * Math.PI, [0.45, 0.85, 1]], [0xecebea, 0.14 * Math.PI, [-0.9, 0.15, 0.6]]];
  const HANDS = ["hand", "hand_grip"];
  const BELOW = 0.03; /* metres below the hip that the eye looks at */

  /** Skin: nearly clear where it faces us, a soft line where it turns away. */
  const rim = (edge, fill) => {
    const paint = new THREE.MeshPhongMaterial({ color: viz.tint(fill), transparent: true, depthWrite: false, shininess: 0 });
    paint.onBeforeCompile = (shader) => {
      shader.uniforms.edge = { value: viz.tint(edge) };
      const drawn = shader.fragmentShader.replace("#include <opaque_fragment>", `
        float away = pow(1.0 - abs(normalize(vNormal).z), 2.6);
        gl_FragColor = vec4(mix(outgoingLight, edge, away), 0.10 + 0.52 * away);`);
      shader.fragmentShader = `uniform vec3 edge;\n${drawn}`;
    };
    return paint;
  };

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

  /** A figure in a canvas. told: what the page knows; glb: the bones' file as bytes; throws without WebGL. */
  viz.Figure = class {
    constructor(canvas, told, glb, ready, failed) {
      this.told = told;
      this.canvas = canvas;
      this.layers = { bones: true, skin: true, weight: true, muscle: true, joint: true, cane: true, lever: true, pressure: true };
      this.onDraw = () => {};
      this.renderer = new THREE.WebGLRenderer({ canvas, alpha: true, antialias: true, preserveDrawingBuffer: true });
      this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
      this.scene = new THREE.Scene();
      this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.01, 40);
      lit(this.scene, this.camera);
      this.orbit = new viz.Orbit(told.sign, () => this.turned());
      this.read(glb, () => {
        this.listen();
        this.resize();
        ready(this);
      }, failed);
    }

    read(glb, done, failed) {
      new THREE.GLTFLoader().parse(glb, "", (file) => {
        this.take(file.scene);
        done();
      }, failed);
    }

    /** Other bones in the same view. */
    swap(glb, ready) {
      this.read(glb, ready, () => null);
    }

    /** Let go of the bones shown. */
    drop() {
      this.scene.remove(this.file);
      this.file.traverse((o) => {
        o.geometry?.dispose();
        o.material?.dispose();
      });
    }

    take(file) {
      const { told } = this;
      if (this.file) this.drop();
      this.file = file;
      this.scene.add(file);
      this.root = file.getObjectByName("viz3d");
      this.links = told.links.map((name) => file.getObjectByName(name));
      this.shapes = [];
      file.traverse((o) => {
        if (o.isMesh) this.dress(o);
      });
      this.cartilage = this.shapes.find((o) => o.name === told.cartilage);
      this.bare = this.cartilage?.geometry.getAttribute("color").array.slice();
      this.isobars = viz.isobars();
      this.cartilage?.add(this.isobars);
      this.forces = new viz.Forces(told);
      this.turns = new viz.Turns(told);
      this.root.add(this.forces.group, this.turns.group);
    }

    dress(mesh) {
      const { colours } = this.told;
      mesh.frustumCulled = false;
      if (mesh.isSkinnedMesh) {
        mesh.material = rim(colours.shell_rim, colours.shell_fill);
        mesh.renderOrder = 5;
        this.skin = mesh;
      } else {
        const kind = mesh.name === this.told.cartilage ? THREE.MeshBasicMaterial : THREE.MeshLambertMaterial;
        mesh.material = new kind({ vertexColors: true }); /* pressure keeps the legend's colours, whatever the light */
        this.shapes.push(mesh);
      }
    }

    /** Put the body into a situation. */
    show(d) {
      if (!this.root) return;
      this.last = d;
      this.hip = d.hip;
      this.pose(d.links);
      this.choose(d.aids);
      this.forces.show(d, this.layers, this.orbit);
      this.turns.show(d, this.layers, this.orbit);
      const pelvis = this.links[this.told.links.indexOf("pelvis")];
      if (this.cartilage) viz.paintPressure(this.cartilage, this.isobars, this.bare, pelvis, this.layers.pressure ? d : null, this.told);
      this.draw();
    }

    pose(links) {
      const { told } = this;
      this.links.forEach((node, k) => {
        if (!node) return;
        const [x, y, z, ...turn] = links.slice(7 * k, 7 * k + 7);
        const out = this.orbit.close && told.drawnOut.includes(told.links[k]) ? told.drawnBy : [0, 0, 0];
        node.position.set(x, y + out[1], z + out[2] * told.sign);
        node.quaternion.set(...turn).normalize();
      });
    }

    /** Which bones and aids are seen. */
    choose(aids) {
      const { told, layers, orbit } = this;
      for (const o of this.shapes) {
        const { group, side } = o.userData;
        const held = aids[side];
        if (HANDS.includes(group)) o.visible = (group === "hand") === !held;
        else if (told.aidGroups.includes(group)) o.visible = told.aidGroup[held] === group;
        else o.visible = layers.bones;
        if (orbit.close) o.visible &&= group === "pelvis" || (group === "thigh" && side === told.stance);
      }
      if (this.skin) this.skin.visible = layers.skin && !orbit.close;
    }

    /** The eye has moved: what depends on where from is brought up to date. */
    turned() {
      const seen = `${this.orbit.named} ${this.orbit.flat}`;
      if (this.last && seen !== this.seen) this.show(this.last);
      this.seen = seen;
      this.draw();
    }

    resize() {
      const box = this.canvas.parentNode.getBoundingClientRect();
      this.wide = Math.max(1, box.width);
      this.tall = Math.max(1, box.height);
      this.renderer.setSize(this.wide, this.tall, false);
      this.draw();
    }

    aim() {
      const [, height] = this.hip ?? [0, 0.9, 0];
      const place = this.orbit.close && this.hip ? this.hip : [0, height - BELOW, this.told.middle];
      this.orbit.aim(this.camera, this.wide, this.tall, place);
    }

    draw() {
      if (!this.root || this.waiting) return;
      this.waiting = true;
      window.requestAnimationFrame(() => {
        this.waiting = false;
        this.paint();
      });
    }

    paint() {
      this.aim();
      this.renderer.render(this.scene, this.camera);
      this.onDraw(this);
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
