"""A subtitle track that shows words as they were typed.

Question answered: how do captions get into a film without the encoder taking braces and backslashes for its own signs?

On its way from WebVTT to the film's track the encoder passes captions through another language, in which both steer how
text looks. Two control signs, which no text of ours may hold, stand for them on that way, in a file that holds captions
alone; there they are put back, byte for byte, and the film takes the track as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from viz3d.errors import RenderError

_STAND_INS = {"{": "\x01", "\\": "\x02"}


def typed_track(captions: Path, encode: Callable[[Path, Path], None]) -> Path:
    """A file with the captions as a film's subtitle track; written beside the WebVTT file.

    Parameters
    ----------
    encode : writes a WebVTT file's captions, the first path, as a track into the second.

    Raises
    ------
    RenderError : the encoder wrote something else than such a track.
    """
    stood_in, track = captions.with_suffix(".plain.vtt"), captions.with_suffix(".mp4")
    text = captions.read_text(encoding="utf-8").translate({ord(sign): put for sign, put in _STAND_INS.items()})
    stood_in.write_text(text, encoding="utf-8")
    encode(stood_in, track)
    track.write_bytes(_put_back(track.read_bytes()))
    return track


def _put_back(data: bytes) -> bytes:
    """The track with its samples' stand-ins replaced: each sample is two bytes of length, then so much text."""
    at, end = _box(data, b"mdat")
    out = bytearray(data)
    while at + 2 <= end:
        size = int.from_bytes(data[at : at + 2], "big")
        for sign, stand_in in _STAND_INS.items():
            out[at + 2 : at + 2 + size] = out[at + 2 : at + 2 + size].replace(stand_in.encode(), sign.encode())
        at += 2 + size
    if at != end:
        raise RenderError("the video encoder wrote captions that cannot be read back")
    return bytes(out)


def _box(data: bytes, wanted: bytes) -> tuple[int, int]:
    """Where the content of a file's box begins and ends."""
    at = 0
    while at + 8 <= len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        if data[at + 4 : at + 8] == wanted and size >= 8:
            return at + 8, at + size
        at += max(size, 8)
    raise RenderError("the video encoder wrote no captions")
