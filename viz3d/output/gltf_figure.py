"""One person's film as nodes of a glTF file: links that move, bones, skin, muscles, things held, arrows.

Question answered: what do the nodes of this plan look like, and how do they move?

A root turns our axes (x forward, y up, z right) to the format's (z forward, y up); under it one named node a link
carries its bones. What is held in a hand shrinks to nothing while it is not there. Muscles swell and darken with
activation, as morph targets about their last look. The socket's cartilage has the pressure of the last step, and of
each other step as a variant of its materials: vertex colours cannot be animated. Of a person in clothes only the bones
of the hip that is talked about are there, and no muscles, which would hide their arrow.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pygltflib as g
from scipy.spatial.transform import Rotation

from viz3d.arrays import Array, Frames
from viz3d.body.names import other_side
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure, hatching, isobars
from viz3d.output.clothes import Openings, worn_by
from viz3d.output.flesh import vertex_colours
from viz3d.output.gltf_buffer import strongest
from viz3d.output.gltf_clothes import garment
from viz3d.output.gltf_file import VARIANTS, GltfFile, linear
from viz3d.output.gltf_hands import PieceOfSkin, pieces_of
from viz3d.output.solid_arrows import (
    HEAD,
    METRES_PER_WEIGHT,
    POINT,
    SHAFT,
    SHORTEST,
    arrow_parts,
    arrow_pose,
    continuous,
)
from viz3d.output.views import at_hip, held_ever, is_held
from viz3d.output.window import baked_colours
from viz3d.shapes.build import Shape
from viz3d.shapes.clothing import Clothed
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.stage.desk_labels import arrow_ends
from viz3d.stage.palette import rgb
from viz3d.stage.plan import CARRIED_THINGS, Arrow, Muscle, Plan
from viz3d.stage.theme import Theme
from viz3d.statics.loads import HAND
from viz3d.words.message import joined, message

_TURN = Rotation.from_euler("y", -90.0, degrees=True)
"""Our axes to the format's."""
_BONES_PER_VERTEX = 4
_GROWN = 0.02
"""Smaller changes of activation are not animated."""
_STILL = 1e-3
"""Smaller changes of a force, in body weights, leave its arrow where it is."""
_INSIDE = ("weight", "muscle", "joint")
"""Roles of arrows that stand in the body."""
_LOOKED, _ON_THE_WAY = 7, (0.0, 0.2, 0.4, 0.6, 0.8)
"""Situations, besides the ends of steps, whose arrows clothes may not hide, and shares of the way to the next one."""
_MADE = {"metal": (0.32, 0.55), "ceramic": (0.22, 0.0), "plastic": (0.6, 0.0)}
"""What replacement hips are made of -> how rough and how metallic."""


class FigureInFile:
    """A plan and its figure in a file."""

    def __init__(self, file: GltfFile, plan: Plan, figure: Figure, theme: Theme) -> None:
        self.out, self.plan, self.figure, self.theme = file, plan, figure, theme
        self.links: dict[str, int] = {}
        self.last = len(plan) - 1
        self._moving: list[tuple[int, str, Array, bool]] = []
        """Node, what of it changes, its values in every row, and whether they pass smoothly."""

    def nodes(self) -> list[int]:
        """Write everything; the nodes of its scene."""
        plan, out = self.plan, self.out
        root = out.node("viz3d", rotation=_TURN.as_quat().tolist())
        for link in plan.frames:
            place, turn = _places(plan.frames[link])
            self.links[link] = out.node(link, root, translation=place[-1].tolist(), rotation=turn[-1].tolist())
            self._moving += [(self.links[link], "translation", place, True), (self.links[link], "rotation", turn, True)]
        helds = held_ever(plan)
        for key, shape in self.figure.shapes.items():
            if self._seen(key, shape) and any(belongs(key, shape, held) for held in helds):
                self._bone(key, shape)
        clothed = self.figure.clothed
        skins = self._skin() if clothed is None else self._clothes(clothed)
        worked = [m for m in plan.muscles if m.name in self.figure.muscles and not m.rests and clothed is None]
        muscles = [self._muscle(m) for m in worked]
        self._arrows(root)
        return [root, *skins, *muscles]

    def animate(self, name: str) -> None:
        """Write the film, from its own first moment on."""
        if len(self.plan) < 2:
            return
        animation, times = g.Animation(name=name, samplers=[], channels=[]), self.plan.times - self.plan.times[0]
        for node, path, values, steady in self._moving:
            self.out.channel(animation, node, path, times, values, steady)
        if animation.channels:
            self.out.file.animations.append(animation)

    # ---- bones and what is held -------------------------------------------------------------------------

    def _seen(self, key: str, shape: Shape) -> bool:
        """Of a person in clothes, the bones of the hip that is talked about, and what is held."""
        return self.figure.clothed is None or at_hip(shape, self.plan.side) or is_held(key, shape)

    def _bone(self, key: str, shape: Shape) -> None:
        side = "" if shape.side == "middle" else f"{shape.side} "
        name = f"{side}{shape.name}"
        surface, colours = shape.surface, baked_colours(shape.surface, self.theme.colours[shape.material])
        if shape.name == "lunate" and shape.side == self.plan.side:
            mesh = self._cartilage(name, shape)
        else:
            made = shape.material if shape.material in _MADE else "bone"
            rough, metal = _MADE.get(made, (0.85, 0.0))
            material = self.out.material(made, (1.0, 1.0, 1.0), rough=rough, metal=metal)
            tint = np.clip(colours, 0.0, 1.0)
            mesh = self.out.mesh(name, surface.points, surface.normals, surface.triangles, material, tint)
            if shape.name == "hip" and shape.side == self.plan.side:
                lines = self._lines("hatching", *hatching(self.figure, shape.side, self.theme))
                self.out.file.meshes[mesh].primitives += lines
        group = key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1]
        extras = {"group": group, "side": shape.side}
        node = self.out.node(name, self.links[shape.link_among(self.links)], mesh=mesh, extras=extras)
        if self.plan.aids.get(shape.side) in CARRIED_THINGS:
            self._come_and_go(node, shape, key)

    def _come_and_go(self, node: int, shape: Shape, key: str) -> None:
        """A bag or a backpack is there only while there is something in it, and so is the hand that grips it."""
        there = np.array([belongs(key, shape, self.plan.held_at(i)) for i in range(len(self.plan))], dtype=float)
        if not there.all():
            scale = np.repeat(there[:, None], 3, axis=1)
            self.out.file.nodes[node].scale = scale[-1].tolist()
            self._moving.append((node, "scale", scale, False))

    # ---- cartilage ---------------------------------------------------------------------------------------

    def _cartilage(self, name: str, shape: Shape) -> int:
        """The stance socket's cartilage under the last step's pressure, and under each other step's as a variant."""
        rows = self._reached()
        pressed = [cartilage_pressure(shape, self.plan, i) for i in rows]
        colours = [cartilage_colours(shape, p, self.theme, self.plan.sign) for p in pressed]
        surface, material = shape.surface, self.out.unlit("cartilage")
        mesh = self.out.mesh(
            name, surface.points, surface.normals, surface.triangles, material, np.clip(colours[-1], 0, 1), once=False
        )
        primitives = self.out.file.meshes[mesh].primitives
        first = primitives[0]
        groups = [[first, *self._isobars(shape, pressed[-1])]]
        differ = len(rows) > 1 and any(np.abs(c - colours[0]).max() > 1 / 255 for c in colours[1:])
        if differ:
            for tint, pascals in zip(colours[:-1], pressed[:-1], strict=True):
                at = g.Attributes(**{**vars(first.attributes), "COLOR_0": self.out.colours(np.clip(tint, 0, 1))})
                coloured = g.Primitive(attributes=at, material=material, indices=first.indices)
                groups.insert(-1, [coloured, *self._isobars(shape, pascals)])
            self._offer(groups, [self.plan.steps[i] for i in rows])
        self.out.file.meshes[mesh].primitives = [p for group in (groups[-1], *groups[:-1]) for p in group]
        return mesh

    def _reached(self) -> Frames:
        """The last row of each step, the last step's last."""
        steps = np.array(self.plan.steps)
        ends = np.flatnonzero(steps[1:] != steps[:-1])
        return np.array([*ends, self.last])

    def _isobars(self, shape: Shape, pascals: Array) -> list[g.Primitive]:
        return self._lines("isobars", *isobars(shape, pascals, self.theme))

    def _lines(self, name: str, ends: Array, colours: Array) -> list[g.Primitive]:
        tints = np.repeat(colours, 2, axis=0)
        return [self.out.lines(ends, self.out.colours(tints), self.out.unlit(name))] if len(ends) else []

    def _offer(self, groups: list[list[g.Primitive]], names: list[str]) -> None:
        """Let a viewer choose among groups of primitives by name; the last one is shown by default."""
        unseen = self.out.unseen()
        choices = [self.out.variant(name) for name in names]
        for k, group in enumerate(groups):
            for primitive in group:
                seen = primitive.material
                others = [c for n, c in enumerate(choices) if n != k]
                mappings = [{"material": seen, "variants": [choices[k]]}, {"material": unseen, "variants": others}]
                primitive.extensions = {VARIANTS: {"mappings": mappings}}
                primitive.material = seen if group is groups[-1] else unseen

    # ---- skin and muscles -------------------------------------------------------------------------------

    def _skin(self) -> list[int]:
        """The body's outline, bent by up to four links a vertex, and its hands; their nodes stand beside the root."""
        shell = self.figure.shell
        bound = self._bound("body outline", shell.links, shell.rest)
        return [self._outline(piece, bound) for piece in pieces_of(shell, self.plan)]

    def _outline(self, piece: PieceOfSkin, bound: int) -> int:
        shell, out = piece.shell, self.out
        joints, weights = strongest(shell.weights, _BONES_PER_VERTEX)
        name = piece.name if piece.side else "body outline"
        mesh = out.mesh(
            name, shell.points, shell.normals, shell.triangles,
            out.material("skin", rgb(self.theme.colours["shell_fill"]), 0.22),
            JOINTS_0=out.buffer.add(joints.astype("u2"), g.VEC4, g.ARRAY_BUFFER),
            WEIGHTS_0=out.buffer.add(weights.astype("f4"), g.VEC4, g.ARRAY_BUFFER),
        )  # fmt: skip
        return self._bent(piece, name, mesh, shell.points, bound)

    def _bent(self, piece: PieceOfSkin, name: str, mesh: int, points: Array, bound: int, **extras: str) -> int:
        """The node of a piece of skin, whose mesh has these points in the neutral stance."""
        if piece.gone is None:
            return self.out.node(name, mesh=mesh, skin=bound, extras=extras)
        piece.come_and_go(self.out, mesh, points)
        node = self.out.node(name, mesh=mesh, skin=bound, extras=extras | {"group": piece.group, "side": piece.side})
        self._moving.append((node, "weights", piece.gone[:, None], False))
        return node

    def _clothes(self, clothed: Clothed) -> list[int]:
        """Skin, hair and clothes, bent as the outline is; their nodes stand beside the root."""
        shell = next(iter(clothed.surfaces.values()))
        bound, openings = self._bound("worn", shell.links, shell.rest), self._openings()
        nodes = []
        for worn in worn_by(clothed):
            for piece in pieces_of(worn.shell, self.plan):
                part, clear = openings.opened(replace(worn, shell=piece.shell, shade=worn.shade[piece.kept]))
                mesh = garment(self.out, part, clear, self.theme.colours)
                name = piece.name if piece.side else worn.name.replace("_", " ")
                nodes.append(self._bent(piece, name, mesh, part.shell.points, bound, worn=worn.name))
        return nodes

    def _openings(self) -> Openings:
        """Where clothes are seen through: at the hip, and where arrows stand at the end of each step and on the way."""
        plan, some = self.plan, np.linspace(0, self.last, _LOOKED).round().astype(int)
        rows = np.unique(np.concatenate([some, self._reached()]))
        force = np.concatenate([a.force for a in plan.arrows], axis=1)
        moves = np.abs(np.diff(force[rows], axis=0)).max(axis=1, initial=0.0) > _STILL * plan.body_weight
        rows = rows[np.append(moves, True)]
        held, own = ([a for a in plan.arrows if a.role in roles] for roles in ((HAND,), _INSIDE))
        frames = {link: frame[rows] for link, frame in plan.frames.items()}
        return Openings(plan.hip[self.last], self._spans(own, rows), self._spans(held, rows), frames)

    def _spans(self, arrows: list[Arrow], rows: Frames) -> Array:
        """Ends of arrows in some situations, and on their way to the next one, (N, K, 2, 3), world, m."""
        found = [[arrow_ends(a, int(i), self.plan.body_weight, METRES_PER_WEIGHT) for a in arrows] for i in rows]
        ends = np.reshape(np.array(found, dtype=float), (len(rows), -1, 2, 3))
        after = ends[[*range(1, len(rows)), len(rows) - 1]]
        every = np.concatenate([ends + share * (after - ends) for share in _ON_THE_WAY[: len(rows)]], axis=1)
        every[np.linalg.norm(every[:, :, 1] - every[:, :, 0], axis=-1) < SHORTEST] = np.inf
        return every

    def _bound(self, name: str, links: Any, rest: Array) -> int:
        """A skin bound to links in their rest frames (L, 4, 4)."""
        inverse = np.linalg.inv(rest).transpose(0, 2, 1).reshape(-1, 16)
        binds = self.out.buffer.add(inverse.astype("f4"), g.MAT4)
        self.out.file.skins.append(g.Skin(name=name, joints=[self.links[n] for n in links], inverseBindMatrices=binds))
        return len(self.out.file.skins) - 1

    def _muscle(self, muscle: Muscle) -> int:
        """A muscle bent between pelvis and thigh, as thick and dark as in the last step; a node beside the root."""
        body, out = self.figure.muscles[muscle.name], self.out
        rest = np.stack([np.eye(4), np.eye(4)])
        rest[1, :3, 3] = body.hip
        points, normals = body.posed(rest[0], rest[1], float(muscle.activation[self.last]))
        weights = np.column_stack([1.0 - body.thigh, body.thigh, *np.zeros((2, len(points)))]).astype("f4")
        joints = np.where(weights > 0.0, [0, 1, 0, 0], 0)
        mesh = out.mesh(
            muscle.name, points, normals, body.triangles, out.material("bone", (1.0, 1.0, 1.0)),
            vertex_colours(body, muscle, self.last, self.theme.colours) / 255.0,
            JOINTS_0=out.buffer.add(joints.astype("u2"), g.VEC4, g.ARRAY_BUFFER),
            WEIGHTS_0=out.buffer.add(weights, g.VEC4, g.ARRAY_BUFFER),
        )  # fmt: skip
        skin = self._bound(muscle.name, ("pelvis", f"{self.plan.side}_thigh"), rest)
        name = muscle.name.replace("_", " ")
        steps = [round(float(muscle.activation[i]), 3) for i in self._reached()]
        node = out.node(name, mesh=mesh, skin=skin, extras={"activation": steps})
        if float(np.ptp(muscle.activation)) > _GROWN:
            self._swell(muscle, mesh, node, rest)
        return node

    def _swell(self, muscle: Muscle, mesh: int, node: int, rest: Array) -> None:
        """Two morph targets about the last look, for a whole unit of activation: thicker, and darker."""
        body = self.figure.muscles[muscle.name]
        slack, full = (body.posed(rest[0], rest[1], a)[0] for a in (0.0, 1.0))
        rows = {k: Muscle(muscle.name, np.array([v])) for k, v in (("pale", 0.0), ("dark", 1.0))}
        pale, dark = (linear(vertex_colours(body, m, 0, self.theme.colours) / 255.0) for m in rows.values())
        tints = dark - pale
        self.out.morph(mesh, [{"POSITION": full - slack}, {"COLOR_0": np.column_stack([tints, np.zeros(len(tints))])}])
        seen = [
            linear(vertex_colours(body, muscle, i, self.theme.colours) / 255.0) for i in range(len(muscle.activation))
        ]
        dense = float((tints * tints).sum())
        share = np.array([float(((one - pale) * tints).sum()) / dense for one in seen])
        grown = np.stack([muscle.activation - muscle.activation[self.last], share - share[self.last]], axis=-1)
        self._moving.append((node, "weights", grown, True))

    # ---- arrows -------------------------------------------------------------------------------------------

    def _arrows(self, root: int) -> None:
        """Every force as a node called as pictures call it; under it its shaft and head."""
        for arrow in self.plan.arrows:
            colour = rgb(self.theme.colours[arrow.role])
            material = self.out.material(f"force {arrow.role}", colour, rough=0.6)
            tail, turn, length = arrow_pose(self.plan, arrow)
            name, say = self.arrow_name(arrow), self.theme.voice
            values = [say.say(arrow.idle if arrow.is_idle(i) else arrow.values[i][0]) for i in self._reached()]
            extras = {
                "force": arrow.key, "label": say.say(arrow.label), "steps": values,
                "newtons": [float(np.linalg.norm(arrow.force[-1]))],
            }  # fmt: skip
            node = self.out.node(name, root, translation=tail[-1].tolist(), rotation=turn[-1].tolist(), extras=extras)
            shaft, head = self._arrow_meshes(arrow.role, material)
            size, (at, scale) = arrow_parts(length)
            a = self.out.node(f"shaft {arrow.key}", node, mesh=shaft, scale=size[-1].tolist())
            b = self.out.node(
                f"head {arrow.key}", node, mesh=head, translation=at[-1].tolist(), scale=scale[-1].tolist()
            )
            self._moving += [
                (node, "translation", tail, True), (node, "rotation", turn, True), (a, "scale", size, True),
                (b, "translation", at, True), (b, "scale", scale, True),
            ]  # fmt: skip

    def arrow_name(self, arrow: Arrow) -> str:
        """What pictures call it, with its side where two are called so."""
        say = self.theme.voice.say
        label = say(arrow.label)
        if sum(say(a.label) == label for a in self.plan.arrows) < 2:
            return label
        side = self.plan.side if arrow.key.endswith("_stance") else other_side(self.plan.side)
        return say(joined("join.comma", [label, message(f"frame.{side}")]))

    def _arrow_meshes(self, role: str, material: int) -> tuple[int, int]:
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
            meshes.append(self.out.mesh(name, up, turned, np.arange(len(flat)).reshape(-1, 3), material))
        return meshes[0], meshes[1]


def _places(frames: Array) -> tuple[Array, Array]:
    """Places (N, 3) and turns (N, 4) of rigid frames (N, 4, 4)."""
    return frames[:, :3, 3], continuous(Rotation.from_matrix(frames[:, :3, :3]).as_quat())
