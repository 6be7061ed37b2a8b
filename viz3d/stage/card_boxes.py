"""Where the cards stand: up to three in a column beside the main picture.

Question answered: which part of the page does each card have, and is there room for cards at all?

Pixels.
"""

from __future__ import annotations

from viz3d.stage.drawing import Box

FORCES, FREE_BODY, SOCKET, FIGURE, CURVE, DEMAND, FOOTPRINTS = (
    "forces", "free body", "socket", "figure", "curve", "strength", "footprints",
)  # fmt: skip
CARDS = (FORCES, SOCKET, FIGURE)
"""The usual cards, from the top."""
_SHARE = {FORCES: 360.0, FREE_BODY: 330.0, SOCKET: 234.0, FIGURE: 190.0, CURVE: 234.0, DEMAND: 234.0,
          FOOTPRINTS: 220.0}  # fmt: skip


class CardBoxes:
    """Boxes of the cards, pixels; ``shown`` is False on narrow pictures and where there are none."""

    def __init__(self, size: tuple[int, int], bottom: float, names: tuple[str, ...]) -> None:
        width, height = size
        u = height / 1080.0
        self.shown = bool(names) and width / height >= 1.55
        self.left, self.right = width - 412 * u, width - 32 * u
        self.boxes: dict[str, Box] = {}
        top, gap = 32 * u, 16 * u
        room = bottom - 16 * u - top - gap * (len(names) - 1)
        for name in names:
            tall = room * _SHARE[name] / sum(_SHARE[n] for n in names)
            self.boxes[name] = Box(self.left, top, self.right, top + tall)
            top += tall + gap
