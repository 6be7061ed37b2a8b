"""Plates as PNG: bones of one person in several views, with their names.

Question answered: what do this person's bones look like, and what is what?
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.landmarks import named_points
from viz3d.body.person import Body
from viz3d.errors import InputError
from viz3d.output import gl
from viz3d.output.files import check_space, written_whole
from viz3d.output.interrupt import interrupt_held
from viz3d.output.memory import check_memory
from viz3d.output.paint import Painter, Pixels, paper
from viz3d.output.window import View, Window
from viz3d.progress import Progress
from viz3d.shapes.body_form import neutral_frames
from viz3d.shapes.skeleton import PlacedShape, placed_shapes
from viz3d.stage.drawing import Box
from viz3d.stage.palette import palette
from viz3d.stage.plate import Plate, PlateKind, bone_word
from viz3d.stage.plate_angles import PlateAngle, hip_angles
from viz3d.stage.plate_panels import FADE, PLATE_TOWARD, TEXT, Point, lay_out, name_width
from viz3d.stage.sheets import LARGEST, SMALLEST
from viz3d.words.message import Message, Said, message
from viz3d.words.voice import USUAL, Voice

_HIDDEN = 0.004
"""A point is hidden where a ray from this far in front of it, towards the viewer, meets bone; m."""
_ASIDE = 0.3
"""Sine of the turn from which on a viewer stands at one side of a pair of bones."""


def draw_plate(
    body: Body,
    kind: PlateKind,
    views: list[str],
    path: Path,
    subtitle: Said,
    size: tuple[int, int],
    backdrop: str,
    labelled: bool = True,
    progress: Progress | None = None,
    voice: Voice = USUAL,
) -> list[str]:
    """Draw a plate of the person's bones to ``path`` (PNG); returns the labels for which there was no room.

    Raises
    ------
    RenderError, InputError : one line each.
    """
    if not all(low <= n <= high for low, n, high in zip(SMALLEST, size, LARGEST, strict=True)):
        raise InputError(
            f"picture.size: found {size[0]}x{size[1]}; allowed: {SMALLEST[0]}x{SMALLEST[1]} to"
            f" {LARGEST[0]}x{LARGEST[1]}"
        )
    check_memory(size)
    gl.require()
    check_space(path.parent)
    placed = placed_shapes(body, kind.has, progress)
    points = framing_points(kind, placed)
    angles = drawn_angles(body, kind, views) if labelled else {}
    labels = labelled_points(body, kind, placed, views) if labelled else []
    labels += [Point(a.word, a.middle, frozenset({view})) for view, some in angles.items() for a in some]
    wide = name_width(labels, voice)
    panels = lay_out(views, points, size, {v for p in labels for v in p.views}, wide)
    foot = message("plate_foot.rule") if body.own is None else message("plate_foot.own", folder=body.own.folder.name)
    plate = Plate(
        kind.title, subtitle, foot, size, backdrop, panels, labels, voice=voice, wide=wide, kind=kind, angles=angles
    )
    pixels = _paint(plate, placed)
    with written_whole(path) as temporary:
        Image.fromarray(pixels).save(temporary, format="PNG")
    return plate.left_out


def framing_points(kind: PlateKind, placed: list[PlacedShape]) -> Array:
    """What the panels are framed on, (P, 3) m: the shown shapes, and what stands beside them at their height."""
    points = np.concatenate([_framed(p, kind) for p in placed if kind.shows(p.key)])
    low, high = points[:, 1].min(), points[:, 1].max()
    beside = [p.points() for p in placed if not kind.shows(p.key)]
    return np.concatenate([points, *(b[(b[:, 1] > low) & (b[:, 1] < high)] for b in beside)])


def _framed(one: PlacedShape, kind: PlateKind) -> Array:
    """The points (P, 3) of a shape that the picture is framed on."""
    points = one.points()
    if kind.above is None:
        return points
    return np.asarray(points[one.shape.surface.points[:, 1] > kind.above])


def drawn_angles(body: Body, kind: PlateKind, views: list[str]) -> dict[str, list[PlateAngle]]:
    """View -> the hip's angles in it; none of bones that a person brought, whose axes are not ours."""
    if body.own is not None:
        return {}
    return {view: hip_angles(body, neutral_frames(body)) for view in views if view in kind.angles}


def _paint(plate: Plate, placed: list[PlacedShape]) -> Pixels:
    colours = palette(plate.backdrop)
    page = paper(plate.size, colours)
    views = [View(p.view, plate.solid_box(p), p.camera) for p in plate.panels]
    with interrupt_held():
        window = Window(plate.size, views)
        try:
            for k in range(len(views)):
                for one in placed:
                    window.add(k, one.shape, colours[one.shape.material], one.frame)
            solid = _faded(window.read(), [v.box for v in views], FADE * TEXT * plate.size[1])
        finally:
            window.close()
    bare = 1.0 - solid[..., 3:4].astype(np.float32) / 255.0
    page = np.minimum(page * bare + solid[..., :3] + 0.5, 255).astype(np.uint8)
    painter = Painter(plate.size, page)
    painter.marks(plate.marks(), colours["paper_top"])
    return painter.pixels()


def _faded(solid: Pixels, boxes: list[Box], reach: float) -> Pixels:
    """Bones that go on past the upper or lower edge of their panel, faded within ``reach`` pixels of it."""
    out = solid.copy()
    for box in boxes:
        top, bottom = int(box.top), int(box.bottom)
        line = np.arange(top, bottom) + 0.5
        share = np.clip(np.minimum(line - top, bottom - line) / reach, 0.0, 1.0)
        part = out[top:bottom, int(box.left) : int(box.right)]
        part[:] = (part * share[:, None, None] + 0.5).astype(np.uint8)
    return out


def labelled_points(body: Body, kind: PlateKind, placed: list[PlacedShape], views: list[str]) -> list[Point]:
    """What a plate names, where it is seen in each view: bony points, or bones in the first view."""
    if kind.labels == "none":
        return []
    framed = [p for p in placed if kind.shows(p.key)]
    both = {p.shape.side for p in placed} >= {"left", "right"}
    caster = _caster(placed)
    if kind.labels == "points":
        # cartilage that coats a framed bone carries points too
        wanted = [w for one in placed for w in _points_on(one, body, kind)]
    else:
        words = [(bone_word(one.shape.name), one) for one in framed]
        wanted = [(word, one, one.shape.surface.points) for word, one in words if word is not None]
    out: list[Point] = []
    for view in views if kind.labels == "points" else views[:1]:
        toward = np.array(PLATE_TOWARD[view]) / np.linalg.norm(PLATE_TOWARD[view])
        found: dict[Message, list[Array]] = {}
        for word, one, local in wanted:
            if view in kind.only and word.key.removeprefix("point.") not in kind.only[view]:
                continue
            if both and kind.labels == "points" and _far(one, toward):
                continue
            world = np.atleast_2d(local) @ one.frame[:3, :3].T + one.frame[:3, 3]
            seen = _seen(caster, world, toward) if len(world) == 1 else _middle_seen(caster, world, toward)
            if seen is not None:
                found.setdefault(word, []).append(seen)
        for k, (word, places) in enumerate(sorted(found.items(), key=lambda item: -item[1][0][1])):
            out.append(Point(word, places[k % len(places)], frozenset({view})))
    return out


def _far(one: PlacedShape, toward: Array) -> bool:
    """True for the bone of the far side, where the viewer stands at one side: its points would lie in the near one's
    gaps."""
    return abs(toward[2]) > _ASIDE and one.shape.side == ("left" if toward[2] > 0.0 else "right")


def _points_on(one: PlacedShape, body: Body, kind: PlateKind) -> list[tuple[Message, PlacedShape, Array]]:
    """The named points of a shape: word, shape, place on it (3,), m."""
    side = one.shape.side
    flip = np.array([1.0, 1.0, -1.0 if side == "left" else 1.0])
    points = [
        point
        for point in named_points(body, body.hip(side if side != "middle" else "right"))
        if point.mesh == one.shape.name and not (side == "left" and point.middle)
        if not kind.points or point.name in kind.points
    ]
    tree = cKDTree(one.shape.surface.points) if points else None
    return [
        (message(f"point.{p.name}"), one, one.shape.surface.points[tree.query(p.at * flip)[1]]) for p in points if tree
    ]


def _caster(placed: list[PlacedShape]):  # type: ignore[no-untyped-def]
    import trimesh
    from trimesh.ray.ray_pyembree import RayMeshIntersector

    offsets = np.cumsum([0] + [len(p.shape.surface.points) for p in placed])
    points = np.concatenate([p.points() for p in placed])
    faces = np.concatenate([p.shape.surface.triangles + o for p, o in zip(placed, offsets, strict=False)])
    return RayMeshIntersector(trimesh.Trimesh(points, faces, process=False))


def _seen(caster, world: Array, toward: Array) -> Array | None:  # type: ignore[no-untyped-def]
    """The point, where nothing stands before it."""
    hidden = caster.intersects_any(world + _HIDDEN * toward, np.broadcast_to(toward, world.shape))
    return None if hidden[0] else world[0]


def _middle_seen(caster, world: Array, toward: Array) -> Array | None:  # type: ignore[no-untyped-def]
    """The visible vertex nearest to the middle of what is visible of a bone."""
    some = world[:: max(1, len(world) // 400)]
    free = some[~caster.intersects_any(some + _HIDDEN * toward, np.broadcast_to(toward, some.shape))]
    if len(free) < 8:
        return None
    middle = np.median(free, axis=0)
    return np.asarray(free[np.argmin(np.linalg.norm(free - middle, axis=1))])
