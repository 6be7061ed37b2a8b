"""Pictures for slides and sheets of paper: a step, a stage of a build-up, steps side by side, the person alone.

Question answered: how does a picture look where title and caption are text boxes that a teacher can edit?

They are the stills and comparisons of everywhere else, 1920 x 1080, laid out with their words and then drawn without
title, caption and notes. So a change of those words draws nothing anew: pictures are kept under everything else that
they depend on, the program's own sources included.
"""

from __future__ import annotations

import contextlib
import copy
import dataclasses
import hashlib
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from viz3d.arrays import Array
from viz3d.atomic import scratch
from viz3d.kept import keep, kept
from viz3d.kinematics.posture import STANCE_HAND, posture_rows
from viz3d.output.figures import figure_of
from viz3d.output.files import source_line, sources
from viz3d.output.paint import Painter
from viz3d.output.pictures import save_png, write_page
from viz3d.progress import Progress
from viz3d.scene.picture import LAYERS
from viz3d.scene.schema import Scene
from viz3d.scene.segments import names_what_is, scene_at
from viz3d.shapes.cache import user_folder
from viz3d.shapes.skeleton import Figure
from viz3d.solution.refuse import refuse_compared, refuse_unheld
from viz3d.solution.script import Script, Shot
from viz3d.stage.builds import builds_of, stage_caption
from viz3d.stage.canvas import Canvas
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.crop import half_reach
from viz3d.stage.drawing import Words
from viz3d.stage.page import Page, single_page
from viz3d.stage.panels import Situation
from viz3d.stage.sheets import lay_out
from viz3d.stage.theme import theme_of
from viz3d.teach.deck import SlidePicture
from viz3d.words.message import Said

SIZE = "1920x1080"
_WHOLE = "1080x1440"
_WORDS = ("title", "aim", "film")
_CAPITALS = 0.75
"""Height of capitals against the size of words."""
_OF_STEP = ("caption", "claims", "narration", "name", "hold", "change", "cue")


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A drawn picture: PNG, what it shows in words, its size, where its caption belongs (pixels from the top).

    ``spots``: of a whole person with a cane the handle ("handle", outward from it) and the ground from the little toe
    to the tip ("tip"), as pairs of points, shares of the picture.
    """

    png: bytes
    alt: str
    size: tuple[int, int]
    band: int
    spots: dict[str, list[list[float]]] = dataclasses.field(default_factory=dict)
    room: int = 0
    """Height that the caption may have before it meets the small print, pixels; 0: not known."""


def slide_picture(asked: SlidePicture, progress: Progress | None = None) -> Drawn:
    """The picture, from those kept or drawn now.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    path = user_folder() / "slides" / f"{_key(asked)}.zip"
    found = kept(path)
    if found is not None:
        about, _, png = found.partition(b"\n")
        told = json.loads(about)
        return Drawn(png, told["alt"], tuple(told["size"]), told["band"], told["spots"], told["room"])
    drawn = _side_by_side(asked, progress) if len(asked.steps) > 1 else _one(asked, progress)
    told = {"alt": drawn.alt, "size": drawn.size, "band": drawn.band, "spots": drawn.spots, "room": drawn.room}
    about = json.dumps(told).encode()
    _keep(path, about + b"\n" + drawn.png)
    return drawn


def _keep(path: Path, data: bytes) -> None:
    """Keep what was drawn; a disk that cannot costs only time."""
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        keep(path, data)


def still_picture(asked: SlidePicture, progress: Progress | None = None) -> tuple[bytes, str]:
    """A slide's picture of one step as a still: with title, caption and notes painted on; its PNG and its alt text.

    Nothing is drawn anew but those words.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    words = [asked.scene.title, asked.scene.steps[asked.steps[0]].caption, asked.build]
    name = hashlib.sha256(json.dumps([_key(asked), words]).encode()).hexdigest()[:40]
    path = user_folder() / "slides" / f"{name}.zip"
    found = kept(path)
    if found is None:
        alt, png = _worded(asked, progress)
        found = alt.encode() + b"\0" + png
        _keep(path, found)
    told, _, png = found.partition(b"\0")
    return png, told.decode()


def _worded(asked: SlidePicture, progress: Progress | None) -> tuple[str, bytes]:
    """Alt text and PNG of a still."""
    drawn = slide_picture(asked, progress)
    _, row, _, shown = _laid_out(asked)
    page = single_page(shown, row)
    if asked.build:
        plan = shown.plan
        stages = [(), *builds_of(scene_at(asked.scene, asked.steps[0]))]
        told = stage_caption(plan, row, stages[asked.build - 1], tuple(asked.layers or ()))
        caption, count = shown.say(told or ""), len(plan)
        shown.plan = dataclasses.replace(plan, captions=[caption] * count, notes=[""] * count)
        page = dataclasses.replace(page, alt=caption)
    there = {repr(mark) for mark in _wordless(shown).drawing(row).over}
    words = [mark for mark in shown.drawing(row).over if repr(mark) not in there]
    pixels = np.asarray(Image.open(io.BytesIO(drawn.png)).convert("RGB")).copy()
    painter, out = Painter(page.size, pixels, page.theme.face), io.BytesIO()
    painter.marks(words, page.theme.colours["paper_top"])
    save_png(painter.pixels(), page, out, source_line([asked.scene]))
    return page.alt, out.getvalue()


def _laid_out(asked: SlidePicture) -> tuple[Shot, int, Canvas, Canvas]:
    """A step's shot, its row there, its sheet, and the sheet with the layers that are shown."""
    scene = _sized(asked.scene, asked.whole)
    shot, row = Script(scene, asked.file).shot_at(asked.steps[0])
    refuse_unheld(shot.scene, shot.solved, strict=False)
    sheet = lay_out(shot.scene, shot.solved, shot.scene.picture.pixels)
    return shot, row, sheet, sheet.showing(asked.layers if asked.layers is not None else shot.scene.picture.shown, row)


def _wordless(shown: Canvas) -> Canvas:
    """A sheet without the words that a slide has in boxes of its own."""
    bare, count = copy.copy(shown), len(shown.plan)
    empty: list[Said] = [*[""] * count]
    bare.plan = dataclasses.replace(shown.plan, title="", captions=[""] * count, notes=empty, notices=empty)
    return bare


def _band_of(sheet: Canvas, wordless: Canvas, row: int) -> tuple[int, int]:
    """Where the caption's place begins and how high it is before the small print, pixels."""
    top = sheet.band.top
    below = [m for m in wordless.drawing(row).over if isinstance(m, Words) and m.text and m.y > top]
    return round(top), round(min((m.y - _CAPITALS * m.size for m in below), default=top) - top)


def _one(asked: SlidePicture, progress: Progress | None) -> Drawn:
    """A step's picture, whole or with some layers."""
    shot, row, sheet, shown = _laid_out(asked)
    figure = figure_of(sheet.plan, shot.body, progress)
    alt = single_page(shown, row).alt
    shown = _wordless(shown)
    page = dataclasses.replace(single_page(shown, row), alt=alt)
    if asked.whole:
        return _cut_out(shown, figure, row, alt, _spots(shot, row))
    band, room = _band_of(sheet, shown, row)
    return Drawn(_png(page, [figure], asked.scene), alt, page.size, band, room=room)


def _side_by_side(asked: SlidePicture, progress: Progress | None) -> Drawn:
    """Some steps beside one another, without the title."""
    scene = _sized(asked.scene, whole=False)
    script = Script(scene, asked.file)
    shots = [script.shot_at(k) for k in asked.steps]
    for shot, row in shots:
        refuse_unheld(shot.scene, shot.solved, strict=False)
        refuse_compared(shot.scene, shot.solved, row)
    plans = [dataclasses.replace(compose(shot.scene, shot.solved), title="") for shot, _ in shots]
    picture = scene.picture
    named = [names_what_is(scene, k) for k in asked.steps]
    situations = [Situation(plan, row, own) for plan, (_, row), own in zip(plans, shots, named, strict=True)]
    page = compare_page(situations, picture.pixels, picture.view, theme_of(scene), picture.layers or LAYERS)
    figures = [_figure(shot, situation, progress) for (shot, _), situation in zip(shots, situations, strict=True)]
    return Drawn(_png(page, figures, asked.scene), page.alt, page.size, page.size[1])


def _figure(shot: Shot, situation: Situation, progress: Progress | None) -> Figure:
    return figure_of(situation.plan, shot.body, progress)


def _sized(scene: Scene, whole: bool) -> Scene:
    """The scene with its picture as large as a slide, or upright with the person from head to floor."""
    update: dict[str, Any] = {"size": _WHOLE, "frame": "whole"} if whole else {"size": SIZE, "text": "usual"}
    return scene.model_copy(update={"picture": scene.picture.model_copy(update=update)})


def _png(page: Page, figures: list[Figure], scene: Scene) -> bytes:
    folder = user_folder()
    folder.mkdir(parents=True, exist_ok=True)
    with scratch(folder) as place:
        path = place / "picture.png"
        write_page(page, figures, path, source_line([scene]))
        return path.read_bytes()


def _cut_out(sheet: Canvas, figure: Figure, row: int, alt: str, spots: dict[str, list[Array]]) -> Drawn:
    """The figure alone on nothing: what lets the page through is where black and white pages differ."""
    from viz3d.output.meshes import MeshLayer

    light, dark = (np.full((sheet.height, sheet.width, 3), shade, dtype=np.uint8) for shade in (255, 0))
    with MeshLayer(sheet, figure, light) as layer:
        on_light = layer.frame(row).astype(np.float32)
    with MeshLayer(sheet, figure, dark) as layer:
        on_dark = layer.frame(row).astype(np.float32)
    alpha = np.clip(1.0 - (on_light - on_dark).max(axis=2) / 255.0, 0.0, 1.0)
    colour = np.where(alpha[..., None] > 0.0, on_dark / np.maximum(alpha[..., None], 1e-3), 0.0)
    whole = Image.fromarray(np.dstack([np.clip(colour, 0, 255), 255 * alpha]).astype(np.uint8), "RGBA")
    across, up = half_reach(sheet.plan, sheet.camera) * sheet.camera.scale
    x, y = sheet.camera.at
    corner = np.array([round(x - max(1.1 * across, 0.4 * up)), round(y - 1.02 * up)])
    size = np.array([2 * round(max(1.1 * across, 0.4 * up)), 2 * round(1.02 * up)])
    cut, out = whole.crop((*corner.tolist(), *(corner + size).tolist())), io.BytesIO()
    cut.save(out, format="PNG")
    shares = {
        name: [((sheet.camera.project(p) - corner) / size).tolist() for p in points] for name, points in spots.items()
    }
    return Drawn(out.getvalue(), alt, cut.size, cut.height, shares)


def _spots(shot: Shot, row: int) -> dict[str, list[Array]]:
    """World points of a cane's fit: its handle and beyond, the little toe's place and the tip."""
    solved = shot.solved
    hands = np.flatnonzero(solved.posture.has_cane[row])
    if not len(hands):
        return {}
    k = int(hands[0])
    outward = float(solved.sign[row]) * (1.0 if k == STANCE_HAND else -1.0)
    side = "right" if outward > 0 else "left"
    tip = solved.posed.frames[f"{side}_cane"][row, :3, 3]
    handle = np.array([tip[0], float(solved.stance.handle[row, k, 1]), tip[2]])
    beside = float(posture_rows()["tip_beside_toe"].value)
    aside = np.array([0.0, 0.0, outward])
    return {"handle": [handle, handle + 0.2 * aside], "tip": [tip - beside * aside, tip]}


# ---- what a picture depends on ----------------------------------------------------------------------


def _key(asked: SlidePicture) -> str:
    """Everything the pixels depend on: the scene but for its words, which of it is shown, our sources, own files."""
    scene = asked.scene.model_dump(mode="json")
    for name in _WORDS:
        scene.pop(name, None)
    spared = set(_OF_STEP) - ({"name"} if len(asked.steps) > 1 else set())  # names of steps stand over panels
    scene["steps"] = [{k: v for k, v in step.items() if k not in spared} for step in scene["steps"]]
    named = [name for name in (asked.scene.picture.font, asked.scene.picture.palette) if name]
    own = [_digest_of(asked.scene.folder / name) for name in named]
    bones = [] if asked.scene.person.bones is None else _folder_digest(asked.scene.bone_folder())
    told = [scene, asked.steps, asked.layers, asked.whole, own, bones, sources()]
    return hashlib.sha256(json.dumps(told, sort_keys=True, default=str).encode()).hexdigest()[:40]


def _digest_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def _folder_digest(folder: Path) -> list[str]:
    return [_digest_of(path) for path in sorted(folder.iterdir())]
