"""How long a caption takes to read.

Question answered: can a caption be read while its step stays?
"""

from __future__ import annotations

READABLE = 3.0
"""Words a second that a caption can be read at; common practice for subtitles read for the first time."""


def reading_time(caption: str) -> float:
    """Seconds that a caption takes to read.

    Examples
    --------
    >>> reading_time("The cane only touches the floor.")
    2.0
    """
    return len(caption.split()) / READABLE
