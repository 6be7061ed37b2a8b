"""Bones for the live page: the true ones where they are built, else the last ones moved meanwhile.

Question answered: which bones can be shown at once, and are they the true ones?

What only follows a length is true as soon as it is scaled. Pelvis and thigh are built anew where their measures change,
each by a builder of its own, on a coarser grid than pictures have; skin and muscles follow.
"""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from typing import Any

from viz3d.errors import RenderError
from viz3d.output.children import Pool
from viz3d.scene.schema import Scene
from viz3d.shapes.build import Shape
from viz3d.shapes.muscle_mesh import build_muscles
from viz3d.shapes.skeleton import Figure, build_figure, identity, quick_shapes
from viz3d.solution.inputs import body_of
from viz3d.stage.muscles import EQUIVALENT_BODIES
from viz3d.statics.model import EQUIVALENT
from viz3d.web.cast import floored, lighter_shape, page_figure, page_flesh, person_key
from viz3d.web.reshape import WARPED, moved, unlike

MOST_LOST = 3
"""Builders that may end in the middle of one body's bones."""
_KEPT = 6
"""Bodies that are kept."""
_BUILDERS = {"bones": (2, 0), "flesh": (1, 10)}
"""Processes that build, and how far each stands back: bones asked for never wait for flesh being grown."""


class Bones:
    """Figures by body: the true one where it is built, else the last one moved while the true one is being built."""

    def __init__(self, first: Scene) -> None:
        self._figures: OrderedDict[str, tuple[Scene, Figure]] = OrderedDict()
        self._building: dict[str, list[Future[Any]]] = {}
        self._flesh: dict[str, Future[Figure]] = {}
        self._lost: dict[str, int] = {}
        self._pools: dict[str, Pool] = {}
        self._lock = threading.Lock()
        self._keep(self.key(first), first, drawn_of(first), whole=True)

    @staticmethod
    def key(scene: Scene) -> str:
        """A name for a person's bones, and for the muscles of the hip that is studied."""
        return f"{person_key(scene)} {scene.posture.stance} {scene.model.muscles == EQUIVALENT} {scene.picture.dress}"

    def get(self, scene: Scene) -> tuple[Figure, bool]:
        """A figure for a scene's person, and whether its bones are the true ones.

        Raises
        ------
        RenderError : its builder ended again and again. MeshError : these bones cannot be built.
        """
        key = self.key(scene)
        with self._lock:
            if key in self._figures:
                self._figures.move_to_end(key)
                self._take_flesh(key)
                return self._figures[key][1], True
            other, figure = self._nearest(scene)
            meanwhile = _moved(figure, other, scene)
            parts = self._built(key, scene, other)
            if parts is None:
                return meanwhile, False
            self._keep(key, scene, _with(meanwhile, parts), whole=any(isinstance(part, Figure) for part in parts))
            return self._figures[key][1], True

    def grows(self, scene: Scene) -> bool:
        """Whether skin and muscles of a body that is there are still being grown."""
        with self._lock:
            return self.key(scene) in self._flesh

    def _nearest(self, scene: Scene) -> tuple[Scene, Figure]:
        """The figure used last, of the same sex where there is one."""
        known = list(reversed(self._figures.values()))
        return next((k for k in known if k[0].person.sex == scene.person.sex), known[0])

    def _built(self, key: str, scene: Scene, other: Scene) -> list[Any] | None:
        """What is built anew for a body, once it is ready; where nobody builds it, begin, before all that waits."""
        if key not in self._building:
            self._let_go()
            self._building[key] = [self._begun(*task) for task in _tasks(scene, other)]
        jobs = self._building[key]
        if not all(job.done() for job in jobs):
            return None
        del self._building[key]
        try:
            parts = [job.result() for job in jobs]
        except BrokenProcessPool as error:
            self._lost[key] = self._lost.get(key, 0) + 1
            if self._lost[key] >= MOST_LOST:
                del self._lost[key]
                raise RenderError(f"the bones of this body: their builder ended {MOST_LOST} times") from error
            self._building[key] = [self._begun(*task) for task in _tasks(scene, other)]
            return None
        self._lost.pop(key, None)
        return parts

    def _let_go(self) -> None:
        """Drop what nobody has begun to build yet: the body asked for last comes first."""
        for key, jobs in list(self._building.items()):
            if sum(job.cancel() for job in jobs):
                del self._building[key]
        for key, job in list(self._flesh.items()):
            if job.cancel():
                del self._flesh[key]

    def _begun(self, work: Callable[..., Any], *given: Any) -> Future[Any]:
        """Begin to build, with another builder where the last one is gone."""
        what = "flesh" if work is fleshed else "bones"
        for _ in range(2):
            if what not in self._pools:
                count, back = _BUILDERS[what]
                self._pools[what] = Pool(count, _stand_back, (back,))
            try:
                return self._pools[what].submit(work, *given)
            except BrokenProcessPool:
                del self._pools[what]
        raise RenderError("the bones of this body: no builder could be started")

    def _keep(self, key: str, scene: Scene, figure: Figure, whole: bool) -> None:
        """Keep a figure; its skin and muscles are grown unless it was built whole."""
        if not whole:
            self._flesh[key] = self._begun(fleshed, scene, figure)
        self._figures[key] = (scene, figure)
        while len(self._figures) > _KEPT:
            old, _ = self._figures.popitem(last=False)
            self._flesh.pop(old, None)

    def _take_flesh(self, key: str) -> None:
        """Put skin and muscles on a figure once they are grown; without them it keeps those that it has."""
        job = self._flesh.get(key)
        if job is None or not job.done():
            return
        del self._flesh[key]
        if job.exception() is None:
            self._figures[key] = (self._figures[key][0], job.result())

    def close(self) -> None:
        """Stop building."""
        for pool in self._pools.values():
            pool.stop()


def _stand_back(steps: int) -> None:
    """Let other processes go first, where the system has an order among them."""
    if steps and hasattr(os, "nice"):
        os.nice(steps)


def _tasks(scene: Scene, other: Scene) -> list[tuple[Any, ...]]:
    """What has to be built for a scene's person out of another one's: some groups of bones, or everything."""
    undressed = _is_clothed(scene) and not _is_clothed(other)
    if scene.person.sex != other.person.sex or scene.person.bones != other.person.bones or undressed:
        return [(drawn_of, scene)]
    return [(quick_group, name, scene) for name in unlike(body_of(other), body_of(scene))]


def quick_group(name: str, scene: Scene) -> tuple[str, list[Shape]]:
    """A group of a person's bones as pages draw them, quickly built; runs in a process of its own."""
    return name, [lighter_shape(shape) for shape in quick_shapes(name, body_of(scene))]


def fleshed(scene: Scene, figure: Figure) -> Figure:
    """A figure with its own skin, and with the muscles that lie on its bones; runs in a process of its own."""
    body = body_of(scene)
    bones = [s for key, s in figure.shapes.items() if key.split("/")[0].endswith(WARPED)]
    muscles = figure.muscles if _is_clothed(scene) else build_muscles(body, scene.posture.stance, bones)
    whole = replace(figure, muscles=muscles)
    grown = page_flesh(whole, body, _names(scene, whole), scene.picture.dress)
    return replace(figure, muscles=grown.muscles, skins=grown.skins, clothed=grown.clothed)


def _with(figure: Figure, parts: list[Any]) -> Figure:
    """A figure with groups of bones replaced by those that were built; or another one that was built whole."""
    shapes = dict(figure.shapes)
    for part in parts:
        if isinstance(part, Figure):
            return part
        name, built = part
        shapes = {key: s for key, s in shapes.items() if not key.split("/")[0].endswith(name)}
        shapes |= {identity(name, shape): shape for shape in built}
    return replace(figure, **floored(shapes))


def _moved(figure: Figure, before: Scene, after: Scene) -> Figure:
    """A figure at another person's measures; muscles of the other hip are left out."""
    out = moved(figure, body_of(before), body_of(after))
    out = replace(out, **floored(out.shapes))
    if not _is_clothed(after):
        out = replace(out, clothed=None)
    same = before.posture.stance == after.posture.stance
    return out if same else replace(out, muscles={})


def drawn_of(scene: Scene) -> Figure:
    """A person as the page draws one, with every muscle that the model may use."""
    body = body_of(scene)
    figure = build_figure(body, None, None, "film", flesh="" if _is_clothed(scene) else scene.posture.stance)
    return page_figure(figure, body, _names(scene, figure), scene.picture.dress)


def _is_clothed(scene: Scene) -> bool:
    """True for a person in clothes, of whom no muscles are seen."""
    return scene.picture.dress == "patient"


def _names(scene: Scene, figure: Figure) -> list[str]:
    """The muscles that a model may use."""
    return list(EQUIVALENT_BODIES) if scene.model.muscles == EQUIVALENT else list(figure.muscles)
