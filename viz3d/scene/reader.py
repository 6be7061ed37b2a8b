"""Reading scene files: kindly, exactly, safely.

Question answered: is this file a scene, and if not, what is wrong, where, and what may stand there?

A scene is data: TOML, at most a quarter of a megabyte, no includes, no paths, no code. Errors name the
file, the dotted key, what was found, what is allowed and the nearest valid key.
"""

from __future__ import annotations

import difflib
import hashlib
import json
import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from viz3d.echo import odd_sign, shown
from viz3d.errors import SceneError, Unreadable
from viz3d.given import file_bytes, is_file, toml_tables
from viz3d.scene.explain import ONE_THING, explain, nearest_key
from viz3d.scene.posture import AIDS
from viz3d.scene.rows import eased_rows
from viz3d.scene.schema import FORMAT, Scene
from viz3d.scene.segments import CUT_KEYS, LOOKS, MOST_SHAPES, StepError, segments_of
from viz3d.scene.translated import in_language

LARGEST_FILE = 250_000
SUFFIX = ".toml"
LANGUAGE = "picture.language"
"""The key that says who speaks; a scene asked for in another language than its own needs its texts in it."""
_NUMBERS, _NUMBER = ("format", "step", "frames_per_second", "power"), re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
"""Last parts of keys that hold bare numbers, and how one is typed."""


def library_folder() -> Path:
    """The folder of scenes that come with viz3d: the checkout's, else the installed package's."""
    package = Path(__file__).resolve().parent.parent
    checkout = package.parent / "scenes"
    return checkout if (package.parent / "pyproject.toml").is_file() else package / "scenes"


def library_scenes() -> dict[str, Path]:
    """Scene name to file, for the scenes that come with viz3d and stand; pages and questions take any of them."""
    return {p.stem: p for p in sorted(library_folder().glob(f"*{SUFFIX}"))}


def walking_scenes() -> dict[str, Path]:
    """The same for the scenes that walk: for numbers, pictures and films."""
    return {p.stem: p for p in sorted((library_folder() / "walking").glob(f"*{SUFFIX}"))}


def every_scene() -> dict[str, Path]:
    """All scenes that come with viz3d: those that stand, then those that walk."""
    return library_scenes() | walking_scenes()


def find_scene(name: str) -> Path:
    """A scene file from a path, or from a library scene's bare name.

    Raises
    ------
    SceneError : neither exists.
    """
    path, library = Path(name), every_scene()
    longer = Path(f"{name}{SUFFIX}")
    if is_file(path):
        return path
    if name in library:
        return library[name]
    if is_file(longer):
        return longer
    if os.path.isdir(name):  # noqa: PTH112  a name that no disk can hold is no folder
        raise SceneError(name, "", "is a folder, not a scene file")
    near = difflib.get_close_matches(path.stem[:80], library, n=1, cutoff=0.5)
    raise SceneError(
        name or "''", "", "no such scene file, and no library scene of that name",
        "'viz3d scenes' lists the library", near[0] if near else "",
    )  # fmt: skip


def load_scene(name: str, changes: Iterable[str] = ()) -> Scene:
    """Read a scene file, with changes like ``person.mass=80 kg`` applied.

    Raises
    ------
    SceneError : anything that keeps the file from being a scene.
    """
    return load_data(name, changes)[0]


def load_data(name: str, changes: Iterable[str] = ()) -> tuple[Scene, dict[str, Any]]:
    """A scene as :func:`load_scene` reads it, and the tables of its file.

    Raises
    ------
    SceneError : anything that keeps the file from being a scene.
    """
    path = find_scene(name)
    data = parse_scene(path)
    changes = list(changes)
    things = [c.partition("=")[0].strip() for c in changes if re.match(r"\s*hands\.\w+\.holds\s*=", c)]
    twice = next((t for t in things if things.count(t) > 1), None)
    if twice is not None:
        raise SceneError(path, twice, "is set twice", ONE_THING)
    data = in_language(data, path, _language(changes))
    for change in changes:
        apply_change(path, data, change)
    return check_scene(data, path), data


def check_scene(data: dict[str, Any], path: Path) -> Scene:
    """Validate a parsed scene.

    Raises
    ------
    SceneError : the first thing wrong, with key, finding and what is allowed.
    """
    odd = odd_sign(data)
    if odd is not None:
        raise SceneError(path, "", f"holds {shown(odd)}", "control characters cannot be used")
    version = data.get("format")
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT:
        raise SceneError(
            path, "format", f"found {shown(version)}", f"this viz3d reads format {FORMAT}; a newer viz3d is needed"
        )
    if "format" not in data:
        raise SceneError(path, "format", "missing", f"a scene starts with format = {FORMAT}")
    try:
        scene = Scene.model_validate(data)
    except ValidationError as error:
        raise explain(path, error) from error
    scene.lies_in(folder_of(path))
    _check_steps(path, scene)
    for k, question in enumerate(scene.questions):
        if question.step is not None and question.step > len(scene.steps):
            allowed = f"allowed: 1 to {len(scene.steps)}"
            raise SceneError(path, f"questions.{k + 1}.step", f"found {question.step}", allowed)
    return scene


def scene_hash(scene: Scene) -> str:
    """SHA-256 of the scene's content, independent of its file's layout."""
    text = json.dumps(scene.model_dump(mode="json"), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def parse_scene(path: Path) -> dict[str, Any]:
    """A scene file's tables, not yet checked.

    Raises
    ------
    SceneError : it cannot be read, or is not TOML.
    """
    try:
        return parse_text(file_bytes(path, LARGEST_FILE), path)
    except Unreadable as error:
        raise SceneError(path, "", error.found, error.allowed) from error


def parse_text(raw: bytes, path: Path) -> dict[str, Any]:
    """The tables of a scene file's bytes; ``path``: what to call it.

    Raises
    ------
    SceneError : it is too large, or not TOML.
    """
    if len(raw) > LARGEST_FILE:
        allowed = f"allowed: a file of at most {LARGEST_FILE / 1e3:g} kB"
        raise SceneError(path, "", f"is {len(raw) / 1e6:.1f} MB", allowed)
    if not raw.strip():
        raise SceneError(path, "", "is empty", "start from one: viz3d new my-scene --from level-stance")
    try:
        return toml_tables(raw)
    except Unreadable as error:
        raise SceneError(path, "", error.found, error.allowed) from error


def folder_of(path: Path) -> Path:
    """The folder that a scene file lies in.

    Raises
    ------
    SceneError : the working folder is gone.
    """
    try:
        return path.resolve().parent
    except OSError as error:
        raise SceneError(path, "", "the working folder is not there any more", "change to one that is") from error


def apply_change(path: Path, data: dict[str, Any], change: str) -> None:
    """Put a change like ``person.mass=80 kg`` into a scene's tables.

    Raises
    ------
    SceneError : it is no change, or leads nowhere.
    """
    key, equals, value = change.partition("=")
    key = key.strip()
    if not equals or not key:
        raise SceneError(path, "--set", f"found {shown(change)}", 'write KEY=VALUE, like --set person.mass="80 kg"')
    if key.startswith("walk.") and "walk" not in data:
        raise SceneError(path, key, "nobody walks here", "write a table [walk] first, or take a walking scene")
    text = value.strip()
    if len(text) > 1 and text[0] == text[-1] and text[0] in "\"'":
        text = text[1:-1]
    node: Any = data
    *folders, last = key.split(".")
    for folder in folders:
        node = node.setdefault(folder, {})
        if not isinstance(node, dict):
            raise SceneError(path, key, "does not lead to a value", nearest=nearest_key(key))
    if text.startswith("["):
        try:
            node[last] = toml_tables(f"v = {text}".encode(errors="replace"))["v"]
        except Unreadable as error:
            raise SceneError(path, key, f"found {shown(text)}", 'write a list like ["bones", "weight"]') from error
    elif last in _NUMBERS and _NUMBER.fullmatch(text):
        node[last] = float(text) if "." in text else int(text)
    else:
        node[last] = text
    _hold_for_every_step(data, key, node[last])


def _hold_for_every_step(data: dict[str, Any], key: str, value: Any) -> None:
    """A view, a frame or layers that are asked for by hand hold at every step, those included that have their own."""
    steps = data.get("steps")
    for step in steps if key in LOOKS and isinstance(steps, list) else []:
        if isinstance(step, dict) and LOOKS[key] in step:
            step[LOOKS[key]] = value


def _language(changes: list[str]) -> str | None:
    """The language that changes ask for; None where they name none."""
    named = [c.partition("=") for c in changes]
    asked = [value.strip(" \t\"'").lower() for key, equals, value in named if equals and key.strip() == LANGUAGE]
    return asked[-1] if asked else None


def _check_steps(path: Path, scene: Scene) -> None:
    """Refuse what a step cannot change, one step after the other."""
    for k, step in enumerate(scene.steps):
        for key in step.set:
            if key not in eased_rows() and not key.startswith(CUT_KEYS):
                allowed = "a step can change keys that begin with " + ", ".join(CUT_KEYS)
                near = nearest_key(key) if "." in key else _posing(key)
                if key in LOOKS:
                    near = f"steps.{k + 1}.{LOOKS[key]}"
                raise SceneError(path, f"steps.{k + 1}.set.{key}", "cannot be changed by a step", allowed, near)
            if key.startswith("walk.") and scene.walk is None:
                raise SceneError(path, f"steps.{k + 1}.set.{key}", "nobody walks here", "write a table [walk] first")
    try:
        segments = segments_of(scene)
    except StepError as error:
        if isinstance(error.cause, ValidationError):
            raise explain(path, error.cause, f"steps.{error.step + 1}.set") from error
        raise
    shapes = [scene.person]
    for segment in segments:
        shapes += [] if segment.scene.person in shapes else [segment.scene.person]
        if len(shapes) > MOST_SHAPES:
            found = f"is body number {len(shapes)} of this scene"
            where = f"steps.{max(segment.first, 0) + 1}.set"
            raise SceneError(path, where, found, f"allowed: {MOST_SHAPES}; make a second scene")
        for k in segment.steps:
            _check_posing(path, segment.scene, k, scene.steps[k].set)


def _posing(word: str) -> str:
    """The input that a bare word in a step's changes means."""
    near = nearest_key(f"posture.{word}")
    return near if near.rpartition(".")[2] == word else nearest_key(word)


def _check_posing(path: Path, scene: Scene, index: int, changes: dict[str, str]) -> None:
    """Refuse posing values that cannot be read, or that no hand of the scene in force could take."""
    for key, value in changes.items():
        if key not in eased_rows():
            continue
        where, parts = f"steps.{index + 1}.set.{key}", key.split(".")
        if parts[0] == "hands":
            held = getattr(scene.hands, parts[1]).holds
            wanted = {"force": AIDS, "mass": ("bag",)}[parts[2]]
            if held not in wanted:
                allowed = "it would have to hold a " + " or ".join(wanted)
                raise SceneError(path, where, f"the {parts[1]} hand holds {held}", allowed)
        try:
            eased_rows()[key].read(value)
        except PydanticCustomError as error:
            raise SceneError(path, where, error.message()) from error
