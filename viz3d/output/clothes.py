"""What a person in clothes is seen in, for all that draw one in space: the window that turns, glTF, our own pages.

Question answered: which surfaces are worn, how light is each place of them, how do they bend with the links, and where
do they open on the hip and on what a file could not show in front of them?
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from viz3d.arrays import Array, Frames
from viz3d.output.dressed import RADII, RISE, clear_within
from viz3d.output.gltf_buffer import strongest
from viz3d.output.window import shaded
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.clothing import Clothed
from viz3d.shapes.refine import refined
from viz3d.shapes.skeleton import Figure
from viz3d.stage.palette import rgb
from viz3d.stage.plan import Plan

_LINKS_PER_VERTEX = 4
_NEAR, _EDGE = 1.4, 0.009
"""So near to an opening, in its radii, edges are shorter than that, m."""
_SLOT, _ON_ARM, _THROUGH = 0.040, 0.020, 0.80
"""Half the width, m, of what is open before and behind an arrow, less on an arm, and how clear it is there."""
_MINE = 0.2
"""What follows an arm by so much counts as the arm."""
_ARM = ("_upper_arm", "_forearm", "_hand")


@dataclass(frozen=True)
class Worn:
    """Skin, hair or a garment: its surface, bound to the links, and its shade (V,) in contact."""

    name: str
    shell: Shell
    shade: Array

    def colours(self, colour: str) -> Array:
        """Colour of each vertex, (V, 3) fractions."""
        return shaded(np.array(rgb(colour)), self.shade)

    def bound(self) -> tuple[Frames, Array]:
        """The four links that carry each vertex, and their shares, (V, 4) each."""
        return strongest(self.shell.weights, _LINKS_PER_VERTEX)


def worn_by(clothed: Clothed) -> Iterator[Worn]:
    """Everything that a person in clothes is seen in."""
    for name, shell in clothed.surfaces.items():
        yield Worn(name, shell, clothed.shade[name])


def beside_hips(plan: Plan, figure: Figure) -> Plan:
    """The plan of a person in clothes with free arms drawn out beside the hips; any other as it is."""
    return plan if figure.clothed is None else replace(plan, frames=figure.clothed.hung(plan.frames))


@dataclass(frozen=True)
class Openings:
    """Where clothes are seen through, the same from wherever one looks.

    ``hip`` (3,) in the last of N situations. ``spans`` (N, K, 2, 3): ends of the body's arrows, ``held`` (N, H, 2, 3)
    of those at its hands, world, m; infinite where there is none. ``frames``: link -> (N, 4, 4).
    """

    hip: Array
    spans: Array
    held: Array
    frames: dict[str, Array]

    def opened(self, worn: Worn) -> tuple[Worn, Array]:
        """The garment with small triangles where it opens, and how clear it is at each vertex, (V,) 0 to 1.

        Round the hip as pictures show it from the front, but not on an arm that hangs before it; less clear, before
        and behind arrows.
        """
        shell, shade = refined(worn.shell, worn.shade, lambda s: np.minimum(*self._away(s, worn.name)) < _NEAR, _EDGE)
        hip, arrow = self._away(shell, worn.name)
        return replace(worn, shell=shell, shade=shade), np.maximum(clear_within(hip), _THROUGH * clear_within(arrow))

    def _away(self, shell: Shell, name: str) -> tuple[Array, Array]:
        """How far vertices lie from the middles of the hip's window and of the arrows' slots, in their radii, (V,)."""
        posed = [shell.posed(self.frames, row)[0] for row in range(len(self.spans))]
        arm = shell.weights[:, [k for k, link in enumerate(shell.links) if link.endswith(_ARM)]].sum(axis=1) > _MINE
        arm &= name == "skin"
        body, hand = (_from_lines(posed, spans) for spans in (self.spans, self.held))
        hip = np.hypot(*((posed[-1] - self.hip - np.array([0.0, RISE, 0.0]))[:, [2, 1]] / RADII).T)
        return np.where(arm, np.inf, hip), np.where(arm, hand / _ON_ARM, body / _SLOT)


def _from_lines(posed: list[Array], spans: Array) -> Array:
    """Least distance (V,) of points in N situations, (V, 3) each, from pieces of line (N, K, 2, 3)."""
    out = np.full(len(posed[0]), np.inf)
    for points, lines in zip(posed, spans, strict=True):
        for tail, tip in lines[np.isfinite(lines).all(axis=(1, 2))]:
            out = np.minimum(out, _from_line(points, tail, tip))
    return out


def _from_line(points: Array, tail: Array, tip: Array) -> Array:
    """Distances (V,) of points (V, 3) from a piece of line, seen from the front."""
    flat, way = points[:, 1:] - tail[1:], (tip - tail)[1:]
    along = np.clip(flat @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
    return np.asarray(np.linalg.norm(flat - along[:, None] * way, axis=1))
