"""A film's words beside its pictures: captions as WebVTT, chapter marks, a narration with times.

Question answered: what is said when?
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from viz3d.scene.schema import Scene


@dataclass(frozen=True)
class Cue:
    """One step's words: seconds, its name, its caption, what is said; ``rests``: when its change is complete."""

    start: float
    rests: float
    end: float
    name: str
    caption: str
    narration: str


def cues(scene: Scene) -> list[Cue]:
    """The steps' words with their times; a step's words stand from its change to the end of its hold."""
    out, at = [], 0.0
    for step in scene.steps:
        end = at + step.change + step.hold
        if end > at:
            out.append(Cue(at, end - step.hold, end, step.name, step.caption, step.narration or step.caption))
        at = end
    return out


def webvtt(scene: Scene) -> str:
    """Captions in the W3C's Web Video Text Tracks format; each comes when its step's change is complete."""
    blocks = ["WEBVTT"]
    for n, cue in enumerate((c for c in cues(scene) if c.caption and c.end > c.rests), 1):
        text = _one_line(cue.caption).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        blocks.append(f"{n}\n{_clock(cue.rests)} --> {_clock(cue.end)}\n{text}")
    return "\n\n".join(blocks) + "\n"


def chapters(scene: Scene) -> str:
    """Chapter marks, one a step, as the encoder reads them."""
    lines = [";FFMETADATA1"]
    for cue in cues(scene):
        times = f"START={round(1000 * cue.start)}\nEND={round(1000 * cue.end)}"
        lines.append(f"[CHAPTER]\nTIMEBASE=1/1000\n{times}\ntitle={_escaped(cue.name)}")
    return "\n".join(lines) + "\n"


def narration(scene: Scene) -> str:
    """What to say, with the time it begins: one paragraph a step."""
    return "\n\n".join(f"{_clock(c.start)[3:8]}  {c.name}\n{c.narration}".rstrip() for c in cues(scene)) + "\n"


def _clock(seconds: float) -> str:
    milliseconds = round(1000 * seconds)
    hours, rest = divmod(milliseconds, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours:02d}:{minutes:02d}:{rest // 1000:02d}.{rest % 1000:03d}"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _escaped(text: str) -> str:
    """A title for the encoder, which takes a line that ends in a backslash for one that goes on."""
    told = re.sub(r"([=;#\\])", r"\\\1", _one_line(text))
    return f"{told} " if told.endswith("\\") else told
