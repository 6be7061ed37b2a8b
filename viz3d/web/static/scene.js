/* The figure in space: bones from the glTF file, arrows, lever arms and pressure; orbiting; and where points fall. */
(function (viz) {
  "use strict";

  var VIEWS = { front: [0, 0], back: [Math.PI, 0], side: [Math.PI / 2, 0], turned: [0.61, 0.22], joint: [0.95, -0.5] };
  var METRES, SHAFT, HEAD, POINT, UP = null;

  /** A figure in a canvas. told: what the page knows; glb: the bones' file as bytes. */
  viz.Figure = function (canvas, told, glb, ready, failed) {
    var me = this;
    this.told = told;
    METRES = told.arrow.weight;
    SHAFT = told.arrow.shaft;
    HEAD = told.arrow.head;
    POINT = told.arrow.point;
    this.canvas = canvas;
    this.layers = { bones: true, skin: true, weight: true, muscle: true, joint: true, cane: true, lever: true, pressure: true };
    this.onDraw = function () {};
    UP = new THREE.Vector3(0, 1, 0);
    try {
      this.renderer = new THREE.WebGLRenderer({ canvas: canvas, alpha: true, antialias: true, preserveDrawingBuffer: true });
    } catch (error) {
      failed("This browser cannot draw in three dimensions (WebGL is off). All numbers and the chart work without it.");
      return;
    }
    this.renderer.outputEncoding = THREE.sRGBEncoding;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.scene = new THREE.Scene();
    this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.01, 40);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0xb8ad98, 0.5));
    var key = new THREE.DirectionalLight(0xfff6e8, 0.58), fill = new THREE.DirectionalLight(0xecebea, 0.14);
    key.position.set(0.45, 0.85, 1);
    fill.position.set(-0.9, 0.15, 0.6);
    this.camera.add(key);
    this.camera.add(fill);
    this.scene.add(this.camera);
    this.centre = new THREE.Vector3();
    this.reach = 0.47;
    this.round = 0;
    this.rise = 0;
    this.shift = [0, 0];
    new THREE.GLTFLoader().parse(glb, "", function (file) {
      me.take(file);
      me.listen();
      me.resize();
      ready(me);
    }, function () { failed("The bones could not be read."); });
  };

  var P = viz.Figure.prototype;

  /** Other bones in the same view. */
  P.swap = function (glb, ready) {
    var me = this;
    new THREE.GLTFLoader().parse(glb, "", function (file) {
      me.scene.remove(me.file);
      me.file.traverse(function (o) {
        if (o.geometry) o.geometry.dispose();
        if (o.material) o.material.dispose();
      });
      me.take(file);
      ready();
    }, function () { return null; });
  };

  P.take = function (file) {
    var me = this, told = this.told;
    this.root = file.scene.getObjectByName("viz3d");
    this.scene.add(file.scene);
    this.file = file.scene;
    this.links = told.links.map(function (name) { return file.scene.getObjectByName(name); });
    this.shapes = [];
    file.scene.traverse(function (o) {
      if (!o.isMesh) return;
      o.frustumCulled = false;
      if (o.isSkinnedMesh) {
        o.material = rim(told.colours.shell_rim, told.colours.shell_fill);
        o.renderOrder = 5;
        me.skin = o;
      } else {
        o.material = new THREE.MeshLambertMaterial({ vertexColors: true });
        me.shapes.push(o);
      }
    });
    this.cartilage = this.shapes.filter(function (o) { return o.name === told.cartilage; })[0];
    if (this.cartilage) this.bare = this.cartilage.geometry.getAttribute("color").array.slice();
    this.arrows = {};
    this.lines = {};
    this.forces = new THREE.Group();
    this.root.add(this.forces);
  };

  /** A colour of ours in the linear numbers that the drawing library works with. */
  function tint(colour) { return new THREE.Color(colour).convertSRGBToLinear(); }

  /** Skin: nearly clear where it faces us, a soft line where it turns away. */
  function rim(edge, fill) {
    var m = new THREE.MeshPhongMaterial({ color: tint(fill), transparent: true, depthWrite: false, shininess: 0 });
    m.userData.edge = tint(edge);
    m.onBeforeCompile = function (shader) {
      shader.uniforms.edge = { value: m.userData.edge };
      shader.fragmentShader = "uniform vec3 edge;\n" + shader.fragmentShader.replace("#include <output_fragment>",
        "float away = pow(1.0 - abs(normalize(vNormal).z), 2.6);\n" +
        "gl_FragColor = vec4(mix(outgoingLight, edge, away), 0.10 + 0.52 * away);");
    };
    return m;
  }

  /** Put the body into a situation: c the columns, d what they add up to. */
  P.show = function (c, d) {
    if (!this.root) return;
    var me = this, told = this.told, l = c.links;
    this.links.forEach(function (node, k) {
      if (!node) return;
      node.position.set(l[7 * k], l[7 * k + 1], l[7 * k + 2]);
      if (me.named === "joint" && told.drawnOut.indexOf(told.links[k]) >= 0) {
        node.position.y += told.drawnBy[1];
        node.position.z += told.drawnBy[2] * told.sign;
      }
      node.quaternion.set(l[7 * k + 3], l[7 * k + 4], l[7 * k + 5], l[7 * k + 6]).normalize();
    });
    var close = this.named === "joint";
    this.shapes.forEach(function (o) {
      var group = o.userData.group, aid = told.aids[o.userData.side];
      if (group === "hand") o.visible = !aid;
      else if (group === "hand_grip") o.visible = !!aid;
      else if (told.aidGroups.indexOf(group) >= 0) o.visible = told.aidGroup[aid] === group;
      if (["hand", "hand_grip"].indexOf(group) < 0 && told.aidGroups.indexOf(group) < 0) o.visible = me.layers.bones;
      if (close) o.visible = o.visible && (group === "pelvis" || o.name === told.femur);
    });
    if (this.skin) this.skin.visible = this.layers.skin && !close;
    this.last = [c, d];
    this.hip = new THREE.Vector3(d.hip[0], d.hip[1], d.hip[2]);
    this.showForces(d);
    this.showPressure(d);
    this.draw();
  };

  P.has = function (role) {
    return this.layers[role === "hand" || role === "ground" || role === "load" ? "cane" : role];
  };

  P.showForces = function (d) {
    var me = this, told = this.told, seen = {};
    d.arrows.forEach(function (a) {
      var one = me.arrows[a.key] || (me.arrows[a.key] = me.makeArrow(told.colours[a.role]));
      var length = viz.norm(a.force) * METRES / told.bw;
      seen[a.key] = true;
      one.visible = me.has(a.role) && length > 0.004 && (me.named !== "joint" || a.key === "joint");
      if (!one.visible) return;
      var way = new THREE.Vector3().fromArray(a.force).normalize(), tail = new THREE.Vector3().fromArray(a.at);
      if (a.tip) tail.addScaledVector(way, -length);
      var slim = Math.max(0.25, Math.min(me.named === "joint" ? 0.45 : 1, length / (2 * POINT)));
      one.position.copy(tail);
      one.quaternion.setFromUnitVectors(UP, way);
      one.children[0].scale.set(slim, Math.max(length - POINT * slim, 1e-4), slim);
      one.children[1].position.y = Math.max(length - POINT * slim, 1e-4);
      one.children[1].scale.setScalar(slim);
      a.tail = tail.toArray();
      a.end = tail.clone().addScaledVector(way, length).toArray();
    });
    Object.keys(this.arrows).forEach(function (k) { if (!seen[k]) me.arrows[k].visible = false; });
    seen = {};
    d.levers.filter(function (v) { return !v.told; }).forEach(function (v) {
      var owner = d.arrows.filter(function (a) { return a.key === v.of; })[0];
      var one = me.lines[v.key] || (me.lines[v.key] = me.makeLine(told.colours.ink));
      seen[v.key] = true;
      one.visible = me.layers.lever && me.foreshortening() >= 0.95 && me.named !== "joint" && me.has(v.role) && owner && viz.norm(owner.force) > 0.004 * told.bw;
      var a = v.from.slice(), b = v.to.slice();
      if (v.drop !== null) {
        a = [b[0], d.hip[1] - v.drop, v.from[2]];
        b = [b[0], d.hip[1] - v.drop, v.to[2]];
      }
      v.a = a;
      v.b = b;
      if (one.visible) me.setLine(one, a, b, v.drop === null ? null : [v.from, v.to]);
    });
    Object.keys(this.lines).forEach(function (k) { if (!seen[k]) me.lines[k].visible = false; });
  };

  P.makeArrow = function (colour) {
    var paint = new THREE.MeshLambertMaterial({ color: tint(colour), emissive: tint(colour), emissiveIntensity: 0.25, depthTest: false, transparent: true });
    var rod = new THREE.CylinderGeometry(SHAFT, SHAFT, 1, 20).translate(0, 0.5, 0);
    var cone = new THREE.ConeGeometry(HEAD, POINT, 28).translate(0, POINT / 2, 0);
    var out = new THREE.Group();
    [rod, cone].forEach(function (g) {
      var mesh = new THREE.Mesh(g, paint);
      mesh.renderOrder = 8;
      mesh.frustumCulled = false;
      out.add(mesh);
    });
    this.forces.add(out);
    return out;
  };

  P.makeLine = function (colour) {
    var paint = new THREE.LineBasicMaterial({ color: tint(colour), depthTest: false, transparent: true });
    var out = new THREE.LineSegments(new THREE.BufferGeometry(), paint);
    out.geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(30), 3));
    out.renderOrder = 7;
    out.frustumCulled = false;
    this.forces.add(out);
    return out;
  };

  /** A dimension line from a to b with end ticks; above: points whose lines of action come down to it. */
  P.setLine = function (line, a, b, above) {
    var p = line.geometry.getAttribute("position"), v = [];
    var dx = b[1] - a[1], dz = b[2] - a[2], n = Math.hypot(dx, dz) || 1, t = 0.008;
    var tick = [0, -dz / n * t, dx / n * t];
    function seg(u, w) { v.push(u[0], u[1], u[2], w[0], w[1], w[2]); }
    function off(u, s) { return [u[0], u[1] + s * tick[1], u[2] + s * tick[2]]; }
    seg(a, b);
    seg(off(a, -1), off(a, 1));
    seg(off(b, -1), off(b, 1));
    if (above) {
      seg(off(a, 1), [a[0], above[0][1], a[2]]);
      seg(off(b, 1), [b[0], above[1][1], b[2]]);
    } else {
      seg(a, a);
      seg(b, b);
    }
    p.array.set(v);
    p.needsUpdate = true;
  };

  /** Colour of the socket's cartilage: the solved field at each of its points. */
  P.showPressure = function (d) {
    if (!this.cartilage) return;
    var told = this.told, g = this.cartilage.geometry, colour = g.getAttribute("color");
    var at = g.getAttribute("position"), normal = g.getAttribute("normal");
    var out = colour.array, bare = this.bare, top = out instanceof Uint8Array ? 255 : 1;
    out.set(bare);
    if (this.layers.pressure && !d.lost && isFinite(d.peak) && d.peak > 0) {
      var pelvis = this.links[told.links.indexOf("pelvis")];
      var turn = new THREE.Matrix4().makeRotationFromQuaternion(pelvis.quaternion);
      var v = new THREE.Vector3(), n = new THREE.Vector3(), s = told.sign;
      var sp = Math.sin(d.pole), cp = Math.cos(d.pole), edge = d.edge + told.rim;
      for (var k = 0; k < at.count; k++) {
        v.fromBufferAttribute(at, k);
        if (d.displacement) {
          v.applyMatrix4(pelvis.matrix.compose(pelvis.position, pelvis.quaternion, pelvis.scale)).sub(this.hip).normalize();
        } else {
          v.applyQuaternion(pelvis.quaternion).add(pelvis.position).sub(this.hip).normalize();
        }
        n.fromBufferAttribute(normal, k).applyMatrix4(turn);
        if (n.dot(v) >= -0.35) continue;
        var pascals;
        if (d.displacement) {
          var u = v.clone().applyQuaternion(pelvis.quaternion.clone().invert());
          pascals = Math.max(0, u.x * d.displacement[0] + u.y * d.displacement[1] + s * u.z * d.displacement[2]);
        } else {
          var lateral = s * v.z, toward = lateral * sp + v.y * cp, across = lateral * cp - v.y * sp;
          pascals = Math.atan2(across, toward) > edge - d.pole + 1e-9 ? 0 : d.polePressure * Math.max(toward, 0);
        }
        if (pascals <= 0) continue;
        var c = viz.pressureColour(told, pascals);
        for (var i = 0; i < 3; i++) out[4 * k + i] = Math.round(top === 255 ? 255 * c[i] : c[i] * 1e6) / (top === 255 ? 1 : 1e6);
      }
    }
    colour.needsUpdate = true;
  };

  /** Linear colour of a pressure, from the page's own table of the picture's colours. */
  viz.pressureColour = function (told, pascals) {
    var k = Math.floor(255 * (pascals - told.range[0]) / (told.range[1] - told.range[0]));
    var c = pascals > told.range[1] ? told.over : told.ramp.subarray(3 * Math.max(0, Math.min(255, k)), 3 * Math.max(0, Math.min(255, k)) + 3);
    return [0, 1, 2].map(function (i) {
      var s = c[i] / 255;
      return s <= 0.04045 ? s / 12.92 : Math.pow((s + 0.055) / 1.055, 2.4);
    });
  };

  /* ---- camera ---- */

  /** A named view; returns to it from wherever the figure was turned. */
  P.view = function (name) {
    var way = VIEWS[name];
    this.named = name;
    this.round = way[0] * (name === "back" ? 1 : -this.told.sign);
    this.rise = way[1];
    this.reach = name === "joint" ? 0.13 : 0.47;
    if (this.last) this.show(this.last[0], this.last[1]);
    this.shift = [0, 0];
    this.draw();
  };

  P.resize = function () {
    if (!this.renderer) return;
    var box = this.canvas.parentNode.getBoundingClientRect();
    this.wide = Math.max(1, box.width);
    this.tall = Math.max(1, box.height);
    this.renderer.setSize(this.wide, this.tall, false);
    this.draw();
  };

  P.aim = function () {
    var aspect = this.wide / this.tall, reach = this.reach * Math.max(1, 0.95 / aspect);
    this.camera.left = -reach * aspect;
    this.camera.right = reach * aspect;
    this.camera.top = reach;
    this.camera.bottom = -reach;
    /* our x is ahead, y up, z to the person's right; the file's root turns them: x_file = -z, z_file = x */
    var mid = this.named === "joint" && this.hip ? this.hip : new THREE.Vector3(0, (this.hip ? this.hip.y : 0.9) - 0.03, this.told.middle);
    var c = new THREE.Vector3(-mid.z, mid.y, mid.x);
    var way = new THREE.Vector3(Math.sin(this.round) * Math.cos(this.rise), Math.sin(this.rise), Math.cos(this.round) * Math.cos(this.rise));
    this.camera.position.copy(c).addScaledVector(way, 8);
    this.camera.up.set(0, 1, 0);
    this.camera.lookAt(c);
    this.camera.updateMatrixWorld();
    var right = new THREE.Vector3().setFromMatrixColumn(this.camera.matrixWorld, 0);
    var up = new THREE.Vector3().setFromMatrixColumn(this.camera.matrixWorld, 1);
    this.camera.position.addScaledVector(right, -this.shift[0]).addScaledVector(up, -this.shift[1]);
    this.camera.updateMatrixWorld();
    this.camera.updateProjectionMatrix();
  };

  /** How much shorter a sideways length looks: 1 from the front and the back. */
  P.foreshortening = function () { return Math.abs(Math.cos(this.round)); };

  P.draw = function () {
    if (!this.renderer || !this.root || this.waiting) return;
    var me = this;
    this.waiting = true;
    window.requestAnimationFrame(function () {
      me.waiting = false;
      me.paint();
    });
  };

  P.paint = function () {
    this.aim();
    this.renderer.render(this.scene, this.camera);
    this.onDraw(this);
  };

  /** Where a point of our world falls on the canvas, in CSS pixels. */
  P.project = function (point) {
    var v = new THREE.Vector3(-point[2], point[1], point[0]).project(this.camera);
    return [(v.x + 1) / 2 * this.wide, (1 - v.y) / 2 * this.tall];
  };

  P.listen = function () {
    var me = this, down = {}, c = this.canvas;
    function many() { return Object.keys(down).length; }
    function spread() {
      var k = Object.keys(down);
      return Math.hypot(down[k[0]][0] - down[k[1]][0], down[k[0]][1] - down[k[1]][1]);
    }
    c.addEventListener("pointerdown", function (e) {
      c.setPointerCapture(e.pointerId);
      down[e.pointerId] = [e.clientX, e.clientY];
    });
    c.addEventListener("pointermove", function (e) {
      var from = down[e.pointerId];
      if (!from) return;
      var before = many() === 2 ? spread() : 0, dx = e.clientX - from[0], dy = e.clientY - from[1];
      down[e.pointerId] = [e.clientX, e.clientY];
      if (many() === 2) me.zoom(before / Math.max(spread(), 1));
      if (many() === 2 || e.shiftKey || e.buttons === 2) me.pan(dx / many(), dy / many());
      else me.turn(-dx * 0.008, dy * 0.008);
    });
    ["pointerup", "pointercancel"].forEach(function (name) {
      c.addEventListener(name, function (e) { delete down[e.pointerId]; });
    });
    c.addEventListener("contextmenu", function (e) { e.preventDefault(); });
    c.addEventListener("wheel", function (e) {
      e.preventDefault();
      me.zoom(Math.exp(e.deltaY * 0.001));
    }, { passive: false });
    c.addEventListener("dblclick", function () { me.view("front"); });
    c.addEventListener("keydown", function (e) {
      var step = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.12], ArrowDown: [0, -0.12] }[e.key];
      if (step) me.turn(step[0], step[1]);
      else if (e.key === "+" || e.key === "=") me.zoom(0.9);
      else if (e.key === "-") me.zoom(1 / 0.9);
      else if (e.key === "0" || e.key === "Home") me.view("front");
      else return;
      e.preventDefault();
    });
    if (window.ResizeObserver) new ResizeObserver(function () { me.resize(); }).observe(c.parentNode);
    window.addEventListener("resize", function () { me.resize(); });
  };

  P.turn = function (round, rise) {
    var flat = this.foreshortening() >= 0.95;
    if (this.named !== "joint") this.named = "";
    this.round += round;
    this.rise = Math.max(-1.4, Math.min(1.4, this.rise + rise));
    if (flat !== this.foreshortening() >= 0.95 && this.last) this.showForces(this.last[1]);
    this.draw();
  };
  P.zoom = function (by) {
    this.reach = Math.max(0.04, Math.min(1.6, this.reach * by));
    this.draw();
  };
  P.pan = function (dx, dy) {
    var unit = 2 * this.camera.top / this.tall;
    this.shift = [this.shift[0] + dx * unit, this.shift[1] - dy * unit];
    this.draw();
  };
})(window.viz);
