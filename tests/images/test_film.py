"""Films read back by another tool, drawn by anyone to the same bytes, and none the worse for accidents."""

from __future__ import annotations

import errno
import functools
import itertools
import os
import re
import signal
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image, ImageSequence

from tests.conftest import Ran, held_film
from tests.images.conftest import sheet_of
from viz3d.errors import RenderError
from viz3d.output import layers, pieces
from viz3d.output.captions import chapters, cues, narration, webvtt
from viz3d.output.cluster import Cluster
from viz3d.output.encode import decode_lossless, encode_lossless
from viz3d.output.film import FilmOptions, draw_film
from viz3d.output.layers import solid_frames
from viz3d.output.paint import paper
from viz3d.output.reel import Reel, make_reel
from viz3d.scene.reader import load_scene
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import duration
from viz3d.stage.drawing import Words

SMALL = ("picture.size=640x480", "picture.frames_per_second=6")


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place of its own for kept pieces; bones come from the usual cache."""
    folder = tmp_path / "kept"
    folder.mkdir()
    monkeypatch.setattr(layers, "user_folder", lambda: folder)
    return folder / "films"


def brief(name: str, *changes: str) -> Scene:
    """A scene whose steps take a second each: enough frames to tell films apart."""
    scene = load_scene(name, [*SMALL, *changes])
    steps = [s.model_copy(update={"hold": 1.0, "change": min(s.change, 1.0)}) for s in scene.steps]
    return scene.model_copy(update={"steps": steps})


def reel_of(name: str, *changes: str) -> Reel:
    scene = load_scene(name, [*SMALL, *changes])
    return make_reel(scene, "x", scene.picture.pixels)


def test_mp4_has_chapters_and_a_subtitle_track_with_the_captions(tmp_path: Path, cache: Path) -> None:
    scene = load_scene("lean-over-hip", SMALL)
    path = tmp_path / "a.mp4"
    draw_film(scene, path, "x", options=FilmOptions(workers=0))
    with av.open(str(path)) as film:
        video = film.streams.video[0]
        assert (video.codec_context.name, video.codec_context.pix_fmt) == ("h264", "yuv420p")
        assert (video.width, video.height) == (640, 480)
        assert float(video.average_rate) == 6.0
        frames = round(duration(scene) * 6)
        assert video.frames == frames
        assert abs(float(video.duration * video.time_base) - duration(scene)) <= 1 / 6
        (track,) = film.streams.subtitles
        assert track.metadata["language"] == "eng"
        texts = [bytes(p)[2:].decode() for p in film.demux(track) if p.size > 2]
        marks = film.chapters()
    assert texts == [s.caption for s in scene.steps if s.caption]
    assert [m["metadata"]["title"] for m in marks] == [s.name for s in scene.steps]
    assert float(marks[-1]["end"] * marks[-1]["time_base"]) == pytest.approx(duration(scene))


@pytest.mark.usefixtures("stripes")
@pytest.mark.parametrize(("captions", "tracks", "burnt"), [("burnt", 0, True), ("track", 1, False), ("none", 0, False)])
def test_captions_go_where_the_scene_says(tmp_path: Path, cache: Path, captions: str, tracks: int, burnt: bool) -> None:
    scene = load_scene("level-stance", [*SMALL, f"film.captions={captions}"])
    path = tmp_path / "a.mp4"
    draw_film(scene, path, "x", options=FilmOptions(workers=0))
    with av.open(str(path)) as film:
        assert len(film.streams.subtitles) == tracks
        picture = next(film.decode(video=0)).to_ndarray(format="gray")
    words = sheet_of("level-stance", *SMALL).drawing(0).over
    said = next(m for m in words if isinstance(m, Words) and scene.steps[0].caption.startswith(m.text[:20]))
    band = picture[int(said.y - 0.6 * said.size) : int(said.y)]
    assert bool((band < 100).any()) is burnt


@pytest.mark.usefixtures("stripes")
def test_gif_webp_and_numbered_pictures(tmp_path: Path, cache: Path) -> None:
    scene = brief("pelvic-drop")
    count = round(duration(scene) * 6)
    for suffix in (".gif", ".webp", ".png"):
        draw_film(scene, tmp_path / f"a{suffix}", "x", options=FilmOptions(workers=0))
    with Image.open(tmp_path / "a.gif") as gif:
        lengths = [f.info["duration"] for f in ImageSequence.Iterator(gif)]
        assert sum(lengths) == pytest.approx(1000 * duration(scene), abs=20 * len(lengths))
        assert gif.info["loop"] == 0
    with Image.open(tmp_path / "a.webp") as webp:
        assert webp.size == (640, 480)
        lengths = []
        for k in range(webp.n_frames):
            webp.seek(k)
            webp.load()
            lengths.append(webp.info["duration"])
        assert sum(lengths) == pytest.approx(1000 * duration(scene), rel=0.01)
    numbered = sorted((tmp_path / "a").glob("*.png"))
    assert len(numbered) == count
    assert numbered[0].name == "a-00001.png"
    with Image.open(numbered[-1]) as last:
        assert last.size == (640, 480)
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


def numbered(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


@pytest.mark.usefixtures("stripes")
def test_numbered_pictures_replace_what_is_theirs_and_nothing_else(tmp_path: Path, cache: Path) -> None:
    """A longer film's pictures all go; a stranger's file, or pictures that only look like ours, keep a film out."""
    folder, path = tmp_path / "a", tmp_path / "a.png"
    folder.mkdir()
    draw = functools.partial(draw_film, path=path, file="x", options=FilmOptions(workers=0))
    draw(brief("pelvic-drop", "picture.size=480x360", "picture.frames_per_second=6"))
    many = numbered(folder)
    draw(brief("pelvic-drop", "picture.size=480x360", "picture.frames_per_second=5"))
    few = numbered(folder)
    assert 0 < len(few) < len(many)
    first = [(folder / name).read_bytes() for name in few]
    Image.new("RGB", (4, 4)).save(folder / few[0])
    with pytest.raises(RenderError, match="holds more than a film of this name"):
        draw(brief("pelvic-drop", "picture.size=480x360", "picture.frames_per_second=5"))
    (folder / few[0]).write_bytes(first[0])
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(RenderError, match="holds more than a film of this name"):
        draw(brief("pelvic-drop", "picture.size=480x360", "picture.frames_per_second=5"))
    assert numbered(folder) == [*few, "notes.txt"]
    assert [(folder / name).read_bytes() for name in few] == first


@pytest.mark.usefixtures("stripes")
def test_a_numbered_film_that_fails_leaves_the_old_one(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene = brief("pelvic-drop", "picture.size=480x360", "picture.frames_per_second=5")
    draw = functools.partial(draw_film, scene, tmp_path / "a.png", "x", options=FilmOptions(workers=0))
    draw()
    before = {p.name: p.read_bytes() for p in (tmp_path / "a").iterdir()}
    real, count = Image.Image.save, itertools.count()

    def full(image: Image.Image, *rest: object, **more: object) -> None:
        if next(count) == 5:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(image, *rest, **more)

    monkeypatch.setattr(Image.Image, "save", full)
    with pytest.raises(RenderError, match="the disk is full"):
        draw()
    assert {p.name: p.read_bytes() for p in (tmp_path / "a").iterdir()} == before
    assert numbered(tmp_path) == ["a", "a.png.json", *([cache.parent.name] if cache.parent.parent == tmp_path else [])]


def test_a_piece_asked_for_twice_has_a_file_of_its_own(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pieces that begin with the same frame and are as long: none reads, nor removes, another's pixels."""
    monkeypatch.setattr(layers, "PIECE", 2)
    setup, _ = reel_of("lean-over-hip", "picture.size=480x360").last
    frames = [20, 20, 20, 30, 20, 30, 20, 20]
    here = list(solid_frames(setup, frames, None, keep=False))
    with layers.local_workers(1) as pool:
        there = list(solid_frames(setup, frames, pool, keep=False))
    assert all(np.array_equal(a, b) for a, b in zip(here, there, strict=True))


def test_pictures_that_cannot_be_passed_on_are_told_with_the_place(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    setup, _ = reel_of("lean-over-hip", "picture.size=480x360").last
    with layers.local_workers(1) as pool, pytest.raises(RenderError, match=r"none: pictures cannot be passed on there"):
        list(solid_frames(setup, [20], pool, keep=False))


def test_poster_captions_and_narration(run: Callable[..., Ran], tmp_path: Path) -> None:
    ran = run(
        "film",
        "level-stance",
        *(x for c in SMALL for x in ("--set", c)),
        "--out",
        "f.mp4",
        "--poster",
        "--words",
        "--workers",
        "0",
    )
    assert ran.code == 0
    assert [line.split()[-1] for line in ran.out.splitlines()] == ["f.mp4", "f-poster.png", "f.vtt", "f.txt"]
    scene = load_scene("level-stance")
    assert (tmp_path / "f.vtt").read_text(encoding="utf-8") == webvtt(scene)
    assert (tmp_path / "f.txt").read_text(encoding="utf-8") == narration(scene)
    with Image.open(tmp_path / "f-poster.png") as poster:
        assert poster.size == (640, 480)


def test_words_are_timed_and_escaped() -> None:
    scene = load_scene("weight-shift")
    text = webvtt(scene)
    assert text.startswith("WEBVTT\n\n1\n00:00:00.000 --> ")
    times = re.findall(r"(\S+) --> (\S+)", text)
    assert all(a < b for a, b in times)
    said = cues(scene)
    assert said[-1].end == pytest.approx(duration(scene))
    assert all(a.end == b.start for a, b in itertools.pairwise(said))
    odd = scene.model_copy(
        update={"steps": [scene.steps[0].model_copy(update={"name": "a=b;#\\", "caption": "1 < 2 & <b>"})]}
    )
    assert "1 &lt; 2 &amp; &lt;b&gt;" in webvtt(odd)
    assert "title=a\\=b\\;\\#\\\\" in chapters(odd)


def test_lossless_pieces_give_back_every_pixel(tmp_path: Path, rng: np.random.Generator) -> None:
    pictures = [rng.integers(0, 256, (48, 64, 3), dtype=np.uint8) for _ in range(5)]
    encode_lossless(iter(pictures), (64, 48), 30, tmp_path / "a.mkv")
    back = list(decode_lossless(tmp_path / "a.mkv", (64, 48)))
    assert len(back) == 5
    assert all(np.array_equal(a, b) for a, b in zip(pictures, back, strict=True))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a disk that is always full")
def test_an_encoder_on_a_full_disk_is_told_as_any_other_writer(rng: np.random.Generator) -> None:
    pictures = [rng.integers(0, 256, (480, 640, 3), dtype=np.uint8) for _ in range(3)]
    with pytest.raises(OSError, match="No space left") as full:
        encode_lossless(iter(pictures), (640, 480), 30, Path("/dev/full"))
    assert full.value.errno == errno.ENOSPC


def test_one_process_workers_a_cluster_and_the_cache_give_identical_frames(cache: Path) -> None:
    from distributed import Client, LocalCluster

    setup, _ = reel_of("lean-over-hip").last
    frames = [0, 8, 20, 24, 26, 28, 29, 30, 31, 32, 33, 34, 35, 36, 37]
    here = list(solid_frames(setup, frames, None, keep=False))
    with layers.local_workers(2) as pool:
        by_workers = list(solid_frames(setup, frames, pool, keep=True))
    kept = sorted(cache.glob("*.mkv"))
    assert len(kept) == 2
    again = list(solid_frames(setup, frames, None, keep=True))
    with LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        by_dask = list(solid_frames(setup, frames, Cluster(client), keep=False))
    for other in (by_workers, again, by_dask):
        assert len(other) == len(here)
        assert all(np.array_equal(a, b) for a, b in zip(here, other, strict=True))


def test_only_what_changed_is_drawn_again(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[int] = []
    real = layers.MeshLayer.frame

    def counted(layer: layers.MeshLayer, i: int) -> np.ndarray:
        drawn.append(i)
        return real(layer, i)

    monkeypatch.setattr(layers.MeshLayer, "frame", counted)
    reel = reel_of("lean-over-hip")
    first = [p.copy() for p in reel.painted(None, True, None)]
    count = len(drawn)
    assert count > 12
    captioned = reel_of("lean-over-hip", "title=Another title")
    second = list(captioned.painted(None, True, None))
    assert len(drawn) == count  # words are not part of the solid layer
    assert any(not np.array_equal(a, b) for a, b in zip(first, second, strict=True))
    kept = sorted(cache.glob("*.mkv"))
    kept[0].unlink()
    third = list(reel.painted(None, True, None))
    assert count < len(drawn) <= count + layers.PIECE
    assert all(np.array_equal(a, b) for a, b in zip(first, third, strict=True))
    darker = reel_of("lean-over-hip", "picture.backdrop=dark")
    next(iter(darker.painted(None, True, None)))
    assert len(drawn) > count + 1


def test_the_cache_has_a_cap_and_leaves_room_on_the_disk(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    setup, _ = reel_of("lean-over-hip").last
    frames = list(range(20, 46))
    list(solid_frames(setup, frames, None, keep=True))
    sizes = [p.stat().st_size for p in cache.glob("*.mkv")]
    assert len(sizes) == 3
    monkeypatch.setattr(pieces, "LARGEST_BYTES", max(sizes) + 1)
    list(solid_frames(setup, [0, 1], None, keep=True))
    assert sum(p.stat().st_size for p in cache.glob("*.mkv")) <= max(sizes) + 1
    for p in cache.glob("*.mkv"):
        p.unlink()
    monkeypatch.setattr(pieces, "SPARE_BYTES", 10**18)
    assert len(list(solid_frames(setup, [0, 1], None, keep=True))) == 2
    assert not list(cache.glob("*.mkv"))


def test_a_lost_worker_is_told_in_one_line(cache: Path) -> None:
    setup, _ = reel_of("lean-over-hip").last
    pool = layers.local_workers(1)
    frames = solid_frames(setup, list(range(10, 50)), pool, keep=True)
    next(frames)
    for pid in list(pool._processes):
        os.kill(pid, signal.SIGKILL)
    with pytest.raises(RenderError, match="a drawing process was stopped from outside; run again"):
        list(frames)
    pool.shutdown()


def test_accidents_leave_no_half_film(run: Callable[..., Ran], tmp_path: Path) -> None:
    small = [x for c in SMALL for x in ("--set", c)]
    ran = run("film", "level-stance", *small, "--scheduler", "tcp://127.0.0.1:9", "--out", "f.mp4", "--quiet")
    assert (ran.code, ran.err.strip()) == (1, "viz3d: --scheduler: no Dask scheduler answers at tcp://127.0.0.1:9")
    ran = run("film", "level-stance", *small, "--workers", "2", "--scheduler", "x", "--quiet")
    assert ran.err.strip() == "viz3d: choose one of --workers and --scheduler"
    assert not list(tmp_path.glob("*.mp4"))


def test_two_films_to_one_file_are_refused_and_a_killed_one_can_be_run_again(tmp_path: Path) -> None:
    path = tmp_path / "f.mp4"
    changes = ["--set", "picture.size=640x480", "--set", "picture.frames_per_second=6"]
    first = held_film("lean-over-hip", *changes, "--no-cache", "--workers", "0", "--out", str(path), "--quiet")
    scene = brief("lean-over-hip")
    with pytest.raises(RenderError) as refused:
        draw_film(scene, path, "x", options=FilmOptions(workers=0))
    os.killpg(first.pid, signal.SIGKILL)
    first.communicate()
    assert str(refused.value) == f"{path}: another viz3d is writing it; wait, or choose another place with --out"
    assert not path.exists()
    draw_film(scene, path, "x", options=FilmOptions(workers=0))
    with av.open(str(path)) as film:
        assert film.streams.video[0].frames == round(duration(scene) * 6)


def test_the_curves_dot_moves_on_through_a_hold(cache: Path) -> None:
    reel = reel_of("level-stance", 'picture.insets=["curve"]', "picture.size=960x540")
    pictures = list(reel.painted(None, True, None))
    assert len(pictures) > 8
    assert all(not np.array_equal(a, b) for a, b in itertools.pairwise(pictures))


@pytest.mark.parametrize("name", [pytest.param("cane-opposite-hand", marks=pytest.mark.long), "lean-over-hip"])
def test_nothing_flickers_outside_what_moves(cache: Path, name: str) -> None:
    """From frame to frame nothing changes where nothing is drawn, nor in title, sides, scale bars and caption."""
    reel = reel_of(name, "picture.size=960x540", "picture.frames_per_second=5")
    sheet = reel.drawn[0].setup.sheet
    empty = paper(reel.size, sheet.colours).astype(int)
    still = np.zeros(empty.shape[:2], dtype=bool)
    still[2:42, 14:300] = True  # title
    still[int(sheet.band.top) + 2 :, :] = True  # caption, person, model
    still[int(sheet.band.top) - 40 : int(sheet.band.top) - 4, 14:190] = True  # scale bars
    before, at, most, rhythm = None, (-1, ""), 0, reel.drawn[0].rhythm
    assert rhythm is not None
    for n, picture in enumerate(reel.painted(None, True, None)):
        now = picture.astype(int)
        here = (int(reel.shots[0].solved.step[n]), sheet.plan.captions[n])
        still[int(sheet.band.top) - 40 : int(sheet.band.top) - 24, 14:190] = rhythm.near[n] == 0.0  # the bar of length
        if before is not None and here == at and (n < 2 or (rhythm.near[n] == 0.0) == (rhythm.near[n - 1] == 0.0)):
            bare = (np.abs(now - empty).max(axis=2) <= 1) & (np.abs(before - empty).max(axis=2) <= 1)
            assert bare.mean() > 0.3
            apart = np.abs(now - before).max(axis=2)
            assert int(apart[still].max()) == 0
            most = max(most, int(apart[bare].max()))
        before, at = now, here
    assert most <= 2  # both are within one step of the empty page
