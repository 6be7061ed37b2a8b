"""Bones for the live page: the true ones where they are built, else the last ones warped meanwhile.

Question answered: which bones can be shown at once, and are they the true ones?
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool

from viz3d.errors import RenderError
from viz3d.output.children import Pool
from viz3d.scene.schema import Scene
from viz3d.shapes.preview import preview_group
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.solution.inputs import body_of

MOST_LOST = 3
"""Builders that may end in the middle of one body's bones."""


class Bones:
    """Figures by body: the true one where it is built, else the last one warped while the true one is being built."""

    def __init__(self, first: Scene) -> None:
        self._figures: OrderedDict[str, tuple[Scene, Figure]] = OrderedDict()
        self._building: dict[str, Future[None]] = {}
        self._lost: dict[str, int] = {}
        self._pool: Pool | None = None
        self._lock = threading.Lock()
        self._keep(first)

    @staticmethod
    def key(scene: Scene) -> str:
        """A name for a person's bones."""
        text = json.dumps(scene.person.model_dump(mode="json", exclude={"painful_hip"}), sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def get(self, scene: Scene) -> tuple[Figure, bool]:
        """A figure for a scene's person, and whether it is the true one.

        Raises
        ------
        RenderError : its builder ended again and again. MeshError : these bones cannot be built.
        """
        key = self.key(scene)
        with self._lock:
            if key not in self._figures and self._is_built(key, scene):
                self._keep(scene)
            if key in self._figures:
                self._figures.move_to_end(key)
                return self._figures[key][1], True
            other, figure = next(reversed(self._figures.values()))
        return _warped(figure, other, scene), False

    def _is_built(self, key: str, scene: Scene) -> bool:
        """Whether a body's bones are ready; where nobody builds them, begin. A builder that was lost is replaced."""
        if key not in self._building:
            self._building[key] = self._begun(scene)
        if not self._building[key].done():
            return False
        job = self._building.pop(key)
        try:
            job.result()
        except BrokenProcessPool as error:
            self._lost[key] = self._lost.get(key, 0) + 1
            if self._lost[key] >= MOST_LOST:
                del self._lost[key]
                raise RenderError(f"the bones of this body: their builder ended {MOST_LOST} times") from error
            self._building[key] = self._begun(scene)
            return False
        self._lost.pop(key, None)
        return True

    def _begun(self, scene: Scene) -> Future[None]:
        """Begin to build, with another builder where the last one is gone."""
        for _ in range(2):
            if self._pool is None:
                self._pool = Pool(1)
            try:
                return self._pool.submit(_build, scene)
            except BrokenProcessPool:
                self._pool = None
        raise RenderError("the bones of this body: no builder could be started")

    def _keep(self, scene: Scene) -> None:
        self._figures[self.key(scene)] = (scene, build_figure(body_of(scene), None, None, "film"))
        while len(self._figures) > 6:
            self._figures.popitem(last=False)

    def close(self) -> None:
        """Stop building."""
        if self._pool is not None:
            self._pool.stop()


def _build(scene: Scene) -> None:
    """Build a person's bones into the cache; runs in a process of its own."""
    build_figure(body_of(scene), None, None, "film")


def _warped(figure: Figure, before: Scene, after: Scene) -> Figure:
    """A figure's bones warped to another body's measures; the outline stays."""
    old, new = body_of(before), body_of(after)
    groups: dict[str, list[str]] = {}
    for key in figure.shapes:
        groups.setdefault(key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1], []).append(key)
    shapes = dict(figure.shapes)
    for group in ("pelvis", "thigh", "shank"):
        keys = groups.get(group, [])
        moved = preview_group(group, [figure.shapes[k] for k in keys], old, new)
        shapes |= dict(zip(keys, moved, strict=True))
    return Figure(shapes, figure.shell)
