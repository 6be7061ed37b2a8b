"""A script: a scene taken apart once, and the one way to solve any of it.

Question answered: which body stands there at each step and frame, what does its hip carry, and may that be asked?

A scene is resolved once into segments, each with one scene in force, and a body is made once for each person. A shot is
one scene in force, but for its layers, with its own solved rows; a film is a row of clips, each showing some frames of
a shot. Every answer, whether a table, a picture, a page or a question that varies an input, is solved by
:meth:`Script.solved`, with all inputs of the step, and goes through the same refusals (:mod:`viz3d.solution.refuse`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from viz3d.arrays import Array, Frames
from viz3d.body.person import Body
from viz3d.scene.schema import Scene
from viz3d.scene.segments import Segment, segments_of
from viz3d.scene.timeline import Timeline, at_steps, at_times, frame_times, varied_step
from viz3d.solution.inputs import body_of, model_of, posture_of, with_strength
from viz3d.solution.refuse import refuse_inputs, refuse_solved
from viz3d.solution.refuse_walk import refuse_walking, telling_reach
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import Solved
from viz3d.solution.walking import walked_scene


@dataclass(frozen=True)
class Shot:
    """One scene in force, without regard to its layers."""

    scene: Scene
    solved: Solved
    rows: Frames
    """Steps, or frames of the film, that ``solved`` holds, in rising order."""
    body: Body
    """Whose bones are drawn."""

    def row(self, index: int) -> int:
        """Where a step or a frame of the film stands in ``solved``."""
        return int(np.searchsorted(self.rows, index))


@dataclass(frozen=True)
class Clip:
    """A stretch of film: frames ``first`` to ``end`` (not included) of a shot, with the layers of its scene.

    For the first ``transition`` frames it comes in while the clip before goes out.
    """

    shot: int
    scene: Scene
    first: int
    end: int
    transition: int


class Script:
    """A scene resolved into the scenes in force, their bodies and their solutions.

    Parameters
    ----------
    scene : as read. file : what errors call it.
    """

    def __init__(self, scene: Scene, file: str = "scene") -> None:
        self.scene, self.file = scene, file
        self.segments = segments_of(scene)
        self.scenes, self._of = _distinct(self.segments)
        self._bodies: list[tuple[Scene, Body]] = []

    # ---- who stands there --------------------------------------------------------------------------------

    def body(self, scene: Scene) -> Body:
        """The body of a scene in force, made once for each person and strength."""
        for known, body in self._bodies:
            if known.person == scene.person and known.strength == scene.strength:
                return body
        self._bodies.append((scene, body_of(scene)))
        return self._bodies[-1][1]

    def at(self, step: int) -> Scene:
        """The scene in force at a step."""
        return next(s.scene for s in self.segments if s.first <= step <= s.last)

    # ---- the one way to solve ----------------------------------------------------------------------------

    def solved(
        self, scene: Scene, timeline: Timeline, shaping: Mapping[str, Array] | None = None, refusing: bool = True
    ) -> Solved:
        """Solve a scene in force at the samples of a timeline.

        Parameters
        ----------
        shaping : dotted scene key -> (N,) SI values that replace the person's.
        refusing : raise for the first sample that may not be asked for; else leave it to the caller, who finds those
            rows by :func:`viz3d.solution.refuse.refused`.

        Raises
        ------
        SceneError : as :mod:`viz3d.solution.refuse`.
        """
        body = body_of(scene, shaping) if shaping else self.body(scene)
        body = with_strength(body, timeline.inputs)
        if scene.walk is not None:
            first = int(timeline.step[0]) if len(timeline.step) else 0
            refuse_walking(scene, self.file, shown=not shaping, step=first)
            with telling_reach(scene, self.file, body, first):
                return walked_scene(scene, self.body(scene), model_of(scene), timeline.times, timeline.step)
        posture = posture_of(scene, timeline)
        if refusing:
            refuse_inputs(scene, posture, body, timeline.step, self.file)
        solved = solve_batch(body, posture, timeline.times, timeline.step, model_of(scene), scene.model.pressure)
        if refusing:
            refuse_solved(scene, solved, self.file)
        return solved

    def solved_at(self, scene: Scene, times: Array) -> Solved:
        """A scene in force at any times of the timeline."""
        return self.solved(scene, at_times(scene, self._weight(scene), times))

    def solved_steps(self, scene: Scene, steps: Sequence[int] | None = None) -> Solved:
        """A scene in force at the ends of some steps, or of all."""
        return self.solved(scene, at_steps(scene, self._weight(scene), steps))

    def varied(self, step: int, values: Mapping[str, Array], scene: Scene | None = None) -> Solved:
        """One step with inputs replaced by arrays; nothing is refused, the caller asks which rows may be.

        Parameters
        ----------
        values : dotted key -> (N,) SI values, all of one length.
        scene : in force instead of the step's own, for instance with a cane in a hand.
        """
        scene = self.at(step) if scene is None else scene
        if scene.walk is not None:
            refuse_walking(scene, self.file, shown=not values, step=step)
            return self.solved_steps(scene, [step])
        shaping = {k: v for k, v in values.items() if k.startswith("person.")}
        mass = body_of(scene, shaping).weight if shaping else self.body(scene).weight
        return self.solved(scene, varied_step(scene, mass, step, values), shaping, refusing=False)

    def _weight(self, scene: Scene) -> float:
        return float(self.body(scene).weight[0])

    # ---- steps and films ---------------------------------------------------------------------------------

    def shots(self) -> list[Shot]:
        """Every shot, solved at the steps it is in force."""
        out = []
        for k, scene in enumerate(self.scenes):
            steps = [s for n, segment in enumerate(self.segments) if self._of[n] == k for s in segment.steps]
            if steps:
                out.append(self._shot(scene, self.solved_steps(scene, steps), np.array(steps)))
        return out

    def shot_at(self, step: int) -> tuple[Shot, int]:
        """The shot of the scene in force at a step, solved at its own steps, and its row."""
        k = next(self._of[n] for n, s in enumerate(self.segments) if s.first <= step <= s.last)
        steps = [s for n, segment in enumerate(self.segments) if self._of[n] == k for s in segment.steps]
        solved = self.solved_steps(self.scenes[k], steps)
        if len(self.scenes) > 1 and same_but_picture(self):  # what is seen differs, and what is solved is one course
            whole = self.solved_steps(self.scene)
            solved = replace(solved, course=(whole.times, whole.joint_bw))
        shot = self._shot(self.scenes[k], solved, np.array(steps))
        return shot, shot.row(step)

    def film(self) -> tuple[list[Shot], list[Clip]]:
        """Every shot, solved at the frames it is seen in, and the clips of the film in order."""
        times = frame_times(self.scene)
        clips = _clips(self.scene, self.segments, self._of, times)
        out = []
        for k, scene in enumerate(self.scenes):
            rows = np.unique(np.concatenate([np.arange(c.first, c.end) for c in clips if c.shot == k]))
            out.append(self._shot(scene, self.solved_at(scene, times[rows]), rows))
        return out, clips

    def _shot(self, scene: Scene, solved: Solved, rows: Frames) -> Shot:
        return Shot(scene, solved, rows, self.body(scene))


def _clips(scene: Scene, segments: list[Segment], of: list[int], times: Array) -> list[Clip]:
    """The clips of a film, one a segment."""
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    begins = np.concatenate([[0.0], ends[:-1]])
    clips: list[Clip] = []
    for n, segment in enumerate(segments):
        first = int(np.searchsorted(times, begins[segment.first])) if n else 0
        change = scene.steps[segment.first].change if n else 0.0
        transition = int(np.searchsorted(times, begins[segment.first] + change)) - first if n else 0
        end = len(times)
        if n + 1 < len(segments):
            after = segments[n + 1].first
            end = int(np.searchsorted(times, begins[after] + scene.steps[after].change))
        clips.append(Clip(of[n], segment.scene, first, end, transition))
    return clips


def _distinct(segments: list[Segment]) -> tuple[list[Scene], list[int]]:
    """The different scenes but for their layers, and which of them each segment shows."""
    scenes: list[Scene] = []
    of = []
    for segment in segments:
        picture = segment.scene.picture.model_copy(update={"layers": None})
        same = segment.scene.model_copy(update={"picture": picture})
        if same not in scenes:
            scenes.append(same)
        of.append(scenes.index(same))
    return scenes, of


def solve_scene(
    scene: Scene, times: Array | None = None, file: str = "scene", steps: Sequence[int] | None = None
) -> Solved:
    """A scene whose steps only pose, at its steps, at some of them, or at given times.

    Raises
    ------
    SceneError : as :mod:`viz3d.solution.refuse`.
    """
    script = Script(scene, file)
    return script.solved_steps(scene, steps) if times is None else script.solved_at(scene, times)


def same_but_picture(script: Script) -> bool:
    """True where every segment shows the same body, hands and hip: its scenes differ in their picture only."""
    first = script.segments[0].scene
    alike = {"picture": first.picture}
    return all(s.scene.model_copy(update=alike) == first for s in script.segments)
