"""Sketched free bodies as SVG, in millimetres of the page.

Question answered: how does a sketch of :mod:`viz3d.teach.sketch` become a file that paper, pages and assessments take?

Texts are data: the tree is built and serialised by the standard library.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.palette import palette
from viz3d.stage.type import INTER, text_width
from viz3d.teach.sketch import Sketch, SketchArrow
from viz3d.teach.sketch_names import LETTERS, MARGIN, Box, extent, placed_names
from viz3d.words.message import message
from viz3d.words.voice import Voice

_HEAD, _WIDTH = 4.5, 1.1
"""Arrow head and arrow width, mm."""


def sketch_svg(sketch: Sketch, voice: Voice, forces: bool = True) -> str:
    """A sketch as an SVG file's text; ``forces``: with its arrows, else for students to draw them."""
    colours = palette("light")
    names = placed_names(sketch, voice, LETTERS) if forces else []
    left, bottom, right, top = extent(sketch, names, LETTERS, forces)
    width, height = f"{right - left:.2f}", f"{top - bottom:.2f}"
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "role": "img", "lang": voice.language,
            "viewBox": f"{left:.2f} {-top:.2f} {width} {height}", "width": f"{width}mm", "height": f"{height}mm",
        },
    )  # fmt: skip
    ET.SubElement(root, "title").text = voice.say(sketch.alt)
    told = " ".join(f"M{'L'.join(f'{x:.2f},{-y:.2f}' for x, y in line)}Z" for line in sketch.outlines)
    ET.SubElement(root, "path", {"d": told, "fill": colours["bone"], "fill-rule": "evenodd", "stroke": colours["soft"],
                                 "stroke-width": "0.4", "stroke-linejoin": "round"})  # fmt: skip
    for x, y in sketch.hips:
        ET.SubElement(root, "circle", {"cx": f"{x:.2f}", "cy": f"{-y:.2f}", "r": "3.2", "fill": colours["card"],
                                       "stroke": colours["soft"], "stroke-width": "0.5"})  # fmt: skip
    _sides(root, sketch, voice, colours["soft"])
    if forces:
        for arrow in sketch.arrows:
            _arrow(root, arrow, colours[arrow.role])
        for name in names:
            _words(root, name.text, name.box, colours[name.role])
    _bar(root, sketch, voice, left + MARGIN, bottom + MARGIN + LETTERS, colours["ink"])
    return ET.tostring(root, encoding="unicode") + "\n"


def _sides(root: ET.Element, sketch: Sketch, voice: Voice, colour: str) -> None:
    """R and L under the hips: seen from the front, the person's right is at the reader's left."""
    (left, y), (right, _) = sorted(sketch.hips)
    for x, side in ((left - 9.0, "right"), (right + 9.0, "left")):
        text = voice.say(message(f"frame.{side}_letter"))
        _words(root, text, (x - text_width(text, LETTERS, "SemiBold") / 2, y - 14.0, 0.0, 0.0), colour)


def _polygon(root: ET.Element, points: Array, fill: str, edge: str) -> None:
    told = " ".join(f"{x:.2f},{-y:.2f}" for x, y in points)
    ET.SubElement(root, "polygon", {"points": told, "fill": fill, "stroke": edge, "stroke-width": "0.5",
                                    "stroke-linejoin": "round"})  # fmt: skip


def _arrow(root: ET.Element, arrow: SketchArrow, colour: str) -> None:
    """An arrow whose tip is its point; a short one has a shorter head."""
    tail, tip = np.array(arrow.tail), np.array(arrow.tip)
    long = float(np.hypot(*(tip - tail)))
    if long < 0.1:
        return
    way = (tip - tail) / long
    head = min(_HEAD, 0.6 * long)
    neck, side = tip - head * way, 0.36 * head * np.array([-way[1], way[0]])
    ET.SubElement(root, "line", {
        "x1": f"{tail[0]:.2f}", "y1": f"{-tail[1]:.2f}", "x2": f"{neck[0]:.2f}", "y2": f"{-neck[1]:.2f}",
        "stroke": colour, "stroke-width": f"{_WIDTH}",
    })  # fmt: skip
    _polygon(root, np.array([tip, neck + side, neck - side]), colour, "none")


def _words(root: ET.Element, text: str, box: Box, colour: str) -> None:
    told = ET.SubElement(root, "text", {
        "x": f"{box[0]:.2f}", "y": f"{-box[1] - 0.22 * LETTERS:.2f}", "font-size": f"{LETTERS}", "fill": colour,
        "font-family": f"{INTER.name}, Arial, sans-serif", "font-weight": "600", "paint-order": "stroke",
        "stroke": palette("light")["card"], "stroke-width": "1.2", "stroke-linejoin": "round",
    })  # fmt: skip
    told.text = text


def _bar(root: ET.Element, sketch: Sketch, voice: Voice, x: float, y: float, colour: str) -> None:
    """The scale bar, ticks at its ends, its force above it."""
    for x1, y1, x2, y2 in (
        (x, y, x + sketch.bar, y),
        (x, y - 1.5, x, y + 1.5),
        (x + sketch.bar, y - 1.5, x + sketch.bar, y + 1.5),
    ):
        ET.SubElement(root, "line", {"x1": f"{x1:.2f}", "y1": f"{-y1:.2f}", "x2": f"{x2:.2f}", "y2": f"{-y2:.2f}",
                                     "stroke": colour, "stroke-width": "0.6"})  # fmt: skip
    _words(root, voice.say(sketch.bar_name), (x, y + 2.0, x + sketch.bar, y + 2.0 + LETTERS), colour)
