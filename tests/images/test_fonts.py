"""A person's own font with damaged tables is refused before anything is drawn."""

from __future__ import annotations

import random
import struct
from pathlib import Path

import pytest

from viz3d.errors import InputError
from viz3d.stage.type import INTER, face_of

GOOD = INTER.file("Regular").read_bytes()
COUNT = struct.unpack(">H", GOOD[4:6])[0]
TABLES = {GOOD[at : at + 4].decode(): at for at in range(12, 12 + 16 * COUNT, 16)}


def damaged(table: str, how: str) -> bytes:
    font, at = bytearray(GOOD), TABLES[table]
    offset, length = struct.unpack(">II", GOOD[at + 8 : at + 16])
    if how == "named otherwise":
        font[at : at + 4] = b"zzzz"
    elif how == "noise":
        font[offset : offset + length] = random.Random(1).randbytes(length)
    else:
        font[at + 12 : at + 16] = struct.pack(">I", 2**31)
    return bytes(font)


SPOILT = [
    *((table, how) for table in TABLES if table[0] != "G" for how in ("named otherwise", "too long")),
    *((table, "noise") for table in ("CFF ", "cmap", "head", "hmtx", "maxp", "OS/2", "post")),
]


@pytest.mark.parametrize(("table", "how"), SPOILT)
def test_damaged_tables_are_found_at_once(
    tmp_path: Path, table: str, how: str, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "mine.otf"
    path.write_bytes(damaged(table, how))
    with pytest.raises(InputError, match=r"found 'mine.otf', which is damaged or is none"):
        face_of(path)
    assert caplog.records == []


def test_a_sound_font_is_taken_quietly(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.otf"
    path.write_bytes(GOOD)
    assert face_of(path).name == "Inter"
    assert capfd.readouterr() == ("", "")
