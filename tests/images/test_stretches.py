"""A film's stretches: what is told alike looks alike, and only those whose words changed are encoded anew."""

from __future__ import annotations

import itertools
from collections.abc import Generator
from pathlib import Path

import av
import pytest

from tests.images.test_film import cache
from viz3d.output import stretches as room
from viz3d.output.encode import encode_video
from viz3d.output.film import FilmOptions, draw_film
from viz3d.output.paint import Pixels
from viz3d.output.reel import make_reel
from viz3d.scene.reader import load_scene
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import frame_times

__all__ = ["cache"]
pytestmark = pytest.mark.usefixtures("stripes")
RATE = 5
SMALL = ("picture.size=640x480", f"picture.frames_per_second={RATE}")


def scene_of(name: str, caption: str | None = None, step: int = 1) -> Scene:
    """A scene whose steps rest for two seconds, one of them with another caption."""
    scene = load_scene(name, SMALL)
    steps = [s.model_copy(update={"hold": 2.0}) for s in scene.steps]
    if caption:
        steps[step] = steps[step].model_copy(update={"caption": caption})
    return scene.model_copy(update={"steps": steps})


@pytest.mark.parametrize("name", ["lean-over-hip", pytest.param("cane-switch-hands", marks=pytest.mark.long)])
def test_what_is_told_alike_looks_alike(cache: Path, name: str) -> None:
    """Within a film and between two whose captions differ; and the words that changed are told otherwise."""
    seen: dict[bytes, bytes] = {}
    films = []
    for scene in (scene_of(name), scene_of(name, "Other words.")):
        reel = make_reel(scene, "x", scene.picture.pixels)
        films.append(room.told(reel))
        for digest, picture in zip(films[-1], reel.painted(None, False, None), strict=True):
            assert seen.setdefault(digest, picture.tobytes()) == picture.tobytes()
    assert len(set(films[0])) > 12
    times, first, step = frame_times(scene), scene.steps[0], scene.steps[1]
    before, rests = first.change + first.hold, first.change + first.hold + step.change
    apart = [t for t, a, b in zip(times, *films, strict=True) if a != b]
    assert apart
    assert min(apart) >= before - 1e-9
    assert max(apart) < rests + step.hold


def test_only_the_hold_whose_words_changed_is_encoded_anew(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    encoded: list[int] = []

    def counted(pictures: Generator[Pixels], size: tuple[int, int], rate: int, path: Path) -> None:
        some = list(pictures)
        encoded.append(len(some))
        encode_video(iter(some), size, rate, path)

    monkeypatch.setattr(room, "encode_video", counted)
    path, options = tmp_path / "a.mp4", FilmOptions(workers=0)
    draw_film(scene_of("lean-over-hip"), path, "x", options=options)
    whole = list(encoded)
    assert len(whole) > 2

    said = scene_of("lean-over-hip", "Other words.")
    draw_film(said, path, "x", options=options)
    assert encoded[len(whole) :] == [round(said.steps[1].hold * RATE)]
    with av.open(str(path)) as film:
        frames = list(film.decode(video=0))
    assert {b.pts - a.pts for a, b in itertools.pairwise(frames)} == {frames[1].pts}
    assert len(frames) == sum(whole)
    kept = path.read_bytes()
    draw_film(said, path, "x", options=FilmOptions(workers=0, keep=False))
    assert path.read_bytes() == kept, "kept or new, the film is the same to the byte"

    for one in (cache / "stretches").iterdir():
        one.write_bytes(one.read_bytes()[:-100])
    del encoded[:]
    draw_film(said, path, "x", options=options)
    assert sum(encoded) == sum(whole), "what was damaged is not believed"
    assert path.read_bytes() == kept
