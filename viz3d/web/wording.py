"""The words of our pages, in both registers, so that a page can switch between them.

Question answered: what does a page say, and what stands in its markup before any script runs?

Elements name a key of the catalogue in ``data-say`` (their text) or ``data-label`` (for screen readers); the scripts
say the same keys.
"""

from __future__ import annotations

import html
import re
from typing import Any

from viz3d.scene.schema import Scene
from viz3d.words.catalogue import REGISTERS
from viz3d.words.message import Amount, length, mass, moment, newtons
from viz3d.words.voice import SHOWN, Voice

_SECTIONS = ("page.", "caution.full.")
"""Beginnings of the keys that pages say."""
_SAID = re.compile(r'(data-say="([\w.]+)"[^>]*>)')
_LABELLED = re.compile(r'data-label="([\w.]+)"')


def page_words(language: str) -> dict[str, dict[str, str]]:
    """Register -> key -> text, placeholders left in.

    Raises
    ------
    TableError : no such language.
    """
    return {name: _words(Voice(language, name)) for name in REGISTERS}


def _words(voice: Voice) -> dict[str, str]:
    return {f"{start}{key}": text for start in _SECTIONS for key, text in voice.section(start).items()}


def first_register(scene: Scene) -> str:
    """The register that a scene's page opens in: the scene's where it gives one, else plain words."""
    return scene.picture.words if "words" in scene.picture.model_fields_set else "plain"


def speech_of(scene: Scene) -> dict[str, Any]:
    """What a page's voice needs: language, register, words and the decimal sign."""
    language = scene.picture.language
    return {
        "language": language, "register": first_register(scene), "words": page_words(language),
        "point": Voice(language).decimal_sign, "unit": "BW" if scene.picture.voice.in_weights else "absolute",
        "units": _units(scene.picture.voice),
    }  # fmt: skip


def force_key(voice: Voice) -> str:
    """The key of the unit in which a page writes forces beside body weights."""
    return "newtons" if voice.in_weights else {"N": "newtons"}.get(voice.units.force, voice.units.force)


def _units(voice: Voice) -> dict[str, dict[str, Any]]:
    """The units of forces beside body weights, of lever arms, of moments and of masses."""
    return {
        "force": _force_unit(voice), "length": _length_unit(voice), "moment": _moment_unit(voice),
        "mass": _as_written(voice, mass(0.0)),
    }  # fmt: skip


def _force_unit(voice: Voice) -> dict[str, Any]:
    """That unit: its size in newtons, its sign, its decimals and the key of its name."""
    size = 1.0 if voice.in_weights else voice.force_axis(1.0)[0]
    return _as_written(voice, newtons(0.0)) | {"size": size, "name": f"page.unit.{force_key(voice)}"}


def _length_unit(voice: Voice) -> dict[str, Any]:
    """The unit of lever arms: its size in metres, its sign, its decimals and how many of them a scale bar shows."""
    inches = voice.units.length == "in"
    size = SHOWN["length"][-1 if inches else 0][1]
    return _as_written(voice, length(0.0)) | {"size": size, "bar": 4 if inches else 10}


def _moment_unit(voice: Voice) -> dict[str, Any]:
    """The unit of moments: its size in newton metres, its sign and its decimals."""
    return _as_written(voice, moment(0.0)) | {"size": voice.moment_size}


def _as_written(voice: Voice, nothing: Amount) -> dict[str, Any]:
    """Sign and decimals of a quantity as the voice writes it."""
    text = voice.number(nothing)
    digits = text.removeprefix("0").removeprefix(voice.decimal_sign)
    sign = digits.lstrip("0")
    return {"sign": sign, "digits": len(digits) - len(sign)}


def worded(markup: str, scene: Scene) -> str:
    """Markup with the words of every key that it names, as a scene's page opens."""
    words = page_words(scene.picture.language)[first_register(scene)]
    said = _SAID.sub(lambda found: found[1] + html.escape(words[found[2]]), markup)
    return _LABELLED.sub(lambda found: f'{found[0]} aria-label="{html.escape(words[found[1]])}"', said)
