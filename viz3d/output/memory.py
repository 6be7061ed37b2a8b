"""How much memory drawing takes.

Question answered: can a picture of this size be drawn without taking the machine's memory?

Bones are drawn at twice the size, so each of a picture's pixels takes its share of the drawing library's buffers, of
the shaded layers and of what is painted over them. Measured for one picture on its own; vector files need none of it.
"""

from __future__ import annotations

from viz3d.errors import InputError

_PROGRAM, _PIXEL = 0.5e9, 220.0
"""Bytes that drawing takes anyway, and that each pixel adds."""
MOST = 2.5e9
"""Bytes that one picture may take: enough for 3840x2160."""


def needed(size: tuple[int, int]) -> float:
    """Bytes of memory that drawing a picture takes.

    Examples
    --------
    >>> round(needed((1920, 1080)) / 1e9, 1)
    1.0
    """
    return _PROGRAM + _PIXEL * size[0] * size[1]


def check_memory(size: tuple[int, int]) -> None:
    """Refuse pictures that take too much memory.

    Raises
    ------
    InputError : more than :data:`MOST`.
    """
    if needed(size) > MOST:
        raise InputError(
            f"picture.size: found {size[0]}x{size[1]}, which takes about {needed(size) / 1e9:.1f} GB of memory;"
            f" allowed: up to {(MOST - _PROGRAM) / _PIXEL / 1e6:.0f} million pixels, or any size as .svg or .pdf"
        )
