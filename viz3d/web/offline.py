"""One HTML file that answers without a network: bones, a solved table, questions and cautions inside.

Question answered: what may a student open by double click and turn, lean and press?
"""

from __future__ import annotations

import base64
import html
import json
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.errors import InputError
from viz3d.output.files import check_space, source_line, write_manifest, written_whole
from viz3d.progress import Progress
from viz3d.scene.reader import scene_hash
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed, on_the_spot
from viz3d.solution.inputs import body_of
from viz3d.solution.script import Script
from viz3d.version import __version__
from viz3d.web.axes import LEAN, PUSH, PUSHES, controls_of, own_hand
from viz3d.web.cast import Cast, told_of
from viz3d.web.film import film_of
from viz3d.web.packing import packed
from viz3d.web.parts import page_style, scripts, static
from viz3d.web.questions import questions_of
from viz3d.web.table import Grid, Table, make_table, with_cane
from viz3d.web.themes import theme_style, themes_of
from viz3d.web.walk_table import walk_table
from viz3d.web.wording import force_key, speech_of, worded

LARGEST = 6_000_000
"""Bytes of a page."""


def write_page(scene: Scene, path: Path, file: str, step: int = 0, progress: Progress | None = None) -> float:
    """Write a scene's page to ``path`` (.html); returns the largest error between its solved poses, a fraction.

    Parameters
    ----------
    step : index of the step whose other inputs hold.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    scene = on_the_spot(scene)
    script = Script(scene, file)
    now = script.at(step)
    solved = script.solved_steps(now, [step])
    check_space(path.parent)
    table = make_table(now, step) if now.walk is None else walk_table(now, step, file)
    cast = Cast()
    told = told_of(now, table.plan) | _table(now, step, table, cast) | {"timeline": film_of(scene, file, cast)}
    shown = [g.hand for g in table.grids] if {LEAN, PUSH} <= {*controls_of(now)} else []
    told |= {"questions": questions_of(scene, file, step, shown), "kept": scene_hash(scene)[:16], "bodies": cast.told}
    told["step"] = step
    glb = cast.glb(scene.title, source_line([scene]), progress)
    text = page_text("offline", scene, told, base64.b64encode(glb).decode())
    size = len(text.encode())
    if size > LARGEST:
        raise InputError(f"the page would have {size / 1e6:.1f} MB; allowed: {LARGEST / 1e6:g} MB{_why(now, cast)}")
    with written_whole(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
    about = {"kind": "page", "largest_error": table.error, "trials": table.trials, "bytes": size}
    write_manifest(path, scene, solved, about)
    return table.error


def _why(scene: Scene, cast: Cast) -> str:
    """What a page that is too large could do without."""
    bodies = f"it holds {len(cast.told)} bodies" if len(cast.told) > 1 else ""
    listed = "list fewer inputs in page.controls" if scene.page.controls is not None else ""
    said = "; ".join(filter(None, [bodies, listed]))
    return f" ({said})" if said else ""


def page_text(
    mode: str, scene: Scene, told: dict[str, Any], bones: str, live: str = "", jumps: str = ""
) -> str:  # fmt: skip
    """The whole page; nothing in a scene can become markup or script. ``live``, ``jumps``: a live page's own markup."""
    themes = themes_of(scene)
    told = told | {"speech": speech_of(scene), "themes": themes}
    data = json.dumps(told, ensure_ascii=True, allow_nan=False).replace("<", "\\u003c")
    parts = [
        f'<script type="application/json" id="told">{data}</script>',
        f'<script type="text/plain" id="bones">{bones}</script>' if bones else "",
        *(f"<script>{text}</script>" for text in scripts(mode)),
    ]
    values = {
        "title": html.escape(scene.title), "aim": html.escape(scene.aim), "mode": mode, "lang": scene.picture.language,
        "live": worded(live, scene), "jumps": worded(jumps, scene), "chart": "title" if mode == "offline" else "moved",
        "absolute": force_key(scene.picture.voice),
        "generator": f"viz3d {__version__}", "style": page_style() + theme_style(themes), "scripts": "\n".join(parts),
    }  # fmt: skip
    page = static("page.html")
    if scene.walk is not None:
        page = page.replace("caution.full.static", "page.level_walk")
    if scene.model.counts_more:
        page = page.replace("caution.full.muscle", "caution.full.counted")
    named = page.replace("@chart@", values["chart"]).replace("@absolute@", values["absolute"])
    pieces = worded(named, scene).split("@")
    return "".join(values[piece] if n % 2 else piece for n, piece in enumerate(pieces))


def _table(scene: Scene, step: int, table: Table, cast: Cast) -> dict[str, Any]:
    """The grids, the settings that the page begins with, and how far off it is."""
    grids = [packed(grid) | {"body": _bodies(scene, step, grid, cast)} for grid in table.grids]
    known = {g.hand for g in table.grids}
    hand = own_hand(scene) if own_hand(scene) in known else table.grids[0].hand
    error = float(np.ceil(1e4 * table.error) / 1e4)
    pose = {word: value for grid in table.grids for word, value in grid.start.items()}
    own = next(g.start for g in table.grids if g.hand == hand)
    start = {"hand": hand, "pose": {word: 0.0 if word in PUSHES else value for word, value in pose.items()} | own}
    return {"grids": grids, "start": start, "error": error, "trials": table.trials}


def _bodies(scene: Scene, step: int, grid: Grid, cast: Cast) -> list[int]:
    """Numbers of a grid's bodies: one, or one for every node of the axis that shapes bones."""
    variant = with_cane(scene, grid.hand)
    shaping = next((a for a in grid.axes if a.shapes), None)
    written = [f"{np.degrees(x):.6f} deg" for x in shaping.nodes] if shaping else []
    scenes = [changed(variant, dict.fromkeys(shaping.keys, text)) for text in written] if shaping else [variant]
    return [cast.add(one, body_of(one), grid.state.plan) for one in scenes]
