"""What the live page's downloads are made of, and what of it the numbers do not bear out.

Question answered: which scene is drawn where a person asks for a picture, a film or a page of what is seen?

A picture shows the step that is seen, or the pose where that is no step's; a film plays all steps, or goes from before
to now. Captions and names of steps whose claims do not hold are left out, and then the scene's title with them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from viz3d.scene.reader import check_scene
from viz3d.scene.schema import Scene
from viz3d.web.answers import Opened, tables_with
from viz3d.web.editing import Tables, between
from viz3d.web.judged import unsupported, without_captions
from viz3d.web.poses import begin_of, moved, tables_of
from viz3d.words.voice import Voice

_PICTURES = ("still", "vector")


@dataclass(frozen=True)
class Made:
    """A scene's tables for a download, and the names of steps whose words were left out."""

    data: Tables
    silent: list[str]


def made_of(known: Opened, asked: Mapping[str, Any], opened: Callable[[str], Opened]) -> Made:
    """What a download is made of.

    Parameters
    ----------
    asked : ``kind``; ``changes`` that hold for the whole scene; ``before`` (``scene`` and ``changes``) for a film from
        before to now; ``seen`` (``step`` from 0, or ``changes``) for a picture. opened : name -> that scene.

    Raises
    ------
    SceneError, InputError : what was changed makes no scene; before and now are the same.
    """
    changes, before, seen = asked.get("changes", {}), asked.get("before"), asked.get("seen")
    data = tables_with(known, changes)
    whole = check_scene(data, Path("scene"))
    words = Voice(whole.picture.language, whole.picture.words).section("page.")
    silent = unsupported(whole)
    if isinstance(before, dict):
        other = opened(str(before.get("scene"))).data
        poses = moved(begin_of(other), before.get("changes", {})), moved(begin_of(known.data), changes)
        data = between(known.data, *poses, (words["edit.before"], words["edit.now"]))
    elif asked.get("kind") in _PICTURES and isinstance(seen, dict):
        data = _seen(known, data, seen, words["edit.now"])
    return Made(_sayable(data, whole, silent, words), [whole.steps[k].name for k in silent])


def _seen(known: Opened, data: Tables, seen: Mapping[str, Any], name: str) -> Tables:
    """The tables with the step that is seen to be drawn; where none is, with one step of that pose."""
    data = _at_moment(data, seen.get("phase"))
    step = seen.get("step")
    if isinstance(step, int) and 0 <= step < len(data.get("steps", [])):
        return data | {"picture": data.get("picture", {}) | {"step": step + 1}}
    out = tables_of(data, moved(begin_of(known.data), seen.get("changes", {})))
    out["picture"] = {k: v for k, v in out.get("picture", {}).items() if k not in ("step", "builds")}
    return {k: v for k, v in out.items() if k != "questions"} | {"steps": [{"name": name}]}


def _at_moment(data: Tables, phase: Any) -> Tables:
    """The tables of a walk that stands still at a moment of its cycle, 0 to 1; others as they are."""
    if "walk" not in data or not isinstance(phase, int | float) or not 0.0 <= phase <= 1.0:
        return data
    kept = {k: v for k, v in data["walk"].items() if k != "cycle_shown"}
    return data | {"walk": kept | {"phase": f"{100.0 * phase:.2f} %", "shown_at": "0 %"}}


def _sayable(data: Tables, whole: Scene, silent: list[int], words: Mapping[str, str]) -> Tables:
    """Tables without the title, the aim and the names and captions of steps that the numbers do not bear out."""
    if not silent:
        return data
    names = {k: words["edit.step_name"].format(number=k + 1) for k in silent}
    own = len(data.get("steps", [])) == len(whole.steps)
    kept = without_captions(data, silent, names) if own else data
    title = words[f"question.neutral_{whole.posture.stance}"]
    return {k: v for k, v in kept.items() if k != "aim"} | {"title": title}
