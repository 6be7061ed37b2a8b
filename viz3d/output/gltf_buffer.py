"""The numbers of a binary glTF file: one block of bytes, and where each array lies in it.

Question answered: how does an array become an accessor of the file?
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pygltflib as g
from numpy.typing import NDArray

from viz3d.arrays import Array, Frames

_CODES = {"f": g.FLOAT, "I": g.UNSIGNED_INT, "H": g.UNSIGNED_SHORT, "B": g.UNSIGNED_BYTE, "b": g.BYTE, "h": g.SHORT}
_WHOLE = 4
"""Vertices begin at multiples of so many bytes."""


@dataclass
class Buffer:
    """Numbers of the file, and where each block of them lies."""

    file: g.GLTF2
    data: bytearray = field(default_factory=bytearray)

    def add(
        self,
        values: NDArray[Any],
        kind: str,
        target: int | None = None,
        bounds: bool = False,
        shares: bool | None = None,
    ) -> int:
        """Append an array; the index of its accessor.

        Parameters
        ----------
        shares : whether whole numbers stand for fractions of their type's largest; colours do, if nothing is said.
        bounds : say the least and the largest.
        """
        values = np.ascontiguousarray(values)
        flat = values.reshape(len(values), -1)
        if shares is None:
            shares = values.dtype.char == "B" and kind == g.VEC4 and not bounds
        gap = -flat.itemsize * flat.shape[1] % _WHOLE if target == g.ARRAY_BUFFER else 0
        rows = np.pad(flat, ((0, 0), (0, gap // flat.itemsize)))
        self.data.extend(b"\0" * (-len(self.data) % _WHOLE))
        self.file.bufferViews.append(
            g.BufferView(
                buffer=0, byteOffset=len(self.data), byteLength=rows.nbytes, target=target,
                byteStride=rows.itemsize * rows.shape[1] if gap else None,
            )
        )  # fmt: skip
        self.data.extend(rows.tobytes())
        self.file.accessors.append(
            g.Accessor(
                bufferView=len(self.file.bufferViews) - 1, componentType=_CODES[values.dtype.char], count=len(values),
                type=kind, normalized=True if shares else None,
                min=flat.min(axis=0).tolist() if bounds else None, max=flat.max(axis=0).tolist() if bounds else None,
            )
        )  # fmt: skip
        return len(self.file.accessors) - 1


def strongest(weights: Array, count: int) -> tuple[Frames, Array]:
    """The ``count`` largest weights of each row (V, L) and their columns, made to add up to one."""
    columns = np.argsort(-weights, axis=1)[:, :count]
    found = np.take_along_axis(weights, columns, axis=1)
    found = np.where(found > 1e-4, found, 0.0)
    found = (found / found.sum(axis=1, keepdims=True)).astype("f4")
    return np.where(found > 0.0, columns, 0), found
