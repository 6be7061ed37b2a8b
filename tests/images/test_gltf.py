"""Films as animated glTF: what another reader finds in the file is what the kinematics and the statics say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pygltflib
import pytest
import trimesh
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation, Slerp

from viz3d.output.cartilage import cartilage_colours, cartilage_pressure
from viz3d.output.flesh import vertex_colours
from viz3d.output.gltf import write_gltf
from viz3d.output.gltf_buffer import strongest
from viz3d.output.gltf_file import linear, needed_keys
from viz3d.output.solid_arrows import METRES_PER_WEIGHT
from viz3d.scene.reader import load_scene
from viz3d.scene.timeline import duration
from viz3d.shapes.skeleton import build_figure
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.stage.compose import compose
from viz3d.stage.theme import theme_of

COUNTS = {"SCALAR": 1, "VEC3": 3, "VEC4": 4, "MAT4": 16}
KINDS = {5126: "<f4", 5125: "<u4", 5123: "<u2", 5121: "u1"}


class Read:
    """A file opened by a general glTF reader, its animation evaluated by hand."""

    def __init__(self, path: Path) -> None:
        self.file = pygltflib.GLTF2().load(str(path))
        self.blob = self.file.binary_blob()
        self.names = {n.name: k for k, n in enumerate(self.file.nodes)}
        self.names |= {f"force {n.extras['force']}": k for k, n in enumerate(self.file.nodes) if "force" in n.extras}

    def numbers(self, index: int) -> np.ndarray:
        accessor = self.file.accessors[index]
        view = self.file.bufferViews[accessor.bufferView]
        count = COUNTS[accessor.type]
        found = np.frombuffer(self.blob, KINDS[accessor.componentType], accessor.count * count, view.byteOffset)
        return found.reshape(accessor.count, count)

    def at(self, name: str, path: str, time: float) -> np.ndarray:
        """A node's translation, rotation or scale at a time."""
        node = self.names[name]
        for channel in self.file.animations[0].channels:
            if channel.target.node == node and channel.target.path == path:
                sampler = self.file.animations[0].samplers[channel.sampler]
                times, values = self.numbers(sampler.input)[:, 0], self.numbers(sampler.output)
                values = values.reshape(len(times), -1)
                time = float(np.clip(time, times[0], times[-1]))
                if sampler.interpolation == "STEP":
                    return values[int(np.searchsorted(times, time, side="right")) - 1]
                if path == "rotation":
                    return Slerp(times, Rotation.from_quat(values))(time).as_quat()
                return np.array([np.interp(time, times, values[:, k]) for k in range(values.shape[1])])
        return np.array(getattr(self.file.nodes[node], path), dtype=float)


@pytest.fixture(scope="module")
def lean(tmp_path_factory: Any) -> Read:
    path = tmp_path_factory.mktemp("glb") / "lean.glb"
    write_gltf(load_scene("lean-over-hip"), path, "x")
    return Read(path)


def test_nodes_move_as_the_kinematics_say(lean: Read, rng: np.random.Generator) -> None:
    """Ten times, every link: place within 0.1 mm, turn within 0.01 degrees."""
    scene = load_scene("lean-over-hip")
    times = np.sort(rng.uniform(0.0, duration(scene), 10))
    plan = compose(scene, solve_scene(scene, times))
    for link, frames in plan.frames.items():
        for k, time in enumerate(times):
            assert lean.at(link, "translation", time) == pytest.approx(frames[k, :3, 3], abs=1e-4)
            turned = Rotation.from_quat(lean.at(link, "rotation", time)) * Rotation.from_matrix(frames[k, :3, :3]).inv()
            assert np.degrees(turned.magnitude()) < 0.01


def test_arrows_are_as_long_as_their_forces(lean: Read, rng: np.random.Generator) -> None:
    scene = load_scene("lean-over-hip")
    times = np.sort(rng.uniform(0.0, duration(scene), 10))
    plan = compose(scene, solve_scene(scene, times))
    for key in ("weight", "muscle", "joint"):
        arrow = plan.arrow(key)
        for k, time in enumerate(times):
            force = arrow.force[k] / plan.body_weight * METRES_PER_WEIGHT
            tip = lean.at(f"head {key}", "translation", time)[1] + 0.036 * lean.at(f"head {key}", "scale", time)[1]
            assert tip == pytest.approx(np.linalg.norm(force), rel=2e-3)
            way = Rotation.from_quat(lean.at(f"force {key}", "rotation", time)).apply([0.0, 1.0, 0.0])
            assert way @ force / np.linalg.norm(force) > 0.99999
            tail = lean.at(f"force {key}", "translation", time)
            acts = tail + force if arrow.holds == "tip" else tail
            assert acts == pytest.approx(arrow.point[k], abs=3e-4)


def test_another_reader_finds_the_bones_where_they_stand(tmp_path: Path) -> None:
    """trimesh, which knows nothing of ours, reads the same vertices in the same places, in the format's axes."""
    path = tmp_path / "a.glb"
    scene = load_scene("level-stance")
    write_gltf(scene, path, "x")
    found = trimesh.load(path, process=False)
    plan = compose(scene, solve_scene(scene))
    shape = build_figure(body_of(scene), None, plan.aids, "film").shapes["left thigh/femur"]
    frame = plan.frames["left_thigh"][-1]
    world = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
    turn, name = found.graph.get("left femur")
    read = trimesh.transform_points(found.geometry[name].vertices, turn)
    ours = np.stack([-world[:, 2], world[:, 1], world[:, 0]], axis=-1)  # z forward, y up, x to the person's left
    assert len(read) == len(ours)
    for some, others in ((read, ours), (ours, read)):
        assert cKDTree(others).query(some)[0].max() < 1e-5


def test_the_skin_follows_its_four_strongest_links(lean: Read) -> None:
    """The skin of the file stays within 2.5 mm of the one that pictures draw."""
    scene = load_scene("lean-over-hip")
    plan = compose(scene, solve_scene(scene))
    shell = build_figure(body_of(scene), None, plan.aids, "film").shell
    columns, weights = strongest(shell.weights, 4)
    assert weights.sum(axis=1) == pytest.approx(np.ones(len(weights)), abs=1e-6)
    moves = np.stack([plan.frames[n][-1] @ np.linalg.inv(r) for n, r in zip(shell.links, shell.rest, strict=True)])
    blended = np.einsum("vk,vkij->vij", weights, moves[columns])
    bent = np.einsum("vij,vj->vi", blended[:, :3, :3], shell.points) + blended[:, :3, 3]
    assert np.linalg.norm(bent - shell.posed(plan.frames, len(plan) - 1)[0], axis=1).max() < 2.5e-3
    skin = lean.file.skins[0]
    assert [lean.file.nodes[j].name for j in skin.joints] == list(shell.links)


def test_muscles_bend_between_pelvis_and_thigh(lean: Read) -> None:
    """Linear blend skinning by hand on the file's own numbers gives the muscle that pictures draw in the last step."""
    scene = load_scene("lean-over-hip")
    plan = compose(scene, solve_scene(scene))
    body = build_figure(body_of(scene), None, plan.aids, "film", flesh=plan.flesh).muscles["gluteus_medius"]
    (muscle,) = (m for m in plan.muscles if m.name == "gluteus_medius")
    (mesh,) = (m for m in lean.file.meshes if m.name == "gluteus_medius")
    (skin,) = (s for s in lean.file.skins if s.name == "gluteus_medius")
    at = mesh.primitives[0].attributes
    points, joints, weights = (lean.numbers(k) for k in (at.POSITION, at.JOINTS_0, at.WEIGHTS_0))
    binds = lean.numbers(skin.inverseBindMatrices).reshape(-1, 4, 4).transpose(0, 2, 1)
    frames = [plan.frames[lean.file.nodes[j].name][-1] for j in skin.joints]
    moves = np.stack([frame @ bind for frame, bind in zip(frames, binds, strict=True)])
    blended = np.einsum("vk,vkij->vij", weights, moves[joints.astype(int)])
    bent = np.einsum("vij,vj->vi", blended[:, :3, :3], points) + blended[:, :3, 3]
    ours, _ = body.posed(plan.frames["pelvis"][-1], plan.frames["left_thigh"][-1], float(muscle.activation[-1]))
    assert np.abs(bent - ours).max() < 2e-5


def test_pressure_is_in_the_colours_of_the_last_step(lean: Read) -> None:
    mesh = next(m for m in lean.file.meshes if m.name == "left lunate")
    other = next(m for m in lean.file.meshes if m.name == "right lunate")
    here, there = (lean.numbers(m.primitives[0].attributes.COLOR_0).astype(int) for m in (mesh, other))
    assert len(np.unique(here, axis=0)) > 20
    warm = (here[:, 0] - here[:, 2]).max()
    assert warm > (there[:, 0] - there[:, 2]).max() + 60


def test_keys_give_every_sample_back(rng: np.random.Generator) -> None:
    times = np.linspace(0, 3, 91)
    values = np.column_stack([np.clip(times - 1, 0, 1), np.ones(91), np.sin(times)])
    keys = needed_keys(times, values)
    back = np.column_stack([np.interp(times, times[keys], values[keys, k]) for k in range(3)])
    assert np.abs(back - values).max() < 3e-6
    assert len(needed_keys(times, values[:, :2])) == 4


def test_muscles_swell_and_darken_with_activation(lean: Read, rng: np.random.Generator) -> None:
    """The morph targets' weights, at any time, give the muscle that pictures draw then."""
    scene = load_scene("lean-over-hip")
    times = np.sort(rng.uniform(0.0, duration(scene), 6))
    plan = compose(scene, solve_scene(scene, times))
    body = build_figure(body_of(scene), None, plan.aids, "film", flesh=plan.flesh).muscles["gluteus_medius"]
    (muscle,) = (m for m in plan.muscles if m.name == "gluteus_medius")
    (mesh,) = (m for m in lean.file.meshes if m.name == "gluteus_medius")
    primitive = mesh.primitives[0]
    grown, tint = lean.numbers(primitive.targets[0]["POSITION"]), lean.numbers(primitive.targets[1]["COLOR_0"])
    points, colours = (lean.numbers(k) for k in (primitive.attributes.POSITION, primitive.attributes.COLOR_0))
    rest = [np.eye(4), np.eye(4)]
    rest[1][:3, 3] = body.hip
    assert float(np.ptp(muscle.activation)) > 0.05
    for k, time in enumerate(times):
        more, darker = lean.at("gluteus medius", "weights", time)
        ours, _ = body.posed(rest[0], rest[1], float(muscle.activation[k]))
        assert np.abs(points + more * grown - ours).max() < 2e-5
        seen = linear(vertex_colours(body, muscle, k, theme_of(scene).colours) / 255.0)
        assert np.abs((colours / 255.0 + darker * tint)[:, :3] - seen).max() < 0.02


def test_pressure_of_each_step_is_a_variant(lean: Read) -> None:
    scene = load_scene("lean-over-hip")
    plan = compose(scene, solve_scene(scene))
    (lunate,) = (s for s in build_figure(body_of(scene), None, plan.aids, "film").shapes.values()
                 if (s.name, s.side) == ("lunate", "left"))  # fmt: skip
    assert [v["name"] for v in lean.file.extensions["KHR_materials_variants"]["variants"]] == plan.steps
    mesh = next(m for m in lean.file.meshes if m.name == "left lunate")
    names = [m.name for m in lean.file.materials]
    for step in range(len(plan)):
        shown = [p for p in mesh.primitives if names[chosen(p, step)] == "cartilage"]
        assert len(shown) == 1
        expected = cartilage_colours(lunate, cartilage_pressure(lunate, plan, step), theme_of(scene), plan.sign)
        read = lean.numbers(shown[0].attributes.COLOR_0)[:, :3] / 255.0
        assert np.abs(read - linear(np.clip(expected, 0, 1))).max() < 0.02
        assert (names[shown[0].material] == "cartilage") == (step == len(plan) - 1)


def chosen(primitive: Any, variant: int) -> int:
    """The material that a viewer gives a primitive for a variant."""
    mappings = primitive.extensions["KHR_materials_variants"]["mappings"]
    return next((m["material"] for m in mappings if variant in m["variants"]), primitive.material)


def test_arrows_are_called_as_in_pictures(tmp_path: Path, lean: Read) -> None:
    assert {"Weight less the left leg", "Abductor pull", "Joint force on the socket"} <= set(lean.names)
    extras = lean.file.nodes[lean.names["Joint force on the socket"]].extras
    scene = load_scene("lean-over-hip")
    assert extras["steps"] == [f"{v:.2f} BW" for v in solve_scene(scene).joint_bw]
    write_gltf(load_scene("elbow-crutches"), tmp_path / "two.glb", "x")
    names = Read(tmp_path / "two.glb").names
    assert {"Crutch pushes hand up, left", "Crutch pushes hand up, right"} <= set(names)


def test_bags_and_gripping_hands_are_there_while_there_is_something_in_them(tmp_path: Path) -> None:
    """Bones of hands by their scale; hands of skin, drawn into the wrist, by their weight."""
    scene = load_scene("bag-sides")
    write_gltf(scene, tmp_path / "bags.glb", "x")
    found, plan = Read(tmp_path / "bags.glb"), compose(scene, solve_scene(scene))
    bags = {n: found.file.nodes[k].extras["side"] for n, k in found.names.items() if n.endswith((" bag", "bag_fill"))}
    assert set(bags.values()) == {"left", "right"}
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    seen = set()
    for name, side in bags.items():
        for k, end in enumerate(ends):
            there = side in plan.held_at(k)
            assert found.at(name, "scale", end - 0.2) == pytest.approx(np.full(3, float(there)))
            seen.add(there)
            for group, kept in (("gripping", there), ("open", not there)):
                assert found.at(f"{side} hand, {group}", "weights", end - 0.2) == [float(not kept)]
    assert seen == {True, False}
    for k, node in enumerate(found.file.nodes):
        if (node.extras or {}).get("group") in ("hand", "hand_grip") and node.skin is None:
            found.names["bone"] = k
            for step, end in enumerate(ends):
                grips = node.extras["side"] in plan.held_at(step)
                assert found.at("bone", "scale", end - 0.2)[0] == float(grips == (node.extras["group"] == "hand_grip"))


def test_several_bodies_are_several_scenes(tmp_path: Path) -> None:
    """Each scene has femurs as the measures of its step make them; what they share is written once."""
    scene = load_scene("neck-angles")
    write_gltf(scene, tmp_path / "necks.glb", "x")
    found = Read(tmp_path / "necks.glb").file
    assert [s.name for s in found.scenes] == [s.name for s in scene.steps]
    assert [s.extras["steps"] for s in found.scenes] == [[s.name] for s in scene.steps]
    count = {n: sum(m.name == n for m in found.meshes) for n in ("left femur", "right femur", "left tibia", "skull")}
    assert count == {"left femur": 3, "right femur": 3, "left tibia": 1, "skull": 1}
    roots = [s.nodes[0] for s in found.scenes]
    assert len(set(roots)) == 3
    assert all(found.nodes[r].name == "viz3d" for r in roots)


def test_clothes_bend_with_the_skin_and_open_at_the_hip(tmp_path: Path) -> None:
    """A person in clothes: no skull, no other bones; cloth where pictures have it, seen through round the hip only."""
    scene = load_scene("level-stance", ["picture.dress=patient"])
    write_gltf(scene, tmp_path / "worn.glb", "x")
    found, plan = Read(tmp_path / "worn.glb"), compose(scene, solve_scene(scene))
    figure = build_figure(body_of(scene), None, plan.aids, "film", "patient")
    assert figure.clothed is not None
    assert {"skin", "hair", "shirt", "shorts", "left femur", "sacrum"} <= set(found.names)
    assert not {"skull", "right femur", "left tibia", "body outline", "gluteus medius"} & set(found.names)
    materials = [m.name for m in found.file.materials]
    for name in ("shirt", "shorts", "skin"):
        (mesh,) = (m for m in found.file.meshes if m.name == name)
        closed, window = mesh.primitives
        assert [materials[p.material] for p in mesh.primitives] == ["worn", "window"]
        bent = skinned(found, name)
        ours = figure.clothed.surfaces[name].posed(figure.clothed.frames(plan.frames, 0), 0)[0]
        assert np.linalg.norm(bent[: len(ours)] - ours, axis=1).max() < 2.5e-3
        opacity = found.numbers(closed.attributes.COLOR_0)[:, 3] / 255.0
        assert (opacity[found.numbers(closed.indices)] == 1.0).all()
        from_hip = np.linalg.norm((bent - plan.hip[0])[:, 1:], axis=1)
        assert opacity[from_hip < 0.07].max(initial=0.0) < 0.3
        assert len(np.unique(found.numbers(window.indices))) > 20


def skinned(read: Read, name: str) -> np.ndarray:
    """Points (V, 3) of a mesh as its own weights bend it, links where the file puts them."""
    node = read.file.nodes[read.names[name]]
    skin, at = read.file.skins[node.skin], read.file.meshes[node.mesh].primitives[0].attributes
    points, joints, weights = (read.numbers(k) for k in (at.POSITION, at.JOINTS_0, at.WEIGHTS_0))
    binds = read.numbers(skin.inverseBindMatrices).reshape(-1, 4, 4).transpose(0, 2, 1)
    placed = []
    for joint in skin.joints:
        frame, link = np.eye(4), read.file.nodes[joint]
        frame[:3, :3], frame[:3, 3] = Rotation.from_quat(link.rotation).as_matrix(), link.translation
        placed.append(frame)
    moves = np.einsum("jab,jbc->jac", np.stack(placed), binds)
    blended = np.einsum("vk,vkij->vij", weights, moves[joints.astype(int)])
    return np.einsum("vij,vj->vi", blended[:, :3, :3], points) + blended[:, :3, 3]
