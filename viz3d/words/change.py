"""How much a quantity changed, as a person would say it: some percent less or more, or so many times as much.

Question answered: from 0.29 to 2.52 BW, is that "765 % more" or "about 9 times as much"?

The one rule for what is said of a change, in every medium and language: from twice on, growth is said in times; below
five times with one decimal, from there on in whole times. What falls is said in percent: "88 % less". The page's
scripts follow the same rule with ``TIMES_FROM`` and ``WHOLE_FROM`` (tests/web/scripts/voice.test.js).
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from viz3d.words.message import Amount, Said, fraction
from viz3d.words.voice import vanishes

TIMES_FROM = 2.0
"""Growth to so many times and more is said in times."""
Way = Literal["same", "less", "more", "times"]


class Grown(NamedTuple):
    """Which of four sentences says it, and what its hole stands for ({share}, of "times" {times})."""

    way: Way
    hole: dict[str, Said]


def change_of(before: float, after: float) -> Grown:
    """How ``after`` differs from ``before``, both of one unit, ``before`` not zero.

    Examples
    --------
    >>> from viz3d.words.voice import Voice
    >>> [(c.way, *map(Voice().say, c.hole.values())) for c in (change_of(2.0, 1.0), change_of(0.29, 2.52))]
    [('less', '50 %'), ('times', '9')]
    >>> change_of(1000.0, 1001.0).way, change_of(1.0, 1.99).way, change_of(1.0, 2.0).way
    ('same', 'more', 'times')
    """
    ratio = after / before
    if ratio >= TIMES_FROM:
        return Grown("times", {"times": Amount(ratio, "times")})
    share = fraction(abs(ratio - 1.0))
    return Grown("same" if vanishes(share) else "less" if ratio < 1.0 else "more", {"share": share})
