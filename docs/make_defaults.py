"""Write defaults.md: every sourced constant of the package, generated from its tables.

.venv/bin/python docs/make_defaults.py
"""

from __future__ import annotations

from pathlib import Path

from viz3d.body.person import ABDUCTOR_LINE
from viz3d.tables import constant_tables, load_rows

TITLES = {
    "geometry.toml": "Hip geometry and strength",
    "spread.toml": "How much people differ",
    "hip_centre.toml": "Hip centres from the width of the pelvis",
    "socket.toml": "The socket's surface",
    "posture.toml": "Posture and cane fitting",
    "lengths.toml": "Joint positions",
    "muscles.toml": "Muscle set",
    "segments.toml": "Segments",
    "model.toml": "Sharing a moment among muscles",
    "limits.toml": "What is refused",
    "drawn.toml": "The drawn person",
    "measured.toml": "Measured values drawn beside ours",
    "fitting.toml": "The estimate of a cane's length",
    "evidence.toml": "Measured values told beside an explanation",
}
"""The page's sections, in order; a table that is not named here comes last, under its file's name."""


def tables() -> list[tuple[str, str, str]]:
    """Title, package and file of every constants table, in the page's order."""
    order = list(TITLES)
    found = sorted(constant_tables(), key=lambda t: order.index(t[1]) if t[1] in order else len(order))
    return [(TITLES.get(name, name), package, name) for package, name in found]


def page() -> str:
    """The whole page as Markdown."""
    lines = [
        "# Every default and its source",
        "",
        "Generated from the tables beside the code by `docs/make_defaults.py`. None was chosen to reach a joint force.",
        "The abductors' line and lever arm are not constants: they follow from named points on the bones",
        "(`viz3d/body/tables/landmarks.toml`): the area centroid of gluteus medius' origin between the gluteal lines and",
        "the crest, and the facets of the greater trochanter where it inserts. This is the most influential input:",
        f"{ABDUCTOR_LINE.partition('; ')[2]}.",
    ]
    for title, package, name in tables():
        lines += [
            "",
            f"## {title}",
            "",
            "| name | value | unit | meaning | status | source |",
            "| --- | --- | --- | --- | --- | --- |",
        ]
        for row in load_rows(package, name).values():
            source = ", ".join(text for text in (row.source, row.where) if text)
            lines.append(f"| {row.name} | {row.value} | {row.unit} | {row.meaning} | {row.status} | {source} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    Path(__file__).with_name("defaults.md").write_text(page(), encoding="utf-8")
