"""viz3d: what the hip carries, computed and drawn to scale.

A scene file says who stands how and holds what; the rooms of this package turn it into numbers
(:mod:`viz3d.solution`), a picture plan (:mod:`viz3d.stage`) and files (:mod:`viz3d.output`).
SI units throughout; ISB axes: x forward, y up, z to the person's right.

From Python: ``viz3d.load``, ``solve``, ``still``, ``film``, ``compare``, ``page`` and ``view`` (:mod:`viz3d.api`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from viz3d.version import __version__

if TYPE_CHECKING:
    from viz3d.api import compare, film, load, page, solve, still, view

__all__ = ["__version__", "compare", "film", "load", "page", "solve", "still", "view"]


def __getattr__(name: str) -> Any:
    """The functions of :mod:`viz3d.api`, fetched when first asked for, so that commands start fast."""
    if name in __all__:
        import importlib

        return getattr(importlib.import_module("viz3d.api"), name)
    raise AttributeError(f"module 'viz3d' has no attribute {name!r}")
