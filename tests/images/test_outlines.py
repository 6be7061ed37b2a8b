"""Outlines for print against the pixels: each bone covers what the picture shows of it, and nothing lies before what is nearer."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from skimage.draw import polygon

from tests.images.conftest import VIEWS, in_turn, sheet_of
from viz3d.output.figures import figure_of
from viz3d.output.outline import Patch, sheet_patches
from viz3d.output.solids import PlainSolid, view_solids
from viz3d.output.trace import outlines, softened, thinned
from viz3d.output.views import MAIN, camera_at, sheet_views
from viz3d.output.visible import FineGrid, covered, seen
from viz3d.output.window import OVER, View, Window
from viz3d.scene.reader import load_scene
from viz3d.shapes.surface import Surface
from viz3d.solution.inputs import body_of
from viz3d.stage.drawing import Box
from viz3d.stage.layout import Sheet
from viz3d.stage.theme import role_distances

LEAST = 0.97
LARGE = 12_000
"""A bone that shows at least so many points, 3000 pixels, is looked at."""


def drawn_regions(sheet: Sheet, view: View, solids: list[PlainSolid], i: int) -> np.ndarray:
    """Index of the solid at each point of a grid twice as fine as the picture, as its meshes are drawn; -1 for none."""
    camera, box = camera_at(sheet, view, i), view.box
    twice = dataclasses.replace(camera, at=(OVER * camera.at[0], OVER * camera.at[1]), scale=OVER * camera.scale)
    whole = Box(*(OVER * v for v in (box.left, box.top, box.right, box.bottom)))
    window = Window((OVER * sheet.width, OVER * sheet.height), [View(view.name, whole, twice)], 1)
    try:
        window.plotter.ren_win.SetMultiSamples(0)
        for k, solid in enumerate(solids):
            count = len(solid.points)
            surface = Surface(solid.points, solid.triangles, np.tile([0.0, 0.0, 1.0], (count, 1)), np.ones(count))
            actor, _ = window.add_surface(
                0, surface, np.tile(np.array([[4 * (k + 1), 0, 0]], dtype=np.uint8), (count, 1))
            )
            own = actor.GetProperty()
            own.LightingOff()
            own.SetAmbient(1.0)
            own.SetDiffuse(0.0)
        window.draw()
        pixels = window.part(0).astype(int)
    finally:
        window.close()
    return np.where(pixels[..., 3] > 0, (pixels[..., 0] + 2) // 4 - 1, -1)


def patch_regions(view: View, solids: list[PlainSolid], patches: list[Patch]) -> np.ndarray:
    """The same of the patches, painted one after the other by the even-odd rule."""
    corner = np.array([view.box.left, view.box.top])
    columns, rows = (OVER * np.array([view.box.right, view.box.bottom]) - OVER * corner).astype(int)
    out = np.full((rows, columns), -1)
    names = [s.name for s in solids]
    for patch in patches:
        if patch.solid not in names:
            continue
        inside = np.zeros(out.shape, dtype=bool)
        for path in patch.paths:
            x, y = ((path - corner) * OVER - 0.5).T
            inside[polygon(y, x, out.shape)] ^= True
        out[inside] = names.index(patch.solid)
    return out


def overlaps(scene: str, *changes: str) -> dict[str, float]:
    """Overlap over union of the two, for each bone that shows much of itself in the main view."""
    sheet = sheet_of(scene, *changes)
    figure = figure_of(sheet.plan, body_of(load_scene(scene, changes)))
    main = sheet_views(sheet)[0]
    solids = view_solids(sheet, figure, main, 0)
    drawn = drawn_regions(sheet, main, solids, 0)
    (patches,) = (some for view, some in sheet_patches(sheet, figure, 0) if view.name == main.name)
    traced = patch_regions(main, solids, patches)
    out = {}
    for k, solid in enumerate(solids):
        here, there = drawn == k, traced == k
        if here.sum() >= LARGE and solid.name in figure.shapes:
            out[solid.name] = float((here & there).sum() / (here | there).sum())
    return out


@pytest.mark.parametrize(
    ("scene", "view"), in_turn([(scene, view) for scene in ("level-stance", "muscle-set") for view in VIEWS], 10)
)
def test_each_bone_covers_what_the_picture_shows_of_it(scene: str, view: str) -> None:
    shares = overlaps(scene, f"picture.view={view}")
    assert len(shares) >= 3, shares
    assert min(shares.values()) > LEAST, shares


@pytest.mark.parametrize(
    ("scene", "backdrop"),
    in_turn([(s, b) for s in ("cane-opposite-hand", "muscle-set") for b in ("light", "dark", "print")], 2),
)
def test_the_peak_of_pressure_has_the_legends_colour(scene: str, backdrop: str) -> None:
    changes = ("picture.view=joint", f"picture.backdrop={backdrop}")
    sheet = sheet_of(scene, *changes)
    figure = figure_of(sheet.plan, body_of(load_scene(scene, changes)))
    last = len(sheet.plan.pressure.peak) - 1
    wanted = sheet.theme.pressure(np.array([sheet.plan.pressure.peak[last]]))[0]
    (patches,) = (some for view, some in sheet_patches(sheet, figure, last) if view.name == MAIN)
    owners = np.cumsum([bool(p.solid) for p in patches])
    start = next(k for k, p in enumerate(patches) if p.solid == f"{sheet.stance_side} pelvis/lunate")
    highest = [p.fill for p, owner in zip(patches, owners, strict=True) if owner == owners[start]][-1]
    legend = "#" + "".join(f"{round(255 * v):02X}" for v in wanted)
    assert role_distances(highest, legend)["normal"] < 5.0, (highest, legend)


def cube(middle: tuple[float, float, float], size: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners (8, 3) and triangles (12, 3) of a cube that faces outward."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    faces = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    triangles = [t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))]
    return (corners - 0.5) * size + np.array(middle), np.array(triangles, dtype=np.int32)


def on_page(points: np.ndarray) -> np.ndarray:
    """Seen along z from in front: x to the right, y up, the page's y down."""
    return np.stack([points[:, 0], -points[:, 1]], axis=-1)


def test_the_nearer_solid_is_seen_and_fields_run_evenly() -> None:
    grid = FineGrid(np.array([-10.0, -10.0]), 2.0, (40, 40))
    (far, triangles), (near, _) = cube((0.0, 0.0, 0.0), 10.0), cube((4.0, 0.0, 20.0), 6.0)
    look = seen(grid, [(on_page(p), p[:, 2], triangles) for p in (near, far)])
    assert (look.solid == 0).sum() == 12 * 12
    assert (look.solid == 1).sum() == 20 * 20 - 8 * 12  # two thirds of the near one lie over the far one
    everywhere = (slice(0, 40), slice(0, 40))
    across = look.field(far[:, 0], everywhere, 1)
    x = np.tile((np.arange(40) + 0.5) / 2.0 - 10.0, (40, 1))
    assert np.abs((across - x)[look.solid == 1]).max() < 1e-9
    assert (across[look.solid != 1] == 0).all()
    depth, slope = look.depths(everywhere, 0)
    assert np.abs(depth[look.solid == 0] - 23.0).max() < 1e-9
    assert np.abs(slope).max() < 1e-9
    assert covered(grid, on_page(far), triangles).sum() == 20 * 20


def test_nothing_in_view_is_nothing() -> None:
    grid = FineGrid(np.zeros(2), 2.0, (10, 10))
    points, triangles = cube((100.0, 0.0, 0.0), 1.0)
    assert (seen(grid, [(on_page(points), points[:, 2], triangles)]).solid == -1).all()
    assert (seen(grid, []).triangle == -1).all()
    assert outlines(np.zeros((10, 10)), 0.5, grid) == []


def test_outlines_keep_holes_and_are_where_the_area_is() -> None:
    grid = FineGrid(np.array([5.0, 7.0]), 2.0, (200, 200))
    row, column = np.mgrid[:200, :200]
    far = np.hypot(row - 99.5, column - 99.5)
    ring = outlines(softened((far < 80) & (far > 30)), 0.5, grid)
    assert len(ring) == 2
    for line, radius in zip(sorted(ring, key=lambda p: -np.ptp(p[:, 0])), (40.0, 15.0), strict=True):
        assert np.abs(np.linalg.norm(line - [55.0, 57.0], axis=1) - radius).max() < 0.35
        assert len(line) < 2.0 * np.pi * radius


def test_thinned_lines_stay_where_they_were() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 2000, endpoint=False)
    circle = 50.0 * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    square = np.array(
        [[0.0, 0], [1, 0], [2, 0], [3, 0], [3, 1], [3, 2], [3, 3], [2, 3], [1, 3], [0, 3], [0, 2], [0, 1]]
    )
    few, corners = thinned([circle, square])
    assert len(few) < 300
    middles = (few + np.roll(few, -1, axis=0)) / 2
    assert np.abs(np.linalg.norm(middles, axis=1) - 50.0).max() < 0.15
    for corner in ([0, 0], [3, 0], [3, 3], [0, 3]):
        assert (corners == corner).all(axis=1).any()
