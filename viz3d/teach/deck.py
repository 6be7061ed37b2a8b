"""A deck as data: which slides a lecture of these scenes has, in which order, with which words and pictures.

Question answered: what stands on each slide, and what does the lecturer say to it?

A slide names the picture it wants and holds messages; :mod:`viz3d.output.slides` draws the pictures and writes
the file. Numbers are the solution's, said by one voice. The order is a lecture's: the aim, the free body with its sums,
the picture built up, the steps, a question before the last step is shown, the steps side by side, a table, measured
values, what the model leaves out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from viz3d.scene.schema import Scene
from viz3d.scene.segments import scene_at
from viz3d.solution.notes import notes as noted
from viz3d.solution.script import Script
from viz3d.stage.builds import builds_of, stage_caption
from viz3d.stage.compose import compose, load_word, muscle_word
from viz3d.stage.tell import notice, person_words
from viz3d.teach.explain import explain
from viz3d.teach.explanation import Explanation
from viz3d.teach.facts import Taught, both, taught
from viz3d.teach.sketch import Sketch, free_body
from viz3d.words.cautions import full_caution, moving, short
from viz3d.words.change import change_of
from viz3d.words.message import Message, Said, force, length, message, moment, newtons
from viz3d.words.voice import Voice, vanishes

MOST_ROWS, MOST_PANELS, MOST_LINES = 7, 4, 6
_SAME = 0.03
"""A joint force that changes by less than this share "stays about the same"."""
_CAUSES = ("bones", "weight", "lever", "cane")
"""What a question shows: the cause, not yet what it does to muscle and joint."""
_FOUND = {"less": "falls", "same": "stays", "more": "rises", "times": "multiplies"}
Rows = tuple[tuple[Said, ...], ...]


@dataclass(frozen=True)
class SlidePicture:
    """A picture that a slide wants: ``steps`` counted from 0, one but for a comparison; ``layers``: None for all.

    ``build``: which picture of a build-up it is, from 1; 0 for none. ``whole``: the person from head to floor, bare.
    """

    scene: Scene
    file: str
    steps: tuple[int, ...]
    layers: tuple[str, ...] | None = None
    build: int = 0
    whole: bool = False


@dataclass(frozen=True)
class Slide:
    """One slide; what is empty is not on it."""

    key: str
    title: Said
    caption: Said = ""
    lines: tuple[Said, ...] = ()
    picture: SlidePicture | None = None
    sketch: Sketch | None = None
    rows: Rows = ()
    notes: tuple[Said, ...] = ()
    where: str = ""
    """The scene's key that the title comes from, for errors."""
    caption_where: str = ""
    note: Said = ""
    """What must be said beside the picture: that it cannot be held, or that it is a figure for teaching."""
    film: Path | None = None
    """A film to play, with the picture as its poster."""
    file: str = ""
    """What errors call the scene, where no picture says it."""


@dataclass(frozen=True)
class Deck:
    """Slides in order, the voice that says them, the scenes they are made of."""

    title: str
    voice: Voice
    slides: tuple[Slide, ...]
    scenes: tuple[Scene, ...]


@dataclass(frozen=True)
class Chosen:
    """A scene to teach from: ``file``: what errors call it; ``steps``: which of its steps, from 0; () for all."""

    scene: Scene
    file: str
    steps: tuple[int, ...] = ()

    @property
    def shown(self) -> tuple[int, ...]:
        """The steps that are shown."""
        return self.steps or tuple(range(len(self.scene.steps)))


def deck_of(scenes: Sequence[Chosen], builds: bool = True) -> Deck:
    """The deck of some scenes; the first one's language and units hold for all.

    Raises
    ------
    SceneError : a step asks for what nobody could do.
    """
    measured: set[Said] = set()
    slides = [slide for one in scenes for slide in told_once(scene_slides(one, builds), measured)]
    first = scenes[0].scene
    return Deck(first.title, first.picture.voice, (*slides, limits(scenes)), tuple(one.scene for one in scenes))


def limits(scenes: Sequence[Chosen]) -> Slide:
    """What the model leaves out: the last slide of every deck."""
    counts = any(one.scene.model.counts_more for one in scenes)
    what = moving(one.scene.walk is not None for one in scenes)
    return Slide("limits", message("deck.limits"), lines=tuple(full_caution(counts, what)), notes=(short(what),))


def scene_slides(chosen: Chosen, builds: bool, opened: bool = True) -> Iterator[Slide]:
    """The slides of one scene; ``opened``: with a title slide of its own."""
    scene, file, steps = chosen.scene, chosen.file, chosen.shown
    script, last = Script(scene, file), steps[-1]
    told = {k: explain(scene, k, file) for k in steps}
    if opened:
        yield opening(scene, file)
    yield _free_body(script, last, told[last])
    if builds:
        yield from _build_up(script, file, steps[0])
    for k in steps[:-1] or steps:
        yield _step(scene, file, k, told[k])
    if len(steps) > 1:
        yield from _question(script, file, steps, told[last])
        yield _side_by_side(script, file, steps, told)
        yield _summary(script, steps)
    yield _measured(list(told.values()))


def told_once(slides: Iterable[Slide], measured: set[Said]) -> Iterator[Slide]:
    """Slides, but what was measured only where no earlier slide has shown it; adds to what is shown."""
    for slide in slides:
        if slide.key != "measured":
            yield slide
            continue
        new = tuple(line for line in slide.notes if line not in measured)[:MOST_LINES]
        measured.update(new)
        if new:
            yield replace(slide, lines=new)


def opening(scene: Scene, file: str) -> Slide:
    """Title, aim, who."""
    who = message("exercise.person", person=person_words(scene))
    picture = SlidePicture(scene, file, (0,), ("bones", "cane"), whole=True)
    lines: tuple[Said, ...] = (scene.aim, who) if scene.aim else (who,)
    return Slide("title", scene.title, lines=lines, picture=picture, notes=lines, where="title")


def _free_body(script: Script, step: int, told: Explanation) -> Slide:
    """The sketch of the free body, and its sums one under the other."""
    at = taught(script, step)
    notes = _lines(told, "pushes", "turns", "muscle", "joint")
    name: Message = message("deck.of_step", step=script.scene.steps[step].name)
    return Slide(
        "free_body", message("deck.free_body"), name, tuple(_sums(at)), sketch=free_body(at), notes=notes,
        caption_where=f"steps[{step + 1}].name", file=script.file,
    )  # fmt: skip


def _lines(told: Explanation, *keys: str) -> tuple[Said, ...]:
    """The sentences of some parts of an explanation."""
    return tuple(line for part in told.parts if part.key in keys for line in part.told)


def _sums(at: Taught) -> Iterator[Message]:
    """Moments of the loads, the muscle's force, the joint's."""
    for load in at.above:
        if not vanishes(force(at.size(load), at.weight)):
            name = message(f"arrow.{load_word(at.scene, load)}.short")
            yield message(
                "deck.sum.load", name=name, force=newtons(at.size(load)), lever=length(at.arm(load)),
                moment=moment(abs(at.adducts(load))),
            )  # fmt: skip
    total, pull = float(at.solved.load.external_moment[at.row]), at.muscle_force
    if math.isfinite(pull) and pull:
        name = message(f"arrow.{muscle_word(at.solved)}.short")
        across = math.hypot(*at.solved.load.muscle_pull[at.row][1:])
        yield message(
            "deck.sum.muscle", name=name, moment=moment(abs(total)), lever=length(at.muscle_arm), force=newtons(across)
        )
    if math.isfinite(at.joint_force):
        yield message("deck.sum.joint", name=message("arrow.joint.short"), force=both(at.joint_force, at.weight))


def _build_up(script: Script, file: str, step: int) -> Iterator[Slide]:
    """A step's picture, layer upon layer, each with what it adds; the whole of it is the step's own slide."""
    scene, at = script.scene, taught(script, step)
    plan, before = compose(at.scene, at.solved, bodies=False), tuple[str, ...]()
    for n, layers in enumerate(builds_of(scene_at(scene, step))[:-1], 1):
        told = stage_caption(plan, at.row, before, layers)
        picture = SlidePicture(scene, file, (step,), layers, build=n)
        yield Slide("build", scene.title, told or "", picture=picture, notes=(told or "",), where="title")
        before = layers


def _step(scene: Scene, file: str, step: int, told: Explanation) -> Slide:
    one = scene.steps[step]
    notes = (one.narration or one.caption, *_lines(told, "turns", "muscle", "joint"))
    at = taught(Script(scene, file), step)
    said = [notice(at.solved, at.row), *noted(at.scene, at.solved, at.row)]
    return Slide(
        "step", one.name, one.caption, picture=SlidePicture(scene, file, (step,)), notes=notes,
        note=next((x for x in said if x), ""),
        where=f"steps[{step + 1}].name", caption_where=f"steps[{step + 1}].caption",
    )  # fmt: skip


def _question(script: Script, file: str, steps: tuple[int, ...], told: Explanation) -> Iterator[Slide]:
    """What will happen to the joint force at the last step? And the last step, as the answer."""
    scene, first, last = script.scene, steps[0], steps[-1]
    before, after = taught(script, first), taught(script, last)
    answered = _step(scene, file, last, told)
    if not (math.isfinite(before.joint_force) and math.isfinite(after.joint_force)):
        yield answered
        return
    picture = SlidePicture(scene, file, (last,), tuple(x for x in _CAUSES if x in scene_at(scene, last).picture.shown))
    asked = message("deck.ask", first=scene.steps[first].name, last=scene.steps[last].name)
    yield Slide("question", message("deck.predict"), asked, picture=picture, notes=(message("deck.wait"),))
    change = change_of(before.joint_force, after.joint_force)
    stays = abs(after.joint_force / before.joint_force - 1.0) < _SAME
    values = {"before": force(before.joint_force, before.weight), "after": force(after.joint_force, after.weight)}
    title = (
        message("page.question.it_stays", **values)
        if stays
        else message(f"page.question.it_{_FOUND[change.way]}", **values, **change.hole)
    )
    yield replace(answered, key="answer", title=title)


def _side_by_side(script: Script, file: str, shown: tuple[int, ...], told: dict[int, Explanation]) -> Slide:
    """The steps beside one another; of many the first, those with the least and the most joint force, and the last."""
    scene = script.scene
    forces = [taught(script, k).joint_force for k in shown]
    chosen = {shown[0], shown[-1], shown[int(np.nanargmin(forces))], shown[int(np.nanargmax(forces))]}
    steps = shown if len(shown) <= MOST_PANELS else tuple(sorted(chosen))
    notes = tuple(line for k in steps for line in _lines(told[k], "changed"))
    return Slide("compare", scene.title, picture=SlidePicture(scene, file, steps), notes=notes, where="title")


def _summary(script: Script, steps: tuple[int, ...]) -> Slide:
    """The steps' numbers in a table; of many steps the first ones and the last."""
    chosen = steps if len(steps) < MOST_ROWS else (*steps[: MOST_ROWS - 2], steps[-1])
    rows = table_of(script, chosen)
    return Slide("summary", message("deck.summary"), rows=rows, notes=(message("explain.rounded"),))


def table_of(script: Script, steps: Sequence[int]) -> Rows:
    """Heads, then each step's moment, muscle and joint force, and its change against the first of them."""
    heads = tuple(message(f"deck.head.{name}") for name in ("step", *_columns(script.scene), "joint", "change"))
    first = taught(script, steps[0])
    return (heads, *(_row(script, k, first, k == steps[0]) for k in steps))


def _columns(scene: Scene) -> tuple[str, ...]:
    """What a table tells besides the joint force: patients are spared moments."""
    return ("muscle",) if scene.picture.words == "plain" else ("moment", "muscle")


def _row(script: Script, step: int, first: Taught, is_first: bool) -> tuple[Said, ...]:
    at = taught(script, step)
    same = is_first or first.weight != at.weight or not math.isfinite(at.joint_force / first.joint_force)
    more: Said = ""
    if not same:
        change = change_of(first.joint_force, at.joint_force)
        more = message(f"deck.change.{change.way}", **change.hole)
    told: dict[str, Said] = {
        "moment": moment(float(at.solved.load.external_moment[at.row])),
        "muscle": force(at.muscle_force, at.weight),
    }
    return (
        script.scene.steps[step].name, *(told[name] for name in _columns(script.scene)),
        both(at.joint_force, at.weight), more or message("number.none"),
    )  # fmt: skip


def _measured(told: list[Explanation]) -> Slide:
    """What was measured, of all steps once."""
    lines = dict.fromkeys(line for one in told for part in one.parts if part.key == "measured" for line in part.told)
    return Slide("measured", message("explain.head.measured"), lines=tuple(lines)[:MOST_LINES], notes=tuple(lines))
