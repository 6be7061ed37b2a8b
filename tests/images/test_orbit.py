"""The desktop window, drawn off-screen: everything in it stands where the solution says."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.output import gl
from viz3d.output.orbit import LAYERS, VIEWS, Orbit, make_orbit
from viz3d.output.solid_arrows import METRES_PER_WEIGHT, POINT
from viz3d.scene.reader import load_scene
from viz3d.solution.script import solve_scene


@pytest.fixture(scope="module")
def orbit() -> Iterator[Orbit]:
    gl.require()
    made = make_orbit(load_scene("cane-opposite-hand"), "x", off_screen=True)
    yield made
    made.plotter.close()


def test_bones_and_arrows_follow_the_timeline(orbit: Orbit) -> None:
    plan = orbit.plan
    for index in (0, len(plan) // 2, len(plan) - 1):
        orbit.show(index)
        for shape, actor, _ in orbit.parts:
            link = shape.link if shape.link in plan.frames else f"{shape.side}_{shape.link}"
            assert np.allclose(actor.user_matrix, plan.frames[link][index])
        for key in ("weight", "muscle", "joint"):
            rod, cone = orbit.arrows[key]
            arrow = plan.arrow(key)
            tail = np.array(rod.user_matrix)[:3, 3]
            tip = (np.array(cone.user_matrix) @ [0.0, POINT, 0.0, 1.0])[:3]
            force = arrow.force[index] / plan.body_weight * METRES_PER_WEIGHT
            assert tip - tail == pytest.approx(force, abs=1e-6)
            assert (tip if arrow.holds == "tip" else tail) == pytest.approx(arrow.point[index], abs=1e-6)


def test_the_readout_is_the_solvers(orbit: Orbit) -> None:
    scene = load_scene("cane-opposite-hand")
    orbit.show(len(orbit.plan) - 1)
    assert f"Joint force on the socket: {solve_scene(scene).joint_bw[1]:.2f} BW" in orbit.lines()
    assert "Pressed with 15 % of body weight" in orbit.lines()[1]


def test_layers_and_views_change_the_picture(orbit: Orbit) -> None:
    orbit.plotter.show(auto_close=False)
    orbit.look("front")
    whole = orbit.plotter.screenshot(return_img=True).astype(int)
    for layer in LAYERS.values():
        orbit.look("joint" if layer == "pressure" else "front")
        orbit.plotter.render()
        before = orbit.plotter.screenshot(return_img=True).astype(int)
        orbit.toggle(layer)
        orbit.plotter.render()
        changed = np.abs(orbit.plotter.screenshot(return_img=True).astype(int) - before).mean()
        assert changed > 0.003, layer
        orbit.toggle(layer)
    for view in VIEWS.values():
        orbit.look(view)
        orbit.plotter.render()
        assert orbit.plotter.screenshot(return_img=True).std() > 10
    orbit.look("front")
    orbit.plotter.render()
    assert np.abs(orbit.plotter.screenshot(return_img=True).astype(int) - whole).mean() < 0.5


def test_without_a_display_it_says_what_else_works(run: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    ran = run("orbit", "level-stance")
    assert ran.code == 1
    assert ran.err.strip() == (
        "viz3d: there is no display for a window here; 'viz3d live' or 'viz3d page' show it in a browser"
    )
