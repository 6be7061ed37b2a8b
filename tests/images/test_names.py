"""Names on muscles: the hardest-working have one with their share of the force, and it points at the muscle it names."""

from __future__ import annotations

import numpy as np
import pytest

from tests.images.conftest import sheet_of
from viz3d.body.muscles import muscle_lines
from viz3d.output.figures import figure_of
from viz3d.output.outline import _look
from viz3d.output.solids import view_solids
from viz3d.output.views import sheet_views
from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.drawing import Shape2D, Words
from viz3d.stage.effort import effort_colour
from viz3d.stage.leaders import met, path, sampled
from viz3d.stage.palette import hexed
from viz3d.stage.plan import Named

LONG = pytest.mark.long
VIEWS = ["front", "side", pytest.param("back", marks=LONG), pytest.param("three-quarter", marks=LONG)]
SMALL = "picture.size=1280x720"
NAMES = [line.name for line in muscle_lines()]


@pytest.mark.parametrize("view", VIEWS)
def test_each_leader_ends_on_the_muscle_it_names(view: str) -> None:
    sheet = sheet_of("muscle-set", f"picture.view={view}", SMALL)
    body = Script(load_scene("muscle-set", ())).shots()[0].body
    main = sheet_views(sheet)[0]
    solids = view_solids(sheet, figure_of(sheet.plan, body), main, 0)
    look = _look(main, sheet.camera, solids)
    named = [key for key in sheet.names if key in sheet.leaders]
    assert "gluteus_medius" in named
    for key in named:
        one = sheet.names[key][0]
        column, row = np.floor(look.grid.of_page(path(sheet.leaders[key], *sheet._span(one, 0))[-1])).astype(int)
        assert solids[look.solid[row, column]].name == key


@pytest.mark.parametrize("view", ["front", "back", "side", "three-quarter"])
def test_no_leader_of_a_name_crosses_an_arrow_a_lever_or_an_arc(view: str) -> None:
    sheet = sheet_of("muscle-set", f"picture.view={view}", SMALL)
    lines = list(sheet._spans(np.array([0])).values())
    for key, (one, _) in sheet.names.items():
        if key in sheet.leaders:
            points = sampled(path(sheet.leaders[key], *sheet._span(one, 0)))
            assert met(points[None], lines, 4.0 * sheet.u) == 0.0, key


def test_names_say_each_muscles_share_of_all_force_the_largest_first() -> None:
    sheet = sheet_of("muscle-set", SMALL)
    solved = Script(load_scene("muscle-set", ())).shots()[0].solved
    force = np.nan_to_num(solved.load.muscles.shared.force[0])
    shares = [one.values[0][0].value for one in sheet.plan.named]
    assert shares == sorted(shares, reverse=True)
    assert min(shares) >= 0.08
    medius = force[[k for k, n in enumerate(NAMES) if n.startswith("gluteus_medius")]].sum() / force.sum()
    assert dict(zip([n.key for n in sheet.plan.named], shares, strict=True))["gluteus_medius"] == pytest.approx(medius)
    told = {w.text for w in sheet.drawing(0).over if isinstance(w, Words)}
    assert {"Gluteus medius", f"{100 * medius:.0f} %"} <= told


def test_the_key_has_the_colours_of_the_bellies() -> None:
    sheet = sheet_of("muscle-set", SMALL)
    fills = [m.fill for m in sheet.drawing(0).over if isinstance(m, Shape2D) and m.role == "effort"]
    assert fills[0] == hexed(effort_colour(0.5 / len(fills), sheet.colours))
    assert fills[-1] == hexed(effort_colour(1.0 - 0.5 / len(fills), sheet.colours))


@pytest.mark.parametrize(
    "changes", [("model.muscles=equivalent",), ("picture.dress=patient",), ("picture.muscles=none",)]
)
def test_nothing_is_named_where_no_muscle_of_a_set_is_seen(changes: tuple[str, ...]) -> None:
    sheet = sheet_of("muscle-set", SMALL, *changes)
    assert not any(isinstance(item, Named) for item in sheet._placed_items())
    assert not [m for m in sheet.drawing(0).over if isinstance(m, Shape2D) and m.role == "effort"]
