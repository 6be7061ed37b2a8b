"""A quick preview of changed sizes: the bones already built, warped by the named points until true ones are ready.

Question answered: roughly what will these bones look like with the new measures, within a blink?

Control points are the named points and muscle attachments of :mod:`viz3d.body.landmarks`, with points on the head's
sphere, before and after; between them a thin-plate spline carries the vertices. Bones that only follow a length are
scaled, and what is made by formula (cartilage) is made anew. Not a replacement: a preview keeps the old triangles, so
fine edges (a socket's rim) may be off by millimetres.
:func:`viz3d.shapes.skeleton.group_shapes` gives the true surface.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.interpolate import RBFInterpolator
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.landmarks import femur_landmark, landmark_rows, pelvis_landmark
from viz3d.body.names import LEFT
from viz3d.body.person import Body, Hip
from viz3d.body.segments import lengths
from viz3d.shapes.build import BONES, Shape, build_bone
from viz3d.shapes.warp import link_length
from viz3d.tables import read_toml

_FLIP = np.array([1.0, 1.0, -1.0])
_AROUND = np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]], dtype=float)


def preview_group(name: str, shapes: list[Shape], before: Body, after: Body) -> list[Shape]:
    """A group's shapes of one person, warped to another's measures.

    Parameters
    ----------
    name : the group's table. shapes : as :func:`viz3d.shapes.skeleton.group_shapes` gave them for ``before``.

    Returns
    -------
    The same shapes moved; normals and contact shadow are the old ones.
    """
    table = read_toml(BONES, f"{name}.toml")
    about, made = table["group"], {bone for bone, row in table["bone"].items() if row.get("made")}
    if about["warp"] == "length":
        scale = link_length(after, about["length"]) / link_length(before, about["length"])
        return [replace(s, surface=replace(s.surface, points=s.surface.points * scale)) for s in shapes]
    warps: dict[str, RBFInterpolator] = {}
    out = []
    for shape in shapes:
        if shape.name in made:
            out.append(_remade(name, shape, before, after))
            continue
        side = shape.side if about["warp"] == "femur" else "both"
        if side not in warps:
            warps[side] = RBFInterpolator(*_control(about["warp"], side, before, after), kernel="thin_plate_spline")
        out.append(replace(shape, surface=replace(shape.surface, points=warps[side](shape.surface.points))))
    return out


def _remade(name: str, shape: Shape, before: Body, after: Body) -> Shape:
    """A shape made by formula, quickly made for both people: each vertex goes where the one nearest to it goes."""
    old, new = (build_bone(name, shape.name, body, body.hip(shape.side)).points for body in (before, after))
    if shape.side == LEFT:
        old, new = old * _FLIP, new * _FLIP
    _, near = cKDTree(old).query(shape.surface.points)
    return replace(shape, surface=replace(shape.surface, points=shape.surface.points + (new - old)[near]))


def control_points(name: str, side: str, before: Body, after: Body) -> tuple[Array, Array]:
    """Matching named points (P, 3) of two people's bones of one group, in its frame: alike where the bones are."""
    return _control(read_toml(BONES, f"{name}.toml")["group"]["warp"], side, before, after)


def _control(warp: str, side: str, before: Body, after: Body) -> tuple[Array, Array]:
    """Matching points (P, 3) of the two people."""
    if warp == "pelvis":
        pairs = [_pelvis_points(body) for body in (before, after)]
    else:
        pairs = [_femur_points(body, body.hip(side)) for body in (before, after)]
        if side == LEFT:
            pairs = [points * _FLIP for points in pairs]
    _, first = np.unique(np.round(pairs[0], 4), axis=0, return_index=True)
    return pairs[0][first], pairs[1][first]


def _pelvis_points(body: Body) -> Array:
    right = np.concatenate([
        np.stack([pelvis_landmark(n, body)[0] for n in landmark_rows()["pelvis"]]),
        _sphere(np.array([0.0, 0.0, float(body.hip_spacing[0]) / 2]), body.right),
    ])  # fmt: skip
    return np.concatenate([right, right * _FLIP])


def _femur_points(body: Body, hip: Hip) -> Array:
    named = np.stack([femur_landmark(n, body, hip)[0] for n in landmark_rows()["femur"]])
    knee = np.array([0.0, -float(lengths(body).thigh[0]), 0.0])
    return np.concatenate([named, _sphere(np.zeros(3), hip), knee[None]])


def _sphere(centre: Array, hip: Hip) -> Array:
    return np.asarray(centre + _AROUND * float(hip.head_radius[0]))
