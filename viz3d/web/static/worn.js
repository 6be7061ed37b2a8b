/* A person in clothes: opaque cloth and skin, a soft window on the hip that is talked about, free arms beside the hips. */
"use strict";

((viz) => {
  const [PANE, CLOTH] = [-1, 1]; /* drawn before the bones, and over them */
  const [CUSTOM, ONE, COVER, REST] = [5, 201, 204, 205]; /* the drawing library's numbers for how colours are mixed */
  const ARM = ["upper_arm", "forearm", "hand"];
  const CLEAR = `
    uniform vec4 opening; uniform vec2 ends;
    float seenThrough() {
      float t = clamp((ends.y - length((gl_FragCoord.xy - opening.xy) / opening.zw)) / (ends.y - ends.x), 0.0, 1.0);
      return t * t * (3.0 - 2.0 * t);
    }`;

  /** Paint whose cover over what was drawn before is a formula of how clear the window is there. */
  const covering = (paint, opening, cover) => {
    Object.assign(paint, {
      blending: CUSTOM, blendSrc: COVER, blendDst: REST, blendSrcAlpha: ONE, blendDstAlpha: REST,
    });
    paint.onBeforeCompile = (shader) => {
      Object.assign(shader.uniforms, opening);
      const drawn = shader.fragmentShader.replace("#include <opaque_fragment>", `
        float clear = seenThrough();
        if (${cover} < 0.004) discard;
        gl_FragColor = vec4(outgoingLight, ${cover});`);
      shader.fragmentShader = `${CLEAR}\n${drawn}`;
    };
    paint.customProgramCacheKey = () => cover;
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
      this.opening = { opening: { value: [0, 0, 1, 1] }, ends: { value: [clear, closed] } };
      this.pane = covering(new THREE.MeshBasicMaterial({ depthTest: false, depthWrite: false }), this.opening, `clear * ${pane.toFixed(3)}`);
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
      return Object.assign(covering(new THREE.MeshLambertMaterial({ vertexColors, side: THREE.DoubleSide }), this.opening, "(1.0 - clear)"), { userData: { stuff } });
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

    /** The window stands where the hip is seen. */
    aim(figure, per) { this.opening.opening.value = viz.opening(figure, this.told.opening, per); }
  };
})(globalThis.viz ??= {});
