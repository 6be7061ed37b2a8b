"""Is a mesh sound? Closed, outward, one piece, no triangle through another. Helpers for tests; general geometry only."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from viz3d.shapes.surface import Surface, is_closed


def pieces(surface: Surface) -> int:
    """How many separate pieces the surface has."""
    t = surface.triangles
    links = coo_matrix(
        (np.ones(len(t) * 2), (np.r_[t[:, 0], t[:, 1]], np.r_[t[:, 1], t[:, 2]])), shape=(len(surface.points),) * 2
    )
    return int(connected_components(links, directed=False)[0])


def faults(surface: Surface) -> list[str]:
    """Everything unsound, in words; empty for a sound mesh of one piece."""
    out = []
    if not is_closed(surface.triangles):
        out.append("not closed")
    if not surface.volume() > 0:
        out.append("inside out")
    if pieces(surface) != 1:
        out.append(f"{pieces(surface)} pieces")
    crossing = crossing_triangles(surface.points, surface.triangles)
    if len(crossing):
        out.append(f"{len(crossing)} triangles pass through another")
    return out


def crossing_triangles(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Indices of triangles that an edge of another one, with no corner in common, passes through."""
    corner = points[triangles]
    pairs = _close_pairs(corner)
    shared = (triangles[pairs[:, 0]][:, :, None] == triangles[pairs[:, 1]][:, None, :]).any(axis=(1, 2))
    pairs = pairs[~shared]
    hit = np.zeros(len(pairs), dtype=bool)
    for one, other in ((0, 1), (1, 0)):
        a, b = corner[pairs[:, one]], corner[pairs[:, other]]
        for i, j in ((0, 1), (1, 2), (2, 0)):
            hit |= _pierced(a[:, i], a[:, j], b)
    return np.unique(pairs[hit])


def _pierced(start: np.ndarray, end: np.ndarray, triangle: np.ndarray) -> np.ndarray:
    """True where the segment passes through the triangle (Möller & Trumbore)."""
    along, e1, e2 = end - start, triangle[:, 1] - triangle[:, 0], triangle[:, 2] - triangle[:, 0]
    p = np.cross(along, e2)
    det = np.einsum("ij,ij->i", e1, p)
    with np.errstate(divide="ignore", invalid="ignore"):
        inverse = 1.0 / det
        s = start - triangle[:, 0]
        u = np.einsum("ij,ij->i", s, p) * inverse
        q = np.cross(s, e1)
        v = np.einsum("ij,ij->i", along, q) * inverse
        t = np.einsum("ij,ij->i", e2, q) * inverse
        e = 1e-9
        return (np.abs(det) > 1e-18) & (u > e) & (v > e) & (u + v < 1 - e) & (t > e) & (t < 1 - e)


def _close_pairs(corner: np.ndarray) -> np.ndarray:
    """Pairs of triangles whose boxes share a cell of a grid, each pair once, boxes overlapping."""
    low, high = corner.min(axis=1), corner.max(axis=1)
    size = float(np.median(np.linalg.norm(high - low, axis=1))) * 1.5
    first, last = np.floor(low / size).astype(int), np.floor(high / size).astype(int)
    count = np.prod(last - first + 1, axis=1)
    which = np.repeat(np.arange(len(corner)), count)
    step = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    span = (last - first + 1)[which]
    cell = first[which] + np.stack(
        [step // (span[:, 1] * span[:, 2]), step // span[:, 2] % span[:, 1], step % span[:, 2]], -1
    )
    key = (cell - cell.min(axis=0)) @ np.array([1 << 40, 1 << 20, 1])
    order = np.argsort(key, kind="stable")
    key, which = key[order], which[order]
    found = []
    for shift in range(1, len(which)):
        same = np.nonzero(key[shift:] == key[:-shift])[0]
        if len(same) == 0:
            break
        a, b = which[same], which[same + shift]
        near = ((low[a] <= high[b]) & (low[b] <= high[a])).all(axis=1)
        found.append(np.sort(np.stack([a[near], b[near]], axis=-1), axis=1))
    return np.unique(np.concatenate(found), axis=0) if found else np.zeros((0, 2), dtype=int)
