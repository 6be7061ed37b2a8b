"""The theme: one picture's colours, patterns, font, size of words, and the voice that says them.

Question answered: how does a role look in this picture, can everyone tell it from the others, and how are words said?

One palette file holds every backdrop. A scene may bring a palette of its own, which replaces some of its colours; it is
refused where words would be hard to read or two roles hard to tell apart.
"""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import shown
from viz3d.errors import InputError, Unreadable
from viz3d.given import file_bytes, toml_tables
from viz3d.scene.schema import Scene
from viz3d.stage.palette import ROLES, contrast, palette, patterns, pressure_colours, rgb
from viz3d.stage.type import INTER, Face, face_of
from viz3d.words.voice import USUAL, Voice

VISIONS = ("normal", "protan", "deutan", "tritan")
APART = 8.0
"""Smallest CIEDE2000 distance between two roles of a person's own palette, in every vision."""
READABLE = 4.5
"""Smallest contrast of words: WCAG 2.2, level AA."""
LARGE = 1.25
"""How much larger the words of a picture with large text are."""
_SURFACES = ("paper_top", "paper_bottom", "card", "band")
_LARGEST = 20_000


@dataclass(frozen=True)
class Theme:
    """Colours by name, a pattern by role ("solid" where none is named), font, words' size against the usual, voice."""

    backdrop: str
    colours: dict[str, str]
    patterns: dict[str, str] = field(default_factory=dict)
    face: Face = INTER
    text: float = 1.0
    voice: Voice = USUAL

    def pattern(self, role: str) -> str:
        """How an arrow of this role is filled."""
        return self.patterns.get(role, "solid")

    def pressure(self, pascals: Array) -> Array:
        """Colours (V, 3) of pressures; greys in print."""
        return pressure_colours(pascals, self.colours, self.backdrop == "print")


def usual_theme(backdrop: str) -> Theme:
    """The theme of a backdrop: "light", "dark" or "print"."""
    return Theme(backdrop, palette(backdrop), patterns(backdrop))


def theme_of(scene: Scene) -> Theme:
    """The theme a scene asks for.

    Raises
    ------
    InputError : its palette or font cannot be used.
    """
    picture = scene.picture
    theme = usual_theme(picture.backdrop)
    colours, face = theme.colours, theme.face
    if picture.palette is not None:
        colours = {**colours, **own_palette(scene.own_file("picture.palette", picture.palette))}
        check_palette(colours, theme.patterns, picture.palette)
    if picture.font is not None:
        face = face_of(scene.own_file("picture.font", picture.font))
    large = LARGE if picture.text == "large" else 1.0
    return Theme(picture.backdrop, colours, theme.patterns, face, large, voice_of(scene))


def voice_of(scene: Scene) -> Voice:
    """The voice a scene asks for: its language, its register, its units."""
    return scene.picture.voice


def own_palette(path: Path) -> dict[str, str]:
    """Colours from a person's own palette file: lines like ``joint = "#6F4D9E"``.

    Raises
    ------
    InputError : not such a file, an unknown name, or no colour.
    """
    if path.suffix.lower() != ".toml":
        raise InputError(f"picture.palette: found {shown(path.name)}; allowed: a TOML file of at most 20 kB")
    try:
        given = toml_tables(file_bytes(path, _LARGEST))
    except Unreadable as error:
        raise InputError(f"{path.name}: {error}") from error
    known = palette("light")
    for name, colour in given.items():
        if name not in known:
            raise InputError(f"{path.name}: {shown(name)} is not a colour's name; allowed: {', '.join(known)}")
        if not isinstance(colour, str) or not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
            raise InputError(f'{path.name}: {name}: found {shown(colour)}; allowed: a colour like "#6F4D9E"')
    return given


def check_palette(colours: dict[str, str], filled: dict[str, str], name: str) -> None:
    """Refuse colours that are hard to read or hard to tell apart.

    Parameters
    ----------
    filled : patterns by role; roles with different patterns may be alike in colour.

    Raises
    ------
    InputError : the first pair that fails, with its figure.
    """
    for word in (*ROLES, "ink", "soft"):
        for surface in _SURFACES:
            found = contrast(colours[word], colours[surface])
            if found < READABLE:
                raise InputError(
                    f"{name}: {word} {colours[word]} on {surface} {colours[surface]} has a contrast of {found:.1f};"
                    f" allowed: at least {READABLE}"
                )
    for a, b in combinations(ROLES, 2):
        if filled.get(a, "solid") != filled.get(b, "solid"):
            continue
        distances = role_distances(colours[a], colours[b])
        vision = min(VISIONS, key=lambda seen: round(distances[seen], 6))
        far = distances[vision]
        if far < APART:
            raise InputError(
                f"{name}: {a} {colours[a]} and {b} {colours[b]} are {far:.1f} apart in {vision} vision (CIEDE2000);"
                f" allowed: at least {APART:g}"
            )


@lru_cache
def colour_science() -> Any:
    """The library of colour differences; its import neither warns nor changes how arrays are printed."""
    with warnings.catch_warnings(), np.printoptions():
        warnings.simplefilter("ignore")
        import colour

        return colour


@lru_cache(maxsize=1024)
def _lab(colour: str, vision: str) -> tuple[float, float, float]:
    """CIELAB of a colour as a vision sees it (Machado 2009, severity 1)."""
    science = colour_science()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        linear = np.asarray(science.models.eotf_sRGB(np.array(rgb(colour))))
        if vision != "normal":
            kind = {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}[vision]
            linear = np.clip(science.matrix_cvd_Machado2009(kind, 1.0) @ linear, 0.0, 1.0)
        light, red, yellow = science.XYZ_to_Lab(science.RGB_to_XYZ(linear, "sRGB", apply_cctf_decoding=False))
    return float(light), float(red), float(yellow)


def role_distances(one: str, other: str) -> dict[str, float]:
    """CIEDE2000 distance of two colours for each of ``VISIONS``."""
    out = {}
    for vision in VISIONS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            out[vision] = float(colour_science().delta_E(_lab(one, vision), _lab(other, vision), method="CIE 2000"))
    return out
