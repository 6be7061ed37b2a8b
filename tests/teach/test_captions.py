"""Captions of every scene, in both languages, read by the W3C's own checker: no fault, every word at its time."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from viz3d.output.captions import cues, narration, webvtt
from viz3d.scene.reader import library_scenes, load_scene, walking_scenes
from viz3d.scene.schema import Scene

CHECKER = Path(__file__).parents[1] / "web" / "captions.js"


def checked(files: list[Path]) -> list[dict[str, Any]]:
    """What the checker found in each file."""
    done = subprocess.run(["node", CHECKER, *files], capture_output=True, text=True, check=True, timeout=300)
    return [json.loads(line) for line in done.stdout.splitlines()]


def scenes() -> dict[str, Scene]:
    names = [*library_scenes(), *walking_scenes()]
    found = {f"{n}-{lang}": load_scene(n, [f"picture.language={lang}"]) for n in names for lang in ("en", "es")}
    some = found["cane-opposite-hand-en"]
    odd = [s.model_copy(update={"caption": "a --> b <i>&amp; 1 < 2\nWEBVTT"}) for s in some.steps]
    return {**found, "odd": some.model_copy(update={"steps": odd})}


def test_the_checker_finds_no_fault_in_any_captions(tmp_path: Path) -> None:
    written = {}
    for name, scene in scenes().items():
        path = tmp_path / f"{name}.vtt"
        path.write_text(webvtt(scene), encoding="utf-8")
        written[path] = scene
    found = checked([*written])
    assert len(found) == len(written) > 40
    for one, scene in zip(found, written.values(), strict=True):
        assert one["errors"] == [], one["name"]
        for cue, told in zip(one["cues"], cues(scene), strict=True):
            assert (cue["start"], cue["end"]) == pytest.approx((told.rests, told.end), abs=2e-3)
            assert bare(cue["text"]) == bare(" ".join(told.caption.split()))


def bare(text: str) -> str:
    """Without semicolons: the checker leaves those of entities."""
    return text.replace(";", "")


def test_the_checker_finds_a_fault_where_there_is_one(tmp_path: Path) -> None:
    path = tmp_path / "a.vtt"
    path.write_text("WEBVTT\n\n1\n00:00:05.000 --> 00:00:01.000\nbackwards\n", encoding="utf-8")
    assert checked([path])[0]["errors"]


def test_the_narration_is_told_when_the_captions_come() -> None:
    for scene in scenes().values():
        times = [60.0 * int(m) + int(s) for m, s in re.findall(r"^(\d\d):(\d\d)  ", narration(scene), re.M)]
        assert len(times) == len(cues(scene))
        assert all(0.0 <= cue.start + 5e-4 - at < 1.001 for at, cue in zip(times, cues(scene), strict=True))
