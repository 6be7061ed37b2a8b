"""One HTML file that answers without a network: bones, a solved table, questions and cautions inside.

Question answered: what may a student open by double click and turn, lean and press?
"""

from __future__ import annotations

import base64
import dataclasses
import html
import json
from pathlib import Path
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from viz3d.errors import InputError
from viz3d.output.cartilage import RIM
from viz3d.output.files import check_space, source_line, write_manifest, written_whole
from viz3d.output.gltf import gltf_bytes
from viz3d.output.solid_arrows import HEAD, METRES_PER_WEIGHT, POINT, SHAFT
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.reader import scene_hash
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import frame_times, step_values
from viz3d.shapes.finish import lighter
from viz3d.shapes.skeleton import AID_GROUPS, Figure, build_figure
from viz3d.shapes.surface import Surface
from viz3d.solution.script import Script, same_but_picture
from viz3d.stage.canvas import DRAWN_OUT
from viz3d.stage.compose import held_things
from viz3d.stage.figure import ARC_PER_NEWTON_METRE, SHORTEST_ARC
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, isobar_colours, legend_map, rgb
from viz3d.stage.plan import Plan
from viz3d.stage.tell import page_line
from viz3d.stage.theme import Theme, theme_of
from viz3d.version import __version__
from viz3d.web.parts import page_style, scripts, static
from viz3d.web.questions import questions_of
from viz3d.web.state import State, state_of
from viz3d.web.table import NONE, OPPOSITE, SAME, Table, make_table
from viz3d.web.themes import theme_style, themes_of
from viz3d.web.wording import force_key, speech_of, worded
from viz3d.words.catalogue import REGISTERS

LARGEST = 4_000_000
"""Bytes of a page."""
_SHARE, _SKIN_SHARE = 0.7, 0.28
"""Share of a film's triangles, and of the skin's, that a page draws."""
_ARC = {"radius": 0.095, "width": 0.0075, "head": 0.022, "apart": 0.30}
"""A moment's arc: radius of its middle, width of its band and length of its head in m, half the gap between those that
turn one way and the other, rad."""
_RATE = 10
"""Samples a second of the timeline."""


def write_page(scene: Scene, path: Path, file: str, step: int = 0, progress: Progress | None = None) -> float:
    """Write a scene's page to ``path`` (.html); returns the largest error between its solved poses, a fraction.

    Parameters
    ----------
    step : index of the step whose other inputs hold.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    script = Script(scene, file)
    now = script.at(step)
    solved = script.solved_steps(now, [step])
    check_space(path.parent)
    table = make_table(now, step)
    theme = theme_of(now)
    aids = {"slider": "cane", **held_things(now)}  # the page moves a cane, its timeline what the scene holds
    figure = page_figure(build_figure(script.body(now), progress, aids, "film"))
    glb = gltf_bytes(table.plan, figure, theme, scene.title, source_line([scene]), page=True)
    told = told_of(now, table.plan, theme)
    told |= _table(now, step, table) | {"timeline": _timeline(scene, file)}
    told |= {
        "questions": questions_of(scene, file, step, [g.hand for g in table.grids]),
        "kept": scene_hash(scene)[:16],
    }
    text = page_text("offline", scene, told, base64.b64encode(glb).decode())
    if len(text.encode()) > LARGEST:
        raise InputError(f"the page would have {len(text.encode()) / 1e6:.1f} MB; allowed: {LARGEST / 1e6:g} MB")
    with written_whole(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
    about = {"kind": "page", "largest_error": table.error, "trials": table.trials, "bytes": len(text.encode())}
    write_manifest(path, scene, solved, about)
    return table.error


def page_text(mode: str, scene: Scene, told: dict[str, Any], bones: str, live: str = "") -> str:
    """The whole page; nothing in a scene can become markup or script."""
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
        "live": worded(live, scene), "chart": "title" if mode == "offline" else "moved",
        "absolute": force_key(scene.picture.voice),
        "generator": f"viz3d {__version__}", "style": page_style() + theme_style(themes), "scripts": "\n".join(parts),
    }  # fmt: skip
    page = static("page.html")
    if scene.model.counts_more:
        page = page.replace("caution.full.muscle", "caution.full.counted")
    named = page.replace("@chart@", values["chart"]).replace("@absolute@", values["absolute"])
    pieces = worded(named, scene).split("@")
    return "".join(values[piece] if n % 2 else piece for n, piece in enumerate(pieces))


def page_figure(figure: Figure) -> Figure:
    """The same figure with fewer triangles; the loaded cartilage keeps its own."""
    shapes = {
        key: s if s.name == "lunate" else dataclasses.replace(s, surface=lighter(s.surface, _SHARE))
        for key, s in figure.shapes.items()
    }
    shell = figure.shell
    skin = lighter(Surface(shell.points, shell.triangles, shell.normals, np.ones(len(shell.points))), _SKIN_SHARE)
    nearest = cKDTree(shell.points).query(skin.points)[1]
    light = dataclasses.replace(
        shell, points=skin.points, normals=skin.normals, triangles=skin.triangles, weights=shell.weights[nearest]
    )
    return Figure(shapes, light)


def told_of(scene: Scene, plan: Plan, theme: Theme) -> dict[str, Any]:
    """What every page knows of a scene: words, colours, names of links."""
    stance = scene.posture.stance
    other = "left" if stance == "right" else "right"
    ramp = np.round(255 * legend_map(theme.colours)).astype(np.uint8)
    levels = np.arange(ISOBAR, PRESSURE_RANGE[1] + 1.0, ISOBAR)
    return {
        "title": scene.title, "stance": stance, "sign": plan.sign, "bw": plan.body_weight,
        "middle": float(plan.middle_hip[:, 2].mean()), "links": list(plan.frames),
        "colours": theme.colours, "range": list(PRESSURE_RANGE), "rim": float(RIM),
        "arrow": {"weight": METRES_PER_WEIGHT, "shaft": SHAFT, "head": HEAD, "point": POINT},
        "arc": {"perNewtonMetre": float(ARC_PER_NEWTON_METRE), "shortest": float(SHORTEST_ARC)} | _ARC,
        "origin": plan.hip[0].tolist(),
        "ramp": base64.b64encode(ramp.tobytes()).decode(),
        "over": [round(255 * v) for v in rgb(theme.colours["over_range"])],
        "isobars": [levels.tolist(), np.round(255 * isobar_colours(levels, theme.colours)).astype(int).tolist()],
        "drawnOut": [f"{stance}_{name}" for name in ("thigh", "shank", "foot")], "drawnBy": list(DRAWN_OUT),
        "cartilage": f"{stance}_lunate",
        "aidGroups": list(AID_GROUPS.values()), "aidGroup": AID_GROUPS,
        "person": _standing(scene, plan), "source": source_line([scene]),
        "hands": {NONE: "page.hand.none", OPPOSITE: f"page.hand.{other}", SAME: f"page.hand.{stance}"},
    }  # fmt: skip


def _standing(scene: Scene, plan: Plan) -> dict[str, str]:
    """Register -> who stands there, and on which leg; pages say themselves where arrows are to scale."""
    told, voice = page_line(scene, plan.body_weight), scene.picture.voice
    return {name: dataclasses.replace(voice, register=name).say(told) for name in REGISTERS}


def packed(state: State) -> dict[str, Any]:
    """Rows of 32-bit numbers in base64 with their layout and what is drawn from them."""
    rows = state.rows.astype("<f4").tobytes()
    return {"layout": state.layout, "rows": base64.b64encode(rows).decode(), "about": state.about}


def _table(scene: Scene, step: int, table: Table) -> dict[str, Any]:
    weight = table.plan.body_weight
    grids = [
        packed(g.state) | {"hand": g.hand, "leans": g.leans.tolist(), "forces": g.forces.tolist(), "most": g.largest}
        for g in table.grids
    ]
    hand, side = _hand(scene)
    known = {g.hand for g in table.grids}
    values = step_values(scene, weight)
    force = 0.0 if side is None else float(values[f"hands.{side}.force"][step]) / weight
    start = {"hand": hand if hand in known else table.grids[0].hand, "lean": float(values["posture.lean"][step]),
             "force": force}  # fmt: skip
    error = float(np.ceil(1e4 * table.error) / 1e4)
    return {"grids": grids, "lune": table.grids[0].lune, "start": start, "error": error, "trials": table.trials}


def _timeline(scene: Scene, file: str) -> dict[str, Any] | None:
    """The scene's own film, sampled; none where its steps change more than the pose and the picture."""
    scene = paced(scene)
    script = Script(scene, file)
    if len(scene.steps) < 2 or not same_but_picture(script):
        return None
    first = script.segments[0].scene
    rate = scene.picture.model_copy(update={"frames_per_second": _RATE})
    times = np.concatenate([[0.0], frame_times(scene.model_copy(update={"picture": rate}))])
    solved = script.solved_at(first, times)
    state = state_of(first, solved)
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    steps = [
        {"name": s.name, "caption": s.caption, "begin": float(e - s.change - s.hold), "held": float(e - s.hold)}
        for s, e in zip(scene.steps, ends, strict=True)
    ]
    hand, side = _hand(first)
    p = solved.posture
    column = 0 if hand == SAME else 1
    forces = np.nan_to_num(p.cane_force[:, column]) / state.plan.body_weight if side else np.zeros(len(times))
    known = {"posture.lean", f"hands.{side}.force"}
    return packed(state) | {
        "times": times.tolist(), "steps": steps, "hand": hand,
        "leans": p.lean.tolist(), "forces": forces.tolist(), "more": any(set(s.set) - known for s in scene.steps),
    }  # fmt: skip


def _hand(scene: Scene) -> tuple[str, str | None]:
    """Which of the table's hands holds the scene's cane, and that hand's side."""
    side = next((s for s in ("left", "right") if getattr(scene.hands, s).holds == "cane"), None)
    return (NONE if side is None else SAME if side == scene.posture.stance else OPPOSITE), side
