"""``viz3d solve``: the numbers of one or several scenes."""

from __future__ import annotations

import csv
import io
import json
from typing import Annotated, Any

import typer

from viz3d.cli.options import Changes, Language, SceneNames, spoken
from viz3d.cli.say import say
from viz3d.echo import cell


def solve(
    scene: SceneNames,
    changes: Changes = None,
    language: Language = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON: one object, or an array for several scenes.")
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV, one row per situation.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Print the rows only, and what they are not for.")] = False,
) -> None:
    """Solve scenes and print what the hip carries at each step."""
    from pathlib import Path

    from viz3d.errors import InputError
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.solution.records import scene_record
    from viz3d.solution.script import Script
    from viz3d.stage.compose import compose

    given = [o for o, on in (("--json", as_json), ("--csv", as_csv), ("--brief", brief)) if on]
    if len(given) > 1:
        raise InputError(f"choose one of {' and '.join(given)}")
    records = []
    for name in scene:
        loaded = load_scene(name, spoken(changes, language))
        shots = Script(loaded, str(find_scene(name))).shots()
        record = scene_record(Path(name).stem, loaded, shots)
        plans = [compose(shot.scene, shot.solved, bodies=False) for shot in shots]
        for k, situation in enumerate(record["situations"]):
            situation["shown"] = next(
                p.shown(x.row(k), loaded.picture.voice) for p, x in zip(plans, shots, strict=True) if k in x.rows
            )
        records.append((loaded, record))
    if as_json:
        answers = [r for _, r in records]
        print(json.dumps(answers[0] if len(answers) == 1 else answers, indent=2, allow_nan=False))
    elif as_csv:
        say(_csv([r for _, r in records]).rstrip("\n"))
    else:
        from viz3d.cli.table import print_table

        for loaded, record in records:
            print_table(loaded.title, record, loaded.picture.voice, brief)


def _csv(records: list[dict[str, Any]]) -> str:
    rows = [
        {k: cell(v) for k, v in {"scene": r["scene"], **_flat(s)}.items()} for r in records for s in r["situations"]
    ]
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _flat(situation: dict[str, Any]) -> dict[str, Any]:
    """A situation with one value per field; missing values are empty."""
    left_out = (
        "reasons",
        "joint_on_socket_N",
        "joint_on_head_N",
        "assumed",
        "muscles",
        "sagittal",
        "horseshoe",
        "shown",
        "person",
    )
    row = {k: "" if v is None else cell(v) for k, v in situation.items() if k not in left_out}
    if situation["shortfall"]:
        row["shortfall"] = f"{situation['shortfall']['value']:.6g} {situation['shortfall']['unit']}"
    return row
