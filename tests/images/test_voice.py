"""A voice laid under a film: the timeline keeps to its cues, and no sound file can name another file."""

from __future__ import annotations

import shutil
import wave
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.errors import InputError
from viz3d.output.captions import cues
from viz3d.output.film import FilmOptions, draw_film
from viz3d.scene.pace import paced
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import duration

SMALL = ("picture.size=480x360", "picture.frames_per_second=5")


def tone(path: Path, seconds: float) -> Path:
    """A sound file with a steady tone."""
    samples = (8000 * np.sin(np.arange(int(16000 * seconds)) * 0.15)).astype("<i2")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16000)
        out.writeframes(samples.tobytes())
    return path


@pytest.fixture
def own_scene(tmp_path: Path) -> Path:
    """A copy of a library scene beside which sound files can lie: change 0 + hold 3.5 s, then change 3 + hold 4.7 s."""
    return Path(shutil.copy(library_scenes()["lean-over-hip"], tmp_path / "mine.toml"))


def with_cues(scene: Scene, *times: float | None) -> Scene:
    steps = [s.model_copy(update={"cue": t}) for s, t in zip(scene.steps, times, strict=True)]
    return scene.model_copy(update={"steps": steps})


def test_steps_begin_at_their_cues_and_the_last_one_waits_for_the_voice() -> None:
    scene = with_cues(load_scene("lean-over-hip"), None, 5.25)
    told = cues(paced(scene, 20.0))
    assert [c.start for c in told] == pytest.approx([0.0, 5.25])
    assert told[-1].end == pytest.approx(20.0)
    assert paced(scene, 20.0).steps[1].change == scene.steps[1].change
    short = paced(scene, 6.0)
    assert duration(short) == pytest.approx(5.25 + 3.0 + 4.7)  # a short voice is followed by silence
    three = with_cues(load_scene("weight-shift"), None, None, 12.0)
    found = paced(three).steps
    assert sum(s.change + s.hold for s in found[:2]) == pytest.approx(12.0)
    assert found[0].hold / found[1].hold == pytest.approx(three.steps[0].hold / three.steps[1].hold)


def test_cues_that_cannot_be_kept_are_refused() -> None:
    scene = load_scene("weight-shift")
    with pytest.raises(InputError, match=r"steps\.3\.cue: found 2 s; the steps before it need 3\.5 s"):
        paced(with_cues(scene, None, None, 2.0))
    with pytest.raises(InputError, match=r"steps\.2\.cue: found 9 s; the voice ends at 4\.0 s"):
        paced(with_cues(scene, None, 9.0, None), 4.0)
    with pytest.raises(InputError, match=r"steps\.1\.cue: found 1 s; the first step begins with the film"):
        paced(with_cues(scene, 1.0, None, None), 40.0)
    with pytest.raises(InputError, match=r"steps\.3\.cue"):
        paced(with_cues(scene, None, 8.0, 3.0))


@pytest.mark.parametrize(("seconds", "lasts"), [(4.0, 11.2), (14.0, 14.0)])
def test_a_voice_is_laid_under_whole(own_scene: Path, seconds: float, lasts: float) -> None:
    tone(own_scene.parent / "-y voice.wav", seconds)
    out = own_scene.with_name("f.mp4")
    draw_film(load_scene(str(own_scene), [*SMALL, "film.voice=-y voice.wav"]), out, "x", options=FilmOptions(workers=0))
    with av.open(str(out)) as film:
        assert film.streams.audio[0].codec_context.name == "aac"
        assert float(film.streams.video[0].duration * film.streams.video[0].time_base) == pytest.approx(lasts, abs=0.2)
        sound = np.concatenate([f.to_ndarray()[0] for f in film.decode(audio=0)])
    loud = np.abs(sound) > 0.05 * np.abs(sound).max()
    assert np.flatnonzero(loud)[-1] / 48000 == pytest.approx(seconds, abs=0.1)
    assert len(sound) / 48000 == pytest.approx(lasts, abs=0.1)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("http://example.org/a.wav", "allowed: a file inside the scene file's folder"),
        ("concat:a.wav|b.wav", "allowed: a file inside the scene file's folder"),
        ("-i", "allowed: a file inside the scene file's folder"),
        ("../mine.wav", "allowed: a file inside the scene file's folder"),
        ("mine.toml", "mine.toml holds no sound that can be read"),
        ("list.m3u8", "list.m3u8 holds no sound that can be read"),
        ("cut.wav", "cut.wav holds no sound that can be read"),
    ],
)
def test_only_local_sound_files_are_read(
    run: Callable[..., Ran], own_scene: Path, tmp_path: Path, name: str, said: str
) -> None:
    tone(tmp_path / "a.wav", 1.0)
    (tmp_path / "list.m3u8").write_text("#EXTM3U\n#EXTINF:1,\na.wav\n#EXT-X-ENDLIST\n")
    (tmp_path / "cut.wav").write_bytes((tmp_path / "a.wav").read_bytes()[:30])
    ran = run("film", str(own_scene), "--set", f"film.voice={name}", "--out", "f.mp4", "--quiet")
    assert ran.code == 1
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert not (tmp_path / "f.mp4").exists()
