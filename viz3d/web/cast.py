"""Who stands on a page: bodies light enough for a browser, and what the page knows of each of them.

Question answered: which surfaces, colours and names does a page need to draw a person of this scene?

A page holds one or more bodies; where it passes from one to the next, what it is told of them changes as well.
"""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import json
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from viz3d.body.landmarks import drawn
from viz3d.body.names import other_side
from viz3d.body.person import Body
from viz3d.output.cartilage import RIM
from viz3d.output.dressed import CLEAR, CLOSED, PANE, RADII, RISE
from viz3d.output.files import source_line
from viz3d.output.page_body import page_bytes
from viz3d.output.solid_arrows import HEAD, METRES_PER_WEIGHT, POINT, SHAFT
from viz3d.progress import Progress
from viz3d.scene.schema import Scene
from viz3d.shapes.body_shell import GRIP, OPEN, Shell, lighter_shell, shell_pieces
from viz3d.shapes.build import Shape
from viz3d.shapes.clothing import Clothed, build_clothes
from viz3d.shapes.finish import lighter
from viz3d.shapes.muscle_mesh import lighter_muscle
from viz3d.shapes.skeleton import AID_GROUPS, Figure, build_figure
from viz3d.shapes.socket_floor import with_bare_floors
from viz3d.shapes.surface import Surface
from viz3d.stage.canvas import DRAWN_OUT
from viz3d.stage.crop import reach_of
from viz3d.stage.effort import BRIGHTER
from viz3d.stage.main_view import PELVIS_ARROWS, pelvis_seen
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, isobar_colours, legend_map, rgb
from viz3d.stage.plan import Plan
from viz3d.stage.tell import page_line
from viz3d.web.axes import NONE, OPPOSITE, OWN, SAME
from viz3d.web.themes import BACKDROPS, themes_of
from viz3d.words.catalogue import REGISTERS

_SHARE, _SKIN_SHARE, _MUSCLE_SHARE = 0.7, 0.28, 0.5
"""Share of a film's triangles, of the skin's, and of the muscles' where there are many, that a page draws."""
_WORN_SHARE = {"skin": 0.5, "hair": 0.5, "shirt": 0.4, "shorts": 0.4}
"""The same of what a person in clothes is seen in."""
_THROUGH = ("pelvis", "thigh")
"""Bones seen through clothes."""
_FEW = 4
"""Muscles that keep all their triangles."""
_ARC = {"radius": 0.095, "width": 0.0075, "head": 0.022, "apart": 0.30, "perNewtonMetre": 0.0262, "shortest": 0.105}
"""A moment's arc: radius of its middle, width of its band and length of its head in m, half the gap between those that
turn one way and the other, its sweep for a newton metre and the shortest that is drawn, rad."""


class Cast:
    """The bodies of one page: one for each person and each hip stood on."""

    def __init__(self) -> None:
        self._keys: list[tuple[str, str]] = []
        self._stands: list[tuple[Body, Plan, set[str]]] = []
        self.told: list[dict[str, Any]] = []
        """What the page knows of each."""
        self.aids: set[str] = {"cane"}
        """What any of their hands holds."""

    def add(self, scene: Scene, body: Body, plan: Plan) -> int:
        """The number of a body; one that is there already gains what this plan draws."""
        key = (person_key(scene), scene.posture.stance)
        if key not in self._keys:
            self._keys.append(key)
            self._stands.append((body, plan, set()))
            self.told.append(body_told(scene, plan))
        index = self._keys.index(key)
        self._stands[index][2].update(m.name for m in plan.muscles)
        self.aids |= set(plan.aids.values())
        low, high = (np.array(v) for v in self.told[index]["whole"])
        points = reach_of(plan)
        self.told[index]["whole"] = [np.minimum(low, points.min(axis=0)).tolist(),
                                     np.maximum(high, points.max(axis=0)).tolist()]  # fmt: skip
        return index

    def glb(self, title: str, source: str, progress: Progress | None = None) -> bytes:
        """All bodies as one file; what two of them share is in it once."""
        held = {f"held {k}": what for k, what in enumerate(sorted(self.aids))}
        figures = []
        for body, plan, muscles in self._stands:
            figure = build_figure(body, progress, held, "film", flesh=plan.side if muscles else "")
            figures.append((plan, seen_of(page_figure(figure, body, sorted(muscles), plan.dress), plan)))
        return page_bytes(figures, title, source)


def person_key(scene: Scene) -> str:
    """A name for a person's bones."""
    text = json.dumps(scene.person.model_dump(mode="json", exclude={"painful_hip"}), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def page_figure(figure: Figure, body: Body, muscles: list[str], dress: str = "anatomy") -> Figure:
    """The same figure with fewer triangles and the named muscles, its skin in pieces; cartilage keeps its own."""
    shapes = {key: lighter_shape(shape) for key, shape in figure.shapes.items()}
    return dataclasses.replace(page_flesh(figure, body, muscles, dress), **floored(shapes))


def floored(shapes: dict[str, Shape]) -> dict[str, Any]:
    """Shapes with the floors of their sockets hatched, as fields of a figure."""
    light, hatching = with_bare_floors(shapes)
    return {"shapes": light, "hatching": hatching}


def page_flesh(figure: Figure, body: Body, muscles: list[str], dress: str = "anatomy") -> Figure:
    """The same figure with its skin in light pieces, with the named muscles, and in clothes where it wears them."""
    clothed = _lighter_clothes(build_clothes(body)) if dress == "patient" else None
    skins = {key: _lighter_skin(shell) for key, shell in shell_pieces(body).items()}
    share = 1.0 if len(muscles) <= _FEW else _MUSCLE_SHARE
    flesh = {name: lighter_muscle(figure.muscles[name], share) for name in muscles if name in figure.muscles}
    return dataclasses.replace(figure, muscles=flesh, skins=skins, clothed=clothed)


def seen_of(figure: Figure, plan: Plan) -> Figure:
    """What a page may show of a figure: of a person in clothes, the bones at the hips, hands of skin, what is held."""
    if figure.clothed is None:
        return figure
    groups = {*_THROUGH, *AID_GROUPS.values()}
    shapes = {key: s for key, s in figure.shapes.items() if key.split("/")[0].rsplit(maxsplit=1)[-1] in groups}
    skins = {key: shell for key, shell in figure.skins.items() if key[0] in (OPEN, GRIP)}
    return dataclasses.replace(figure, shapes=shapes, skins=skins, muscles={})


def lighter_shape(shape: Shape) -> Shape:
    """A film's shape as a page draws it."""
    return shape if shape.name == "lunate" else dataclasses.replace(shape, surface=lighter(shape.surface, _SHARE))


def _lighter_clothes(clothed: Clothed) -> Clothed:
    made = {name: (shell, clothed.shade[name]) for name, shell in clothed.surfaces.items()}
    made |= {name: lighter_shell(*made[name], share) for name, share in _WORN_SHARE.items()}
    return dataclasses.replace(
        clothed,
        surfaces={name: shell for name, (shell, _) in made.items()},
        shade={name: shade for name, (_, shade) in made.items()},
    )


def _lighter_skin(shell: Shell) -> Shell:
    skin = lighter(Surface(shell.points, shell.triangles, shell.normals, np.ones(len(shell.points))), _SKIN_SHARE)
    nearest = cKDTree(shell.points).query(skin.points)[1]
    return dataclasses.replace(
        shell, points=skin.points, normals=skin.normals, triangles=skin.triangles, weights=shell.weights[nearest]
    )


def told_of(scene: Scene, plan: Plan) -> dict[str, Any]:
    """What every page knows of a scene: words, colours, the body it begins with."""
    return body_told(scene, plan) | {
        "title": scene.title, "ramps": _ramps(scene),
        "range": list(PRESSURE_RANGE), "rim": float(RIM),
        "arrow": {"weight": METRES_PER_WEIGHT, "shaft": SHAFT, "head": HEAD, "point": POINT},
        "arc": _ARC,
        "flesh": {"slack": drawn()["belly_slack"], "full": drawn()["belly_full"], "darkens": BRIGHTER},
        "opening": {"rise": RISE, "radii": list(RADII), "clear": CLEAR, "closed": CLOSED, "pane": PANE},
        "drawnBy": list(DRAWN_OUT), "aidGroups": list(AID_GROUPS.values()), "aidGroup": AID_GROUPS,
        "source": source_line([scene]),
    }  # fmt: skip


def body_told(scene: Scene, plan: Plan) -> dict[str, Any]:
    """What a page knows of one body: which hip it stands on, how heavy it is, where it is, what it is called."""
    stance = scene.posture.stance
    points = reach_of(plan)
    middle, half = pelvis_seen(plan, PELVIS_ARROWS * METRES_PER_WEIGHT)
    return {
        "stance": stance, "sign": plan.sign, "replaced": plan.replaced, "bw": plan.body_weight,
        "stature": float(scene.person.stature),
        "middle": float(plan.middle_hip[:, 2].mean()), "links": list(plan.frames),
        "origin": plan.hip[0].tolist(), "whole": [points.min(axis=0).tolist(), points.max(axis=0).tolist()],
        "drawnOut": [f"{stance}_{name}" for name in ("thigh", "shank", "foot", "toes")],
        "person": _standing(scene, plan), "hands": _hands(scene), "dress": plan.dress,
        "walks": scene.walk is not None, "frame": scene.picture.frame,
        "pelvis": {"middle": middle.tolist(), "half": half, "arrows": PELVIS_ARROWS},
    }  # fmt: skip


def _ramps(scene: Scene) -> dict[str, Any]:
    """Backdrop -> the colours of pressures there, and of lines of equal pressure."""
    themes, levels = themes_of(scene), np.arange(ISOBAR, PRESSURE_RANGE[1] + 1.0, ISOBAR)
    out = {}
    for name in BACKDROPS:
        colours = themes[name]
        ramp = np.round(255 * legend_map(colours)).astype(np.uint8)
        out[name] = {
            "ramp": base64.b64encode(ramp.tobytes()).decode(),
            "over": [round(255 * v) for v in rgb(colours["over_range"])],
            "isobars": [levels.tolist(), np.round(255 * isobar_colours(levels, colours)).astype(int).tolist()],
        }
    return out


def _standing(scene: Scene, plan: Plan) -> dict[str, str]:
    """Register -> who stands there, and on which leg; pages say themselves where arrows are to scale."""
    told, voice = page_line(scene, plan.body_weight), scene.picture.voice
    return {name: dataclasses.replace(voice, register=name).say(told) for name in REGISTERS}


def _hands(scene: Scene) -> dict[str, str]:
    """Which hand presses, as in a table -> the key of its name."""
    stance = scene.posture.stance
    return {
        NONE: "page.hand.none", OPPOSITE: f"page.hand.{other_side(stance)}", SAME: f"page.hand.{stance}",
        OWN: "page.hand.own",
    }  # fmt: skip
