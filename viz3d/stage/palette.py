"""Colours by role, and the pressure map.

Question answered: which colour does a role have on this backdrop?

Roles differ by place, form and label as well; colour is never alone. The pressure map runs in OKLab from
light ivory to dark wine with falling lightness, so that it reads in greys and for every colour vision; its
range is fixed and printed.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.tables import read_toml

ROLES = ("weight", "muscle", "joint", "hand", "load", "ground")
PRESSURE_RANGE = (0.0, 3.0e6)
"""Fixed range of the pressure map, Pa."""
_FADE = 0.15e6
"""Below this the map fades into bare cartilage, in the legend as on the bone: no edge where no pressure begins, Pa."""
_GREY_POWER = 0.75
"""Power of the pressure with which greys darken."""
ISOBAR = 0.5e6
"""Lines of equal pressure stand this far apart, Pa."""


@lru_cache
def palette(backdrop: str) -> dict[str, str]:
    """Colour names to "#RRGGBB" for "light", "dark" or "print"."""
    return {k: str(v) for k, v in read_toml("viz3d.stage", "palette.toml")[backdrop].items()}


def patterns(backdrop: str) -> dict[str, str]:
    """Role -> how its arrows are filled; empty where colour alone is enough."""
    rows = read_toml("viz3d.stage", "palette.toml")["patterns"]
    return {k: str(v) for k, v in rows.get(backdrop, {}).items()}


def contrast(a: str, b: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, its definition of relative luminance)."""

    def luminance(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]
        return float(np.dot([0.2126, 0.7152, 0.0722], linear))

    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def rgb(colour: str) -> tuple[float, float, float]:
    """ "#RRGGBB" as three fractions.

    Examples
    --------
    >>> rgb("#FF8000")[0]
    1.0
    """
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


def hexed(colour: Array) -> str:
    """Three fractions as "#RRGGBB"."""
    return "#" + "".join(f"{round(255 * float(c)):02X}" for c in colour)


@lru_cache
def pressure_map(steps: int = 256, grey: bool = False) -> Array:
    """Colours of the pressure map, (steps, 3) fractions, low to high; with ``grey`` in greys, steeper where it is low.

    Beside white bone and paper the greys of a colour map of even lightness would show no pressure below a third of the
    range.
    """
    t = np.linspace(0.0, 1.0, steps)
    lightness = 0.95 - 0.72 * t**_GREY_POWER if grey else 0.93 - 0.63 * t
    chroma = 0.045 + 0.12 * np.sin(np.pi * (0.12 + 0.78 * t))
    hue = np.radians(86.0 - 92.0 * t)
    return _from_oklch(lightness, 0.0 * chroma if grey else chroma, hue)


def legend_map(colours: dict[str, str], steps: int = 256, grey: bool = False) -> Array:
    """Colours of pressures over the fixed range as legend and cartilage show them, (steps, 3) fractions."""
    share = np.clip(np.linspace(*PRESSURE_RANGE, steps) / _FADE, 0.0, 1.0)[:, None]
    bare = np.array(rgb(colours["cartilage"]))
    return np.asarray(bare + share * (pressure_map(steps, grey) - bare))


def _from_oklch(lightness: Array, chroma: Array, hue: Array) -> Array:
    """OKLCH to gamma-coded sRGB, clipped (B. Ottosson, 2020, public definition)."""
    a, b = chroma * np.cos(hue), chroma * np.sin(hue)
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = np.stack(
        [
            4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
            -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
            -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short,
        ],
        axis=-1,
    ).clip(0.0, 1.0)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def pressure_colours(pressure: Array, colours: dict[str, str], grey: bool = False) -> Array:
    """Colours (V, 3) of pressures in Pa; zero keeps bare cartilage, above the range gets its own colour."""
    low, high = PRESSURE_RANGE
    index = np.clip((pressure - low) / (high - low) * 255.0, 0, 255).astype(int)
    out = legend_map(colours, grey=grey)[index]
    out[pressure <= 0.0] = rgb(colours["cartilage"])
    out[pressure > high] = rgb(colours["over_range"])
    return np.asarray(out)


def isobar_colours(levels: Array, colours: dict[str, str], grey: bool = False) -> Array:
    """Colours (L, 3) of lines at pressures in Pa: the darker or the lighter end of the map, whichever stands out."""
    bright = pressure_colours(levels, colours, grey) @ [0.30, 0.59, 0.11] > 0.5
    return np.asarray(np.where(bright[:, None], 0.75 * pressure_map(grey=grey)[-1], pressure_map(grey=grey)[0]))
