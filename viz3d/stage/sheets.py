"""The sheet a scene asks for, by the shape of its picture.

Question answered: which arrangement does a picture of this size get, and which sizes can be laid out?
"""

from __future__ import annotations

from viz3d.errors import InputError
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.compose import compose
from viz3d.stage.layout import Sheet
from viz3d.stage.tall import TallSheet
from viz3d.stage.theme import Theme, theme_of
from viz3d.stage.type import check_letters
from viz3d.words.catalogue import SOURCE, letters_of

SMALLEST, LARGEST = (360, 360), (7680, 7680)
WIDE = 1.3
"""Narrower pictures have names beside the arrows instead of columns."""


def check_size(size: tuple[int, int]) -> None:
    """Refuse picture sizes that cannot be laid out.

    Raises
    ------
    InputError : too small, too large, or too narrow.
    """
    width, height = size
    if not (SMALLEST[0] <= width <= LARGEST[0] and SMALLEST[1] <= height <= LARGEST[1]) or width < 0.5 * height:
        raise InputError(
            f"picture.size: found {width}x{height}; allowed: {SMALLEST[0]}x{SMALLEST[1]} to"
            f" {LARGEST[0]}x{LARGEST[1]}, at least half as wide as high"
        )


def check_words(scene: Scene, theme: Theme) -> None:
    """Refuse a scene's title and captions where the picture's font cannot write them.

    Raises
    ------
    InputError : names the place, the letter and the way out.
    """
    words = {"title": scene.title, **{f"steps[{k}].caption": s.caption for k, s in enumerate(scene.steps, 1)}}
    words |= {f"steps[{k}].name": s.name for k, s in enumerate(scene.steps, 1) if s.change > 0.0 and s.caption}
    if scene.picture.language != SOURCE:
        words["picture.language"] = letters_of(scene.picture.language)
    check_letters(theme.face, words)


def lay_out(
    scene: Scene, solved: Solved, size: tuple[int, int], framing: Framing | None = None, placed: bool = True
) -> Canvas:
    """The sheet a scene asks for; ``framing``: what it shares with others; ``placed``: find its label places now.

    Raises
    ------
    InputError : its palette, font, words or size cannot be laid out.
    """
    theme, picture = theme_of(scene), scene.picture
    check_words(scene, theme)
    plan, layers = compose(scene, solved), picture.shown
    sheet: Canvas
    if size[0] < WIDE * size[1]:
        sheet = TallSheet(plan, size, picture.view, theme, layers, framing, picture.framed, picture.insets)
    else:
        sheet = Sheet(plan, size, picture.view, theme, layers, picture.insets, framing, picture.framed)
    if placed:
        sheet.place()
    return sheet
