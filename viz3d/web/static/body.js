/* One body of the glTF file: its links, bones, outline, muscles and cartilage, dressed in the page's colours. */
"use strict";

((viz) => {
  const HANDS = ["hand", "hand_grip"];
  const CARRIED = ["bag", "backpack"];
  const [SHINE, GLOSS] = [{ metal: 0.5, ceramic: 0.3 }, 26]; /* how strongly the lamps are mirrored, and how sharply */
  const FAINT = 0.38; /* opacity of muscles that rest all the time */

  /** Skin: nearly clear where it faces us, a soft line where it turns away. */
  const rim = () => {
    const paint = new THREE.MeshBasicMaterial({ transparent: true, depthWrite: false });
    const edge = { value: viz.tint("#000") };
    paint.onBeforeCompile = (shader) => {
      shader.uniforms.edge = edge;
      const placed = shader.vertexShader.replace("#include <defaultnormal_vertex>", `#include <defaultnormal_vertex>
        vec3 n = normalize(transformedNormal);
        vNormal = n;
        lit = ${viz.shade()};`);
      shader.vertexShader = `varying vec3 vNormal; varying vec3 lit;\n${placed}`;
      const drawn = shader.fragmentShader.replace("#include <opaque_fragment>", `
        float away = pow(1.0 - abs(normalize(vNormal).z), 2.6);
        gl_FragColor = vec4(mix(outgoingLight * lit, edge, away), 0.10 + 0.52 * away);`);
      shader.fragmentShader = `uniform vec3 edge; varying vec3 lit;\n${drawn}`;
    };
    return [paint, (colours) => {
      edge.value.set(colours.shell_rim);
      paint.color.set(colours.shell_fill);
    }];
  };

  /** Muscle: vertex colours hold how much light a place gets and how much of it is tendon; fibres run along it. */
  const flesh = () => {
    const paint = new THREE.MeshLambertMaterial({ vertexColors: true });
    const own = { share: { value: 0 } };
    for (const name of ["slack", "taut", "pale"]) own[name] = { value: viz.tint("#000") };
    paint.defines = { USE_UV: "" };
    paint.onBeforeCompile = (shader) => {
      Object.assign(shader.uniforms, own);
      const drawn = shader.fragmentShader.replace("#include <color_fragment>", `
        float grain = 0.90 + 0.26 * (streak(vUv * vec2(270.0, 9.0)) - 0.5) + 0.21 * (streak(vUv * vec2(47.0, 4.0)) - 0.5);
        vec3 seen = mix(mix(slack, taut, share), pale, vColor.g) * vColor.r * clamp(grain, 0.70, 1.0);
        diffuseColor.rgb = mix(pow((seen + 0.055) / 1.055, vec3(2.4)), seen / 12.92, vec3(lessThanEqual(seen, vec3(0.04045))));`);
      shader.fragmentShader = `uniform vec3 slack; uniform vec3 taut; uniform vec3 pale; uniform float share;
        float spot(vec2 p) { return fract(sin(dot(p, vec2(12.9898, 78.233))) * 43758.5453); }
        float streak(vec2 p) {
          vec2 c = floor(p); vec2 f = p - c; f = f * f * (3.0 - 2.0 * f);
          return mix(mix(spot(c), spot(c + vec2(1.0, 0.0)), f.x), mix(spot(c + vec2(0.0, 1.0)), spot(c + vec2(1.0, 1.0)), f.x), f.y);
        }\n${drawn}`;
    };
    const colour = (to, text) => to.value.setRGB(...viz.fractions(text), THREE.LinearSRGBColorSpace); /* mixed as written */
    return [paint, (colours) => {
      colour(own.slack, colours.muscle_slack);
      colour(own.taut, colours.muscle_taut);
      colour(own.pale, colours.tendon);
    }, own.share];
  };

  /** Bone and what is held is matt; metal and ceramic mirror the lamps. */
  const stuff = (name) => {
    if (!(name in SHINE)) return new THREE.MeshLambertMaterial({ vertexColors: true });
    return new THREE.MeshPhongMaterial({ vertexColors: true, shininess: GLOSS, specular: new THREE.Color().setScalar(SHINE[name]) });
  };

  /** A colour "#rrggbb" as fractions, as it is written. */
  viz.fractions = (text) => [1, 3, 5].map((at) => parseInt(text.slice(at, at + 2), 16) / 255);

  /** By how much a muscle's morph counts at force over strength, and how dark it is. */
  viz.swollen = (activation, { slack, full, darkens }) => [slack + (full - slack) * activation - 1, activation ** darkens];

  /** scene: one scene of the file. */
  viz.Body = class {
    constructor(scene, told) {
      this.scene = scene;
      this.root = scene.getObjectByName("viz3d") ?? scene.children[0];
      Object.assign(this, { nodes: {}, shapes: [], skins: [], muscles: {}, repaints: [], worn: null });
      const [meshes, clothed] = [[], []];
      scene.traverse((o) => {
        if (o.userData.link) this.nodes[o.userData.link] = o;
        if (o.isMesh) (o.userData.worn ? clothed : meshes).push(o);
      });
      if (clothed.length) this.wear(clothed, told);
      for (const mesh of meshes) this.dress(mesh, told);
      this.isobars = viz.isobars();
      this.cartilage?.add(this.isobars);
      this.repaint(told);
    }

    dress(mesh, told) {
      const { muscle, loaded } = mesh.userData;
      mesh.frustumCulled = !mesh.isSkinnedMesh; /* bones out of sight cost nothing; what bends has no fixed place */
      if (muscle) this.dressMuscle(mesh, muscle);
      else if (mesh.isSkinnedMesh && !mesh.userData.material && this.worn) this.worn.dress(mesh, "skin");
      else if (mesh.isSkinnedMesh && !mesh.userData.material) this.dressSkin(mesh);
      else {
        this.shapes.push(mesh);
        mesh.material = loaded ? new THREE.MeshBasicMaterial({ vertexColors: true }) : stuff(mesh.userData.material);
        this.worn?.with(mesh, told.aidGroups.includes(mesh.userData.group));
        if (loaded) this.press(mesh); /* pressure keeps the legend's colours, whatever the light */
        else this.repaints.push((colours) => mesh.material.color.set(colours[mesh.userData.material]));
      }
    }

    wear(meshes, told) {
      this.worn = new viz.Worn(told);
      for (const mesh of meshes) {
        mesh.frustumCulled = false;
        this.worn.dress(mesh, mesh.userData.worn, mesh.userData.arms);
      }
      this.repaints.push((colours) => this.worn.repaint(colours));
    }

    dressMuscle(mesh, name) {
      const [paint, repaint, share] = flesh();
      mesh.material = paint;
      this.muscles[name] = { mesh, share };
      this.repaints.push(repaint);
    }

    dressSkin(mesh) {
      const [paint, repaint] = rim();
      mesh.material = paint;
      mesh.renderOrder = 5;
      this.skins.push(mesh);
      this.repaints.push(repaint);
    }

    press(mesh) {
      mesh.geometry = mesh.geometry.clone(); /* another body may share it, unpressed */
      this.cartilage = mesh;
      const light = mesh.geometry.getAttribute("color").array.slice();
      this.repaints.push((colours) => {
        const tint = viz.tint(colours.cartilage);
        this.bare = light.map((x, k) => (k % 4 < 3 ? x * [tint.r, tint.g, tint.b][k % 4] : x));
      });
    }

    /** In the colours that the page knows now. */
    repaint({ colours }) {
      for (const one of this.repaints) one(colours);
    }

    /** Let go of it. */
    drop() {
      this.scene.traverse((o) => {
        o.geometry?.dispose();
        o.material?.dispose();
      });
    }

    pose({ links, aids }, told, orbit) {
      told.links.forEach((name, k) => {
        const node = this.nodes[name];
        if (!node) return;
        const [x, y, z, ...turn] = links.slice(7 * k, 7 * k + 7);
        const out = orbit.close && told.drawnOut.includes(name) ? told.drawnBy : [0, 0, 0];
        node.position.set(x, y + out[1], z + out[2] * told.sign);
        node.quaternion.set(...turn).normalize();
        node.scale.setScalar(this.made ? told.stature / this.made : 1); /* until its own bones are there */
      });
      this.worn?.hang(this.nodes, (side) => !(side in aids));
    }

    /** What is seen: bones, what is held while it is there, the outline or clothes, the muscles that the plan draws. */
    choose(d, layers, orbit, told) {
      const person = layers.skin && !orbit.close;
      for (const o of this.shapes) o.visible = this.shows(o.userData, d, layers, told) && this.nears(o.userData, orbit, told);
      for (const o of this.skins) o.visible = person && this.fits(d, o.userData);
      this.worn?.choose(person, (hand) => this.fits(d, hand));
      this.work(d, layers.muscle && !orbit.close, told.flesh);
    }

    shows(about, d, layers, told) {
      if (told.aidGroups.includes(about.group)) return this.brought(d, about, told);
      return this.fits(d, about) && (layers.bones || HANDS.includes(about.group));
    }

    /** From close by, and through clothes, only the bones of the hip that is talked about are seen. */
    nears({ group, side }, orbit, told) {
      if (!orbit.close && (!this.worn || told.aidGroups.includes(group))) return true;
      return group === "pelvis" || (group === "thigh" && side === told.stance);
    }

    /** Whether a hand, open or gripping, is the one that is seen; everything else is. */
    fits(d, { group, side }) { return !HANDS.includes(group) || (group === "hand") === !this.held(d, side); }

    /** Whether a hand, or the back, has such a thing. */
    brought(d, { group, side }, told) { return told.aidGroup[this.held(d, side)] === group; }

    /** What a hand, or the back, holds: a bag only while there is something in it. */
    held(d, side) {
      const what = d.aids[side];
      return CARRIED.includes(what) && !(d.carried[side] > 0.5) ? undefined : what;
    }

    work(d, shown, looks) {
      for (const { mesh } of Object.values(this.muscles)) mesh.visible = false;
      for (const { name, faint, activation } of shown ? d.muscles : []) {
        const one = this.muscles[name];
        if (!one) continue;
        [one.mesh.morphTargetInfluences[0], one.share.value] = viz.swollen(viz.clamp(activation, 0, 1), looks);
        Object.assign(one.mesh, { visible: true, renderOrder: faint ? 1 : 0 });
        if (one.mesh.material.transparent !== faint) one.mesh.material.needsUpdate = true;
        Object.assign(one.mesh.material, { transparent: faint, opacity: faint ? FAINT : 1 });
      }
    }

    load(d, told) {
      const pelvis = this.nodes.pelvis;
      if (this.cartilage) viz.paintPressure(this.cartilage, this.isobars, this.bare, pelvis, d, told);
    }
  };
})(globalThis.viz ??= {});
