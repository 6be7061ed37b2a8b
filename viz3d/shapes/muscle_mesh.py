"""The muscles round a hip as closed surfaces on the bones, bent with the hip and swollen with force.

Question answered: what do a person's hip muscles look like in this posture, at these forces?

Built once in neutral stance, the deepest first: a field round the fibres (:mod:`viz3d.shapes.muscle_fibres`), less the
bones and the deeper muscles, becomes one closed surface that reaches into neither. Each vertex follows the pelvis, the
thigh or something between, by how near it is to either. Force moves the free side outward in the
belly and inward towards the ends, so that the volume stays. Right side built, left mirrored; metres, pelvis frame.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn
from viz3d.body.muscle_bodies import MuscleBody, hip_centre, muscle_bodies
from viz3d.body.names import RIGHT
from viz3d.body.person import Body
from viz3d.shapes import cache
from viz3d.shapes.build import Shape
from viz3d.shapes.finish import closed_at, lighter
from viz3d.shapes.muscle_fibres import Boundary, Room, Spheres, belly_share, lay_fibres
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.surface import Surface, Triangles, contour_of, neighbour_mean, smooth, vertex_normals

_VERSION = 11
_STEP = 2.5
"""Grid of the fields, mm."""
_GAP = 0.8
"""A muscle stays so far off bones and deeper muscles, mm."""
_STEEP, _BLUNT = 3.0, 2.5
"""The larger the first, the steeper a muscle's edge meets what it lies on; its edge is blunt over the second, mm."""
_HOLD = 0.12
"""A place goes wholly with a bone while its distance is less than this share of both bones' distances together."""
_EVENED = 4
"""Rounds of evening, over the surface, of how much a place goes with the thigh."""
_MARGIN = 30.0
"""The room reaches so far beyond where muscles begin and end, mm."""
_FREE = 6.0
"""Force moves a place in full where it is so far from what it lies on, mm."""
_STILL, _REACH, _DEEPEST = 0.005, 9.0, 6.0
"""What goes with a bone but for this share stays off it; bending brings places into it from at most so far, mm, and
they are moved out from at most so deep, mm."""
_PER_CM2 = 9.0
"""Triangles for each square centimetre."""


def swelling(activation: Array | float) -> Array:
    """How far a muscle's places move, as shares of their ``swell``, at force over strength (N,), 0 to 1."""
    slack, full = drawn()["belly_slack"], drawn()["belly_full"]
    return np.asarray(slack + (full - slack) * np.asarray(activation) - 1.0)


@dataclass(frozen=True)
class Bed:
    """A bone that a muscle lies on and moves against: ``bone`` in its link's frame, mm; ``near``: which places of the
    muscle may come to lie in it as the hip bends."""

    bone: Boundary
    near: NDArray[np.intp]

    def kept_out(self, points: Array, link: Array) -> None:
        """Move the places near the bone out of it, in place: points (V, 3) in the world, m; link frame (4, 4)."""
        turn, place = link[:3, :3], link[:3, 3]
        away, out = self.bone.away(1e3 * (points[self.near] - place) @ turn)
        inside = away < _GAP / 2
        lift = 1e-3 * np.clip(_GAP / 2 - away[inside], 0.0, _DEEPEST)
        points[self.near[inside]] += lift[:, None] * (out[inside] @ turn.T)


@dataclass(frozen=True)
class MuscleMesh:
    """One muscle in neutral stance.

    ``points`` and ``normals`` (V, 3), pelvis frame, m; ``thigh`` (V,) share of the thigh's movement; ``along`` (V,) 0
    to 1 on its fibres; ``across`` (V,) m from the first of them where the muscle is fullest; ``swell`` (V,) m that a
    place moves along its normal when the belly's area doubles; ``shade`` (V,) how much of the sky it sees; ``hip`` (3,)
    the hip's centre, about which the thigh turns.
    """

    name: str
    points: Array
    triangles: Triangles
    normals: Array
    shade: Array
    thigh: Array
    along: Array
    across: Array
    swell: Array
    tendon: float
    hip: Array
    root: float = 0.0
    beds: tuple[Bed, Bed] | None = None
    """Pelvis and femur, of which a bent muscle keeps out."""

    def posed(self, pelvis: Array, thigh: Array, activation: float) -> tuple[Array, Array]:
        """Points and unit normals, (V, 3) each, world, m, for link frames (4, 4) and force over strength, 0 to 1."""
        rest = self.points + (float(swelling(activation)) * self.swell)[:, None] * self.normals
        back = np.eye(4)
        back[:3, 3] = -self.hip
        moves = np.stack([pelvis, thigh @ back])
        share = np.stack([1.0 - self.thigh, self.thigh], axis=-1)
        blended = np.tensordot(share, moves[:, :3], axes=1)
        points = np.einsum("vij,vj->vi", blended[:, :, :3], rest) + blended[:, :, 3]
        normals = np.einsum("vij,vj->vi", blended[:, :, :3], self.normals)
        for bed, link in zip(self.beds or (), (pelvis, thigh), strict=False):
            bed.kept_out(points, link)
        return points, normals / np.linalg.norm(normals, axis=1, keepdims=True)

    def tendinous(self) -> Array:
        """How much of the tendon's look each vertex has, (V,) 0 to 1."""
        if self.tendon == 1.0:
            return np.ones(len(self.along))
        edge = np.clip((self.along - (1.0 - self.tendon) + 0.05) / 0.10, 0.0, 1.0)
        begin = np.clip((self.root + 0.035 - self.along) / (0.035 if self.root == 0.0 else 0.07), 0.0, 1.0)
        return np.asarray(np.maximum(edge, begin))


def lighter_muscle(mesh: MuscleMesh, share: float) -> MuscleMesh:
    """The same muscle with about ``share`` of its triangles."""
    light = lighter(Surface(mesh.points, mesh.triangles, mesh.normals, mesh.shade), share)
    near = cKDTree(mesh.points).query(light.points)[1]
    carried = {name: getattr(mesh, name)[near] for name in ("thigh", "along", "across", "swell")}
    return replace(
        mesh, points=light.points, triangles=light.triangles, normals=light.normals, shade=light.shade, **carried
    )


def build_muscles(body: Body, side: str, bones: list[Shape]) -> dict[str, MuscleMesh]:
    """Every muscle round one hip of a person (first of the batch), from the cache or built.

    Parameters
    ----------
    bones : the shapes of the pelvis and of the thighs, each in its link's frame.
    """
    hip = body.hip(side)
    flip = np.array([1.0, 1.0, 1.0 if side == RIGHT else -1.0])
    centre, bodies = hip_centre(body, hip), muscle_bodies(body, hip)
    solids = _solids(bones, side, centre, flip)
    key = _key(bodies, solids)

    def build() -> list[Shape]:
        made, about = _Maker(bodies, solids, centre).made()
        cache.found_or_computed(f"{key}-fibres", about.shape, lambda: about, {"group": "muscle fibres"})
        cache.store(key, made, {"group": "muscles"})
        return made

    found = {s.name: s.surface for s in cache.found_or_built(key, build)}
    size = (sum(len(found[one.name].points) for one in bodies), 4)
    about = cache.found_or_computed(
        f"{key}-fibres", size, lambda: _Maker(bodies, solids, centre).made()[1], {"group": "muscle fibres"}
    )
    out, at = {}, 0
    beds = {link: _bed(solids, link, centre, flip) for link in ("pelvis", "thigh")}
    for one in bodies:
        surface = found[one.name]
        thigh, along, across, swell = about[at : at + len(surface.points)].T
        at += len(surface.points)
        triangles = surface.triangles if side == RIGHT else surface.triangles[:, ::-1].copy()
        out[one.name] = MuscleMesh(
            one.name, surface.points * flip, triangles, surface.normals * flip, surface.shade,
            thigh, along, across, swell, one.tendon, centre * flip, one.root,
            (_near(beds["pelvis"], 1e3 * surface.points * flip, thigh > _STILL),
             _near(beds["thigh"], 1e3 * (surface.points - centre) * flip, thigh < 1.0 - _STILL)),
        )  # fmt: skip
    return out


def _solids(bones: list[Shape], side: str, centre: Array, flip: Array) -> list[tuple[str, Surface]]:
    """The bones round the hip with their links, in the pelvis frame, as of a right side, m."""
    out = []
    for shape in bones:
        if shape.material == "cartilage":
            continue
        if shape.link == "pelvis" and shape.side in (side, "middle"):
            turn = flip if shape.side == side else np.ones(3)  # the sacrum as it is: both sides see the same one
            out.append((shape.link, shape.surface, np.zeros(3), turn))
        elif shape.link == "thigh" and shape.side == side:
            out.append((shape.link, shape.surface, centre, flip))
    return [(link, Surface(s.points * f + c, s.triangles, s.normals * f, s.shade)) for link, s, c, f in out]


def _key(bodies: list[MuscleBody], solids: list[tuple[str, Surface]]) -> str:
    digest = hashlib.sha256(f"muscles {_VERSION} {cache.MESHER} {drawn()['belly_share']}".encode())
    for one in bodies:
        digest.update(f"{one.name} {one.belly:.9f} {one.thin:.6f} {one.tendon} {one.root} {one.run_out:.6f}".encode())
        for values in (one.start, one.end, one.bulge):
            digest.update(np.round(values, 7).astype(np.float32).tobytes())
    for _, solid in solids:
        digest.update(np.round(solid.points, 6).astype(np.float32).tobytes())
    return digest.hexdigest()[:24]


class _Maker:
    """Lays the fibres of every muscle and draws surfaces round them, the deepest first."""

    def __init__(self, bodies: list[MuscleBody], solids: list[tuple[str, Surface]], centre: Array) -> None:
        self.bodies, self.centre = bodies, 1e3 * centre
        self.bones = [surface for _, surface in solids]
        self.pelvis, self.thigh = (
            _boundary([surface for link, surface in solids if link == one]) for one in ("pelvis", "thigh")
        )
        self.bone = _boundary(self.bones)
        ends = np.concatenate(
            [v.reshape(-1, 3) + c for one in bodies for v, c in ((one.start, 0.0), (one.end, centre))]
        )
        self.room = Room(1e3 * ends.min(axis=0) - _MARGIN, 1e3 * ends.max(axis=0) + _MARGIN, _STEP)
        self.room.fill(self.bone)

    def made(self) -> tuple[list[Shape], Array]:
        """One shape a muscle, its contact shadow cast by bones and deeper muscles; and rows of (thigh share, along,
        across, swell) for the vertices of all of them, (V, 4)."""
        shapes: list[Shape] = []
        about = []
        for one in self.bodies:
            fibres = lay_fibres(
                1e3 * one.start, 1e3 * one.end + self.centre, 1e3 * one.bulge, 1e6 * one.belly, 1e3 * one.thin,
                one.tendon, one.root, self.room, self.bone,
            )  # fmt: skip
            body = fibres.spheres()
            wide = float(body.radii.max()) + _MARGIN / 2
            cells, places = self.room.box(body.centres.min(axis=0) - wide, body.centres.max(axis=0) + wide)
            values = body.field(places, _STEP)
            filled = _joined(values, self.room.values[cells].astype(float), 1e3 * one.run_out)
            surface = self._surface(filled, places[0, 0, 0])
            shaded = contact_shadow([surface], among=[*self.bones, *(s.surface for s in shapes)])[0]
            shapes.append(Shape(one.name, "pelvis", "right", "muscle", shaded))
            about.append(self._about(body, one, surface))
            self.room.values[cells] = np.minimum(self.room.values[cells], np.minimum(values, filled))
        return shapes, np.concatenate(about)

    def _surface(self, values: Array, low: Array) -> Surface:
        points, triangles = contour_of(values, low, _STEP)
        points = self._clear(smooth(points, triangles, 8))
        a, b, c = (points[triangles[:, i]] for i in range(3))
        area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()
        points, triangles = closed_at(points, triangles, round(_PER_CM2 * area / 100.0))
        points = self._clear(points)
        return Surface(1e-3 * points, triangles, _whole_normals(points, triangles), np.ones(len(points)))

    def _clear(self, points: Array) -> Array:
        """Points moved out of bones and deeper muscles."""
        for _ in range(5):
            for one in (self.room, self.bone):
                away, out = one.away(points)
                points = points + np.clip(0.8 * _GAP - away, 0.0, 3.0)[:, None] * out
        return points

    def _about(self, body: Spheres, one: MuscleBody, surface: Surface) -> Array:
        points = 1e3 * surface.points
        far, near = body.tree.query(points, k=12)
        weight = 1.0 / (far + 1.0) ** 2
        weight /= weight.sum(axis=1, keepdims=True)
        along, across, radius = ((v[near] * weight).sum(axis=1) for v in (body.along, body.across, body.radii))
        inside = body.centres[near[:, 0]]
        pelvic, femoral = (one.tree.query(inside)[0] for one in (self.pelvis, self.thigh))
        bend = pelvic / np.maximum(pelvic + femoral, 1e-6)
        average = neighbour_mean(surface.triangles, len(points))
        for _ in range(_EVENED):
            bend = 0.5 * (bend + average @ bend)
        bend = np.clip((bend - _HOLD) / (1.0 - 2.0 * _HOLD), 0.0, 1.0)
        moves = radius * np.clip((self.room.away(points)[0] - _GAP) / _FREE, 0.0, 1.0)
        belly = belly_share(along, one.tendon, one.root)
        fleshy = (belly > 0.0) & (belly < 1.0)
        area, middle, ends = _vertex_areas(surface), np.sin(np.pi * belly) ** 2 * moves, fleshy * moves
        lost = (middle * area).sum() / max(float((ends * area).sum()), 1e-12)
        return np.column_stack([bend * bend * (3 - 2 * bend), along, 1e-3 * across, 1e-3 * (middle - lost * ends)])


def _joined(muscle: Array, under: Array, run_out: float) -> Array:
    """A muscle's field less what it lies on: the groove beside its edge is filled, and the edge itself blunt; mm."""
    bed, rest = under + _STEEP, _GAP - under
    near = np.clip(1.0 - np.abs(muscle - bed) / run_out, 0.0, 1.0)
    filled = np.minimum(muscle, bed) - 0.25 * run_out * near**2
    edge = np.clip(1.0 - np.abs(filled - rest) / _BLUNT, 0.0, 1.0)
    return np.asarray(np.maximum(filled, rest) + 0.25 * _BLUNT * edge**2)


def _bed(solids: list[tuple[str, Surface]], link: str, centre: Array, flip: Array) -> Boundary:
    """A link's bones in its own frame, mm."""
    start = 1e3 * (centre if link == "thigh" else np.zeros(3))
    whole = _boundary([surface for name, surface in solids if name == link])
    return Boundary((whole.points - start) * flip, whole.normals * flip)


def _near(bone: Boundary, points: Array, moves: NDArray[np.bool_]) -> Bed:
    """The places (V, 3), mm, that lie near a bone and move against it."""
    near = np.flatnonzero(moves)
    far = bone.tree.query(points[near], distance_upper_bound=_REACH)[0]
    return Bed(bone, near[np.isfinite(far)])


def _boundary(surfaces: list[Surface]) -> Boundary:
    """Several bones as one solid, mm."""
    return Boundary(1e3 * np.concatenate([s.points for s in surfaces]), np.concatenate([s.normals for s in surfaces]))


def _whole_normals(points: Array, triangles: Triangles) -> Array:
    """Unit normals (V, 3); where slivers leave none, the nearest vertex's."""
    normals = vertex_normals(points, triangles)
    there = np.linalg.norm(normals, axis=1) > 0.5
    if not there.all():
        normals[~there] = normals[there][cKDTree(points[there]).query(points[~there])[1]]
    return normals


def _vertex_areas(surface: Surface) -> Array:
    """A third of the triangles round each vertex, (V,) m²."""
    a, b, c = (surface.points[surface.triangles[:, i]] for i in range(3))
    third = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 6.0
    return np.asarray(sum(np.bincount(surface.triangles[:, i], third, len(surface.points)) for i in range(3)))
