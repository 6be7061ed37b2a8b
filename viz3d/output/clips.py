"""A clip of a film, ready to be drawn.

Question answered: what does each of its frames show, from where, with which words?
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.pieces import Setup
from viz3d.output.push import Place
from viz3d.scene.rhythm import Rhythm
from viz3d.scene.timeline import eased
from viz3d.solution.script import Clip

AWAY = 0.25
"""Share of such a change in which arrows and words go, and again in which they come."""


@dataclass(frozen=True)
class DrawnClip:
    """One clip, ready to be drawn: its setup, its rows of film frames and which of them look alike."""

    clip: Clip
    setup: Setup
    anew: bool
    """True where it comes in with another body or view, not only with other layers."""
    rows: NDArray[np.intp]
    """Rows of the plan for frames ``clip.first`` to ``clip.end``."""
    alike: NDArray[np.intp]
    """A number per frame: equal where the solid layer is the same."""
    rhythm: Rhythm | None = None
    """Of the whole film; None where words and camera stay."""
    aside: tuple[Array, Array] = (np.zeros(2), np.zeros(2))
    """How far the hip is moved on the page as the clip comes in and as it goes out, (2,) pixels, camera nearest."""

    def row(self, n: int) -> int:
        """The plan's row of film frame n."""
        return int(self.rows[n - self.clip.first])

    def place(self, n: int) -> Place | None:
        """Where the camera has got to in film frame n; None where it always stands."""
        near = 0.0 if self.rhythm is None else float(self.rhythm.near[n])
        if near == 0.0:
            return None
        sheet, clip = self.setup.sheet, self.clip
        hip = sheet.camera.project(sheet.plan.hip[self.row(n)])
        coming, going = self.aside
        part = float(eased(np.array([(n - clip.first - clip.transition) / max(self._settled, 1)]))[0])
        return Place(near, hip, hip + near * ((1.0 - part) * coming + part * going))

    @property
    def _settled(self) -> int:
        """Frames in which the clip is there alone."""
        return self.clip.end - self.clip.first - self.clip.transition

    def words(self, n: int) -> tuple[int, int, float]:
        """Groups of words of film frame n: so many are there, so many are to be there next, and the share of those."""
        count = len(self.setup.sheet.groups())
        if self.rhythm is None or self.rhythm.told[n] == 1.0:
            return count, count, 0.0
        told = float(self.rhythm.told[n])
        if self.rhythm.going[n]:
            return 0, count, told
        low = int(told * count)
        return low, low + 1, told * count - low


def progress(clip: Clip, n: int) -> float:
    """How far a clip has come in at the middle of frame n, 0 to 1."""
    return (n - clip.first + 0.5) / clip.transition
