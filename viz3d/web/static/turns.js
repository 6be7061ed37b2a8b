/* Moments about the hip as arcs in the frontal plane; those that turn the same way stand end to end. */
"use strict";

((viz) => {
  const PIECES = 32; /* of an arc's band */

  /** Where each moment's arc begins and how far it goes, rad from outward over up; shorter ones are left out. */
  viz.arcs = (turns, { apart, perNewtonMetre, shortest }) => {
    const begin = { true: Math.PI / 2 + apart, false: Math.PI / 2 - apart };
    const out = [];
    for (const turn of turns) {
      const sweep = turn.moment * perNewtonMetre;
      if (Math.abs(sweep) < shortest) continue;
      out.push({ ...turn, begin: begin[sweep > 0], sweep });
      begin[sweep > 0] += sweep;
    }
    return out;
  };

  /** Triangles of an arc with a head, corners (outward, up) in metres from the hip. */
  viz.arcTriangles = (begin, sweep, { radius, width, head }) => {
    const point = (angle, r) => [r * Math.cos(angle), r * Math.sin(angle)];
    const neck = sweep - Math.sign(sweep) * Math.min(Math.abs(sweep) * 0.6, head / radius);
    const out = [];
    for (let k = 0; k < PIECES; k++) {
      const [a, b] = [k, k + 1].map((n) => begin + neck * n / PIECES);
      const [inner, outer] = [radius - width / 2, radius + width / 2];
      out.push(point(a, inner), point(a, outer), point(b, outer), point(a, inner), point(b, outer), point(b, inner));
    }
    out.push(point(begin + neck, radius - 1.4 * width), point(begin + neck, radius + 1.4 * width), point(begin + sweep, radius));
    return out;
  };

  viz.Turns = class {
    constructor(told) {
      this.told = told;
      this.group = new THREE.Group();
      this.arcs = {};
      this.roles = {};
    }

    /** In the colours that the page knows now. */
    repaint({ colours }) {
      for (const [key, one] of Object.entries(this.arcs)) one.material.color.set(colours[this.roles[key]]);
    }

    show(d, layers, orbit) {
      for (const one of Object.values(this.arcs)) one.visible = false;
      if (!layers.lever || !orbit.flat || orbit.close) return;
      const shown = d.turns.filter((turn) => layers[viz.layerOf(turn.role)]);
      for (const arc of viz.arcs(shown, this.told.arc)) this.showArc(arc, d.hip);
    }

    showArc(arc, [x, y, z]) {
      this.roles[arc.key] = arc.role;
      const one = this.arcs[arc.key] ??= this.make(this.told.colours[arc.role]);
      const corners = viz.arcTriangles(arc.begin, arc.sweep, this.told.arc);
      const place = one.geometry.getAttribute("position");
      place.array.set(corners.flatMap(([out, up]) => [x, y + up, z + this.told.sign * out]));
      place.needsUpdate = true;
      one.visible = true;
    }

    make(colour) {
      const paint = new THREE.MeshBasicMaterial({ color: viz.tint(colour), side: THREE.DoubleSide, depthTest: false, transparent: true });
      const out = new THREE.Mesh(new THREE.BufferGeometry(), paint);
      out.geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(3 * (6 * PIECES + 3)), 3));
      out.renderOrder = 6;
      out.frustumCulled = false;
      this.group.add(out);
      return out;
    }
  };
})(globalThis.viz ??= {});
