/* Lines of equal pressure on the socket's cartilage. */
"use strict";

((viz) => {
  const LIFT = 2e-4; /* metres off the surface */
  const CORNERS = [[0, 1], [1, 2], [2, 0]];

  /** Where a level crosses the edges of one triangle: two points, or none. */
  const crossing = (corners, values, level) => {
    const cut = CORNERS.filter(([a, b]) => values[a] < level !== values[b] < level);
    return cut.map(([a, b]) => corners[a].clone().lerp(corners[b], (level - values[a]) / (values[b] - values[a])));
  };

  const lifted = (geometry, k) => {
    const [at, normal] = ["position", "normal"].map((name) => new THREE.Vector3().fromBufferAttribute(geometry.getAttribute(name), k));
    return at.addScaledVector(normal, LIFT);
  };

  /** The lines' ends and colours, as flat lists; pascals: one value a vertex, 0 where nothing presses. */
  const pieces = (geometry, pascals, [levels, colours]) => {
    const [ends, tones, index] = [[], [], geometry.index.array];
    for (let k = 0; k < index.length; k += 3) {
      const three = [index[k], index[k + 1], index[k + 2]];
      const values = three.map((v) => pascals[v]);
      if (Math.min(...values) <= 0) continue;
      const corners = three.map((v) => lifted(geometry, v));
      levels.forEach((level, n) => {
        for (const p of crossing(corners, values, level)) {
          ends.push(p.x, p.y, p.z);
          tones.push(...colours[n].map(viz.linear));
        }
      });
    }
    return [ends, tones];
  };

  const attribute = (numbers) => new THREE.BufferAttribute(new Float32Array(numbers), 3);

  /** The lines as an object to hang on the cartilage. */
  viz.isobars = () => {
    const lines = new THREE.LineSegments(new THREE.BufferGeometry(), new THREE.LineBasicMaterial({ vertexColors: true }));
    lines.frustumCulled = false;
    return lines;
  };

  /** Draw the lines anew for the pressures at a mesh's points. */
  viz.drawIsobars = (lines, mesh, pascals, told) => {
    const [ends, tones] = pieces(mesh.geometry, pascals, told.isobars);
    lines.geometry.dispose();
    lines.geometry = new THREE.BufferGeometry();
    lines.geometry.setAttribute("position", attribute(ends));
    lines.geometry.setAttribute("color", attribute(tones));
    lines.visible = ends.length > 0;
  };
})(globalThis.viz ??= {});
