"""What is wrong with a scene, in our own words, and the key that was meant.

Question answered: what stands where, what may stand there, and which key or word comes nearest?

The validator's findings are read by their kind and numbers; none of its sentences is repeated. Called by whoever checks
a scene.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from viz3d.echo import shown
from viz3d.errors import SceneError
from viz3d.scene.asked import OfferedAnswer, Question
from viz3d.scene.choices import nearest_word
from viz3d.scene.picture import Step
from viz3d.scene.rows import rows
from viz3d.scene.schema import Scene
from viz3d.units import examples

_INSIDE = ("[key]", "constrained-float", "float")
"""Steps of the validator's own that are no part of a key."""
_LISTS: dict[str, type[BaseModel]] = {"steps": Step, "questions": Question, "choices": OfferedAnswer}
"""Tables that a scene holds several of."""
_TABLES = (*_LISTS, "scenes", "plan", "misunderstandings")
OWN = ("quantity", "hand", "calibration", "posture", "balance")
"""Kinds of findings whose sentence is ours."""
ONE_THING = "one hand holds one thing"

MEANT = {
    "height": "stature", "tall": "stature", "size": "stature", "weight": "mass", "bodyweight": "mass",
    "body_weight": "mass", "body_mass": "mass", "gender": "sex", "pain": "painful_hip", "painful": "painful_hip",
    "sore_hip": "painful_hip", "affected": "painful_hip", "leg": "stance", "side": "stance", "foot": "stance",
    "standing": "stance", "trunk_lean": "lean", "tilt": "obliquity", "drop": "obliquity", "pelvic_drop": "obliquity",
    "pelvic_obliquity": "obliquity", "hike": "obliquity", "weight_share": "share", "push": "force", "press": "force",
    "load": "force", "item": "holds", "thing": "holds", "object": "holds", "hold": "holds", "aid": "holds",
    "bag": "mass", "rucksack": "backpack", "duration": "hold", "time": "hold", "wait": "hold", "pause": "hold",
    "transition": "change", "text": "caption", "subtitle": "caption", "speech": "narration", "say": "narration",
    "description": "aim", "goal": "aim", "purpose": "aim", "label": "name", "background": "backdrop",
    "theme": "backdrop", "colors": "palette", "colours": "palette", "resolution": "size", "fps": "frames_per_second",
    "lang": "language", "zoom": "frame", "cards": "insets", "camera": "view", "sound": "voice", "audio": "voice",
    "neck_angle": "neck_shaft_angle", "anteversion": "version", "femoral_offset": "offset",
    "ce_angle": "centre_edge_angle", "center_edge_angle": "centre_edge_angle", "lever": "abductor_lever",
    "lever_arm": "abductor_lever", "leg_length": "left_leg_shorter", "abductors": "left_abductors",
}  # fmt: skip
"""Last part of a key that people may type, and what it is called here."""


def explain(path: Path, error: ValidationError, inside: str = "") -> SceneError:
    """What the validator found, in plain words; ``inside``: where the key was set."""
    found = error.errors()
    first = next((e for e in found if e["type"] == "extra_forbidden"), found[0])
    places = [p for p in first["loc"] if p not in _INSIDE and not str(p).startswith("literal[")]
    key = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in places)
    nearest = nearest_key(key) if first["type"] == "extra_forbidden" else ""
    where = f"{inside}.{key}" if inside and not key.startswith("picture.") else key
    if first["type"] in OWN:
        return SceneError(path, where, first["msg"])
    if first["type"] == "extra_forbidden":
        return SceneError(path, where, "unknown key", nearest=nearest)
    if first["type"] == "missing":
        return SceneError(path, where, "missing", _needed(key))
    return SceneError(path, where, f"found {_shown(first['input'])}", *_allowed(key, first))


def _allowed(key: str, found: Mapping[str, Any]) -> tuple[str, str]:
    """What may stand at a key that holds something else, and what was meant, "" for unknown."""
    value, context = found["input"], found.get("ctx", {})
    if key == "model.power":
        return "allowed: 2 to 100, or 'min-max'", ""
    if re.fullmatch(r"hands\.(left|right)(\.holds)?", key) and isinstance(value, list):
        return ONE_THING, ""
    if found["type"] == "literal_error":
        expected = str(context["expected"])
        near = nearest_word(value, tuple(re.findall(r"'([^']*)'", expected)))
        without = ", without quotes" if key == "format" else ""
        return f"allowed: {expected}{without}", repr(near) if near else ""
    return _SAID.get(found["type"], _other)(key, context), ""


def _needed(key: str) -> str:
    """An example of a key that is missing."""
    last = key.rpartition(".")[2]
    example = {
        "mass": 'mass = "64 kg"', "stature": 'stature = "1.66 m"', "sex": 'sex = "female", or "male"',
        "stance": 'stance = "left", or "right"', "holds": 'holds = "cane"', "title": 'title = "Standing on one leg"',
        "name": 'name = "Leaning over the hip"', "person": "[person] begins the table of who stands there",
        "scenes": '[[scenes]], and below it scene = "cane-opposite-hand"',
        "posture": "[posture] begins the table of how the person stands",
    }.get(last, "")  # fmt: skip
    return f"write {example}" if example else ""


def _shown(value: object) -> str:
    """What was found; of long lists only how many."""
    return f"{len(value)} of them" if isinstance(value, list) and len(value) > 3 else shown(value)


def _text(key: str, _: Mapping[str, Any]) -> str:
    last = key.rpartition(".")[2]
    row = rows().get(re.sub(r"^steps\.\d+\.set\.", "", key))
    if row is not None:
        return f"write a number with its unit in quotes, like {examples(row.of.dimension)}"
    return f'write a text in quotes, like {last if last.isidentifier() else "name"} = "..."'


def _table(key: str, _: Mapping[str, Any]) -> str:
    if key == "hands":
        return 'write [hands.left] or [hands.right], and below it holds = "cane"'
    if key.startswith("hands."):
        return f'write [{key}], and below it holds = "cane"'
    if re.fullmatch(r"steps\.\d+", key):
        return 'write [[steps]], and below it name = "..."'
    return f"this is a table: write [{key}], and its keys below it" if key else "a scene is a table of keys"


def _list(key: str, _: Mapping[str, Any]) -> str:
    if key.endswith(".steps"):
        return "write a list of steps' numbers, like [1, 3]"
    if key in _TABLES:
        return f"each is a table that begins with [[{key}]]"
    return 'write a list like ["..."]'


def _fewest(key: str, context: Mapping[str, Any]) -> str:
    return "a scene has at least one step" if key == "steps" else f"allowed: {context.get('min_length', 1)} or more"


_SAID: dict[str, Callable[[str, Mapping[str, Any]], str]] = {
    "string_type": _text,
    "string_too_short": lambda *_: "write at least one letter",
    "string_too_long": lambda _, context: f"allowed: at most {context['max_length']} letters",
    "string_pattern_mismatch": lambda *_: "allowed: width and height in pixels, like 1920x1080",
    "model_type": _table,
    "model_attributes_type": _table,
    "dict_type": lambda key, _: (
        f"this is a table: write [{key}], and its keys below it"
        if not key.endswith("set")
        else 'write set = { "posture.lean" = "5 deg" }'
    ),
    "list_type": _list,
    "too_short": _fewest,
    "too_long": lambda _, context: f"allowed: at most {context['max_length']}",
    "greater_than_equal": lambda _, context: f"allowed: {context['ge']:g} or more",
    "less_than": lambda _, context: f"allowed: under {context['lt']:.0f}",
    "less_than_equal": lambda _, context: f"allowed: at most {context['le']:g}",
    **dict.fromkeys(("bool_type", "bool_parsing"), lambda *_: "allowed: true or false, without quotes"),
    **dict.fromkeys(
        ("int_type", "int_parsing", "int_from_float", "int_parsing_size"), lambda *_: "allowed: a whole number"
    ),
    **dict.fromkeys(("float_type", "float_parsing", "finite_number"), lambda *_: "allowed: a number"),
}
"""Kind of finding -> what may stand there."""


def _other(key: str, _: Mapping[str, Any]) -> str:
    return "this cannot stand here; 'viz3d schema' lists what can"


def nearest_key(key: str) -> str:
    """The valid key that a mistyped one comes nearest to, by what it is called elsewhere or by its letters.

    Examples
    --------
    >>> nearest_key("person.height"), nearest_key("person.mas"), nearest_key("steps.3.duration")
    ('person.stature', 'person.mass', 'steps.3.hold')
    """
    number = re.match(r"steps\.(\d+)\.", key)
    plain = key.replace(f"steps.{number[1]}.", "steps.1.", 1) if number else key
    near = _meant_key(plain) or next(iter(difflib.get_close_matches(plain, valid_keys(), n=1, cutoff=0.4)), "")
    return near.replace("steps.1.", f"steps.{number[1]}.", 1) if number else near


def _meant_key(key: str) -> str:
    """The key of the same table, else of any, that other words name; "" for none."""
    table, _, last = key.rpartition(".")
    word = re.sub(r"[\s-]+", "_", last.casefold())
    keys = valid_keys()
    for wanted in (word, MEANT.get(word, "")):
        same = f"{table}.{wanted}" if table else wanted
        if wanted and same in keys:
            return same
    elsewhere = [k for k in keys if k.rpartition(".")[2] == word]
    if len(elsewhere) == 1:
        return elsewhere[0]
    ends = [k for k in keys if k.rpartition(".")[2] == MEANT.get(word, "") and "." in k]
    near = [k for k in ends if k.split(".")[0] == key.split(".", maxsplit=1)[0]]
    return next(iter(near or ([] if table else ends)), "")


def valid_keys() -> list[str]:
    """Every dotted key a scene may hold; steps are written once, as ``steps.1.name``."""
    return _keys_of(Scene, "")


def _keys_of(model: type[BaseModel], prefix: str) -> list[str]:
    keys = []
    for name, field in model.model_fields.items():
        inner = field.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            keys += [f"{prefix}{name}", *_keys_of(inner, f"{prefix}{name}.")]
        elif name in _LISTS:
            keys += [name, *_keys_of(_LISTS[name], f"{prefix}{name}.1.")]
        else:
            keys.append(f"{prefix}{name}")
    return keys
