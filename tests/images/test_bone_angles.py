"""What a step changes about the thigh bone is seen: the neck's angle with its size, and a stem under its arrow."""

from __future__ import annotations

import numpy as np
import pytest

from tests.images.conftest import sheet_of
from viz3d.body.landmarks import femur_landmark
from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Shape2D, Stroke, Words
from viz3d.stage.figure import SHAFT
from viz3d.stage.sheets import lay_out

PLAIN = ("picture.muscles=none",)


@pytest.mark.parametrize("step", [1, 2])
def test_a_neck_that_steps_change_is_drawn_with_its_angle(step: int) -> None:
    """Between the neck's and the shaft's axes in space, on the bone that no arrow covers, named at its arc."""
    scene = load_scene("neck-angles", PLAIN)
    shot, row = Script(scene).shot_at(step)
    sheet = lay_out(shot.scene, shot.solved, (1920, 1080))
    neck, angle = sheet.plan.neck, float(shot.body.hip("right").neck_shaft_angle[0])
    assert neck is not None
    out, down = neck.lines[row].ends - neck.lines[row].corner
    assert np.arccos(out @ down / np.linalg.norm(out) / np.linalg.norm(down)) == pytest.approx(angle, abs=1e-6)
    assert neck.lines[row].corner[2] > shot.solved.posed.joints["middle_hip"][row, 2] + 0.08
    drawing = sheet.drawing(row)
    told = {m.text for m in drawing.over if isinstance(m, Words) and m.role == "neck_angle"}
    tip = float(shot.body.hip("right").trochanter_height[0])
    where = f"tip {abs(tip) * 1000:.0f} mm {'above' if tip > 0 else 'below'} head centre"
    assert told == {"Neck-shaft angle, both hips", f"{np.degrees(angle):.0f}°", where, "square to the shaft"}
    levels = neck.levels[row]
    assert (levels[2, 1] - levels[2, 0]) @ (-down / np.linalg.norm(down)) == pytest.approx(tip, abs=1e-6)
    assert levels[0, 0] == pytest.approx(shot.solved.posed.joints["right_hip"][row], abs=1e-6)
    mark = femur_landmark("trochanter_tip", shot.body, shot.body.hip("right"))[0]
    frame = shot.solved.posed.frames["right_thigh"][row]
    assert levels[1, 0] == pytest.approx(frame[:3, :3] @ mark + frame[:3, 3], abs=1e-9)
    middle = sheet.camera.project(neck.lines[row].middle)
    ends = [m.points[-1] for m in drawing.over if isinstance(m, Stroke) and m.role == "leader"]
    assert min(np.hypot(*(end - middle)) for end in ends) < 2.0


def test_no_angle_is_drawn_where_none_changes_or_none_is_seen_square() -> None:
    assert compose(*_solved("level-stance")).neck is None
    sheet = sheet_of("neck-angles", "picture.view=side", *PLAIN)
    assert sheet.plan.neck is not None
    assert not [m for m in sheet.drawing(0).over if isinstance(m, Words) and m.role == "neck_angle"]


def _solved(name: str) -> tuple:
    shot, _ = Script(load_scene(name, PLAIN)).shot_at(0)
    return shot.scene, shot.solved


def test_a_stem_is_seen_through_its_arrow_which_keeps_its_length() -> None:
    shot, row = Script(load_scene("replacement-hip", PLAIN)).shot_at(1)
    sheet = lay_out(shot.scene, shot.solved, (1920, 1080))
    (arrow,) = [m for m in sheet.drawing(row).over if isinstance(m, Shape2D) and m.role == "joint"]
    tail, tip = sheet.arrow_ends("joint", row)
    way = (tip - tail) / np.hypot(*(tip - tail))
    assert arrow.opacity < 0.6
    assert np.ptp(arrow.points @ way) == pytest.approx(np.hypot(*(tip - tail)), abs=0.5)
    shaft = np.abs((arrow.points - tail) @ [-way[1], way[0]])[
        (arrow.points - tail) @ way < 0.7 * np.hypot(*(tip - tail))
    ]
    assert 2 * shaft.max() < 0.9 * SHAFT["joint"] * sheet.u
    own = sheet_of("level-stance", *PLAIN)
    assert [m.opacity for m in own.drawing(0).over if isinstance(m, Shape2D) and m.role == "joint"] == [1.0]
