"""Smaller triangles where a surface needs them.

Question answered: which triangles does a surface have once some of its edges are halved?
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array, Flags
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.surface import Triangles

_CORNERS = ((0, 1), (1, 2), (2, 0))


def refined(
    shell: Shell, shade: Array, wanted: Callable[[Shell], Flags], longest: float, rounds: int = 6
) -> tuple[Shell, Array]:
    """The same shell, and its shade (V,), with no edge longer than ``longest`` m where an end of it is wanted.

    Parameters
    ----------
    wanted : says of a shell's vertices, (V,), where edges are to be short. rounds : how often they are halved.
    """
    for _ in range(rounds):
        edges, of = _edges(shell.triangles)
        ends = shell.points[edges]
        long = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) > longest
        split = long & wanted(shell)[edges].any(axis=1)
        if not split.any():
            break
        halves = edges[split]
        normals = shell.normals[halves].sum(axis=1)
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        shade = np.concatenate([shade, shade[halves].mean(axis=1)])
        shell = dataclasses.replace(
            shell, points=np.concatenate([shell.points, shell.points[halves].mean(axis=1)]),
            normals=np.concatenate([shell.normals, normals]),
            weights=np.concatenate([shell.weights, shell.weights[halves].mean(axis=1)]),
            triangles=_halved(shell.triangles, of, split, len(shell.points)),
        )  # fmt: skip
    return shell, shade


def _edges(triangles: Triangles) -> tuple[NDArray[np.int32], NDArray[np.intp]]:
    """All edges (E, 2), and of each triangle those between its corners 01, 12 and 20, (T, 3)."""
    pairs = np.sort(np.stack([triangles[:, c] for c in _CORNERS], axis=1), axis=2)
    edges, of = np.unique(pairs.reshape(-1, 2), axis=0, return_inverse=True)
    return edges.astype(np.int32), of.reshape(-1, 3)


def _halved(triangles: Triangles, of: NDArray[np.intp], split: Flags, first: int) -> Triangles:
    """Triangles whose split edges have a vertex in their middle, numbered from ``first`` on."""
    middle = np.where(split, first + np.cumsum(split) - 1, -1)[of]
    count = (middle >= 0).sum(axis=1)
    out = [triangles[count == 0]]
    for many in (1, 2, 3):
        own, mids = triangles[count == many], middle[count == many]
        turn = np.argmax(mids >= 0, axis=1) if many == 1 else (np.argmin(mids, axis=1) + 1) % 3
        order = (turn[:, None] + np.arange(3)) % 3
        a, b, c = np.take_along_axis(own, order, axis=1).T
        m, n, o = np.take_along_axis(mids, order, axis=1).T
        pieces = {1: ((a, m, c), (m, b, c)), 2: ((m, b, n), (a, m, n), (a, n, c)),
                  3: ((a, m, o), (m, b, n), (o, n, c), (m, n, o))}[many]  # fmt: skip
        out += [np.stack(piece, axis=1) for piece in pieces]
    return np.concatenate(out).astype(np.int32)
