/* Arrows and lever arms in space. */
"use strict";

((viz) => {
  const LEAST = 0.004; /* metres of an arrow, and body weights of a lever's force, that are drawn */
  const UPRIGHT = 0.02; /* an upright force's way aside over its way up, at most */
  const SEEN = 0.03; /* of the height in sight, kept free at its ends */
  const TICK = 0.008; /* half an end tick, metres */
  const LAYER = { hand: "cane", ground: "cane", load: "cane" };

  /** A colour of ours in the linear numbers that the drawing library works with. */
  viz.tint = (colour) => new THREE.Color(colour);

  /** The layer that shows a role. */
  viz.layerOf = (role) => LAYER[role] ?? role;

  /** Where an arrow begins and ends in the world; perWeight: metres of one body weight. */
  viz.ends = (arrow, weight, perWeight) => {
    const reach = arrow.force.map((x) => x * perWeight / weight);
    const tail = arrow.tip ? arrow.at.map((x, i) => x - reach[i]) : arrow.at;
    return { tail, end: tail.map((x, i) => x + reach[i]) };
  };

  /** An upright arrow outside the heights in sight, moved along its line of action until it is seen. */
  viz.slid = ({ tail, end }, window) => {
    const [low, high] = [Math.min(tail[1], end[1]), Math.max(tail[1], end[1])];
    const aside = Math.hypot(end[0] - tail[0], end[2] - tail[2]);
    if (!window || aside > UPRIGHT * (high - low)) return { tail, end };
    const room = SEEN * (window[1] - window[0]);
    const by = high < window[0] + room ? window[0] + room - low : low > window[1] - room ? window[1] - room - high : 0;
    const moved = ([x, y, z]) => [x, y + by, z];
    return { tail: moved(tail), end: moved(end), slid: by !== 0 };
  };

  /** Pieces of a dimension line [from, to]: the line, its end ticks, and what comes down to it. */
  viz.dimension = (lever, hip) => {
    const { from, to, drop } = lever;
    const a = drop === null ? from : [to[0], hip[1] - drop, from[2]];
    const b = drop === null ? to : [to[0], hip[1] - drop, to[2]];
    const [dy, dz] = [b[1] - a[1], b[2] - a[2]];
    const long = Math.hypot(dy, dz) || 1;
    const off = (u, s) => [u[0], u[1] - s * dz / long * TICK, u[2] + s * dy / long * TICK];
    const pieces = [[a, b], ...[a, b].map((u) => [off(u, -1), off(u, 1)])];
    if (drop !== null) pieces.push([off(a, 1), [a[0], from[1], a[2]]], [off(b, 1), [b[0], to[1], b[2]]]);
    return { a, b, pieces };
  };

  /** Metres of an arrow of one body weight, as the figure is seen. */
  viz.perWeight = ({ arrow, pelvis }, { framed, close }) => arrow.weight * (framed === "pelvis" && !close ? pelvis.arrows : 1);

  viz.Forces = class {
    constructor(told) {
      this.told = told;
      this.group = new THREE.Group();
      this.arrows = {};
      this.lines = {};
      this.painted = [];
    }

    /** In the colours that the page knows now. */
    repaint({ colours }) {
      for (const { one, role } of this.painted) one.color.set(colours[role]);
      for (const { one, role } of this.painted) one.emissive?.set(colours[role]);
    }

    /** d: a situation; layers: which are shown; orbit: where from; window: heights in sight, or null. */
    show(d, layers, orbit, window) {
      this.window = window;
      for (const one of [...Object.values(this.arrows), ...Object.values(this.lines)]) one.visible = false;
      for (const arrow of d.arrows) this.showArrow(arrow, layers, orbit);
      for (const lever of d.levers.filter((v) => v.drawn !== false)) this.showLever(lever, d, layers, orbit);
    }

    showArrow(arrow, layers, orbit) {
      const { arrow: size, bw } = this.told;
      const perWeight = viz.perWeight(this.told, orbit);
      Object.assign(arrow, viz.slid(viz.ends(arrow, bw, perWeight), this.window));
      const long = viz.norm(arrow.force) * perWeight / bw;
      const one = this.arrows[arrow.key] ??= this.makeArrow(arrow.role);
      one.visible = layers[viz.layerOf(arrow.role)] && long > LEAST && (!orbit.close || arrow.key === "joint");
      if (!one.visible) return;
      const slim = viz.clamp(long / (2 * size.point), 0.25, orbit.close ? 0.45 : 1);
      const neck = Math.max(long - size.point * slim, 1e-4);
      const [rod, cone] = one.children;
      one.position.fromArray(arrow.tail);
      one.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), new THREE.Vector3(...arrow.force).normalize());
      rod.scale.set(slim, neck, slim);
      cone.position.y = neck;
      cone.scale.setScalar(slim);
    }

    showLever(lever, d, layers, orbit) {
      const owner = d.arrows.find((a) => a.key === lever.of);
      const one = this.lines[lever.key] ??= this.makeLine("ink");
      const drawn = orbit.flat && !orbit.close && owner && viz.norm(owner.force) > LEAST * this.told.bw;
      one.visible = Boolean(drawn && layers.lever && layers[viz.layerOf(lever.role)]);
      const { a, b, pieces } = viz.dimension(lever, d.hip);
      Object.assign(lever, { a, b });
      if (!one.visible) return;
      const place = one.geometry.getAttribute("position");
      place.array.fill(0);
      place.array.set(pieces.flat(2));
      one.geometry.setDrawRange(0, 2 * pieces.length);
      place.needsUpdate = true;
    }

    makeArrow(role) {
      const colour = this.told.colours[role];
      const { shaft, head, point } = this.told.arrow;
      const paint = new THREE.MeshLambertMaterial({
        color: viz.tint(colour), emissive: viz.tint(colour), emissiveIntensity: 0.25, depthTest: false, transparent: true,
      });
      this.painted.push({ one: paint, role });
      const rod = new THREE.CylinderGeometry(shaft, shaft, 1, 20).translate(0, 0.5, 0);
      const cone = new THREE.ConeGeometry(head, point, 28).translate(0, point / 2, 0);
      const out = new THREE.Group();
      for (const shape of [rod, cone]) {
        const mesh = new THREE.Mesh(shape, paint);
        mesh.renderOrder = 8;
        mesh.frustumCulled = false;
        out.add(mesh);
      }
      this.group.add(out);
      return out;
    }

    makeLine(role) {
      const paint = new THREE.LineBasicMaterial({ color: viz.tint(this.told.colours[role]), depthTest: false, transparent: true });
      this.painted.push({ one: paint, role });
      const out = new THREE.LineSegments(new THREE.BufferGeometry(), paint);
      out.geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(30), 3));
      out.renderOrder = 7;
      out.frustumCulled = false;
      this.group.add(out);
      return out;
    }
  };
})(globalThis.viz ??= {});
