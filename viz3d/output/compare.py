"""Situations side by side, as PNG, SVG or PDF, with their manifest.

Called by ``viz3d compare``.
"""

from __future__ import annotations

from pathlib import Path

from viz3d.output.files import check_space, write_manifest
from viz3d.output.still import Progress, check_size, refuse_unheld, source_line, write_page
from viz3d.scene.picture import LAYERS
from viz3d.scene.schema import Scene
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.solution.inputs import body_of
from viz3d.solution.looks import look_at_step
from viz3d.stage.compose import compose, held_things
from viz3d.stage.panels import Situation, compare_page
from viz3d.stage.theme import theme_of
from viz3d.stage.type import check_letters


def draw_comparison(
    chosen: list[tuple[Scene, int]], path: Path, file: str, strict: bool = False, progress: Progress | None = None
) -> Path:
    """Draw steps of scenes side by side; view, size, theme and layers are the first scene's.

    Parameters
    ----------
    chosen : scenes and their steps, counted from 0.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    if path.suffix.lower() == ".png":
        from viz3d.output import gl

        gl.require()
    picture = chosen[0][0].picture
    check_size(picture.pixels)
    looks = [look_at_step(scene, k, file) for scene, k in chosen]
    for look, _ in looks:
        refuse_unheld(look.scene, look.solved, strict)
    check_space(path.parent)
    theme = theme_of(chosen[0][0])
    check_letters(theme.face, {f"{s.title}: steps[{k + 1}].name": f"{s.title} {s.steps[k].name}" for s, k in chosen})
    situations = [Situation(compose(look.scene, look.solved), row) for look, row in looks]
    page = compare_page(situations, picture.pixels, picture.view, theme, picture.layers or LAYERS)
    figures: list[Figure] = [build_figure(body_of(x.scene), progress, held_things(x.scene)) for x, _ in looks]
    write_page(page, figures, path, source_line([scene for scene, _ in chosen]))
    about = {
        "kind": "comparison", "steps": [scene.steps[k].name for scene, k in chosen], "view": picture.view,
        "alt_text": page.alt,
    }  # fmt: skip
    write_manifest(path, chosen[0][0], looks[0][0].solved, about)
    return path
