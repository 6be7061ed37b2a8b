"""Nodes, meshes and skins of a page's glTF file being put together.

Question answered: how does one surface of ours become a mesh of a page's file, once however often it is used?

Normals, weights and morphs are short whole numbers (KHR_mesh_quantization); files for others (`gltf_file.py`) hold
plain numbers that every reader knows.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Any

import numpy as np
import pygltflib as g
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.gltf_file import GltfParts

_SMALL = "KHR_mesh_quantization"
BYTE, SHORT = 127, 32767
"""What one is as a whole number with a sign."""


@dataclass(frozen=True)
class Bound:
    """How vertices follow joints: columns and shares, (V, 4) each, rows of shares adding up to one."""

    joints: NDArray[Any]
    weights: Array


class PageFile(GltfParts):
    """A page's file being put together."""

    def __init__(self, file: g.GLTF2) -> None:
        super().__init__(file)
        self._known: dict[str, int] = {}
        """Digest of a mesh -> its index."""
        self._uses(_SMALL)
        file.extensionsRequired = [_SMALL]

    def colours(self, fractions: Array) -> int:
        """Accessor of colours (V, 3) or (V, 4), taken as they are: linear light, or whatever a page reads there."""
        rgba = fractions if fractions.shape[1] == 4 else np.column_stack([fractions, np.ones(len(fractions))])
        return self.buffer.add(np.round(255 * rgba).astype("u1"), g.VEC4, g.ARRAY_BUFFER, shares=True)

    def mesh(
        self, name: str, points: Array, normals: Array, triangles: NDArray[Any], material: int,
        colours: Array | None = None, bound: Bound | None = None, morph: Array | None = None,
        places: Array | None = None,
    ) -> int:  # fmt: skip
        """A mesh, or the same one that was added before.

        Parameters
        ----------
        colours : (V, 3) or (V, 4) fractions, as in :meth:`colours`. morph : (V, 3) by which one morph moves it, m.
        places : (V, 2) in 0 to 1, coordinates on the surface.
        """
        digest = hashlib.sha256(f"{name} {material}".encode())
        for values in (points, triangles, colours, morph, places, *((bound.joints, bound.weights) if bound else ())):
            digest.update(b"-" if values is None else np.ascontiguousarray(values).tobytes())
        key = digest.hexdigest()
        if key not in self._known:
            attributes = g.Attributes(
                POSITION=self.buffer.add(points.astype("f4"), g.VEC3, g.ARRAY_BUFFER, bounds=True),
                NORMAL=self._normals(normals),
            )
            if colours is not None:
                attributes.COLOR_0 = self.colours(colours)
            if places is not None:
                rounded = np.round(65535 * np.clip(places, 0.0, 1.0)).astype("u2")
                attributes.TEXCOORD_0 = self.buffer.add(rounded, g.VEC2, g.ARRAY_BUFFER, shares=True)
            if bound is not None:
                attributes.JOINTS_0, attributes.WEIGHTS_0 = self._bound(bound)
            index = triangles.astype("u2" if len(points) < 65535 else "u4").ravel()
            primitive = g.Primitive(
                attributes=attributes, material=material,
                indices=self.buffer.add(index, g.SCALAR, g.ELEMENT_ARRAY_BUFFER),
            )  # fmt: skip
            if morph is not None:
                primitive.targets = [{"POSITION": self._morph(morph)}]
            self.file.meshes.append(g.Mesh(name=name, primitives=[primitive]))
            self._known[key] = len(self.file.meshes) - 1
        return self._known[key]

    def skin(self, name: str, joints: list[int], rest: Array) -> int:
        """A skin over joints whose frames at rest are (J, 4, 4)."""
        inverse = np.linalg.inv(rest).transpose(0, 2, 1).reshape(-1, 16)
        binds = self.buffer.add(inverse.astype("f4"), g.MAT4)
        self.file.skins.append(g.Skin(name=name, joints=joints, inverseBindMatrices=binds))
        return len(self.file.skins) - 1

    def _normals(self, normals: Array) -> int:
        length = np.linalg.norm(normals, axis=1, keepdims=True)
        units = np.where(length > 1e-9, normals / np.maximum(length, 1e-9), [0.0, 1.0, 0.0])
        return self.buffer.add(np.round(BYTE * units).astype("i1"), g.VEC3, g.ARRAY_BUFFER, shares=True)

    def _morph(self, moves: Array) -> int:
        whole = np.round(SHORT * moves).astype("i2")
        return self.buffer.add(whole, g.VEC3, g.ARRAY_BUFFER, bounds=True, shares=True)

    def _bound(self, bound: Bound) -> tuple[int, int]:
        return (
            self.buffer.add(bound.joints.astype("u1"), g.VEC4, g.ARRAY_BUFFER, shares=False),
            self.buffer.add(in_parts(bound.weights, 255), g.VEC4, g.ARRAY_BUFFER, shares=True),
        )


def in_parts(shares: Array, whole: int) -> NDArray[np.uint8]:
    """Rows of shares (V, K) as whole numbers that add up to ``whole``; the largest takes what rounding leaves."""
    parts = np.round(whole * shares).astype(int)
    rows = np.arange(len(parts))
    parts[rows, shares.argmax(axis=1)] += whole - parts.sum(axis=1)
    return parts.astype(np.uint8)
