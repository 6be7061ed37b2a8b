"""Charts: a curve over one input, a contour map over two, as PNG, SVG or CSV.

Axes are in the voice's units. Where people's own values were measured they are drawn beside ours, with their source.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import font_manager, rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import Formatter

from viz3d.arrays import Array
from viz3d.echo import cell
from viz3d.output.files import check_space, written_whole
from viz3d.questions.axes import axis_of
from viz3d.questions.sweep import Sweep
from viz3d.stage.palette import palette
from viz3d.stage.type import INTER, WEIGHTS, text_width, wrap
from viz3d.tables import load_values
from viz3d.words import cautions
from viz3d.words.message import Said, message, number
from viz3d.words.voice import USUAL, Voice

MEASURED = {"cane": "cane_load"}
"""What lies on a first axis -> its row of ``measured.toml``: mean and standard deviation in the axis's stored unit."""
_WIDE, _HIGH = 9.6, 6.4
_ROOM = 0.85 * _WIDE * 72.0
"""Size of a chart in inches; width of its lines of text in points."""
_LOW, _TOP, _UNDER = 0.20, 0.82, 0.105
"""Lower and upper edge of what is plotted; room under it for ticks and the axis's name; shares of the height."""


class _Ticks(Formatter):
    """Numbers on an axis as the voice writes them, all with the same decimals."""

    def __init__(self, voice: Voice) -> None:
        self.voice, self.decimals = voice, 0

    def format_ticks(self, values: Any) -> list[str]:
        step = np.min(np.diff(values)) if len(values) > 1 else 1.0
        self.decimals = next((n for n in range(4) if abs(step * 10**n - round(step * 10**n)) < 1e-6), 4)
        return [self(v) for v in values]

    def __call__(self, x: float, pos: int | None = None) -> str:
        return self.voice.tick(float(x), self.decimals)


def write_chart(sweep: Sweep, title: str, person: Said, path: Path, voice: Voice = USUAL) -> Path:
    """Write a sweep as a picture or a table, by the file's suffix."""
    check_space(path.parent)
    with written_whole(path) as temporary:
        if path.suffix.lower() == ".csv":
            _write_csv(sweep, temporary, voice)
        else:
            Chart(sweep, voice).written(title, person, temporary, path.suffix.lower())
    return path


def _write_csv(sweep: Sweep, path: Path, voice: Voice) -> None:
    names = [n for n in (sweep.x_word, sweep.y_word, sweep.output) if n]
    axes = [axis_of(n, voice, sweep.weight) for n in names]
    grids = np.meshgrid(sweep.x, sweep.y) if sweep.y is not None else [sweep.x]
    columns = [np.ravel(v) * a.factor for v, a in zip([*grids, sweep.values], axes, strict=True)]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([cell(voice.say(a.label)) for a in axes])
        writer.writerows([_cell(v) for v in row] for row in zip(*columns, strict=True))


def _cell(value: float) -> str:
    return f"{value:.6g}" if np.isfinite(value) else ""


class Chart:
    """One chart being drawn."""

    def __init__(self, sweep: Sweep, voice: Voice) -> None:
        self.sweep, self.voice, self.colours = sweep, voice, palette("light")
        for weight in WEIGHTS:
            font_manager.fontManager.addfont(str(INTER.file(weight)))
        self.figure = Figure(figsize=(_WIDE, _HIGH), dpi=150, facecolor=self.colours["paper_top"])
        self.axes: Any = self.figure.add_axes((0.10, _LOW, 0.85, _TOP - _LOW), facecolor=self.colours["card"])
        self.x_axis, self.out = (axis_of(n, voice, sweep.weight) for n in (sweep.x_word, sweep.output))
        self.known = np.isfinite(sweep.values)
        self.x, self.values = sweep.x * self.x_axis.factor, sweep.values * self.out.factor

    def written(self, title: str, person: Said, path: Path, suffix: str) -> None:
        """Draw it and write it."""
        self.draw(title, person)
        if suffix == ".png":
            FigureCanvasAgg(self.figure).print_png(str(path), metadata={"Software": "viz3d"})
        else:
            told = {"Date": None, "Creator": "viz3d", "Language": self.voice.language}
            with rc_context({"svg.hashsalt": "viz3d"}):  # names inside the file are drawn by lot otherwise
                FigureCanvasSVG(self.figure).print_svg(str(path), metadata=told)

    def draw(self, title: str, person: Said) -> None:
        """Curve or map, axes, and the lines above and below."""
        if self.known.any():
            (self._curve if self.sweep.y is None else self._map)()
        else:
            self._empty()
        self._label_axes()
        say, flat = self.voice.say, self.sweep.y is None
        heading = title if flat else say(message("chart.map", title=title, output=self.out.label))
        self._lines(heading, 0.925, 19, "ink", "Bold", 1)
        self._lines(say(person), 0.868, 12, "soft", "Regular", 1)
        y = self._lines(say(cautions.SHORT), 0.045, 10.5, "soft", "Regular", 2, up=True)
        if not self.known.all():
            note = message("chart.blank" if self.known.any() else "chart.empty")
            y = self._lines(say(note), y, 10.5, "ink", "Regular", 2, up=True)
        low = max(_LOW, y + _UNDER)
        self.axes.set_position((0.10, low, 0.85, _TOP - low))

    def _lines(self, text: str, y: float, size: float, colour: str, weight: str, most: int, up: bool = False) -> float:
        """Text from the left margin, smaller or on more lines where it is long; where the next may stand above."""
        for smaller in (1.0, 0.9, 0.8, 0.7):
            lines = wrap(text, _ROOM, size * smaller, weight)
            if len(lines) <= most:
                break
        step = 1.35 * size * smaller / (72.0 * _HIGH)
        for k, line in enumerate(lines):
            at = y + step * (len(lines) - 1 - k) if up else y - step * k
            heavy = {"Bold": "bold", "Regular": "normal"}[weight]
            self.figure.text(0.10, at, line, fontsize=size * smaller, weight=heavy, family=INTER.name,
                             color=self.colours[colour])  # fmt: skip
        return y + step * len(lines) + 0.006

    def _label_axes(self) -> None:
        axes, colours = self.axes, self.colours
        y_axis = axis_of(self.sweep.y_word, self.voice, self.sweep.weight) if self.sweep.y is not None else self.out
        told = ((axes.set_xlabel, self.x_axis, _ROOM), (axes.set_ylabel, y_axis, 0.64 * _HIGH * 72.0))
        for put, axis, room in told:
            words = self.voice.say(axis.label)
            size = min(13.0, 13.0 * room / text_width(words, 13.0))
            put(words, fontsize=size, family=INTER.name, color=colours["ink"])
        for one in (axes.xaxis, axes.yaxis):
            one.set_major_formatter(_Ticks(self.voice))
        for label in (*axes.get_xticklabels(), *axes.get_yticklabels()):
            label.set_fontfamily(INTER.name)
            label.set_fontsize(12)
            label.set_color(colours["ink"])
        for spine in axes.spines.values():
            spine.set_color(colours["card_line"])
        axes.tick_params(color=colours["card_line"])

    def _empty(self) -> None:
        """Both axes with nothing in them: an output that has no value anywhere here."""
        self.axes.set_xlim(float(self.x[0]), float(self.x[-1]))
        self.axes.set_yticks([])

    def _curve(self) -> None:
        axes, colours, x, values = self.axes, self.colours, self.x, self.values
        axes.grid(color=colours["card_line"], linewidth=0.6)
        values = np.where(self.known, values, np.nan)
        axes.plot(x, values, color=colours["joint"], linewidth=2.6, zorder=3)
        axes.set_xlim(float(x[0]), float(x[-1]))
        most = float(np.nanmax(values))
        if self.sweep.output != "relief" and most > 0.0:
            axes.set_ylim(0.0, most * 1.08)
        least = int(np.nanargmin(values))
        if 0 < least < len(x) - 1 and self.sweep.output != "relief":
            at, low = float(x[least]), float(values[least])
            axes.plot([at], [low], "o", color=colours["ink"], markersize=7, zorder=4)
            text = self.voice.say(message("chart.least", value=number(low, 2), at=number(at, 1)))
            side = "right" if least > 0.8 * len(x) else "left" if least < 0.2 * len(x) else "center"
            floor, top = axes.get_ylim()
            below = low - floor > 0.12 * (top - floor)
            axes.annotate(
                text,
                (at, low),
                (0, -22 if below else 12),
                textcoords="offset points",
                ha=side,
                family=INTER.name,
                fontsize=12,
            )
        if self.sweep.x_word in MEASURED:
            self._measured()

    def _measured(self) -> None:
        """What people were measured to do, as a band on the first axis."""
        axes, colour = self.axes, self.colours["hand"]
        row = load_values("viz3d.output", "measured.toml")[MEASURED[self.sweep.x_word]]
        mean, deviation = (v * self.x_axis.factor for v in row)
        axes.axvspan(mean - deviation, mean + deviation, color=colour, alpha=0.10, linewidth=0)
        axes.axvline(mean, color=colour, linewidth=1.4, linestyle=(0, (5, 4)))
        unit = dict(self.x_axis.label.values)["unit"]
        told = message("measured.cane", mean=number(mean, 1), deviation=number(deviation, 1), unit=unit)
        left = mean + deviation
        room = _ROOM * (1.0 - left / float(self.x[-1])) - 8.0
        lines = wrap(self.voice.say(told), room, 11)
        low, high = axes.get_ylim()
        axes.set_ylim(low, high + 0.07 * (high - low) * (len(lines) - 1))
        for k, line in enumerate(lines):
            y = low + (axes.get_ylim()[1] - low) * (0.955 - 0.05 * k)
            axes.text(left, y, f" {line}", family=INTER.name, fontsize=11, color=colour)

    def _map(self) -> None:
        shades = ["#EDE6D6", self.colours["shell_fill"], "#B9AFC9", self.colours["joint"]]
        from matplotlib.colors import LinearSegmentedColormap

        tones = LinearSegmentedColormap.from_list("loads", shades)
        y: Array = np.asarray(self.sweep.y) * axis_of(self.sweep.y_word, self.voice, self.sweep.weight).factor
        values = np.ma.masked_where(~self.known, self.values)
        filled = self.axes.contourf(self.x, y, values, levels=14, cmap=tones)
        if np.ptp(values.compressed()) <= 1e-9 * np.abs(values).max():
            return  # one level everywhere has no lines
        lines = self.axes.contour(
            self.x, y, values, levels=filled.levels[::2], colors=self.colours["ink"], linewidths=0.8
        )
        for label in self.axes.clabel(lines, fmt=lambda v: self.voice.tick(float(v), 2), fontsize=11):
            label.set_fontfamily(INTER.name)
