"""Reading a mesh somebody brought: whitelisted formats, size caps, and repairs that are said aloud.

Question answered: is this file one closed surface, facing outward, and what had to be done to it?
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import MeshError
from viz3d.shapes.surface import Triangles, closed_at, is_closed

FORMATS = {".stl": "stl", ".ply": "ply", ".obj": "obj"}
LARGEST_BYTES = 400_000_000
MOST_TRIANGLES = 60_000
"""Larger meshes are lightened to this many; a bone needs no more for a picture."""
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

    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise MeshError(f"{path.name}: found {path.suffix or 'no ending'}; allowed: {', '.join(FORMATS)}")
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise MeshError(f"{path.name}: {size / 1e6:.0f} MB; allowed: up to {LARGEST_BYTES // 10**6} MB")
        with path.open("rb") as file:
            mesh = trimesh.load_mesh(file, file_type=kind, resolver=None, process=False)
    except OSError as error:
        raise MeshError(f"{path.name}: {error.strerror}") from error
    except MeshError:
        raise
    except Exception as error:  # the parsers raise whatever a damaged file makes them raise
        raise MeshError(f"{path.name}: cannot be read as {kind.upper()}: {error}") from error
    if not isinstance(mesh, trimesh.Trimesh) or len(mesh.faces) < 100 or not np.isfinite(mesh.vertices).all():
        raise MeshError(f"{path.name}: no surface of triangles in it")
    return _mended(trimesh.Trimesh(mesh.vertices, mesh.faces, process=True), path.name, pieces)


def _mended(mesh, name: str, pieces: bool) -> BroughtMesh:  # type: ignore[no-untyped-def]
    """The surface without loose crumbs, closed and outward; every repair in words."""
    import trimesh

    repairs: list[str] = []
    mesh.update_faces(mesh.nondegenerate_faces() & mesh.unique_faces())
    mesh.remove_unreferenced_vertices()
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
