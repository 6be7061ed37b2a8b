"""Bones for the live page: the true ones where they are built, else the last ones warped meanwhile.

Question answered: which bones can be shown at once, and are they the true ones?
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from concurrent.futures import Future

from viz3d.output.children import Pool
from viz3d.scene.schema import Scene
from viz3d.shapes.preview import preview_group
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.solution.inputs import body_of


class Bones:
    """Figures by body: the true one where it is built, else the last one warped while the true one is being built."""

    def __init__(self, first: Scene) -> None:
        self._figures: OrderedDict[str, tuple[Scene, Figure]] = OrderedDict()
        self._building: dict[str, Future[None]] = {}
        self._pool: Pool | None = None
        self._lock = threading.Lock()
        self._keep(first)

    @staticmethod
    def key(scene: Scene) -> str:
        """A name for a person's bones."""
        text = json.dumps(scene.person.model_dump(mode="json", exclude={"painful_hip"}), sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def get(self, scene: Scene) -> tuple[Figure, bool]:
        """A figure for a scene's person, and whether it is the true one."""
        key = self.key(scene)
        with self._lock:
            if key in self._figures:
                self._figures.move_to_end(key)
                return self._figures[key][1], True
            job = self._building.get(key)
            if job is None:
                if self._pool is None:
                    self._pool = Pool(1)
                self._building[key] = job = self._pool.submit(_build, scene)
            if job.done():
                del self._building[key]
                if job.exception() is None:
                    self._keep(scene)
                    return self._figures[key][1], True
            other, figure = next(reversed(self._figures.values()))
        return _warped(figure, other, scene), False

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
