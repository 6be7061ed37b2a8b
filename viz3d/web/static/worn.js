/* A person in clothes: opaque cloth and skin; on them, round the hip that is talked about, a soft pane with its bones; free
   arms beside the hips. */
"use strict";

((viz) => {
  const [CLOTH, PANE] = [-2, -1]; /* drawn one after the other; bones follow */
  const [CUSTOM, ONE, COVER, REST] = [5, 201, 204, 205]; /* the drawing library's numbers for how colours are mixed */
  const BEFORE = 0.05; /* by how much bones are drawn before the cloth that hides them, of half the depth that is seen */
  const ON = -8; /* by how much the pane lies on the cloth, in the smallest steps of depth */
  const EVERYTHING = [0, 0, 1e6, 1e6];
  const ARM = ["upper_arm", "forearm", "hand"];
  const CLEAR = `
    uniform vec4 opening; uniform vec2 ends;
    float seenThrough() {
      float t = clamp((ends.y - length((gl_FragCoord.xy - opening.xy) / opening.zw)) / (ends.y - ends.x), 0.0, 1.0);
      return t * t * (3.0 - 2.0 * t);
    }`;

  /** Paint whose cover over what was drawn before is a share of how clear the window is there; before: it is drawn before
      what would hide it. */
  const covering = (paint, opening, share, before) => {
    Object.assign(paint, {
      blending: CUSTOM, blendSrc: COVER, blendDst: REST, blendSrcAlpha: ONE, blendDstAlpha: REST,
    });
    paint.onBeforeCompile = (shader) => {
      Object.assign(shader.uniforms, opening);
      const drawn = shader.fragmentShader.replace("#include <opaque_fragment>", `
        float cover = ${share.toFixed(3)} * seenThrough();
        if (cover < 0.004) discard;
        gl_FragColor = vec4(outgoingLight, cover);`);
      shader.fragmentShader = `${CLEAR}\n${drawn}`;
      if (!before) return;
      const placed = shader.vertexShader.replace("#include <project_vertex>", `
        #include <project_vertex>
        gl_Position.z -= before;`);
      shader.vertexShader = `uniform float before;\n${placed}`;
    };
    paint.customProgramCacheKey = () => `${share} ${before}`;
    return paint;
  };

  /** The window on a hip: where it is on the canvas, drawn with `per` pixels to one of the page's; about: its size. */
  viz.opening = (figure, about, per) => {
    const [x, y] = figure.project([figure.hip[0], figure.hip[1] + about.rise, figure.hip[2]]);
    return [x * per, (figure.tall - y) * per, ...about.radii.map((r) => r * figure.scale * per)];
  };

  /** Everything that a body wears. */
  viz.Worn = class {
    constructor(told) {
      Object.assign(this, { told, meshes: [], hands: [], arms: { left: 0, right: 0 } });
      const { clear, closed, pane } = told.opening;
      this.opening = { opening: { value: EVERYTHING }, ends: { value: [clear, closed] }, before: { value: 0 } };
      const glass = new THREE.MeshBasicMaterial({
        depthWrite: false, side: THREE.DoubleSide, polygonOffset: true, polygonOffsetUnits: ON,
      });
      this.pane = covering(glass, this.opening, pane, false);
      this.cloths = {};
    }

    /** One surface, or a hand, of such stuff. */
    dress(mesh, stuff, arms) {
      const coloured = Boolean(mesh.geometry.getAttribute("color"));
      mesh.material = this.cloths[`${stuff} ${coloured}`] ??= this.cloth(stuff, coloured);
      mesh.renderOrder = CLOTH;
      const pane = mesh.clone();
      Object.assign(pane, { material: this.pane, renderOrder: PANE, frustumCulled: false });
      mesh.parent.add(pane);
      (arms ? this.meshes : this.hands).push(mesh, pane);
      if (arms) this.arms = arms;
    }

    cloth(stuff, vertexColors) {
      return Object.assign(new THREE.MeshLambertMaterial({ vertexColors, side: THREE.DoubleSide }), { userData: { stuff } });
    }

    /** What the person holds, or a bone that is seen through the window. */
    with(mesh, held) {
      if (held) mesh.renderOrder = CLOTH;
      else covering(mesh.material, this.opening, 1, true);
    }

    repaint(colours) {
      for (const one of Object.values(this.cloths)) one.color.set(colours[one.userData.stuff]);
      this.pane.color.set(colours.pane);
    }

    /** shown: whether the person is; fits(hand): whether it is the one that is seen. */
    choose(shown, fits) {
      for (const mesh of this.meshes) mesh.visible = shown;
      for (const mesh of this.hands) mesh.visible = shown && fits(mesh.userData);
    }

    /** Free arms hang beside the hips; free(side): whether its hand holds nothing. */
    hang(nodes, free) {
      const axis = new THREE.Vector3(1, 0, 0);
      for (const side of ["left", "right"]) {
        const shoulder = nodes[`${side}_upper_arm`]?.position.clone();
        if (!shoulder || !free(side)) continue;
        const turn = nodes[`${side}_hand`].quaternion.clone().setFromAxisAngle(axis, (side === "right" ? -1 : 1) * this.arms[side]);
        for (const name of ARM) {
          const node = nodes[`${side}_${name}`];
          node.position.sub(shoulder).applyQuaternion(turn).add(shoulder);
          node.quaternion.premultiply(turn);
        }
      }
    }

    /** The window stands where the hip is seen; without clothes everything is. */
    aim(figure, per) {
      const shown = this.meshes.some((mesh) => mesh.visible);
      this.opening.opening.value = shown ? viz.opening(figure, this.told.opening, per) : EVERYTHING;
      this.opening.before.value = shown ? BEFORE : 0;
    }
  };
})(globalThis.viz ??= {});
