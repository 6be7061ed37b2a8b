"""Lesson files: which scenes and steps a lesson shows, its aim and plan, what people get wrong, what is asked.

Question answered: what does an educator write down to have a whole pack made, and is it whole?

A lesson is data, like a scene: TOML, read with the same care. Everything but title and scenes has a default, so that a
bare scene is a lesson too. Its sentences are the author's, in the language of its scenes; in another one they come
from a file of texts beside it (:mod:`viz3d.scene.translated`).
"""

from __future__ import annotations

import copy
import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, ValidationError

from viz3d.echo import odd_sign, shown
from viz3d.errors import SceneError
from viz3d.given import is_file
from viz3d.scene.explain import explain
from viz3d.scene.inputs import FileName, Keys, Line
from viz3d.scene.reader import SUFFIX, apply_change, check_scene, find_scene, folder_of, library_folder, parse_scene
from viz3d.scene.schema import Scene
from viz3d.scene.translated import OF_LESSONS, in_language, own_language, spoken
from viz3d.teach.deck import Chosen
from viz3d.words.catalogue import SOURCE

Kind = Literal["abductor", "joint", "hand", "lean", "bag", "reading", "error"]
ALL_KINDS: tuple[Kind, ...] = get_args(Kind)
Topic = Literal["load", "cane", "lean", "carry", "strength", "replacement"]
_PATIENT = {"size": "1080x1920", "words": "plain", "dress": "patient", "frame": None, "view": "front"}
"""How a scene is seen that was not made for patients."""
_UNITS = ("force", "mass", "length")
"""Keys of a picture that choose units."""
_LESSONS_OWN = {
    "scenes", "prerequisites", "plan", "misunderstandings", "summary", "patient", "patient_film", "exercises",
}  # fmt: skip
"""Keys that no scene has."""
Sentence = Annotated[str, Field(min_length=1, max_length=240)]


class PlanItem(Keys):
    """One stretch of a lesson's plan."""

    minutes: Annotated[int, Field(ge=1, le=120)]
    what: Sentence


class Misunderstanding(Keys):
    """What people often say, and what is to be answered."""

    says: Sentence
    answer: Sentence


class Used(Keys):
    """A scene that a lesson shows: of the library, or beside the lesson; ``steps`` count from 1, all by default.

    ``builds``: build its first picture up, slide by slide.
    """

    scene: FileName
    steps: Annotated[list[Annotated[int, Field(ge=1, le=100)]], Field(max_length=12)] = Field(default_factory=list)
    builds: bool = Field(False)


class Lesson(Keys):
    """A whole lesson file; ``patient``: what its handout tells; ``patient_film``: the scene of a film for patients."""

    format: Literal[1]
    title: Line
    aim: Annotated[str, Field(max_length=400)] = ""
    prerequisites: Annotated[list[Sentence], Field(max_length=8)] = Field(default_factory=list)
    plan: Annotated[list[PlanItem], Field(max_length=12)] = Field(default_factory=list)
    misunderstandings: Annotated[list[Misunderstanding], Field(max_length=5)] = Field(default_factory=list)
    summary: Annotated[list[Sentence], Field(max_length=6)] = Field(default_factory=list)
    scenes: Annotated[list[Used], Field(min_length=1, max_length=6)]
    patient: Annotated[list[Topic], Field(max_length=6)] = Field(default_factory=lambda: list[Topic](["load"]))
    patient_film: FileName | None = None
    exercises: Annotated[list[Kind], Field(max_length=20)] = Field(default_factory=lambda: list(ALL_KINDS))
    seed: Annotated[int, Field(ge=0, lt=2**31)] = 1


@dataclass(frozen=True)
class OpenedLesson:
    """A lesson with its scenes read."""

    lesson: Lesson
    file: str
    chosen: tuple[Chosen, ...]
    names: tuple[str, ...]
    """The scenes' names, for files."""
    for_patients: Chosen | None = None
    """The scene of the film for patients, where the lesson names one."""

    @property
    def first(self) -> Scene:
        """The scene whose person, language and units the lesson has; the other scenes are told in its units."""
        return self.chosen[0].scene

    @property
    def at_home(self) -> Scene:
        """The lesson's person for what patients take along, in the units of the film that they are shown."""
        return in_units_of(self.patient_cut.scene, self.first)

    @property
    def patient_cut(self) -> Chosen:
        """What is shown to patients: the scene that is named, else the first one upright, clothed and in plain words.

        A scene for a lecture loses its captions there, unless they are in plain words themselves.
        """
        if self.for_patients is not None:
            return self.for_patients
        scene, plain = self.first, self.first.picture.words == "plain"
        picture = scene.picture.model_copy(update=_PATIENT)
        steps = [s if plain else s.model_copy(update={"caption": "", "narration": ""}) for s in scene.steps]
        return Chosen(scene.model_copy(update={"picture": picture, "steps": steps}), self.chosen[0].file)


def library_lessons() -> dict[str, Path]:
    """Lesson name to file, for the lessons that come with viz3d."""
    return {p.stem: p for p in sorted((library_folder() / "lessons").glob(f"*{SUFFIX}"))}


def in_units_of(one: Scene, other: Scene) -> Scene:
    """Another scene, told in the units of one: forces, masses, lengths."""
    units = {name: getattr(one.picture, name) for name in _UNITS}
    return other.model_copy(update={"picture": other.picture.model_copy(update=units)})


def open_lesson(name: str, language: str | None = None, changes: Sequence[str] = ()) -> OpenedLesson:
    """A lesson from a file, a library lesson's name, or a scene that becomes a lesson by itself.

    Parameters
    ----------
    language : of all its words and its scenes'; None: as they are written.
    changes : to the pictures of all its scenes, like ``picture.mass=lb``.

    Raises
    ------
    SceneError : anything that keeps it from being a lesson, with file, key and reason.
    """
    library = library_lessons()
    path = Path(name)
    if not is_file(path) and name in library:
        path = library[name]
    elif not is_file(path) and is_file(Path(f"{name}{SUFFIX}")):
        path = Path(f"{name}{SUFFIX}")
    elif not is_file(path):
        path = _scene_or_nothing(name, library)
    data = parse_scene(path)
    if _LESSONS_OWN & set(data):
        return _opened(_checked(data, path), data, path, language, changes)
    scene = _read(path, data, language, changes)
    lesson = Lesson(format=1, title=scene.title, aim=scene.aim, scenes=[Used(scene=str(path), builds=True)],
                    patient=topics_of(scene))  # fmt: skip
    return OpenedLesson(lesson, str(path), (Chosen(scene, str(path)),), (path.stem,))


def topics_of(scene: Scene) -> list[Topic]:
    """What a handout of a scene tells, by what the person does in it."""
    told: list[Topic] = ["load"]
    keys = " ".join(k for step in scene.steps for k in step.set)
    held = [scene.hands.left.holds, scene.hands.right.holds, *(v for s in scene.steps for v in s.set.values())]
    if "cane" in held:
        told.append("cane")
    if scene.posture.lean or "posture.lean" in keys:
        told.append("lean")
    if "bag" in held or "backpack" in keys or scene.load.backpack:
        told.append("carry")
    return told


def _scene_or_nothing(name: str, library: dict[str, Path]) -> Path:
    try:
        return find_scene(name)
    except SceneError as error:
        near = difflib.get_close_matches(name[:80], library, n=1, cutoff=0.5)
        raise SceneError(
            name or "''", "", "no such lesson or scene", f"lessons: {', '.join(library)}; 'viz3d scenes' lists scenes",
            near[0] if near else error.nearest,
        ) from error  # fmt: skip


def _checked(data: dict[str, Any], path: Path) -> Lesson:
    odd = odd_sign(data)
    if odd is not None:
        raise SceneError(path, "", f"holds {shown(odd)}", "control characters cannot be used")
    try:
        return Lesson.model_validate(data)
    except ValidationError as error:
        raise explain(path, error) from error


def _read(path: Path, data: dict[str, Any], language: str | None, changes: Sequence[str]) -> Scene:
    """A scene of the lesson in its language, its pictures changed."""
    tables = copy.deepcopy(spoken(data, path, language))
    for change in changes:
        if not change.strip().startswith("picture."):
            raise SceneError(path, "--set", f"found {shown(change)}", "a lesson's scenes take picture.KEY=VALUE only")
        apply_change(path, tables, change)
    return check_scene(tables, path)


def _opened(
    lesson: Lesson, data: dict[str, Any], path: Path, language: str | None, changes: Sequence[str]
) -> OpenedLesson:
    """Its scenes read; a lesson is written in the language of its first scene and told in that one's units."""
    chosen, names, own = list[Chosen](), list[str](), SOURCE
    for n, used in enumerate(lesson.scenes, 1):
        found = _scene_file(used.scene, path, f"scenes.{n}.scene")
        tables = parse_scene(found)
        where = f"scenes.{n}.scene"
        if "scenes" in tables:
            raise SceneError(path, where, f"found {shown(used.scene)}", "that is a lesson, not a scene")
        if found.stem in names:
            before = f"scenes.{names.index(found.stem) + 1}"
            raise SceneError(
                path, where, f"found {shown(used.scene)}", f"{before} has that name already; write all its steps there"
            )
        own = own if chosen else own_language(tables)
        scene = _read(found, tables, language, changes)
        scene = in_units_of(chosen[0].scene, scene) if chosen else scene
        for step in used.steps:
            if step > len(scene.steps):
                has = f"{used.scene} has {len(scene.steps)} step{'s' if len(scene.steps) > 1 else ''}"
                raise SceneError(path, f"scenes.{n}.steps", f"found {step}", has)
        chosen.append(Chosen(scene, str(found), tuple(k - 1 for k in used.steps)))
        names.append(found.stem)
    told = _checked(in_language(data, path, language, OF_LESSONS, own), path)
    if lesson.patient_film is not None:
        found = _scene_file(lesson.patient_film, path, "patient_film")
        cut = Chosen(_read(found, parse_scene(found), language, changes), str(found))
        return OpenedLesson(told, str(path), tuple(chosen), tuple(names), cut)
    return OpenedLesson(told, str(path), tuple(chosen), tuple(names))


def _scene_file(name: str, lesson: Path, where: str) -> Path:
    """A scene that a lesson names under the key ``where``: beside the lesson file, else beside ours, or of ours."""
    for folder in (folder_of(lesson), library_folder() / "lessons"):
        for own in (folder / name, folder / f"{name}{SUFFIX}"):
            if is_file(own) and own.resolve().is_relative_to(folder):
                return own
    if "/" in name or "\\" in name:
        raise SceneError(lesson, where, f"found {shown(name)}", "allowed: a library scene, or a file beside the lesson")
    try:
        return find_scene(name)
    except SceneError as error:
        found = f"found {shown(name)}: {error.found}"
        raise SceneError(lesson, where, found, error.allowed, error.nearest) from error
