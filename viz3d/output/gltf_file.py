"""The parts of a binary glTF file: nodes, materials, meshes, channels, and what a viewer may switch between.

Question answered: how is a named thing written once, however many scenes of the file show it?

ISO/IEC 12113 (glTF 2.0), with the Khronos extensions for unlit materials and for variants of materials.
"""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np
import pygltflib as g
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.gltf_buffer import Buffer
from viz3d.version import __version__

UNLIT, VARIANTS = "KHR_materials_unlit", "KHR_materials_variants"
_MOST_SMALL = 65535
_RGB = 3
_TOLERANCE = 2e-6


class GltfParts:
    """A file being put together: its nodes and materials, and its bytes."""

    def __init__(self, file: g.GLTF2) -> None:
        self.file, self.buffer = file, Buffer(file)

    def whole(self) -> bytes:
        """The file as bytes."""
        self.file.buffers = [g.Buffer(byteLength=len(self.buffer.data))]
        self.file.set_binary_blob(bytes(self.buffer.data))
        return b"".join(self.file.save_to_bytes())

    def _uses(self, extension: str) -> None:
        self.file.extensionsUsed = sorted({*(self.file.extensionsUsed or []), extension})

    def node(self, name: str, parent: int | None = None, **more: Any) -> int:
        """A node, under another one where ``parent`` is given."""
        self.file.nodes.append(g.Node(name=name, **more))
        index = len(self.file.nodes) - 1
        if parent is not None:
            owner = self.file.nodes[parent]
            owner.children = [*(owner.children or []), index]
        return index

    def material(
        self, name: str, colour: tuple[float, float, float], opacity: float = 1.0, rough: float = 0.85,
        metal: float = 0.0, both_sides: bool = False,
    ) -> int:  # fmt: skip
        """A material; the same name gives the same one. ``both_sides``: it is seen from inside as well."""
        for k, known in enumerate(self.file.materials):
            if known.name == name:
                return k
        self.file.materials.append(
            g.Material(
                name=name, alphaMode=g.BLEND if opacity < 1.0 else g.OPAQUE, alphaCutoff=None,
                doubleSided=both_sides or None,
                pbrMetallicRoughness=g.PbrMetallicRoughness(
                    baseColorFactor=[*linear(np.array(colour)).tolist(), opacity], metallicFactor=metal,
                    roughnessFactor=rough,
                ),
            )
        )  # fmt: skip
        return len(self.file.materials) - 1

    def unlit(self, name: str) -> int:
        """A material whose colours do not depend on the viewer's light."""
        index = self.material(name, (1.0, 1.0, 1.0))
        self.file.materials[index].extensions = {UNLIT: {}}
        self._uses(UNLIT)
        return index

    def lines(self, ends: Array, tints: int, material: int) -> g.Primitive:
        """Pieces of line (S, 2, 3); ``tints``: accessor of the colours of their ends, one after the other."""
        place = self.buffer.add(ends.reshape(-1, 3).astype("f4"), g.VEC3, g.ARRAY_BUFFER, bounds=True)
        return g.Primitive(attributes=g.Attributes(POSITION=place, COLOR_0=tints), material=material, mode=g.LINES)


class GltfFile(GltfParts):
    """A file for any viewer; ``about``: what stands beside the format's own fields."""

    def __init__(self, about: dict[str, Any]) -> None:
        super().__init__(g.GLTF2(asset=g.Asset(version="2.0", generator=f"viz3d {__version__}")))
        self.file.asset.extras = about
        self.variants: list[str] = []
        self._meshes: dict[bytes, int] = {}

    def written(self) -> bytes:
        """The whole file."""
        if self.variants:
            self.file.extensions[VARIANTS] = {"variants": [{"name": name} for name in self.variants]}
            self._uses(VARIANTS)
        return self.whole()

    def unseen(self) -> int:
        """A material that shows nothing: all of it is cut away."""
        index = self.material("unseen", (1.0, 1.0, 1.0), 0.0)
        material = self.file.materials[index]
        material.alphaMode, material.alphaCutoff = g.MASK, 0.5
        return index

    # ---- meshes -----------------------------------------------------------------------------------------

    def mesh(
        self, name: str, points: Array, normals: Array, triangles: NDArray[Any], material: int,
        colours: Array | None = None, once: bool = True, **more: int,
    ) -> int:  # fmt: skip
        """A mesh of one surface; what was written before is used again, unless it is to be added to (not ``once``)."""
        key = _digest(name, points, triangles, colours, material) if once and not more else b""
        if key and key in self._meshes:
            return self._meshes[key]
        attributes = g.Attributes(
            POSITION=self.buffer.add(points.astype("f4"), g.VEC3, g.ARRAY_BUFFER, bounds=True),
            NORMAL=self.buffer.add(units(normals), g.VEC3, g.ARRAY_BUFFER),
            **more,
        )
        if colours is not None:
            attributes.COLOR_0 = self.colours(colours)
        primitive = g.Primitive(attributes=attributes, material=material, indices=self.corners(triangles))
        self.file.meshes.append(g.Mesh(name=name, primitives=[primitive]))
        self._meshes[key] = len(self.file.meshes) - 1
        return len(self.file.meshes) - 1

    def corners(self, triangles: NDArray[Any]) -> int:
        """Triangles (T, 3) of vertices."""
        index = triangles.astype("u2" if triangles.max(initial=0) < _MOST_SMALL else "u4").ravel()
        return self.buffer.add(index, g.SCALAR, g.ELEMENT_ARRAY_BUFFER)

    def colours(self, colours: Array) -> int:
        """Colours (V, 3), sRGB fractions, as the format has them; (V, 4) with how opaque each is."""
        opacity = colours[:, 3] if colours.shape[1] > _RGB else np.ones(len(colours))
        rgba = np.column_stack([linear(colours[:, :_RGB]), opacity])
        return self.buffer.add(np.round(255 * rgba).astype("u1"), g.VEC4, g.ARRAY_BUFFER)

    def morph(self, mesh: int, targets: list[dict[str, Array]]) -> None:
        """Ways in which a mesh may change: attribute -> what is added to it (V, 3 or 4) for a weight of one."""
        kinds = {3: g.VEC3, 4: g.VEC4}
        written = [
            {
                name: self.buffer.add(v.astype("f4"), kinds[v.shape[1]], g.ARRAY_BUFFER, bounds=name == "POSITION")
                for name, v in one.items()
            }
            for one in targets
        ]
        for primitive in self.file.meshes[mesh].primitives:
            primitive.targets = written
        self.file.meshes[mesh].weights = [0.0] * len(targets)

    def variant(self, name: str) -> int:
        """A choice that viewers offer by name."""
        self.variants.append(name)
        return len(self.variants) - 1

    # ---- movement ---------------------------------------------------------------------------------------

    def channel(
        self, animation: g.Animation, node: int, path: str, times: Array, values: Array, steady: bool = True
    ) -> None:
        """Key the moments between which straight lines (or evenly turning) miss the values by next to nothing.

        ``steady``: values (N, K) pass smoothly; else they hold until the next key.
        """
        if float(np.ptp(values, axis=0).max()) < 1e-7:
            return
        if steady:
            keys, how = needed_keys(times, values), g.ANIM_LINEAR
        else:
            changes = np.flatnonzero((np.diff(values, axis=0) != 0.0).any(axis=1)) + 1
            keys, how = np.array([0, *changes]), g.ANIM_STEP
        kind = {3: g.VEC3, 4: g.VEC4}[values.shape[1]] if path != "weights" else g.SCALAR
        out = values[keys].reshape(-1, 1) if path == "weights" else values[keys]
        animation.samplers.append(
            g.AnimationSampler(
                input=self.buffer.add(times[keys].astype("f4"), g.SCALAR, bounds=True),
                output=self.buffer.add(out.astype("f4"), kind), interpolation=how,
            )
        )  # fmt: skip
        target = g.AnimationChannelTarget(node=node, path=path)
        animation.channels.append(g.AnimationChannel(sampler=len(animation.samplers) - 1, target=target))


def needed_keys(times: Array, values: Array, tolerance: float = _TOLERANCE) -> NDArray[np.intp]:
    """Rows of (N, K) values that linear interpolation needs to give all others back within ``tolerance``."""
    keep = [0]
    start = 0
    for end in range(2, len(values)):
        share = ((times[start + 1 : end] - times[start]) / (times[end] - times[start]))[:, None]
        line = values[start] + share * (values[end] - values[start])
        if float(np.abs(line - values[start + 1 : end]).max()) > tolerance:
            keep.append(end - 1)
            start = end - 1
    return np.array([*keep, len(values) - 1])


def units(vectors: Array) -> NDArray[np.float32]:
    """Vectors (V, 3) of length one; upward where there is none."""
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(length > 1e-9, vectors / np.maximum(length, 1e-9), [0.0, 1.0, 0.0]).astype("f4")


def linear(colour: Array) -> Array:
    """sRGB fractions to linear ones, as the format's colours are."""
    return np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)


def _digest(name: str, points: Array, triangles: NDArray[Any], colours: Array | None, material: int) -> bytes:
    """What makes a mesh the same as one written before."""
    digest = hashlib.sha256(f"{name} {material}".encode())
    for array in (points, triangles, *([] if colours is None else [colours])):
        digest.update(np.ascontiguousarray(array).tobytes())
    return digest.digest()
