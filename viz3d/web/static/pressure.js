/* Colours of the socket's cartilage: the stated field at each of its points. */
"use strict";

((viz) => {
  const SHADED = 256; /* colours in the page's table */
  const INWARD = -0.35; /* cosine between a point's normal and its way from the head, of points that face the head */

  viz.linear = (byte) => {
    const s = byte / 255;
    return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
  };

  /** Linear colour of a pressure, from the page's own table of the pictures' colours. */
  viz.pressureColour = (told, pascals) => {
    const [low, high] = told.range;
    if (pascals > high) return told.over.map(viz.linear);
    const k = viz.clamp(Math.floor((SHADED - 1) * (pascals - low) / (high - low)), 0, SHADED - 1);
    return Array.from(told.ramp.subarray(3 * k, 3 * k + 3), viz.linear);
  };

  /** Pressure of the lune on the way (lateral, up) from the head's centre, Pa. */
  viz.lunePressure = (d, rim, lateral, up) => {
    const [s, c] = [Math.sin(d.pole), Math.cos(d.pole)];
    const toward = lateral * s + up * c;
    const across = lateral * c - up * s;
    return Math.atan2(across, toward) > d.edge + rim - d.pole + 1e-9 ? 0 : d.polePressure * Math.max(toward, 0);
  };

  /** Pressure on a horseshoe pressed by a displaced head on the way (ahead, up, outward) in the pelvis, Pa. */
  viz.horseshoePressure = (displacement, way) => Math.max(0, way.reduce((sum, x, i) => sum + x * displacement[i], 0));

  /** The pressure at every point of the cartilage that faces the head; told to each(index, pascals). */
  const field = (mesh, pelvis, d, told, each) => {
    const [at, normal] = ["position", "normal"].map((name) => mesh.geometry.getAttribute(name));
    const [way, n, back] = [new THREE.Vector3(), new THREE.Vector3(), pelvis.quaternion.clone().invert()];
    const hip = new THREE.Vector3(...d.hip);
    for (let k = 0; k < at.count; k++) {
      way.fromBufferAttribute(at, k).applyQuaternion(pelvis.quaternion).add(pelvis.position).sub(hip).normalize();
      n.fromBufferAttribute(normal, k).applyQuaternion(pelvis.quaternion);
      if (n.dot(way) >= INWARD) continue;
      if (d.displacement) {
        way.applyQuaternion(back);
        each(k, viz.horseshoePressure(d.displacement, [way.x, way.y, told.sign * way.z]));
      } else {
        each(k, viz.lunePressure(d, told.rim, told.sign * way.z, way.y));
      }
    }
  };

  /** Colour a cartilage mesh and draw its isobars; bare: its colours where nothing presses. */
  viz.paintPressure = (mesh, lines, bare, pelvis, d, told) => {
    const colour = mesh.geometry.getAttribute("color");
    const whole = colour.array instanceof Uint8Array ? 255 : 1;
    const found = new Float32Array(colour.count);
    colour.array.set(bare);
    colour.needsUpdate = true;
    if (d && !d.lost && Number.isFinite(d.peak) && d.peak > 0) {
      field(mesh, pelvis, d, told, (k, pascals) => {
        if (pascals <= 0) return;
        found[k] = pascals;
        const painted = viz.pressureColour(told, pascals).map((x) => (whole === 255 ? Math.round(255 * x) : x));
        colour.array.set(painted, 4 * k);
      });
    }
    viz.drawIsobars(lines, mesh, found, told);
  };
})(globalThis.viz ??= {});
