"""Bodies for our own pages as one binary glTF: links as nodes, bones on them, and what bends between links as skins.

Question answered: how do a person's bones, outline, spine and muscles stand in a page's file, so that moving the links
and one number a muscle is all that the page has to do?

Skin, lumbar spine and muscles are skinned meshes; a muscle's swelling with force is a morph along its normals. Pages
colour every surface themselves, in light and dark: vertex colours hold no colour but how much light a place gets, on
muscles also how much of it is tendon. No arrows, no animation.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pygltflib as g
from scipy.spatial.transform import Rotation

from viz3d.arrays import Array
from viz3d.output.cartilage import hatching_colour
from viz3d.output.clothes import worn_by
from viz3d.output.flesh import WIDE
from viz3d.output.gltf_buffer import strongest
from viz3d.output.gltf_file import linear
from viz3d.output.page_file import Bound, PageFile
from viz3d.output.solid_arrows import continuous
from viz3d.output.window import baked_colours, shaded
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.build import Shape
from viz3d.shapes.clothing import Clothed
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.spine import BENDING, spine_bound
from viz3d.stage.palette import palette
from viz3d.stage.plan import Plan
from viz3d.version import __version__

_TURN = Rotation.from_euler("y", -90.0, degrees=True)
"""Our axes to the format's."""
_BONES_PER_VERTEX = 4
_BARE = "#FFFFFF"


class BodyOnPage:
    """A figure put into a file, standing as in the last row of its plan.

    ``root``: its node in our axes; ``links``: link -> node; ``muscles``: muscle -> node; ``tops``: nodes of its scene.
    """

    def __init__(self, parts: PageFile, plan: Plan, figure: Figure) -> None:
        self.parts, self.plan, self.figure = parts, plan, figure
        self.last = len(plan) - 1
        self.root = parts.node("viz3d", rotation=_TURN.as_quat().tolist())
        self.links: dict[str, int] = {}
        for link in plan.frames:
            place, turn = _places(plan.frames[link])
            self.links[link] = parts.node(
                link,
                self.root,
                translation=place[-1].tolist(),
                rotation=turn[-1].tolist(),
                extras={"link": link},
            )
        self.tops = [self.root]
        for key, shape in figure.shapes.items():
            self._shape(key, shape)
        if figure.clothed is not None:
            self._clothes(figure.clothed)
        skins = figure.skins or {("skin", "middle"): figure.shell}
        for (group, side), shell in skins.items():
            self._skin(shell, group, side)
        for name in figure.muscles:
            self._muscle(name)

    def _shape(self, key: str, shape: Shape) -> None:
        group = key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1]
        side = "" if shape.side == "middle" else f"{shape.side} "
        extras = {"group": group, "side": shape.side, "material": shape.material}
        if self._loaded(shape):
            extras["loaded"] = "yes"
        link = self.links[shape.link_among(self.links)]
        if shape.name in BENDING:
            self._spine(shape, extras)
            return
        mesh = self._mesh(f"{side}{shape.name}", shape)
        node = self.parts.node(f"{side}{shape.name}", link, mesh=mesh, extras=extras)
        if shape.name == "hip" and shape.side == self.plan.side:
            self._hatching(shape.side, node)

    def _hatching(self, side: str, hip: int) -> None:
        """Lines on the bare floor of the loaded socket, seen wherever its bone is."""
        ends = self.figure.hatching.get(side, np.zeros((0, 2, 3)))
        if len(ends):
            colours = self.parts.colours(np.tile(linear(hatching_colour(palette("light")["bone"])), (2 * len(ends), 1)))
            lines = self.parts.lines(ends, colours, self.parts.unlit("hatching"))
            self.parts.file.meshes.append(g.Mesh(name="hatching", primitives=[lines]))
            self.parts.node("hatching", hip, mesh=len(self.parts.file.meshes) - 1)

    def _loaded(self, shape: Shape) -> bool:
        return shape.name == "lunate" and shape.side == self.plan.side

    def _colours(self, shape: Shape) -> Array:
        """Vertex colours of a shape, linear."""
        return linear(np.clip(baked_colours(shape.surface, _BARE), 0.0, 1.0))

    def _mesh(self, name: str, shape: Shape) -> int:
        surface, material = shape.surface, self.parts.material("bone", (1.0, 1.0, 1.0))
        if self._loaded(shape):
            material = self.parts.unlit("cartilage")
        colours = self._colours(shape)
        return self.parts.mesh(name, surface.points, surface.normals, surface.triangles, material, colours)

    def _spine(self, shape: Shape, extras: dict[str, Any]) -> None:
        """A shape of the spine, bent between pelvis and trunk."""
        share, rest = spine_bound(shape, self.figure.shell)
        surface = shape.surface
        mesh = self.parts.mesh(
            shape.name, surface.points, surface.normals, surface.triangles,
            self.parts.material("bone", (1.0, 1.0, 1.0)), self._colours(shape), _between(share),
        )  # fmt: skip
        skin = self.parts.skin(shape.name, [self.links["trunk"], self.links["pelvis"]], rest)
        self.tops.append(self.parts.node(shape.name, mesh=mesh, skin=skin, extras=extras))

    def _skin(self, shell: Shell, group: str, side: str) -> None:
        """A piece of the body's outline, bent by up to four links a vertex; its node stands beside the root."""
        name = "body outline" if side == "middle" else f"{side} {group} outline"
        mesh = self.parts.mesh(
            name, shell.points, shell.normals, shell.triangles,
            self.parts.material("skin", (1.0, 1.0, 1.0), 0.22),
            bound=Bound(*strongest(shell.weights, _BONES_PER_VERTEX)),
        )  # fmt: skip
        skin = self.parts.skin(name, [self.links[n] for n in shell.links], shell.rest)
        self.tops.append(self.parts.node(name, mesh=mesh, skin=skin, extras={"group": group, "side": side}))

    def _clothes(self, clothed: Clothed) -> None:
        """What a person in clothes is seen in, bent as the skin is; each says how far free arms are drawn out."""
        for worn in worn_by(clothed):
            shell = worn.shell
            mesh = self.parts.mesh(
                worn.name, shell.points, shell.normals, shell.triangles,
                self.parts.material("bone", (1.0, 1.0, 1.0)), linear(worn.colours(_BARE)), Bound(*worn.bound()),
            )  # fmt: skip
            skin = self.parts.skin(worn.name, [self.links[n] for n in shell.links], shell.rest)
            extras = {"group": "worn", "worn": worn.name, "arms": clothed.arms_out}
            self.tops.append(self.parts.node(worn.name.replace("_", " "), mesh=mesh, skin=skin, extras=extras))

    def _muscle(self, name: str) -> None:
        """A slack muscle bent between pelvis and thigh, and how it swells; a node beside the root."""
        body, links = self.figure.muscles[name], ("pelvis", f"{self.plan.side}_thigh")
        rest = np.stack([np.eye(4), np.eye(4)])
        rest[1][:3, 3] = body.hip
        light = shaded(np.ones(3), body.shade)[:, 0]
        colours = np.column_stack([light, body.tendinous(), np.zeros(len(light)), np.ones(len(light))])
        mesh = self.parts.mesh(
            name, body.points, body.normals, body.triangles, self.parts.material("bone", (1.0, 1.0, 1.0)), colours,
            _between(body.thigh), body.swell[:, None] * body.normals, np.column_stack([body.across / WIDE, body.along]),
        )  # fmt: skip
        self.parts.file.meshes[mesh].weights = [0.0]
        skin = self.parts.skin(name, [self.links[n] for n in links], rest)
        extras = {"group": "muscle", "muscle": name}
        self.tops.append(self.parts.node(name.replace("_", " "), mesh=mesh, skin=skin, extras=extras))


def _between(share: Array) -> Bound:
    """Vertices carried by two joints, the second by ``share`` (V,)."""
    weights = np.column_stack([1.0 - share, share, *np.zeros((2, len(share)))]).astype("f4")
    return Bound(np.where(weights > 0.0, [0, 1, 0, 0], 0), weights)


def _places(frames: Array) -> tuple[Array, Array]:
    """Places (N, 3) and turns (N, 4) of rigid frames (N, 4, 4)."""
    return frames[:, :3, 3], continuous(Rotation.from_matrix(frames[:, :3, :3]).as_quat())


def page_bytes(cast: Sequence[tuple[Plan, Figure]], title: str, source: str) -> bytes:
    """Bodies as one file, one scene each; what two bodies share is in it once."""
    asset = g.Asset(version="2.0", generator=f"viz3d {__version__}")
    asset.extras = {"title": title, "source": source}
    parts = PageFile(g.GLTF2(asset=asset))
    bodies = [BodyOnPage(parts, plan, figure) for plan, figure in cast]
    parts.file.scenes = [g.Scene(nodes=body.tops, name=str(k)) for k, body in enumerate(bodies)]
    parts.file.scene = 0
    return parts.whole()
