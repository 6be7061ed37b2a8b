"""Which solid things each view of a sheet shows, and from where: the same for pixels and for outlines."""

from __future__ import annotations

import dataclasses

from viz3d.arrays import Array
from viz3d.output.window import View
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import belongs
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import FIGURE, FREE_BODY, SOCKET
from viz3d.stage.crop import PELVIS
from viz3d.stage.drawing import Box
from viz3d.stage.plan import CARRIED_THINGS, Plan

MAIN = "main"
_BROUGHT_BY = {"cane": "cane", "bag": "weight"}
"""Link of a held thing -> the layer that brings it."""
_BODY_LINKS = (
    "pelvis", "trunk", "head", "thigh", "shank", "foot", "toes", "upper_arm", "forearm", "hand",
)  # fmt: skip
_AID_MATERIALS = ("cane", "cane_handle", "rubber")
"""What aids are made of: they belong to no limb, though a crutch's cuff goes with the forearm."""
_FEMUR = ("femur", "head_cartilage", "stem", "head")
"""The bone of the thigh, with what is on it."""
_ARM, _FROM_ITS_SIDE = ("upper_arm", "forearm", "hand"), 0.9
_FAINT_ARM, _FAINT_HALF = 0.2, 0.3
"""Opacity of an arm that would hide the hip, and of the pelvis' other half behind an open socket."""
_FIGURE_REACH = 500.0
"""The figure is drawn this far (u) to both sides of the camera's axis."""
FOCUS = (230.0, 520.0, 0.30)
"""In the main view bones fade from full at the first radius (u) around the hips to the last value at the second."""
_ROUND_PELVIS = (300.0, 440.0, 0.0)
"""The same, and the body with them, round a pelvis seen from near by: arms end before the labels."""


def sheet_views(sheet: Canvas) -> list[View]:
    """The main view and the cards' views, boxes in whole pixels."""
    middle, reach = sheet.camera.at[0], (_FIGURE_REACH if sheet.view != "joint" else 2000.0) * sheet.u
    right = sheet.cards.left - 10 * sheet.u if sheet.cards.shown else sheet.width
    main = Box(max(0, middle - reach), 0, min(right, middle + reach), sheet.band.top)
    views = [View(MAIN, main.whole(), sheet.camera, sheet.view != "joint")]
    views += [View(name, box.whole(), camera, name == FIGURE) for name, (box, camera) in sheet.inset_views().items()]
    return views


def from_near(sheet: Canvas) -> bool:
    """True where the pelvis fills the picture, and what lies round it fades away."""
    return sheet.measures.frame == PELVIS


def focus_of(sheet: Canvas) -> tuple[float, float, float]:
    """Radii (u) between which the main view's bones fade, and what is left of them."""
    return _ROUND_PELVIS if from_near(sheet) else FOCUS


def camera_at(sheet: Canvas, view: View, i: int) -> Camera:
    """A view's camera in one frame: the close views follow the hip, and the main one may be on its way."""
    if view.name == MAIN and i in sheet.cameras:
        return sheet.cameras[i]
    if view.name == SOCKET or (view.name == MAIN and sheet.view == "joint"):
        return dataclasses.replace(view.camera, centre=sheet.plan.hip[i])
    return view.camera


def shows(sheet: Canvas, view: View, key: str, shape: Shape, i: int | None = None) -> bool:
    """True where a view shows a shape in frame ``i``; None: in any frame, as far as views and layers go."""
    own = shape.side in (sheet.stance_side, "middle")
    if wears_clothes(sheet, view) or view.name == SOCKET:
        return _shows_alone(sheet, view, shape, own)
    if not _brought(sheet, key, shape) or ("bones" not in sheet.layers and shape.link != "hand"):
        return False
    if view.name == FREE_BODY:
        return shape.link == "pelvis" and shape.name != "lunate"
    if view.name == MAIN and sheet.view == "joint":
        return shape.link == "pelvis" or (shape.name in _FEMUR and own)
    return any(belongs(key, shape, held) for held in _held(sheet, key, shape, i))


def _held(sheet: Canvas, key: str, shape: Shape, i: int | None) -> list[dict[str, str]]:
    """What is held while a shape could be seen."""
    if i is None and comes_and_goes(sheet, key, shape):
        return [sheet.plan.held_at(k) for k in range(len(sheet.plan))]
    return [sheet.plan.aids if i is None else sheet.plan.held_at(i)]


def _shows_alone(sheet: Canvas, view: View, shape: Shape, own: bool) -> bool:
    """What is seen of the bones through a clothed person's window, or in the socket's card."""
    if wears_clothes(sheet, view):
        return view.name == MAIN and at_hip(shape, sheet.stance_side)
    return (shape.name in ("hip", "lunate", "cup", "liner") and own) or shape.name == "sacrum"


def at_hip(shape: Shape, side: str) -> bool:
    """True for the bones of a hip that are seen through clothes: the pelvis and that side's thigh bone."""
    return shape.link == "pelvis" or (shape.name in _FEMUR and shape.side == side)


def is_held(key: str, shape: Shape) -> bool:
    """True for what hands hold or a back carries, and for no part of a body."""
    thing = shape.link not in _BODY_LINKS or shape.material in _AID_MATERIALS
    return thing or key.startswith("backpack/")


def comes_and_goes(sheet: Canvas, key: str, shape: Shape) -> bool:
    """True for what is carried in some frames only, and for the hand that carries it: gripping, or open."""
    if shape.link == "hand":
        return sheet.plan.aids.get(shape.side) == "bag"
    carried = shape.link == "bag" or key.startswith("backpack/")
    return carried and sheet.plan.aids.get(shape.side) in CARRIED_THINGS


def held_ever(plan: Plan) -> list[dict[str, str]]:
    """Everything that hands and back hold at once in some frame, each once."""
    found = {tuple(sorted(plan.held_at(i).items())) for i in range(len(plan))}
    return [dict(held) for held in sorted(found)]


def faintness(sheet: Canvas) -> float:
    """Opacity of what is seen through."""
    return _FAINT_HALF if sheet.view == "joint" else _FAINT_ARM


def seen_through(sheet: Canvas, view: View, shape: Shape) -> bool:
    """True for the arm before the hip where this is seen from its side, and for the far hip bone beside an open socket.

    A hand that holds something is whole.
    """
    if sheet.view == "joint":
        far = shape.side not in (sheet.stance_side, "middle")
        return view.name == MAIN and shape.link == "pelvis" and far
    before = sheet.camera.toward[2] * (1.0 if shape.side == "right" else -1.0) > _FROM_ITS_SIDE
    arm = shape.link in _ARM and shape.side in ("left", "right") and shape.material not in _AID_MATERIALS
    holds = shape.link == "hand" and shape.side in sheet.plan.aids
    return view.name == MAIN and before and arm and not holds and not sheet.whole


def wears_clothes(sheet: Canvas, view: View) -> bool:
    """True where a view shows the person in clothes."""
    return sheet.plan.dress == "patient" and view.skin


def shows_held(sheet: Canvas, key: str, shape: Shape, i: int | None = None) -> bool:
    """True for what a clothed person holds or carries in frame ``i`` (None: in any), once its layer is there."""
    if not is_held(key, shape) or not _brought(sheet, key, shape):
        return False
    frames = range(len(sheet.plan)) if i is None else (i,)
    return any(belongs(key, shape, sheet.plan.held_at(k)) for k in frames)


def _brought(sheet: Canvas, key: str, shape: Shape) -> bool:
    """True unless it is a held thing whose layer is not there yet."""
    link = "bag" if key.startswith("backpack/") else shape.link
    by = _BROUGHT_BY.get("cane" if shape.material in _AID_MATERIALS else link)
    return by is None or by in sheet.layers


def frame_at(sheet: Canvas, view: View, shape: Shape, i: int) -> Array:
    """World transform (4, 4) of a shape in a view; only the main view may draw the thigh out of its socket."""
    link = shape.link_among(sheet.plan.frames)
    return sheet.frame(link, i) if view.name == MAIN else sheet.plan.frames[link][i]


def shows_pressure(sheet: Canvas, shape: Shape) -> bool:
    """True for the cartilage that carries the load, where the picture shows pressure."""
    return shape.name == "lunate" and shape.side == sheet.stance_side and "pressure" in sheet.layers


def shows_muscles(sheet: Canvas) -> bool:
    """True where muscle bodies are drawn."""
    return "muscle" in sheet.layers and sheet.view != "joint"
