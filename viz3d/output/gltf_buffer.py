"""The numbers of a binary glTF file: one block of bytes, and where each array lies in it.

Question answered: how does an array become an accessor of the file?
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pygltflib as g
from numpy.typing import NDArray


@dataclass
class Buffer:
    """Numbers of the file, and where each block of them lies."""

    file: g.GLTF2
    data: bytearray = field(default_factory=bytearray)

    def add(self, values: NDArray[Any], kind: str, target: int | None = None, bounds: bool = False) -> int:
        """Append an array; the index of its accessor."""
        codes = {"f": g.FLOAT, "I": g.UNSIGNED_INT, "H": g.UNSIGNED_SHORT, "B": g.UNSIGNED_BYTE}
        values = np.ascontiguousarray(values)
        self.data.extend(b"\0" * (-len(self.data) % 4))
        self.file.bufferViews.append(
            g.BufferView(buffer=0, byteOffset=len(self.data), byteLength=values.nbytes, target=target)
        )
        self.data.extend(values.tobytes())
        flat = values.reshape(len(values), -1)
        self.file.accessors.append(
            g.Accessor(
                bufferView=len(self.file.bufferViews) - 1, componentType=codes[values.dtype.char], count=len(values),
                type=kind, normalized=True if values.dtype.char == "B" and kind == g.VEC4 and not bounds else None,
                min=flat.min(axis=0).tolist() if bounds else None, max=flat.max(axis=0).tolist() if bounds else None,
            )
        )  # fmt: skip
        return len(self.file.accessors) - 1
