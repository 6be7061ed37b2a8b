/* How much room bones and arrows leave at the left and at the right of the canvas, row by row. */
"use strict";

((viz) => {
  const ROW = 6; /* pixels of a row */
  const SOME = 150; /* points of a bone that are looked at */
  const CLEAR = 4; /* pixels between a label and what it may not cover */
  const BINS = 14; /* parts of a bone, from its top to its foot */

  /** An empty canvas of so many pixels: in every row, where what is drawn begins and ends. */
  viz.bare = (wide, tall) => {
    const count = Math.max(1, Math.ceil(tall / ROW));
    return { wide, left: new Float32Array(count).fill(Infinity), right: new Float32Array(count).fill(-Infinity) };
  };

  /** Something from x = a to b fills the rows from y = top to bottom. */
  viz.fill = (room, [a, b], [top, bottom]) => {
    const last = Math.min(room.left.length - 1, Math.floor(bottom / ROW));
    for (let k = Math.max(0, Math.floor(top / ROW)); k <= last; k++) {
      room.left[k] = Math.min(room.left[k], a);
      room.right[k] = Math.max(room.right[k], b);
    }
  };

  /** A line between two points. */
  viz.fillLine = (room, p, q) => {
    const count = Math.max(1, Math.ceil(Math.abs(q[1] - p[1]) / ROW));
    for (let k = 0; k < count; k++) {
      const [a, b] = [k, k + 1].map((n) => p.map((v, i) => v + (q[i] - v) * n / count));
      viz.fill(room, [Math.min(a[0], b[0]), Math.max(a[0], b[0])], [Math.min(a[1], b[1]), Math.max(a[1], b[1])]);
    }
  };

  /** A bone from some of its points, flat [x, y, ...]. */
  viz.fillBone = (room, points) => {
    let [top, bottom] = [Infinity, -Infinity];
    for (let i = 1; i < points.length; i += 2) {
      top = Math.min(top, points[i]);
      bottom = Math.max(bottom, points[i]);
    }
    const high = (bottom - top) / BINS || 1;
    const ends = Array.from({ length: BINS }, () => [Infinity, -Infinity]);
    for (let i = 0; i < points.length; i += 2) {
      const end = ends[Math.min(BINS - 1, Math.floor((points[i + 1] - top) / high))];
      end[0] = Math.min(end[0], points[i]);
      end[1] = Math.max(end[1], points[i]);
    }
    ends.forEach((end, k) => {
      if (end[0] <= end[1]) viz.fill(room, end, [top + k * high - ROW, top + (k + 1) * high]);
    });
  };

  /** True where a box [x, y, wide, tall] at the left (side 0) or right edge lies over something, or touches it. */
  viz.covers = (room, side, [x, y, wide, tall]) => {
    const last = Math.min(room.left.length - 1, Math.floor((y + tall) / ROW));
    for (let k = Math.max(0, Math.floor(y / ROW)); k <= last; k++) {
      if (side ? room.right[k] > x - CLEAR : room.left[k] < x + wide + CLEAR) return true;
    }
    return false;
  };

  const some = (mesh) => {
    const place = mesh.geometry.getAttribute("position");
    const step = Math.max(1, Math.floor(place.count / SOME));
    const out = [];
    for (let i = 0; i < place.count; i += step) out.push(place.getX(i), place.getY(i), place.getZ(i));
    return out;
  };

  const seen = (mesh, figure) => {
    const at = mesh.userData.some ??= some(mesh);
    const { camera, wide, tall } = figure;
    const m = camera.projectionMatrix.clone().multiply(camera.matrixWorldInverse).multiply(mesh.matrixWorld).elements;
    const out = [];
    for (let i = 0; i < at.length; i += 3) {
      const [x, y, z] = [at[i], at[i + 1], at[i + 2]];
      out.push((m[0] * x + m[4] * y + m[8] * z + m[12] + 1) / 2 * wide, (1 - (m[1] * x + m[5] * y + m[9] * z + m[13])) / 2 * tall);
    }
    return out;
  };

  /** What a figure's bones, aids and arrows leave free. */
  viz.room = (figure, arrows) => {
    const room = viz.bare(figure.wide, figure.tall);
    for (const mesh of figure.shapes) if (mesh.visible) viz.fillBone(room, seen(mesh, figure));
    const floor = figure.floor?.group.visible ? viz.ground(figure.told.whole) : [];
    floor.forEach((corner, k) => viz.fillLine(room, figure.project(corner), figure.project(floor[(k + 1) % floor.length])));
    for (const { tail, end } of arrows) viz.fillLine(room, figure.project(tail), figure.project(end));
    return room;
  };
})(globalThis.viz ??= {});
