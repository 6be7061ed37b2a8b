"""A scene's timeline as an animated binary glTF: bones move rigidly, the skin bends, arrows grow with their forces.

Question answered: how does this film look in a slide program or a 3-D viewer that knows nothing of us?

ISO/IEC 12113 (glTF 2.0). A scene whose steps change the body, or what it holds, becomes several scenes of one file, in
the film's order, each with its own animation; what they share is written once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pygltflib as g

from viz3d.output.clothes import beside_hips
from viz3d.output.figures import figure_of
from viz3d.output.files import check_space, source_line, written_whole
from viz3d.output.gltf_figure import FigureInFile
from viz3d.output.gltf_file import GltfFile
from viz3d.output.solid_arrows import METRES_PER_WEIGHT
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import frame_times
from viz3d.solution.gait import POINTS
from viz3d.solution.passing import moved_along
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Script, same_but_picture
from viz3d.solution.solved import Solved
from viz3d.stage.compose import compose
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme, theme_of

_RATE = 30


def write_gltf(scene: Scene, path: Path, file: str, strict: bool = False, bones: Progress | None = None) -> Path:
    """Write a scene's film to ``path`` (.glb).

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    scene = paced(scene)
    picture = scene.picture.model_copy(update={"frames_per_second": _RATE})
    script = Script(scene.model_copy(update={"picture": picture}), file)
    acts = _acts(script, strict)
    check_space(path.parent)
    theme, title = theme_of(scene), scene.title
    out, first = GltfFile(_about(acts[0][1], theme, title, source_line([scene]))), True
    for shown, plan in acts:
        figure = figure_of(plan, script.body(shown), bones, "film")
        part = FigureInFile(out, beside_hips(plan, figure), figure, theme)
        steps = list(dict.fromkeys(plan.steps))
        name = title if len(acts) == 1 else ", ".join(steps)
        extras = {"steps": steps, "begins_s": 0.0 if first else float(plan.times[0])}
        out.file.scenes.append(g.Scene(nodes=part.nodes(), name=name, extras=extras))
        part.animate(name)
        first = False
    out.file.scene = 0
    with written_whole(path) as temporary:
        temporary.write_bytes(out.written())
    return path


def _acts(script: Script, strict: bool) -> list[tuple[Scene, Plan]]:
    """Each stretch of the film in which one body stands there with the same things: the scene in force, its plan."""
    found: list[tuple[Scene, Solved]] = []
    if same_but_picture(script):
        shown = script.scenes[0]
        found.append((shown, script.solved_at(shown, np.concatenate([[0.0], frame_times(script.scene)]))))
    else:
        times, (shots, clips) = frame_times(script.scene), script.film()
        ends = [*(clip.first for clip in clips[1:]), len(times)]
        for clip, end in zip(clips, ends, strict=True):
            shown = shots[clip.shot].scene
            found.append((shown, script.solved_at(shown, times[clip.first : end])))
    found = [(shown, solved if shown.walk is None else _one_cycle(script, shown, solved)) for shown, solved in found]
    acts = []
    for shown, solved in found:
        refuse_unheld(shown, solved, strict)
        acts.append((shown, compose(shown, solved)))
    return acts


def _about(plan: Plan, theme: Theme, title: str, source: str) -> dict[str, Any]:
    """What stands beside the format's own fields."""
    return {
        "title": title, "source": source, "metres_per_body_weight": METRES_PER_WEIGHT,
        "body_weight_N": plan.body_weight, "model": theme.voice.say(plan.model_line), "language": theme.voice.language,
    }  # fmt: skip


def _one_cycle(script: Script, shown: Scene, solved: Solved) -> Solved:
    """A walk as a loop: one whole cycle from where this stretch begins, its last frame the first one again."""
    if solved.course is None:
        return solved
    times = solved.course[0]
    whole = float(times[POINTS] - times[0])
    share = np.linspace(0.0, 1.0, round(whole * _RATE) + 1)
    found = script.solved_at(shown, float(solved.times[0]) + whole * share)
    passed = found.gait is not None and found.gait.passes
    return moved_along(found, share, 1) if passed else found
