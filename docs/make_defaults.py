"""Write defaults.md: every sourced constant of the package, generated from its tables.

.venv/bin/python docs/make_defaults.py
"""

from __future__ import annotations

from pathlib import Path

from viz3d.body.person import ABDUCTOR_LINE
from viz3d.tables import load_rows

TABLES = {
    "Hip geometry and strength": ("viz3d.body.tables", "geometry.toml"),
    "How much people differ": ("viz3d.body.tables", "spread.toml"),
    "Posture and cane fitting": ("viz3d.kinematics", "posture.toml"),
    "Joint positions": ("viz3d.body.tables", "lengths.toml"),
    "Muscle set": ("viz3d.body.tables", "muscles.toml"),
    "Segments": ("viz3d.body.tables", "segments.toml"),
}


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
    for title, (package, name) in TABLES.items():
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
