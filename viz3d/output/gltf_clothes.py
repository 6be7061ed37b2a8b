"""A person in clothes in a glTF file: opaque cloth and skin, and a window on the hip in them.

Question answered: how does a file that knows no picture and no page show the hip through clothes?

Each garment is one skinned mesh. Round the hip its vertices lose their colour to the pale pane and become see-through,
softly, and the triangles there have a material that lets viewers blend; all others are opaque. Pictures open the window
towards whoever looks, and have arrows over everything; a file opens clothes where the front shows the hip, and before
and behind arrows, through front and back.
"""

from __future__ import annotations

import numpy as np
import pygltflib as g

from viz3d.arrays import Array
from viz3d.output.clothes import Worn
from viz3d.output.dressed import PANE
from viz3d.output.gltf_file import GltfFile
from viz3d.stage.palette import rgb

_THIN = 0.16
"""How opaque the window is where it is clear."""
_ROUGH = 0.9
_WHITE = (1.0, 1.0, 1.0)


def garment(out: GltfFile, worn: Worn, clear: Array, colours: dict[str, str]) -> int:
    """One garment: what is closed, and what is seen through, ``clear`` (V,); its mesh, bound to four links a vertex."""
    shell, clear = worn.shell, clear[:, None]
    cloth = worn.colours(colours[worn.name])
    seen = cloth + PANE * clear * (np.array(rgb(colours["pane"])) - cloth)
    joints, weights = worn.bound()
    through = (clear[shell.triangles, 0] > 0.0).any(axis=1)
    mesh = out.mesh(
        worn.name, shell.points, shell.normals, shell.triangles[~through],
        out.material("worn", _WHITE, rough=_ROUGH, both_sides=True),
        np.column_stack([seen, 1.0 - (1.0 - _THIN) * clear]),
        JOINTS_0=out.buffer.add(joints.astype("u2"), g.VEC4, g.ARRAY_BUFFER),
        WEIGHTS_0=out.buffer.add(weights.astype("f4"), g.VEC4, g.ARRAY_BUFFER),
    )  # fmt: skip
    if through.any():
        primitives = out.file.meshes[mesh].primitives
        primitives.append(
            g.Primitive(
                attributes=primitives[0].attributes,
                material=_window(out),
                indices=out.corners(shell.triangles[through]),
            )
        )
    return mesh


def _window(out: GltfFile) -> int:
    """The material of the window: as opaque as each vertex says."""
    index = out.material("window", _WHITE, rough=_ROUGH, both_sides=True)
    out.file.materials[index].alphaMode = g.BLEND
    return index
