"""A bone folder's meshes: the person's own pelvis and femur as shapes, and the socket's articular facets.

Question answered: which surfaces stand in place of the drawn pelvis and femur, and which of their facets carry load?

The joint cartilage drawn in the socket stays our horseshoe, shaped to the measured socket: scans of bone show none.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.own import FEMUR, PELVIS, OwnBones
from viz3d.body.person import Body
from viz3d.errors import MeshError
from viz3d.shapes.build import Shape, build_bone
from viz3d.shapes.meshfile import read_mesh
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.stain import stained
from viz3d.shapes.surface import Surface, vertex_normals

_ON_SOCKET = 0.0015
"""A facet within this distance of the fitted sphere, facing the head, belongs to the socket; m."""


def own_shapes(name: str, body: Body) -> list[Shape]:
    """The shapes of group "pelvis" or "thigh" of a person with a bone folder, contact shadow baked."""
    assert body.own is not None
    if name == "thigh":
        femur = _surface(body.own.folder, FEMUR, body.own.digest)
        (shaded,) = (stained(s, []) for s in contact_shadow([femur]))
        return [
            Shape("femur", "thigh", RIGHT, "bone", shaded), Shape("femur", "thigh", LEFT, "bone", shaded.mirrored()),
        ]  # fmt: skip
    pelvis = _surface(body.own.folder, PELVIS, body.own.digest)
    shapes = [Shape("hip", "pelvis", "middle", "bone", pelvis)]
    for side in (RIGHT, LEFT):
        lunate = build_bone("pelvis", "lunate", body, body.hip(side))
        surface = lunate if side == RIGHT else lunate.mirrored()
        shapes.append(Shape("lunate", "pelvis", side, "cartilage", surface))
    shadows = contact_shadow([s.surface for s in shapes])
    return [
        replace(s, surface=stained(surface, []) if s.material == "bone" else surface)
        for s, surface in zip(shapes, shadows, strict=True)
    ]


@lru_cache(maxsize=8)
def _surface(folder: Path, name: str, digest: str) -> Surface:
    """One mesh of a bone folder, in metres; ``digest`` tells changed folders apart."""
    del digest
    mesh = read_mesh(folder / name, pieces=name == PELVIS)
    return Surface(mesh.points, mesh.triangles, vertex_normals(mesh.points, mesh.triangles), np.ones(len(mesh.points)))


def own_socket(own: OwnBones, side: str) -> tuple[Array, Array]:
    """Every facet of a brought socket that lies on its sphere and faces the head, on the unit sphere, right side.

    Returns
    -------
    unit directions (F, 3) from the head's centre to the facets, areas (F,) over the squared radius.

    Raises
    ------
    MeshError : no facet of the mesh lies on the measured socket.
    """
    surface = _surface(own.folder, PELVIS, own.digest)
    if side == LEFT:
        surface = surface.mirrored()
    radius = own.socket_radius[side]
    corner = surface.points[surface.triangles]
    offset = corner.mean(axis=1) - np.array([0.0, 0.0, own.person["hip_spacing"] / 2])
    cross = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    area = np.linalg.norm(cross, axis=1) / 2.0
    far = np.linalg.norm(offset, axis=1)
    facing = -np.einsum("ij,ij->i", cross, offset) / np.maximum(2.0 * area * far, 1e-12)
    chosen = (np.abs(far - radius) < _ON_SOCKET) & (facing > 0.9) & (area > 0.0)
    if chosen.sum() < 20:
        raise MeshError(
            f"{own.folder.name}/{PELVIS}: no facet lies on the measured {side} socket; bring the bones again"
        )
    return offset[chosen] / far[chosen, None], area[chosen] / radius**2
