"""Mutants: scenes, orders, bone records and meshes spoilt at random, each named by its seed."""

from __future__ import annotations

import copy
import random
import tomllib
from functools import cache
from typing import Any

import tomli_w

from viz3d.scene.reader import library_scenes
from viz3d.scene.rows import rows
from viz3d.units import UNITS

NASTY: tuple[Any, ...] = (
    "", " ", "x", "-", "=1+1", "nan", "nan kg", "inf deg", "1e999 kg", "-1e308 m", "1e-320 m", "0 kg", "-0 deg", "9" * 400,
    "64 kg 3 kg", "5 ft 5 in", "٣ kg", "1\u00a0kg", "½ kg", "64 Kg", "64kg", "\u202e64 kg", "a" * 100_000, "\x00", "\x1b[31mred",
    "balance", "none", "left", "both", "../../etc/passwd", "/dev/zero", "~", "a\nb", "a\tb", "{x}", "{0.__class__}", "%s",
    "<script>alert(1)</script>", "[[1]]", "true", 0, 1, -1, 2**31, 2**63, -(2**63), 10**90, 0.0, -0.0, 1e308, 5e-324,
    float("nan"), float("inf"), -float("inf"), True, False, [], [1], [[[]]], ["bones"], ["bones"] * 50, {}, {"a": 1}, {"": ""},
)  # fmt: skip
"""Values that no key expects."""
_TOKENS = (
    b"[", b"]", b"{", b"}", b'"', b"'", b'"""', b"=", b".", b",", b"#", b"\n", b"\r", b"\x00", b"\xff", b"\xef\xbb\xbf", b"nan",
    b"inf", b"1e999", b"0x" + b"f" * 200, b"9" * 5000, b"[" * 300, b"a." * 300 + b"b = 1", b"[[a]]", b"\\u0000", b"\\", b"1979-05-27",
    b"[person]", b"[[steps]]", b"set = {", b"\xed\xa0\x80", b"-", b"+", b"_", b"\xe2\x80\xae",
)  # fmt: skip


@cache
def _library() -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in library_scenes().values())


def scene_text(seed: int) -> bytes:
    """A scene file's bytes: a library scene with its text torn, its values made nasty, or its inputs taken to their ends."""
    rng = random.Random(seed)
    text = rng.choice(_library())
    kind = rng.random()
    if kind < 0.25:
        return torn(text, rng)
    data = tomllib.loads(text.decode())
    for _ in range(rng.choice((1, 1, 2, 5))):
        spoil(data, rng) if kind < 0.45 else _push(data, rng)
    return written(data)


def written(data: dict[str, Any]) -> bytes:
    """Tables as TOML, also where the writer knows better."""
    try:
        return tomli_w.dumps(data).encode("utf-8", "surrogatepass")
    except (TypeError, ValueError):
        return repr(data).encode("utf-8", "surrogatepass")


def torn(text: bytes, rng: random.Random) -> bytes:
    """Bytes cut out, doubled, changed, or put in."""
    out = bytearray(text)
    for _ in range(rng.choice((1, 1, 3, 10))):
        at = rng.randrange(len(out) + 1)
        span = rng.choice((1, 1, 3, 20, 200))
        way = rng.randrange(5)
        if way == 0:
            del out[at : at + span]
        elif way == 1:
            out[at:at] = out[at : at + span]
        elif way == 2:
            out[at:at] = rng.choice(_TOKENS)
        elif way == 3 and at < len(out):
            out[at] = rng.randrange(256)
        else:
            out[at : at + span] = rng.choice(_TOKENS)
    return bytes(out)


def spoil(data: Any, rng: random.Random) -> None:
    """Give a random place among tables and lists a value nobody expects, drop it, or put one beside it."""
    places = list(_places(data))
    if not places:
        return
    node, key = rng.choice(places)
    way = rng.random()
    if way < 0.7:
        node[key] = copy.deepcopy(rng.choice(NASTY))
    elif way < 0.85:
        del node[key]
    elif isinstance(node, dict):
        node[rng.choice(("x", "__class__", "mas", "a.b", "", "\x07", "k" * 500))] = copy.deepcopy(rng.choice(NASTY))


def _places(node: Any) -> Any:
    for key, value in list(node.items() if isinstance(node, dict) else enumerate(node)):
        yield node, key
        if isinstance(value, dict | list):
            yield from _places(value)


_CHOICES = {
    "posture.stance": ("left", "right"), "person.sex": ("female", "male"), "person.segments": ("de-leva", "dempster"),
    "model.muscles": ("equivalent", "frontal set", "three-axis set"), "model.pressure": ("lune", "horseshoe"),
    "model.power": (2, 3, 7.5, 100, "min-max"), "picture.force": ("N", "kgf", "lbf", "BW"), "picture.words": ("trade", "plain"),
    "hands.left.holds": ("nothing", "cane", "elbow crutch", "frame", "bag"), "person.painful_hip": ("none", "left", "right"),
    "hands.right.holds": ("nothing", "cane", "elbow crutch", "frame", "bag"), "hands.left.force": ("balance", "0 N", "20 %BW"),
    "hands.right.force": ("balance", "1 N", "100 %BW"), "hands.right.mass": ("0 kg", "1 kg", "40 kg"),
}  # fmt: skip


_HELD = (
    {"holds": "nothing"}, {"holds": "cane", "force": "0 N"}, {"holds": "cane", "force": "100 %BW"}, {"holds": "frame", "force": "9 %BW"},
    {"holds": "elbow crutch", "force": "20 kgf"}, {"holds": "bag", "mass": "40 kg"}, {"holds": "bag", "mass": "0 kg"},
    {"holds": "cane", "force": "balance"}, {"holds": "cane", "force": "12 %BW", "tip_beside_toe": "30 cm"},
)  # fmt: skip


def _push(data: dict[str, Any], rng: random.Random) -> None:
    """Set a known input to an end of its range, just past it, or anywhere in it."""
    if rng.random() < 0.25:
        data.setdefault("hands", {})[rng.choice(("left", "right"))] = dict(rng.choice(_HELD))
        return
    key, value = pushed(rng)
    steps = data.get("steps")
    if steps and rng.random() < 0.3 and isinstance(steps[0], dict):
        rng.choice(steps).setdefault("set", {})[key] = str(value)
        return
    *folders, last = key.split(".")
    node = data
    for folder in folders:
        node = node.setdefault(folder, {}) if isinstance(node.get(folder, {}), dict) else {}
    node[last] = value


def pushed(rng: random.Random) -> tuple[str, Any]:
    """A known input and a value for it."""
    if rng.random() < 0.3:
        key = rng.choice(sorted(_CHOICES))
        return key, rng.choice(_CHOICES[key])
    row = rng.choice(list(rows().values()))
    unit = rng.choice([u for u in UNITS[row.of.dimension] if u != "°"])
    low, high = getattr(row.of, "low", "0 N"), getattr(row.of, "high", "900 N")
    if rng.random() < 0.5:
        return row.key, rng.choice((low, high))
    ends = [float(end.split()[0]) for end in (low, high)]
    value = rng.uniform(*ends) if rng.random() < 0.8 else rng.choice(ends) * 1.0000001
    return row.key, f"{value:.9g} {low.split(' ', 1)[1] if rng.random() < 0.8 else unit}"
