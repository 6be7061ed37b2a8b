"""The solid things of a view as plain surfaces with a colour: what outlines are made of.

Question answered: which surfaces does a view show in frame i, in which colours, under which light?

The light is that of the pixels: the same lamps, the same baked shadow. Leaves out the body's skin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure
from viz3d.output.dressed import clothed_of
from viz3d.output.flesh import body_colour, body_points
from viz3d.output.views import MAIN, camera_at, frame_at, seen_through, shows, shows_held, shows_muscles, shows_pressure
from viz3d.output.window import AMBIENT, DIFFUSE, LIGHTS, View, baked_colours, shaded
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.socket_floor import bare_floor
from viz3d.shapes.spine import BENDING, bent_spine
from viz3d.shapes.surface import Surface, Triangles
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.palette import hexed, rgb
from viz3d.stage.plan import Muscle


@dataclass(frozen=True)
class Coat:
    """Another colour on part of a solid: where ``share`` (V,) is above a half."""

    share: Array
    fill: str


@dataclass(frozen=True)
class PlainSolid:
    """A closed surface, facing outward.

    ``points`` (V, 3), world, m. ``tone`` (V,): how bright its colour ``fill`` is there, 1 for as it is. ``heat`` (V,):
    pressure, Pa, shown instead of the colour where it is not zero.
    """

    name: str
    points: Array
    triangles: Triangles
    tone: Array
    fill: str
    coats: tuple[Coat, ...] = ()
    heat: Array | None = None
    fibres: Array | None = None
    """(V,) m across its fibres, of a muscle."""
    hatch: tuple[Array, Array] | None = None
    """Where it is hatched (V,), 1 or 0, and how far each place lies across the lines (V,), m."""


def view_solids(sheet: Canvas, figure: Figure, view: View, i: int) -> list[PlainSolid]:
    """Bones, aids, cartilage and muscles of a view in frame ``i``; those beside its box are left out."""
    camera = camera_at(sheet, view, i)
    out = [
        _of_shape(sheet, figure, view, key, shape, i)
        for key, shape in figure.shapes.items()
        if shows(sheet, view, key, shape, i) and not seen_through(sheet, view, shape)
    ]
    if view.name == MAIN and shows_muscles(sheet):
        out += [_of_muscle(sheet, figure, camera, m, i) for m in sheet.plan.muscles if not m.rests]
    return [solid for solid in out if _reaches(camera.project(solid.points), view)]


def resting_solids(sheet: Canvas, figure: Figure, view: View, i: int) -> list[PlainSolid]:
    """Muscles that rest through the whole plan, and are seen through, in frame ``i``."""
    if view.name != MAIN or not shows_muscles(sheet):
        return []
    camera = camera_at(sheet, view, i)
    return [_of_muscle(sheet, figure, camera, m, i) for m in sheet.plan.muscles if m.rests]


def faint_solids(sheet: Canvas, figure: Figure, view: View, i: int) -> list[PlainSolid]:
    """What of a view is seen through in frame ``i``: an arm before the hip."""
    shapes = figure.shapes.items()
    there = [(k, s) for k, s in shapes if seen_through(sheet, view, s) and shows(sheet, view, k, s, i)]
    return [_of_shape(sheet, figure, view, key, shape, i) for key, shape in there]


def clothed_solids(sheet: Canvas, figure: Figure, view: View, i: int) -> list[PlainSolid]:
    """Skin, hair, clothes and what the hands hold of a clothed person in frame ``i``.

    Raises
    ------
    RenderError : the figure was built without clothes.
    """
    camera, clothed = camera_at(sheet, view, i), clothed_of(figure)
    frames, out = clothed.frames(sheet.plan.frames, i), []
    for name, shell in clothed.surfaces.items():
        points, normals = shell.posed(frames, 0, sheet.plan.empty_hands(i))
        surface = Surface(points, shell.triangles, normals, clothed.shade[name])
        tone = light(normals, camera) * baked_colours(surface, "#FFFFFF").mean(axis=1)
        both = np.concatenate([shell.triangles, shell.triangles[:, ::-1]])  # cloth is seen from inside as well
        out.append(PlainSolid(name, points, both, tone, sheet.colours[name]))
    held = [(key, shape) for key, shape in figure.shapes.items() if shows_held(sheet, key, shape, i)]
    out += [_of_shape(sheet, figure, view, key, shape, i) for key, shape in held]
    return [solid for solid in out if _reaches(camera.project(solid.points), view)]


def _reaches(page: Array, view: View) -> bool:
    low, high, box = page.min(axis=0), page.max(axis=0), view.box
    return bool(high[0] > box.left and low[0] < box.right and high[1] > box.top and low[1] < box.bottom)


def _of_shape(sheet: Canvas, figure: Figure, view: View, key: str, shape: Shape, i: int) -> PlainSolid:
    frame, surface = frame_at(sheet, view, shape, i), shape.surface
    points, normals = surface.points, surface.normals
    if shape.name in BENDING:
        points, normals = bent_spine(shape, figure.shell, sheet.plan.frames, i)
    camera = camera_at(sheet, view, i)
    tone = light(normals @ frame[:3, :3].T, camera) * baked_colours(surface, "#FFFFFF").mean(axis=1)
    heat = None
    if shows_pressure(sheet, shape):
        heat, bare = cartilage_pressure(shape, sheet.plan, i), np.zeros(len(surface.points))
        unlit = cartilage_colours(shape, bare, sheet.theme, sheet.plan.sign)
        tone = unlit.mean(axis=1) / np.mean(rgb(sheet.colours[shape.material]))
    placed = points @ frame[:3, :3].T + frame[:3, 3]
    fill, hatch = sheet.colours[shape.material], _hatched(sheet, figure, shape)
    return PlainSolid(key, placed, surface.triangles, tone, fill, heat=heat, hatch=hatch)


def _hatched(sheet: Canvas, figure: Figure, shape: Shape) -> tuple[Array, Array] | None:
    """Where the hip bone of the loaded socket is bare, and hatched."""
    if shape.name != "hip" or shape.side not in figure.hatching:
        return None
    (lunate,) = (s for s in figure.shapes.values() if s.name == "lunate" and s.side == shape.side)
    if not shows_pressure(sheet, lunate):
        return None
    floor, across = bare_floor(shape.surface, lunate.surface)
    return floor.astype(float), across


def _of_muscle(sheet: Canvas, figure: Figure, camera: Camera, muscle: Muscle, i: int) -> PlainSolid:
    body = figure.muscles[muscle.name]
    points, normals = body_points(sheet.plan, figure, muscle, i)
    fill = hexed(body_colour(muscle, i, sheet.colours))
    tone = light(normals, camera) * shaded(np.ones(3), body.shade).mean(axis=1)
    return PlainSolid(
        muscle.name, points, body.triangles, tone, fill, (Coat(body.tendinous(), sheet.colours["tendon"]),),
        fibres=body.across,
    )  # fmt: skip


def light(normals: Array, camera: Camera) -> Array:
    """How bright surfaces with these normals (V, 3), world, are under the pictures' lamps, (V,)."""
    turned = normals @ np.stack([camera.right, camera.up, camera.toward], axis=-1)
    out = np.full(len(normals), AMBIENT)
    for place, colour, power in LIGHTS:
        lamp = np.array(place) / np.linalg.norm(place)
        out += DIFFUSE * power * float(np.mean(rgb(colour))) * np.maximum(turned @ lamp, 0.0)
    return out
