"""Charts: a curve over one input, a contour map over two, as PNG, SVG or CSV.

Where people's own values were measured they are drawn beside ours, with their source. Called by ``viz3d chart``.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import font_manager
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from viz3d.output.files import check_space, written_whole
from viz3d.questions.sweep import AXES, Sweep
from viz3d.stage.palette import palette
from viz3d.stage.type import INTER, WEIGHTS
from viz3d.tables import load_values

SUFFIXES = (".png", ".svg", ".csv")
MEASURED = {"cane": ("cane_load", "what untrained people press: {:g} ({:g}) %BW, Hart 2019")}
"""What lies on an axis -> its row of ``measured.toml`` (mean, standard deviation), words with source."""
NOTE = "Static teaching model; not for diagnosis, nor for choosing, fitting or dosing a walking aid."


def write_chart(sweep: Sweep, title: str, person: str, path: Path) -> Path:
    """Write a sweep as a picture or a table, by the file's suffix."""
    check_space(path.parent)
    with written_whole(path) as temporary:
        if path.suffix.lower() == ".csv":
            _write_csv(sweep, temporary)
        else:
            _draw(sweep, title, person, temporary, path.suffix.lower())
    return path


def _write_csv(sweep: Sweep, path: Path) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        if sweep.y is None:
            writer.writerow([AXES[sweep.x_word], sweep.words])
            writer.writerows((f"{x:.6g}", _cell(v)) for x, v in zip(sweep.x, sweep.values, strict=True))
            return
        writer.writerow([AXES[sweep.x_word], AXES[sweep.y_word], sweep.words])
        for y, row in zip(sweep.y, sweep.values, strict=True):
            writer.writerows((f"{x:.6g}", f"{y:.6g}", _cell(v)) for x, v in zip(sweep.x, row, strict=True))


def _cell(value: float) -> str:
    return "" if np.isnan(value) else f"{value:.6g}"


def _draw(sweep: Sweep, title: str, person: str, path: Path, suffix: str) -> None:
    colours = palette("light")
    for weight in WEIGHTS:
        font_manager.fontManager.addfont(str(INTER.file(weight)))
    figure = Figure(figsize=(9.6, 6.4), dpi=150, facecolor=colours["paper_top"])
    axes: Any = figure.add_axes((0.10, 0.19, 0.85, 0.63), facecolor=colours["card"])
    (_curve if sweep.y is None else _map)(axes, sweep, colours)
    style: dict[str, Any] = {"family": INTER.name, "color": colours["ink"]}
    axes.set_xlabel(AXES[sweep.x_word], fontsize=13, **style)
    axes.set_ylabel(AXES[sweep.y_word] if sweep.y is not None else sweep.words, fontsize=13, **style)
    for label in (*axes.get_xticklabels(), *axes.get_yticklabels()):
        label.set_fontfamily(INTER.name)
        label.set_fontsize(12)
        label.set_color(colours["ink"])
    for spine in axes.spines.values():
        spine.set_color(colours["card_line"])
    axes.tick_params(color=colours["card_line"])
    heading = title if sweep.y is None else f"{title}: {sweep.words}"
    figure.text(0.10, 0.925, heading, fontsize=19, weight="bold", **style)
    figure.text(0.10, 0.868, person, fontsize=12, family=INTER.name, color=colours["soft"])
    if bool(np.isnan(sweep.values).any()):
        blank = "Blank: the hand does not reach the cane there, or the body would fall."
        figure.text(0.10, 0.085, blank, fontsize=10.5, family=INTER.name, color=colours["ink"])
    figure.text(0.10, 0.045, NOTE, fontsize=10.5, family=INTER.name, color=colours["soft"])
    if suffix == ".png":
        FigureCanvasAgg(figure).print_png(str(path), metadata={"Software": "viz3d"})
    else:
        FigureCanvasSVG(figure).print_svg(str(path), metadata={"Date": None, "Creator": "viz3d"})


def _curve(axes: Any, sweep: Sweep, colours: dict[str, str]) -> None:
    axes.grid(color=colours["card_line"], linewidth=0.6)
    axes.plot(sweep.x, sweep.values, color=colours["joint"], linewidth=2.6, zorder=3)
    axes.set_xlim(float(sweep.x[0]), float(sweep.x[-1]))
    if sweep.output.endswith(("bw", "MPa", "cm")):
        axes.set_ylim(0.0, float(np.nanmax(sweep.values)) * 1.08)
    least = int(np.nanargmin(sweep.values))
    if 0 < least < len(sweep.x) - 1:
        x, y = float(sweep.x[least]), float(sweep.values[least])
        axes.plot([x], [y], "o", color=colours["ink"], markersize=7, zorder=4)
        text = f"least: {y:.2f} at {x:.1f}"
        side = "right" if least > 0.8 * len(sweep.x) else "left" if least < 0.2 * len(sweep.x) else "center"
        axes.annotate(text, (x, y), (0, -22), textcoords="offset points", ha=side, family=INTER.name, fontsize=12)
    if sweep.x_word in MEASURED:
        name, words = MEASURED[sweep.x_word]
        mean, deviation = load_values("viz3d.output", "measured.toml")[name]
        axes.axvspan(mean - deviation, mean + deviation, color=colours["hand"], alpha=0.10, linewidth=0)
        axes.axvline(mean, color=colours["hand"], linewidth=1.4, linestyle=(0, (5, 4)))
        axes.text(
            mean + deviation,
            axes.get_ylim()[1] * 0.955,
            f" {words.format(mean, deviation)}",
            family=INTER.name,
            fontsize=11,
            color=colours["hand"],
        )


def _map(axes: Any, sweep: Sweep, colours: dict[str, str]) -> None:
    shades = ["#EDE6D6", colours["shell_fill"], "#B9AFC9", colours["joint"]]
    from matplotlib.colors import LinearSegmentedColormap

    tones = LinearSegmentedColormap.from_list("loads", shades)
    filled = axes.contourf(sweep.x, sweep.y, sweep.values, levels=14, cmap=tones)
    lines = axes.contour(
        sweep.x, sweep.y, sweep.values, levels=filled.levels[::2], colors=colours["ink"], linewidths=0.8
    )
    for label in axes.clabel(lines, fmt="%.2f", fontsize=11):
        label.set_fontfamily(INTER.name)
