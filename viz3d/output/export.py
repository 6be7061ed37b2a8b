"""Bones as mesh files: STL, PLY, OBJ and GLB, with units and axes stated in the file and beside it.

Question answered: how do these bones leave for a printer, a slide or another program?

Bones stand as in a neutral stance: x forward, y up, z to the person's right, origin on the floor midway between the
feet. What the files say of themselves is English: their headers are ASCII. STL, PLY and OBJ carry millimetres unless
asked otherwise; GLB carries metres, as its standard says.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.body.landmarks import named_points
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body
from viz3d.echo import shown
from viz3d.errors import RenderError
from viz3d.output.files import check_space, written_whole
from viz3d.output.suffixes import GLB, MESHES
from viz3d.output.window import baked_colours
from viz3d.shapes.skeleton import PlacedShape
from viz3d.stage.palette import palette
from viz3d.version import __version__
from viz3d.words.message import message
from viz3d.words.voice import USUAL

UNITS = {"mm": 1000.0, "m": 1.0}


def export_bones(body: Body, placed: list[PlacedShape], path: Path, units: str | None = None) -> Path:
    """Write bones to one file, and a description beside it.

    Parameters
    ----------
    path : ends in one of :data:`MESHES`. units : "mm" or "m"; None for the format's usual one.

    Raises
    ------
    RenderError : unknown format or units, or the file cannot be written.
    """
    suffix = path.suffix.lower()
    if suffix not in MESHES:
        raise RenderError(f"{path.name}: bones are written as {', '.join(MESHES)} or as a plate (.png)")
    if suffix == GLB and units not in (None, "m"):
        raise RenderError(f"--units: found {units}; GLB files are in metres by their standard")
    units = units or ("m" if suffix == GLB else "mm")
    if units not in UNITS:
        raise RenderError(f"--units: found {shown(units)}; allowed: {', '.join(UNITS)}")
    if not placed:
        raise RenderError("there is no bone on that side of this set")
    check_space(path.parent)
    data = _bytes(placed, suffix, UNITS[units], "; ".join(("viz3d bones", units, _axes())))
    with written_whole(path) as temporary:
        temporary.write_bytes(data)
    beside = path.with_name(path.name + ".json")
    with written_whole(beside) as temporary:
        temporary.write_text(json.dumps(_about(body, placed, path, units), indent=2) + "\n", encoding="utf-8")
    return path


def _axes() -> str:
    return USUAL.say(message("mesh_file.axes"))


def _caution() -> str:
    return USUAL.say(message("mesh_file.caution"))


def _bytes(placed: list[PlacedShape], suffix: str, scale: float, words: str) -> bytes:
    import trimesh
    from trimesh.exchange import ply, stl

    meshes = {p.key: _mesh(p, scale) for p in placed}
    if suffix == GLB:
        scene = trimesh.Scene(meshes)

        def note(tree: dict[str, Any]) -> None:
            tree["asset"] |= {
                "generator": f"viz3d {__version__}",
                "extras": {"axes": _axes(), "caution": _caution(), "language": USUAL.language},
            }

        return bytes(scene.export(file_type="glb", include_normals=True, tree_postprocessor=note))
    if suffix == ".obj":
        lines, first = [f"# {words}", f"# {_caution()}"], 1
        for name, mesh in meshes.items():
            lines.append(f"o {name.replace(' ', '_')}")
            lines += [f"v {x:.5f} {y:.5f} {z:.5f}" for x, y, z in mesh.vertices]
            lines += [f"f {a} {b} {c}" for a, b, c in mesh.faces + first]
            first += len(mesh.vertices)
        return ("\n".join(lines) + "\n").encode()
    whole = trimesh.util.concatenate(list(meshes.values()))
    if suffix == ".stl":
        data = bytes(stl.export_stl(whole))
        return words.encode()[:80].ljust(80, b" ") + data[80:]
    magic, form, rest = bytes(ply.export_ply(whole)).split(b"\n", 2)
    return b"\n".join([magic, form, f"comment {words}".encode(), f"comment {_caution()}".encode(), rest])


def _mesh(one: PlacedShape, scale: float) -> Any:
    import trimesh

    colours = np.clip(255 * baked_colours(one.shape.surface, palette("light")[one.shape.material]), 0, 255)
    return trimesh.Trimesh(
        one.points() * scale, one.shape.surface.triangles, process=False, vertex_colors=colours.astype(np.uint8),
        vertex_normals=one.shape.surface.normals @ one.frame[:3, :3].T,
    )  # fmt: skip


def _about(body: Body, placed: list[PlacedShape], path: Path, units: str) -> dict[str, Any]:
    bones = {p.key: {"triangles": len(p.shape.surface.triangles), "material": p.shape.material} for p in placed}
    return {
        "file": path.name, "viz3d": __version__, "units": units, "axes": _axes(), "bones": bones,
        "points": _points(body, placed, UNITS[units]), "caution": _caution(),
    }  # fmt: skip


def _points(body: Body, placed: list[PlacedShape], scale: float) -> dict[str, list[float]]:
    """Named bony points of the bones in the file, in its units and axes."""
    out = {}
    for one in placed:
        sides = [one.shape.side] if one.shape.side in (LEFT, RIGHT) else [RIGHT]
        for side in sides:
            for point in named_points(body, body.hip(side)):
                if point.mesh == one.shape.name and point.link == one.shape.link:
                    at = point.at * np.array([1.0, 1.0, -1.0 if side == LEFT else 1.0])
                    world = one.frame[:3, :3] @ at + one.frame[:3, 3]
                    name = point.name if one.shape.side == "middle" else f"{side} {point.name}"
                    out[name] = [round(float(v * scale), 5) for v in world]
    return out
