"""The part of a page that a narrow sheet has for its figure and its names.

Question answered: from where to where does a figure reach, through which camera, and where may its names stand?

Pixels; ``u`` is a layout unit. Pure data.
"""

from __future__ import annotations

import dataclasses

from viz3d.stage.camera import Camera
from viz3d.stage.crop import HIP
from viz3d.stage.drawing import Box
from viz3d.stage.panel_key import Key
from viz3d.stage.tags import ON_BODY, ON_BONE


@dataclasses.dataclass(frozen=True)
class Space:
    """Where a narrow sheet's figure stands, pixels: unit ``u``, from ``head`` down to ``bottom``; how it fades in.

    ``scale``: pixels per metre, unless a ``camera`` is given. ``frame``: how much of the person is shown.
    """

    u: float
    head: float
    bottom: float
    fades: tuple[float, float, bool]
    scale: float = 0.0
    camera: Camera | None = None
    frame: str = HIP
    taken: tuple[Box, ...] = ()
    """Parts of the page that no name may touch."""
    names: int = 0
    """So many muscles have names at most."""
    least: float | None = None
    """Pixels of the smallest unit of type that names may have; the usual one where not given."""
    apart: float = ON_BONE
    """How far, u, a name goes rather than to stand upon a bone."""
    quiet: frozenset[str] = frozenset()
    """Keys of lever arms that are drawn without their size."""
    key: Key | None = None
    """Names and sizes in rows below the figure, where there is no room for them beside it."""


def compared_space(
    u: float, head: float, low: float, scale: float, key: Key | None = None, quiet: frozenset[str] = frozenset()
) -> Space:
    """The space of a panel in a comparison: its figure from ``head`` to ``low``, and below that its key."""
    return Space(u, head, low, (head - 24 * u, head + 94 * u, True), scale, apart=ON_BODY, key=key, quiet=quiet)
