"""A scene's file as it is edited on the live page: title, steps, captions, picture.

Question answered: which tables does a scene have after one thing was edited?

Tables are those of a scene file, as typed. Steps are edited as poses: whatever is added, moved or deleted, every other
step goes on showing what it showed; what each changes is worked out again, and claims keep pointing at their steps. The
film begins with what its first step shows. What is edited is checked as any scene file is, by the caller.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.web.poses import Pose, begin_of, difference, moved, poses_of, start_of, tables_of

Tables = dict[str, Any]

CHANGE, HOLD = "2.5 s", "4 s"
"""How long a new step takes, and how long it stays."""
STEP_KEYS = ("name", "caption", "narration", "change", "hold", "claims", "view")
PICTURE_KEYS = ("view", "frame", "words", "backdrop", "dress", "muscles", "text", "size", "force", "ghost")
_REFERENCE = re.compile(r"(\bfrom\s+step\s+)(\d{1,3})\b", re.IGNORECASE)
_WHOLE_FILM = ("person.", "model.")
"""What is changed at the sliders holds for the whole film where it begins so, unless a step changes it."""


def edited(data: Tables, changes: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    """A scene's tables after one edit; ``changes``: what is seen on the page, against what it begins with.

    ``about``: ``do`` and what it needs: "title" or "aim" (``value``); "step" (``at``, ``key``, ``value``); "picture" or
    "film" (``key``, ``value``); "add" behind, "replace", "duplicate", "delete" the step ``at``; "move" it ``to``
    another place. Steps are counted from 0.

    Raises
    ------
    InputError : no such edit, key or step.

    Examples
    --------
    >>> edited({"title": "A", "steps": [{"name": "One"}]}, {}, {"do": "title", "value": "B"})["title"]
    'B'
    """
    what = about.get("do")
    if not isinstance(what, str) or what not in _EDITS:
        raise InputError(f"found {shown(what)}; allowed: {', '.join(_EDITS)}")
    return _EDITS[what](copy.deepcopy(data), changes, about)


def with_changes_kept(data: Tables, changes: Mapping[str, str]) -> Tables:
    """A scene's tables with keys of its start changed."""
    return tables_of(data, moved(start_of(data), changes))


def between(data: Tables, first: Pose, last: Pose, names: Sequence[str]) -> Tables:
    """A film of two steps, called so: from one pose to another.

    Raises
    ------
    InputError : both are the same.
    """
    step = difference(first, last)
    if not step:
        raise InputError("before and now are the same; move something first")
    out = {k: v for k, v in tables_of(copy.deepcopy(data), first).items() if k != "questions"}
    out["picture"] = {k: v for k, v in out.get("picture", {}).items() if k not in ("step", "builds")}
    out["steps"] = [
        {"name": names[0], "hold": HOLD},
        {"name": names[1], "change": CHANGE, "hold": HOLD, "set": step},
    ]
    return out


def without_nothing(data: Tables) -> Tables:
    """Tables as they came, where every value is something; a file of tables cannot say that there is none.

    Raises
    ------
    InputError : a value is none.
    """
    waiting: list[Any] = [data]
    while waiting:
        one = waiting.pop()
        if one is None:
            raise InputError("found a key without a value; leave the key out")
        waiting += one.values() if isinstance(one, dict) else one if isinstance(one, list) else []
    return data


# ---- one edit each --------------------------------------------------------------------------------------


def _line(key: str) -> Callable[[Tables, Mapping[str, str], Mapping[str, Any]], Tables]:
    def edit(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
        data[key] = _value(about)
        return data

    return edit


def _setting(table: str, keys: tuple[str, ...]) -> Callable[[Tables, Mapping[str, str], Mapping[str, Any]], Tables]:
    def edit(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
        data.setdefault(table, {})[_key(about, keys)] = _value(about)
        return data

    return edit


def _step(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    key, value, step = _key(about, STEP_KEYS), _value(about), _steps(data)[_at(data, about)]
    if value in ("", []) and key != "name":
        step.pop(key, None)
    else:
        step[key] = value
    return data


def _add(data: Tables, changes: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    at = _at(data, about)
    data, pose = _seen(data, changes)
    steps, poses = _steps(data), poses_of(data)
    new = {"name": _value(about), "change": CHANGE, "hold": HOLD}
    return _stepped(data, [*steps[: at + 1], new, *steps[at + 1 :]], [*poses[: at + 1], pose, *poses[at + 1 :]])


def _replace(data: Tables, changes: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    at = _at(data, about)
    data, pose = _seen(data, changes)
    poses = poses_of(data)
    return _stepped(data, _steps(data), [*poses[:at], pose, *poses[at + 1 :]])


def _duplicate(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    at = _at(data, about)
    steps, poses = _steps(data), poses_of(data)
    twin = copy.deepcopy({k: v for k, v in steps[at].items() if k != "cue"})
    return _stepped(data, [*steps[: at + 1], twin, *steps[at + 1 :]], [*poses[: at + 1], *poses[at:]])


def _delete(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    at = _at(data, about)
    steps, poses = _steps(data), poses_of(data)
    if len(steps) == 1:
        raise InputError("the only step cannot be deleted; a scene has at least one")
    return _stepped(data, steps[:at] + steps[at + 1 :], poses[:at] + poses[at + 1 :])


def _move(data: Tables, _: Mapping[str, str], about: Mapping[str, Any]) -> Tables:
    at, to = _at(data, about), _at(data, about, "to")
    order = [k for k in range(len(_steps(data))) if k != at]
    order.insert(to, at)
    steps, poses = _steps(data), poses_of(data)
    return _stepped(data, [steps[k] for k in order], [poses[k] for k in order])


_EDITS: dict[str, Callable[[Tables, Mapping[str, str], Mapping[str, Any]], Tables]] = {
    "title": _line("title"), "aim": _line("aim"), "step": _step, "picture": _setting("picture", PICTURE_KEYS),
    "film": _setting("film", ("captions",)), "add": _add, "replace": _replace, "duplicate": _duplicate,
    "delete": _delete, "move": _move,
}  # fmt: skip


# ---- poses and steps ------------------------------------------------------------------------------------


def _seen(data: Tables, changes: Mapping[str, str]) -> tuple[Tables, dict[str, Any]]:
    """The tables with what was changed for the whole film, and the pose that is seen."""
    own = {key for step in _steps(data) for key in step.get("set", {})}
    whole = {k: v for k, v in changes.items() if k.startswith(_WHOLE_FILM) and k not in own}
    kept = with_changes_kept(data, whole)
    return kept, moved(begin_of(kept), {k: v for k, v in changes.items() if k not in whole})


def _stepped(data: Tables, steps: list[Tables], poses: list[dict[str, Any]]) -> Tables:
    """The tables with steps in a new order and what each shows; they are the old step's own objects where they stay."""
    old = _steps(data)
    places = {k: n for k, was in enumerate(old) for n, one in enumerate(steps) if one is was}
    start = start_of(data)
    if steps[0] is not old[0]:
        steps[0].pop("change", None)
        start = poses[0]
        if old[0] in steps[1:] and not _seconds(old[0]):
            old[0]["change"] = CHANGE
    elif not _seconds(steps[0]):
        start = poses[0]
    before = start
    for step, pose in zip(steps, poses, strict=True):
        step["set"] = difference(before, pose)
        if not step["set"]:
            del step["set"]
        before = pose
    out = tables_of(data, start) | {"steps": steps}
    return _renumbered(out, {k + 1: n + 1 for k, n in places.items()})


def _seconds(step: Tables) -> float:
    found = re.match(r"\s*([\d.,]+)", str(step.get("change", "0")))
    return float(found[1].replace(",", ".")) if found else 0.0


def _renumbered(data: Tables, places: Mapping[int, int]) -> Tables:
    """Tables whose claims and questions follow their steps to new numbers; those about a step that is gone go."""

    def claim(text: str) -> str | None:
        found = _REFERENCE.search(text)
        if found is None:
            return text
        return _REFERENCE.sub(rf"\g<1>{places[int(found[2])]}", text) if int(found[2]) in places else None

    for step in data["steps"]:
        if "claims" in step:
            step["claims"] = [c for c in map(claim, step["claims"]) if c]
    asked = []
    for question in data.get("questions", []):
        if question.get("step") in (None, *places):
            if "step" in question:
                question["step"] = places[question["step"]]
            choices = [c for c in question["choices"] if isinstance(c, dict) and "claim" in c]
            if all(claim(c["claim"]) for c in choices):
                for choice in choices:
                    choice["claim"] = claim(choice["claim"])
                asked.append(question)
    if "questions" in data:
        data["questions"] = asked
    picture = data.get("picture", {})
    if "step" in picture and picture["step"] not in places:
        del picture["step"]
    elif "step" in picture:
        picture["step"] = places[picture["step"]]
    return data


# ---- what a message holds -------------------------------------------------------------------------------


def _steps(data: Tables) -> list[Tables]:
    steps: list[Tables] = data.setdefault("steps", [{"name": "1"}])
    return steps


def _at(data: Tables, about: Mapping[str, Any], key: str = "at") -> int:
    at, count = about.get(key), len(_steps(data))
    if not isinstance(at, int) or isinstance(at, bool) or not 0 <= at < count:
        raise InputError(f"{key}: found {shown(at)}; allowed: 0 to {count - 1}")
    return at


def _key(about: Mapping[str, Any], allowed: tuple[str, ...]) -> str:
    key = about.get("key")
    if key not in allowed:
        raise InputError(f"key: found {shown(key)}; allowed: {', '.join(allowed)}")
    return str(key)


def _value(about: Mapping[str, Any]) -> str | list[str]:
    value = about.get("value")
    if isinstance(value, str) or (isinstance(value, list) and all(isinstance(x, str) for x in value)):
        return value
    raise InputError(f"value: found {shown(value)}; allowed: a text, or a list of texts")
