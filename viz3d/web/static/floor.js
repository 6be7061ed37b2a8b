/* The floor under a whole figure: a line from the front, a pale ground where it is seen from above. */
"use strict";

((viz) => {
  const BEYOND = 0.22; /* metres of floor around what stands on it */

  /** The corners of the floor under a whole figure; whole: its lowest and highest corner. */
  viz.ground = ([low, high]) => {
    const [back, front, left, right] = [low[0] - BEYOND, high[0] + BEYOND, low[2] - BEYOND, high[2] + BEYOND];
    return [[back, 0, left], [back, 0, right], [front, 0, right], [front, 0, left]];
  };

  viz.Floor = class {
    constructor(told) {
      this.told = told;
      this.group = new THREE.Group();
      const ground = new THREE.MeshBasicMaterial({ transparent: true, opacity: 0.28, depthWrite: false, side: THREE.DoubleSide });
      this.ground = new THREE.Mesh(this.geometry(6), ground);
      this.edge = new THREE.LineSegments(this.geometry(8), new THREE.LineBasicMaterial());
      this.group.add(this.ground, this.edge);
      this.repaint(told);
    }

    geometry(corners) {
      const made = new THREE.BufferGeometry();
      made.setAttribute("position", new THREE.BufferAttribute(new Float32Array(3 * corners), 3));
      return made;
    }

    repaint({ colours }) {
      this.ground.material.color.set(colours.card_line);
      this.edge.material.color.set(colours.ground);
    }

    show(orbit) {
      this.group.visible = !orbit.close;
      const [a, b, c, d] = viz.ground(this.told.whole);
      for (const [one, corners] of [[this.ground, [a, b, c, a, c, d]], [this.edge, [a, b, b, c, c, d, d, a]]]) {
        one.frustumCulled = false;
        const place = one.geometry.getAttribute("position");
        place.array.set(corners.flat());
        place.needsUpdate = true;
      }
    }
  };
})(globalThis.viz ??= {});
