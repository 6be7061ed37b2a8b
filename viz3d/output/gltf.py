"""A scene's timeline as an animated binary glTF: bones move rigidly, the skin bends, arrows grow with their forces.

Question answered: how does this film look in a slide program or a 3-D viewer that knows nothing of us?

ISO/IEC 12113 (glTF 2.0). One root turns our axes (x forward, y up, z right) to the format's (z forward, y up); under
it one named node a link, moved by the animation, carries its bones; arrows are nodes, their shafts scaled by the force.
Vertex colours hold bone, contact shadow and, on the socket's cartilage, the pressure of the last step: the format
cannot animate colours. Muscles bend with the hip, as thick and dark as in the last step.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pygltflib as g
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure, isobars
from viz3d.output.figures import figure_of
from viz3d.output.files import check_space, source_line, written_whole
from viz3d.output.flesh import vertex_colours
from viz3d.output.gltf_buffer import Buffer
from viz3d.output.solid_arrows import HEAD, METRES_PER_WEIGHT, POINT, SHAFT, arrow_parts, arrow_pose, continuous
from viz3d.output.window import baked_colours
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import frame_times
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Script, same_but_picture
from viz3d.stage.compose import compose
from viz3d.stage.palette import rgb
from viz3d.stage.plan import Arrow, Muscle, Plan
from viz3d.stage.theme import Theme, theme_of
from viz3d.version import __version__

_TURN = Rotation.from_euler("y", -90.0, degrees=True)
"""Our axes to the format's."""
_BONES_PER_VERTEX = 4
_MADE = {"metal": (0.32, 0.55), "ceramic": (0.22, 0.0), "plastic": (0.6, 0.0)}
"""What replacement hips are made of -> how rough and how metallic."""
_UNLIT = "KHR_materials_unlit"
_RATE = 30


def write_gltf(scene: Scene, path: Path, file: str, strict: bool = False, bones: Progress | None = None) -> Path:
    """Write a scene's film to ``path`` (.glb).

    Raises
    ------
    RenderError, InputError, SceneError : one line each; a scene whose steps change the body or what it holds.
    """
    scene = paced(scene)
    script = Script(scene, file)
    if not same_but_picture(script):
        raise InputError(f"{scene.title}: its steps change the body or what it holds; a glTF file holds one body")
    shown = script.scenes[0]
    rate = shown.model_copy(update={"picture": shown.picture.model_copy(update={"frames_per_second": _RATE})})
    times = np.concatenate([[0.0], frame_times(rate)])
    solved = script.solved_at(shown, times)
    refuse_unheld(shown, solved, strict)
    check_space(path.parent)
    plan = compose(shown, solved)
    figure = figure_of(plan, script.body(shown), bones, "film")
    data = gltf_bytes(plan, figure, theme_of(scene), scene.title, source_line([scene]))
    with written_whole(path) as temporary:
        temporary.write_bytes(data)
    return path


def gltf_bytes(plan: Plan, figure: Figure, theme: Theme, title: str, source: str, page: bool = False) -> bytes:
    """A plan and its figure as one binary glTF.

    ``page``: for our own page, which moves the nodes and draws arrows itself: every shape, no arrows, no animation,
    bare cartilage.
    """
    return _Writer(plan, figure, theme, title, source).written(page)


class _Writer:
    """One file being put together."""

    def __init__(self, plan: Plan, figure: Figure, theme: Theme, title: str, source: str) -> None:
        self.plan, self.figure, self.theme, self.title, self.say = plan, figure, theme, title, theme.voice.say
        self.file = g.GLTF2(asset=g.Asset(version="2.0", generator=f"viz3d {__version__}"))
        self.file.asset.extras = {
            "title": title, "source": source, "metres_per_body_weight": METRES_PER_WEIGHT,
            "body_weight_N": plan.body_weight, "model": self.say(plan.model_line), "language": theme.voice.language,
        }  # fmt: skip
        self.buffer = Buffer(self.file)
        self.links: dict[str, int] = {}
        self.last = len(plan) - 1

    def written(self, page: bool) -> bytes:
        """The whole file, or what a page needs of it."""
        file = self.file
        root = self._node("viz3d", rotation=_TURN.as_quat().tolist())
        for link in self.plan.frames:
            place, turn = _places(self.plan.frames[link])
            self.links[link] = self._node(link, root, translation=place[-1].tolist(), rotation=turn[-1].tolist())
        for key, shape in self.figure.shapes.items():
            if page or belongs(key, shape, self.plan.aids):
                self._bone(key, shape, bare=page)
        skin = self._skin()
        worked = [m for m in self.plan.muscles if m.name in self.figure.muscles and not m.rests]
        muscles = [self._muscle(m) for m in worked]
        arrows = [] if page else self._arrows(root)
        file.scenes = [g.Scene(nodes=[root, skin, *muscles], name=self.title)]
        file.scene = 0
        if not page and len(self.plan) > 1:
            self._animate(arrows)
        file.buffers = [g.Buffer(byteLength=len(self.buffer.data))]
        file.set_binary_blob(bytes(self.buffer.data))
        return b"".join(file.save_to_bytes())

    # ---- nodes ------------------------------------------------------------------------------------------

    def _node(self, name: str, parent: int | None = None, **more: Any) -> int:
        self.file.nodes.append(g.Node(name=name, **more))
        index = len(self.file.nodes) - 1
        if parent is not None:
            owner = self.file.nodes[parent]
            owner.children = [*(owner.children or []), index]
        return index

    def _material(self, name: str, colour: tuple[float, ...], opacity: float = 1.0, look: Any = (0.85, 0.0)) -> int:
        """A material; the same name gives the same one."""
        for k, known in enumerate(self.file.materials):
            if known.name == name:
                return k
        self.file.materials.append(
            g.Material(
                name=name, alphaMode=g.BLEND if opacity < 1.0 else g.OPAQUE, alphaCutoff=None,
                pbrMetallicRoughness=g.PbrMetallicRoughness(
                    baseColorFactor=[*_linear(np.array(colour)).tolist(), opacity], metallicFactor=look[1],
                    roughnessFactor=look[0],
                ),
            )
        )  # fmt: skip
        return len(self.file.materials) - 1

    def _unlit(self, name: str) -> int:
        """A material whose colours do not depend on the viewer's light."""
        index = self._material(name, (1.0, 1.0, 1.0))
        self.file.materials[index].extensions = {_UNLIT: {}}
        self.file.extensionsUsed = sorted({*(self.file.extensionsUsed or []), _UNLIT})
        return index

    def _isobars(self, mesh: int, ends: Array, colours: Array) -> None:
        """Add lines of equal pressure to the cartilage's mesh: pieces (S, 2, 3), colours (S, 3)."""
        rgba = np.column_stack([_linear(np.repeat(colours, 2, axis=0)), np.ones(2 * len(colours))])
        attributes = g.Attributes(
            POSITION=self.buffer.add(ends.reshape(-1, 3).astype("f4"), g.VEC3, g.ARRAY_BUFFER, bounds=True),
            COLOR_0=self.buffer.add(np.round(255 * rgba).astype("u1"), g.VEC4, g.ARRAY_BUFFER),
        )
        lines = g.Primitive(attributes=attributes, material=self._unlit("isobars"), mode=g.LINES)
        self.file.meshes[mesh].primitives.append(lines)

    def _mesh(
        self, name: str, points: Array, normals: Array, triangles: NDArray[Any], material: int,
        colours: Array | None = None, **more: int,
    ) -> int:  # fmt: skip
        small = len(points) < 65535
        attributes = g.Attributes(
            POSITION=self.buffer.add(points.astype("f4"), g.VEC3, g.ARRAY_BUFFER, bounds=True),
            NORMAL=self.buffer.add(_units(normals), g.VEC3, g.ARRAY_BUFFER),
            **more,
        )
        if colours is not None:
            rgba = np.column_stack([_linear(colours), np.ones(len(colours))])
            attributes.COLOR_0 = self.buffer.add(np.round(255 * rgba).astype("u1"), g.VEC4, g.ARRAY_BUFFER)
        index = triangles.astype("u2" if small else "u4").ravel()
        primitive = g.Primitive(
            attributes=attributes, material=material, indices=self.buffer.add(index, g.SCALAR, g.ELEMENT_ARRAY_BUFFER)
        )
        self.file.meshes.append(g.Mesh(name=name, primitives=[primitive]))
        return len(self.file.meshes) - 1

    def _bone(self, key: str, shape: Shape, bare: bool) -> None:
        link = shape.link_among(self.links)
        side = "" if shape.side == "middle" else f"{shape.side} "
        surface, colours = shape.surface, baked_colours(shape.surface, self.theme.colours[shape.material])
        made = shape.material if shape.material in _MADE else "bone"
        material, lines = self._material(made, (1.0, 1.0, 1.0), 1.0, _MADE.get(made, (0.85, 0.0))), None
        if shape.name == "lunate" and shape.side == ("right" if self.plan.sign > 0 else "left"):
            pascals = cartilage_pressure(shape, self.plan, self.last) * (not bare)
            colours = cartilage_colours(shape, pascals, self.theme, self.plan.sign)
            material, lines = self._unlit("cartilage"), isobars(shape, pascals, self.theme)
        mesh = self._mesh(
            f"{side}{shape.name}", surface.points, surface.normals, surface.triangles, material,
            np.clip(colours, 0.0, 1.0),
        )  # fmt: skip
        if lines is not None and len(lines[0]):
            self._isobars(mesh, *lines)
        group = key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1]
        self._node(f"{side}{shape.name}", self.links[link], mesh=mesh, extras={"group": group, "side": shape.side})

    def _skin(self) -> int:
        """The body's outline, bent by up to four links a vertex; its node stands beside the root."""
        shell = self.figure.shell
        joints, weights = strongest(shell.weights, _BONES_PER_VERTEX)
        rgb_ = rgb(self.theme.colours["shell_fill"])
        mesh = self._mesh(
            "body outline", shell.points, shell.normals, shell.triangles, self._material("skin", rgb_, 0.22),
            JOINTS_0=self.buffer.add(joints.astype("u2"), g.VEC4, g.ARRAY_BUFFER),
            WEIGHTS_0=self.buffer.add(weights.astype("f4"), g.VEC4, g.ARRAY_BUFFER),
        )  # fmt: skip
        inverse = np.linalg.inv(shell.rest).transpose(0, 2, 1).reshape(-1, 16)
        self.file.skins.append(
            g.Skin(
                name="body outline", joints=[self.links[n] for n in shell.links],
                inverseBindMatrices=self.buffer.add(inverse.astype("f4"), g.MAT4),
            )
        )  # fmt: skip
        return self._node("body outline", mesh=mesh, skin=0)

    def _muscle(self, muscle: Muscle) -> int:
        """A muscle as thick and dark as in the last step, bent between pelvis and thigh; a node beside the root."""
        body, links = self.figure.muscles[muscle.name], ("pelvis", f"{self.plan.side}_thigh")
        rest = [np.eye(4), np.eye(4)]
        rest[1][:3, 3] = body.hip
        points, normals = body.posed(rest[0], rest[1], float(muscle.activation[self.last]))
        weights = np.column_stack([1.0 - body.thigh, body.thigh, *np.zeros((2, len(points)))]).astype("f4")
        joints = np.where(weights > 0.0, [0, 1, 0, 0], 0)
        mesh = self._mesh(
            muscle.name, points, normals, body.triangles, self._material("bone", (1.0, 1.0, 1.0)),
            vertex_colours(body, muscle, self.last, self.theme.colours) / 255.0,
            JOINTS_0=self.buffer.add(joints.astype("u2"), g.VEC4, g.ARRAY_BUFFER),
            WEIGHTS_0=self.buffer.add(weights, g.VEC4, g.ARRAY_BUFFER),
        )  # fmt: skip
        inverse = np.linalg.inv(np.stack(rest)).transpose(0, 2, 1).reshape(-1, 16)
        binds = self.buffer.add(inverse.astype("f4"), g.MAT4)
        self.file.skins.append(
            g.Skin(name=muscle.name, joints=[self.links[n] for n in links], inverseBindMatrices=binds)
        )
        return self._node(muscle.name.replace("_", " "), mesh=mesh, skin=len(self.file.skins) - 1)

    def _arrows(self, root: int) -> list[tuple[Arrow, int, int, int]]:
        """Arrow, its node, its shaft's and its head's."""
        out = []
        for arrow in self.plan.arrows:
            colour = rgb(self.theme.colours[arrow.role])
            material = self._material(f"force {arrow.role}", colour, look=(0.6, 0.0))
            tail, turn, length = arrow_pose(self.plan, arrow)
            node = self._node(
                f"force {arrow.key}", root, translation=tail[-1].tolist(), rotation=turn[-1].tolist(),
                extras={"label": self.say(arrow.label), "newtons": [float(np.linalg.norm(arrow.force[-1]))]},
            )  # fmt: skip
            shaft, head = self._arrow_meshes(arrow.role, material)
            size, at = arrow_parts(length)
            a = self._node(f"shaft {arrow.key}", node, mesh=shaft, scale=size[-1].tolist())
            b = self._node(
                f"head {arrow.key}", node, mesh=head, translation=at[0][-1].tolist(), scale=at[1][-1].tolist()
            )
            out.append((arrow, node, a, b))
        return out

    def _arrow_meshes(self, role: str, material: int) -> tuple[int, int]:
        for k, mesh in enumerate(self.file.meshes):
            if mesh.name == f"shaft {role}":
                return k, k + 1
        import trimesh

        rod = trimesh.creation.cylinder(radius=SHAFT, height=1.0, sections=20)
        cone = trimesh.creation.cone(radius=HEAD, height=POINT, sections=28)
        rod.apply_translation([0.0, 0.0, 0.5])
        meshes = []
        for name, solid in ((f"shaft {role}", rod), (f"head {role}", cone)):
            flat = solid.vertices[solid.faces].reshape(-1, 3)
            normals = np.repeat(solid.face_normals, 3, axis=0)
            up = np.stack([flat[:, 1], flat[:, 2], flat[:, 0]], axis=-1)
            turned = np.stack([normals[:, 1], normals[:, 2], normals[:, 0]], axis=-1)
            meshes.append(self._mesh(name, up, turned, np.arange(len(flat)).reshape(-1, 3), material))
        return meshes[0], meshes[1]

    # ---- movement ---------------------------------------------------------------------------------------

    def _animate(self, arrows: list[tuple[Arrow, int, int, int]]) -> None:
        animation = g.Animation(name=self.title, samplers=[], channels=[])
        self.file.animations = [animation]
        for link, node in self.links.items():
            place, turn = _places(self.plan.frames[link])
            self._channel(animation, node, "translation", place)
            self._channel(animation, node, "rotation", turn)
        for arrow, node, shaft, head in arrows:
            tail, turn, length = arrow_pose(self.plan, arrow)
            size, (at, scale) = arrow_parts(length)
            for which, path, values in (
                (node, "translation", tail), (node, "rotation", turn), (shaft, "scale", size),
                (head, "translation", at), (head, "scale", scale),
            ):  # fmt: skip
                self._channel(animation, which, path, values)
        if not animation.channels:
            self.file.animations = []

    def _channel(self, animation: g.Animation, node: int, path: str, values: Array) -> None:
        """Key the moments between which straight lines (or evenly turning) miss the values by next to nothing."""
        if float(np.ptp(values, axis=0).max()) < 1e-7:
            return
        keys = needed_keys(self.plan.times, values)
        times = self.buffer.add(self.plan.times[keys].astype("f4"), g.SCALAR, bounds=True)
        kind = g.VEC4 if values.shape[1] == 4 else g.VEC3
        out = self.buffer.add(values[keys].astype("f4"), kind)
        animation.samplers.append(g.AnimationSampler(input=times, output=out, interpolation=g.ANIM_LINEAR))
        target = g.AnimationChannelTarget(node=node, path=path)
        animation.channels.append(g.AnimationChannel(sampler=len(animation.samplers) - 1, target=target))


def needed_keys(times: Array, values: Array, tolerance: float = 2e-6) -> NDArray[np.intp]:
    """Rows of (N, K) values that linear interpolation needs to give all others back within ``tolerance``."""
    keep = [0]
    start = 0
    for end in range(2, len(values)):
        share = ((times[start + 1 : end] - times[start]) / (times[end] - times[start]))[:, None]
        line = values[start] + share * (values[end] - values[start])
        if float(np.abs(line - values[start + 1 : end]).max()) > tolerance:
            keep.append(end - 1)
            start = end - 1
    return np.array([*keep, len(values) - 1])


def strongest(weights: Array, count: int) -> tuple[NDArray[np.intp], Array]:
    """The ``count`` largest weights of each row (V, L) and their columns, made to add up to one."""
    columns = np.argsort(-weights, axis=1)[:, :count]
    found = np.take_along_axis(weights, columns, axis=1)
    found = np.where(found > 1e-4, found, 0.0)
    found = (found / found.sum(axis=1, keepdims=True)).astype("f4")
    return np.where(found > 0.0, columns, 0), found


def _places(frames: Array) -> tuple[Array, Array]:
    """Places (N, 3) and turns (N, 4) of rigid frames (N, 4, 4)."""
    return frames[:, :3, 3], continuous(Rotation.from_matrix(frames[:, :3, :3]).as_quat())


def _units(vectors: Array) -> NDArray[np.float32]:
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(length > 1e-9, vectors / np.maximum(length, 1e-9), [0.0, 1.0, 0.0]).astype("f4")


def _linear(colour: Array) -> Array:
    """sRGB fractions to linear ones, as the format's colours are."""
    return np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
