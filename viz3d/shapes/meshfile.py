"""Reading a mesh somebody brought: whitelisted formats, size caps, and repairs that are said aloud.

Question answered: is this file one closed surface, facing outward, and what had to be done to it?
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import plain
from viz3d.errors import MeshError, Unreadable
from viz3d.given import file_bytes, silenced
from viz3d.shapes.finish import closed_at
from viz3d.shapes.surface import Triangles, is_closed

FORMATS = {".stl": "stl", ".ply": "ply", ".obj": "obj"}
LARGEST_BYTES = 400_000_000
MOST_TRIANGLES = 60_000
"""Larger meshes are lightened to this many; a bone needs no more for a picture."""
_ONLY_SHAPE: dict[str, dict[str, Any]] = {"obj": {"skip_materials": True}}
_FEWEST, _FARTHEST = 100, 1e7
"""Triangles that make a surface, and how far from zero its corners may lie, in the file's unit."""
_MOST_OPEN = 400
_CRUMB = 0.03
"""Pieces smaller than this share of the largest are crumbs."""


@dataclass(frozen=True)
class BroughtMesh:
    """One closed, outward surface and what was done to make it so."""

    points: Array
    triangles: Triangles
    repairs: list[str]


def read_mesh(path: Path, pieces: bool = False) -> BroughtMesh:
    """Read and check one mesh file, in the file's own units.

    Parameters
    ----------
    pieces : several closed pieces may belong together, as two hip bones and a sacrum do.

    Raises
    ------
    MeshError : wrong format, too large, unreadable, empty, in pieces, or open beyond what can be closed honestly.
    """
    import trimesh

    name, kind = plain(path.name), FORMATS.get(path.suffix.lower())
    if kind is None:
        raise MeshError(f"{name}: found {plain(path.suffix) or 'no ending'}; allowed: {', '.join(FORMATS)}")
    try:
        raw = file_bytes(path, LARGEST_BYTES)
    except Unreadable as error:
        raise MeshError(f"{name}: {error}") from error
    points, triangles = _parsed(raw, kind, name)
    if len(triangles) < _FEWEST or not np.isfinite(points).all() or not (np.abs(points) < _FARTHEST).all():
        raise MeshError(f"{name}: no surface of triangles in it")
    if triangles.min() < 0 or triangles.max() >= len(points):
        raise MeshError(f"{name}: a triangle names a corner that is not among the {len(points)} of the file")
    return _mended(trimesh.Trimesh(points, triangles, process=True), name, pieces)


def _parsed(raw: bytes, kind: str, name: str) -> tuple[Array, Triangles]:
    """Corners and triangles of a mesh file's bytes; the parser gets no path, so that it can open nothing beside it.

    Raises
    ------
    MeshError : it cannot be read as such a file.
    """
    import trimesh

    try:
        with silenced("trimesh"), np.errstate(all="ignore"):
            mesh = trimesh.load_mesh(io.BytesIO(raw), file_type=kind, process=False, **_ONLY_SHAPE.get(kind, {}))
    except Exception as error:  # the parsers raise whatever a damaged file makes them raise
        raise MeshError(f"{name}: cannot be read as {kind.upper()}: {plain(str(error))}") from error
    found = isinstance(mesh, trimesh.Trimesh) and (np.asarray(mesh.vertices, dtype=float), np.asarray(mesh.faces))
    if not found or any(part.ndim != 2 or part.shape[1] != 3 for part in found):
        raise MeshError(f"{name}: no surface of triangles in it")
    return found


def _mended(mesh, name: str, pieces: bool) -> BroughtMesh:  # type: ignore[no-untyped-def]
    """The surface without loose crumbs, closed and outward; every repair in words."""
    import trimesh

    repairs: list[str] = []
    mesh.update_faces(mesh.nondegenerate_faces() & mesh.unique_faces())
    mesh.remove_unreferenced_vertices()
    if len(mesh.faces) < _FEWEST:
        raise MeshError(f"{name}: no surface of triangles in it: all but {len(mesh.faces)} of them have no area")
    parts = sorted(mesh.split(only_watertight=False, repair=False), key=lambda part: -len(part.faces))
    kept = [p for p in parts if len(p.faces) > _CRUMB * len(parts[0].faces)]
    if len(kept) > 1 and not pieces:
        raise MeshError(
            f"{name}: {len(kept)} separate pieces, the second {len(kept[1].faces)} triangles; give one bone"
        )
    if len(kept) < len(parts):
        repairs.append(f"dropped {len(parts) - len(kept)} small loose pieces")
    mesh = trimesh.util.concatenate([_closed(part, name, repairs) for part in kept])
    points, triangles = np.asarray(mesh.vertices, dtype=float), np.asarray(mesh.faces, dtype=np.int32)
    if len(triangles) > MOST_TRIANGLES:
        before = len(triangles)
        scale = float(np.ptp(points, axis=0).max()) / 200.0
        points, triangles = closed_at(points / scale, triangles, MOST_TRIANGLES)
        points = points * scale
        repairs.append(f"lightened from {before} to {len(triangles)} triangles")
    if not is_closed(triangles):
        raise MeshError(f"{name}: the surface is not a simple closed one: edges are shared by more than two triangles")
    return BroughtMesh(points, triangles, repairs)


def _closed(part, name: str, repairs: list[str]):  # type: ignore[no-untyped-def]
    """One piece, closed and outward; repairs are added in words."""
    if not part.is_watertight:
        open_edges = _open_edges(part)
        if open_edges > _MOST_OPEN:
            raise MeshError(
                f"{name}: the surface is open along {open_edges} edges; close it where it was made"
                f" (up to {_MOST_OPEN} are closed here)"
            )
        part.fill_holes()
        if not part.is_watertight:
            raise MeshError(f"{name}: the surface is open along {open_edges} edges and could not be closed")
        repairs.append(f"closed small holes ({open_edges} open edges)")
    if not part.is_winding_consistent:
        part.fix_normals()
        repairs.append("made all triangles face the same way")
    if part.volume < 0:
        part.invert()
        repairs.append("turned a surface inside out: its triangles faced inward")
    return part


def _open_edges(mesh) -> int:  # type: ignore[no-untyped-def]
    _, counts = np.unique(mesh.edges_sorted, axis=0, return_counts=True)
    return int((counts == 1).sum())
