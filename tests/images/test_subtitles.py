"""Subtitles of a film show captions as they were typed, and its chapters carry the steps' names."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from viz3d.errors import RenderError
from viz3d.output.captions import chapters, cues, webvtt
from viz3d.output.encode import encode_mp4
from viz3d.output.subtitles import typed_track
from viz3d.scene.reader import check_scene, find_scene, parse_scene

TYPED = [
    r"a {b} \N c \h {\b1}bold{\i} \\ end", "<i>x</i> & <b> {0} \\{ &lt;", r"C:\new\table {} --> {=}", "plain", "trailing \\", "{",
]  # fmt: skip


def samples(track: av.container.InputContainer) -> list[str]:
    (stream,) = track.streams.subtitles
    parts = [bytes(packet) for packet in track.demux(stream)]
    return [part[2 : 2 + int.from_bytes(part[:2], "big")].decode() for part in parts if len(part) > 2]


def test_braces_and_backslashes_are_shown_as_typed(tmp_path: Path) -> None:
    path = find_scene("level-stance")
    data = parse_scene(path)
    data["steps"] = [{"name": f"{n} {{x}} = \\", "hold": "1 s", "caption": told} for n, told in enumerate(TYPED)]
    scene = check_scene(data, path)
    marks, words, film = tmp_path / "chapters.txt", tmp_path / "captions.vtt", tmp_path / "film.mp4"
    marks.write_text(chapters(scene), encoding="utf-8")
    words.write_text(webvtt(scene), encoding="utf-8")
    pictures = (np.zeros((64, 64, 3), np.uint8) for _ in range(5 * len(TYPED)))
    encode_mp4(pictures, (64, 64), 5, film, marks, words)
    with av.open(str(film)) as opened:
        assert samples(opened) == TYPED
        named = [chapter["metadata"]["title"].rstrip() for chapter in opened.chapters()]
    assert named == [cue.name for cue in cues(scene)]


def test_a_track_that_is_none_is_refused(tmp_path: Path) -> None:
    words = tmp_path / "captions.vtt"
    words.write_text("WEBVTT\n", encoding="utf-8")
    for wrong in (b"", b"\x00\x00\x00\x08free", b"\x00\x00\x00\x0bmdat\x00\x09x"):
        with pytest.raises(RenderError, match="the video encoder wrote"):
            typed_track(words, lambda _, out, wrong=wrong: out.write_bytes(wrong))  # type: ignore[misc]
