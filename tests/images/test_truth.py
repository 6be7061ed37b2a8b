"""What a picture shows is what was solved: measured on painted pixels, in every view and theme."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import pytest

from tests.images.conftest import (
    SCENES,
    SIX,
    VIEWS,
    WIDE,
    coverage,
    in_turn,
    painted_length,
    scenes,
    sheet_of,
    touches,
)  # fmt: skip
from viz3d.errors import InputError
from viz3d.output.views import camera_at, sheet_views
from viz3d.scene.reader import load_scene
from viz3d.solution.script import solve_scene
from viz3d.stage.canvas import Canvas
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Shape2D, Stroke, Words
from viz3d.stage.figure import FigureOnPage
from viz3d.stage.layout import Sheet
from viz3d.stage.panels import Situation
from viz3d.stage.polygon import head_to_tail
from viz3d.stage.sheets import lay_out
from viz3d.stage.theme import usual_theme
from viz3d.stage.type import text_width
from viz3d.words.voice import USUAL


def check_arrows(figure: FigureOnPage, size: tuple[int, int], i: int) -> int:
    """Every arrow's painted length against force x scale x foreshortening; how many were measured."""
    found = [m for m in figure.forces(i) if isinstance(m, Shape2D) and m.role in {a.role for a in figure.arrows()}]
    shown = [a for a in figure.arrows() if np.hypot(*(np.subtract(*figure.arrow_ends(a, i)))) >= 2.0 * figure.u]
    assert len(found) == len(shown)
    for shape, arrow in zip(found, shown, strict=True):
        across = np.array([arrow.force[i] @ figure.camera.right, -(arrow.force[i] @ figure.camera.up)])
        expected = float(np.hypot(*across)) * figure.per_newton
        measured = painted_length(size, shape, across / np.hypot(*across))
        assert measured == pytest.approx(expected, abs=max(0.01 * expected, 2.0)), arrow.key
    return len(found)


@pytest.mark.long
def test_six_scenes_hold_every_kind_of_mark() -> None:
    """What the other scenes add to the six is nothing that could be drawn in a way of its own."""

    def kinds(names: Sequence[str]) -> set[tuple[str, str]]:
        plans = [sheet_of(n).plan for n in names]
        arrows = {("arrow", f"{a.role} {a.holds}") for p in plans for a in p.arrows}
        return (
            arrows
            | {("lever", d.key) for p in plans for d in p.dimensions}
            | {("aid", a) for p in plans for a in p.aids.values()}
        )

    assert kinds(SIX) == kinds(SCENES)


@scenes
@pytest.mark.parametrize("view", ["front", "back", "three-quarter", "side"], scope="module")
def test_every_arrow_is_as_long_as_its_force(name: str, view: str) -> None:
    sheet = sheet_of(name, f"picture.view={view}")
    assert check_arrows(sheet.figure, sheet.size, len(sheet.plan) - 1) >= 2


@pytest.mark.parametrize("backdrop", ["dark", "print"])
def test_arrows_in_other_themes(backdrop: str) -> None:
    sheet = sheet_of("cane-opposite-hand", f"picture.backdrop={backdrop}")
    assert check_arrows(sheet.figure, sheet.size, 1) == 4


@pytest.mark.parametrize("name", ["cane-opposite-hand", "walking-frame", "bag-sides"])
def test_free_body_uses_one_smaller_scale(name: str) -> None:
    """In the pelvis-alone card every arrow keeps its ratio to its force, and its place about the hip."""
    sheet = sheet_of(name, 'picture.insets=["free body", "forces"]')
    free, i = sheet.insets.free, len(sheet.plan) - 1
    assert check_arrows(free, sheet.size, i) >= 3
    ratio = free.per_newton / sheet.per_weight
    assert free.camera.scale / sheet.camera.scale == pytest.approx(ratio)
    box = sheet.cards.boxes["free body"]
    for arrow in free.arrows():
        for end in free.arrow_ends(arrow, i):
            assert box.left < end[0] < box.right
            assert box.top < end[1] < box.bottom


@scenes
def test_polygon_closes_on_the_page(name: str) -> None:
    """Head to tail, the last tip within 2 px of the first tail, and each side as its arrow; painted sides measured."""
    sheet = sheet_of(name, *WIDE)
    for i in range(len(sheet.plan)):
        sides = sheet.insets.polygon(i)
        assert list(sides) == head_to_tail(sides)
        ends = list(sides.values())
        for (_, tip), (tail, _) in itertools.pairwise(ends):
            assert np.hypot(*(tip - tail)) < 1e-9
        assert np.hypot(*(ends[-1][1] - ends[0][0])) < 2.0
    last = len(sheet.plan) - 1
    shapes = {
        m.role.removeprefix("polygon "): m
        for m in sheet.drawing(last).over
        if isinstance(m, Shape2D) and "polygon" in m.role
    }
    for key, (tail, tip) in sheet.insets.polygon(last).items():
        span = tip - tail
        if np.hypot(*span) > 4:
            measured = painted_length(sheet.size, shapes[key], span / np.hypot(*span))
            assert measured == pytest.approx(np.hypot(*span), abs=max(0.01 * np.hypot(*span), 2.0))


@pytest.mark.parametrize(("name", "view"), in_turn([(n, v) for n in SIX for v in VIEWS], 2), scope="module")
def test_labels_touch_no_arrow_and_not_the_joint(name: str, view: str) -> None:
    """Every thirteenth frame of every film; all of them in the long tier."""
    assert check_labels(sheet_of(name, f"picture.view={view}", film=True), 13) > 8


@pytest.mark.long
@scenes
@pytest.mark.parametrize("backdrop", ["light", "print"])
@pytest.mark.parametrize("view", VIEWS)
def test_labels_touch_no_arrow_in_any_frame(name: str, view: str, backdrop: str) -> None:
    changes = (f"picture.view={view}", f"picture.backdrop={backdrop}")
    assert check_labels(sheet_of(name, *WIDE, *changes, film=True), 1) > 100


@pytest.mark.long
@scenes
@pytest.mark.parametrize("view", ["front", "back", "three-quarter", "side"])
@pytest.mark.parametrize("backdrop", ["light", "dark", "print"])
def test_every_arrow_of_every_gallery_picture(name: str, view: str, backdrop: str) -> None:
    sheet = sheet_of(name, f"picture.view={view}", f"picture.backdrop={backdrop}")
    for i in range(len(sheet.plan)):
        assert check_arrows(sheet.figure, sheet.size, i) >= 2


def check_labels(sheet: Sheet, every: int) -> int:
    """Label boxes clear of arrows, levers, the joint and each other, in one place in every so many frames; how many."""
    figure, first, met = sheet.figure, sheet.drawing(0).label_boxes, 0
    assert len(first) >= 2
    for i in range(0, len(sheet.plan), every):
        drawing = sheet.drawing(i)
        assert drawing.label_boxes == first
        boxes = list(drawing.label_boxes.items())
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert not one.overlaps(other), (a, b)
        roles = {x.role for x in sheet.plan.arrows} | {x.key for x in sheet.plan.dimensions}
        for mark in drawing.over:
            if isinstance(mark, (Shape2D, Stroke)) and mark.role in roles:
                met += 1
                for key, box in boxes:
                    assert not touches(mark.points, box), (i, key, mark.role)
        hip = figure.camera.project(sheet.plan.hip[i])
        for key, box in boxes:
            assert not (box.left - 8 < hip[0] < box.right + 8 and box.top - 8 < hip[1] < box.bottom + 8), key
            assert box.left > 0
            assert box.bottom < sheet.band.top
    assert met > 0
    return len(range(0, len(sheet.plan), every))


@scenes
def test_leaders_do_not_cross_the_joint(name: str) -> None:
    sheet = sheet_of(name, *WIDE)
    u = sheet.u
    for i in range(len(sheet.plan)):
        hip = sheet.camera.project(sheet.plan.hip[i])
        leaders = [m for m in sheet.drawing(i).over if isinstance(m, Stroke) and m.role == "leader"]
        assert len(leaders) >= 2
        for a, b in (ends for mark in leaders for ends in itertools.pairwise(mark.points)):
            share = np.clip((hip - a) @ (b - a) / max((b - a) @ (b - a), 1e-9), 0, 1)
            assert np.hypot(*(a + share * (b - a) - hip)) > 8.5 * u


@pytest.mark.parametrize("text", ["usual", "large"])
@scenes
def test_words_stay_on_the_page_and_apart(name: str, text: str) -> None:
    """Every word of the picture inside the page, none over another; large text is a quarter larger."""
    sheet = sheet_of(name, f"picture.text={text}")
    words = words_apart(sheet)
    least = min(w.size for w in words) / min(sheet.size)
    assert least >= 0.022 * (1.24 if text == "large" else 1.0)


@pytest.mark.parametrize("size", ["1080x1080", "1080x1920"])
@pytest.mark.parametrize("name", ["bag-sides", "cane-opposite-hand", "elbow-crutches"])
def test_large_words_fit_narrow_pages(name: str, size: str) -> None:
    """Where names beside the arrows leave no room they give way, never below the usual size."""
    scene = load_scene(name, ["picture.text=large", f"picture.size={size}"])
    sheet = lay_out(scene, solve_scene(scene), scene.picture.pixels)
    words = words_apart(sheet)
    assert min(w.size for w in words) / min(sheet.width, sheet.height) >= 0.022
    assert max(w.size for w in words if w.role) > 28 * sheet.u


def words_apart(sheet: Canvas) -> list[Words]:
    """The words of the last frame, all on the page and none over another."""
    words = [m for m in sheet.drawing(len(sheet.plan) - 1).over if isinstance(m, Words) and m.text]
    boxes = []
    for w in words:
        wide = text_width(w.text, w.size, w.weight)
        left = w.x - {"start": 0.0, "middle": wide / 2, "end": wide}[w.anchor]
        assert left >= 0, w.text
        assert left + wide <= sheet.width, w.text
        assert w.y <= sheet.height - 4, w.text
        boxes.append((left, w.y - 0.70 * w.size, left + wide, w.y + 0.05 * w.size, w.text))
    for a, b in itertools.combinations(boxes, 2):
        assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]), (a[4], b[4])
    return words


def test_layers_leave_everything_in_its_place() -> None:
    sheet = sheet_of("cane-opposite-hand")
    whole = sheet.drawing(1)
    few = sheet.showing(("bones", "weight", "joint")).drawing(1)
    assert set(few.arrows) == {"weight", "joint"}
    assert set(few.label_boxes) == {"weight", "joint"}
    for key, box in few.label_boxes.items():
        assert box == whole.label_boxes[key]
        assert np.array_equal(few.arrows[key], whole.arrows[key])
    texts = [m.text for m in few.over if isinstance(m, Words)]
    assert "1.34 BW" not in texts
    assert "Forces, head to tail" in texts


def test_joint_view_draws_the_head_out_and_names_the_peak() -> None:
    sheet = sheet_of("muscle-set", "picture.view=joint")
    side = sheet.stance_side
    moved = sheet.frame(f"{side}_thigh", 0)[:3, 3] - sheet.plan.frames[f"{side}_thigh"][0][:3, 3]
    assert np.linalg.norm(moved) > 0.05
    assert np.array_equal(sheet.frame("pelvis", 0), sheet.plan.frames["pelvis"][0])
    spot = sheet.plan.spots[0]
    body = solve_scene(load_scene("muscle-set"))
    away = np.linalg.norm(spot.point[0] - sheet.plan.hip[0])
    assert away == pytest.approx(float(body.hip.cartilage_radius.flat[0]), rel=1e-9)
    assert spot.values[0][0] == sheet.plan.pressure.peak_words[0]
    assert not any(isinstance(m, Stroke) and m.role.endswith("lever") for m in sheet.drawing(0).over)


@pytest.mark.parametrize("name", ["weight-shift", "leg-length", "cane-opposite-hand", "level-stance"])
def test_joint_view_keeps_its_marks_in_the_socket(name: str) -> None:
    """However the pelvis sways, ring, arrow tip and peak stay where the drawn socket is, in every frame."""
    sheet = sheet_of(name, "picture.view=joint", film=True)
    at = np.array([sheet.figure.project(sheet.plan.hip[i], i) for i in range(len(sheet.plan))])
    assert np.ptp(at, axis=0).max() < 1e-6
    view = sheet_views(sheet)[0]
    for i in (0, len(sheet.plan) - 1):
        drawn = camera_at(sheet, view, i).project(sheet.plan.hip[i])
        assert drawn == pytest.approx(at[i], abs=1e-6)
        tip = sheet.drawing(i).arrows["joint"][1]
        assert tip == pytest.approx(at[i], abs=1e-6)
        away = sheet.figure.project(sheet.plan.spots[0].point[i], i) - at[i]
        assert np.hypot(*away) < 0.03 * sheet.camera.scale


def test_forces_outside_the_window_slide_along_their_line() -> None:
    """The ground under the other foot, and a backpack: moved up or down to be seen, never sideways, never resized."""
    for key, asked in (("other_foot", ("leg-length",)), ("backpack", ("level-stance", "load.backpack=8 kg"))):
        sheet = sheet_of(*asked)
        i = len(sheet.plan) - 1
        arrow = sheet.plan.arrow(key)
        tail, tip = sheet.arrow_ends(key, i)
        there = sheet.camera.project(arrow.point[i])
        assert tail[0] == pytest.approx(there[0], abs=1e-9)
        assert np.hypot(*(tip - tail)) == pytest.approx(np.linalg.norm(arrow.force[i]) * sheet.per_weight)
        assert 170 < min(tail[1], tip[1]) < max(tail[1], tip[1]) < sheet.band.top


def test_a_lift_is_drawn_under_its_foot_to_scale() -> None:
    sheet = sheet_of("leg-length", "picture.frame=whole")
    i = len(sheet.plan) - 1
    marks = [m for m in sheet.drawing(i).over if isinstance(m, (Shape2D, Words)) and m.role == "lift"]
    (slab,), (words,) = [m for m in marks if isinstance(m, Shape2D)], [m for m in marks if isinstance(m, Words)]
    assert words.text == "15 mm"
    assert np.ptp(slab.points[:, 1]) == pytest.approx(0.015 * sheet.camera.scale)
    foot = sheet.camera.project(sheet.plan.frames["left_foot"][i, :3, 3])
    assert slab.points[:, 0].mean() == pytest.approx(foot[0])
    tail = sheet.arrow_ends("other_foot", i)[0]
    assert tail[1] == pytest.approx(slab.points[:, 1].max(), abs=2.0), "the other foot's force rises from the floor"


def test_the_curve_shows_the_solved_joint_force() -> None:
    """Heights on the curve card are proportional to the joint force; the dot is at this frame."""
    sheet = sheet_of("lean-over-hip", 'picture.insets=["curve", "figure"]', film=True)
    k = len(sheet.plan) // 2
    marks = {m.role: m for m in sheet.drawing(k).over if isinstance(m, (Stroke, Shape2D)) and "curve" in m.role}
    line, now = marks["curve"].points, marks["curve now"].points.mean(axis=0)
    assert now == pytest.approx(line[k], abs=1e-6)
    assert np.array_equal(marks["curve so far"].points, line[: k + 1])
    rise = line[:, 1].max() - line[:, 1]
    force = sheet.plan.joint_force - sheet.plan.joint_force.min()
    assert rise / rise.max() == pytest.approx(force / force.max(), abs=1e-6)
    box = sheet.cards.boxes["curve"]
    assert (line > [box.left, box.top]).all()
    assert (line < [box.right, box.bottom]).all()


def panels(*chosen: tuple[str, int], view: str = "front") -> list[Situation]:
    plans = {name: compose(load_scene(name), solve_scene(load_scene(name))) for name, _ in chosen}
    return [Situation(plans[name], step) for name, step in chosen]


def test_panels_share_one_scale_and_say_the_difference() -> None:
    some = panels(("level-stance", 0), ("cane-same-hand", 1), ("cane-opposite-hand", 1))
    page = compare_page(some, (1920, 1080), "front", usual_theme("light"))
    sheets = [p.sheet for p in page.parts]
    assert len({(s.camera.scale, s.per_weight) for s in sheets}) == 1
    for part in page.parts:
        assert check_arrows(part.sheet.figure, part.sheet.size, part.index) >= 3
        boxes = list(part.sheet.drawing(part.index).label_boxes.values())
        assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
        written = [m for m in part.sheet.drawing(part.index).over if isinstance(m, Words)]
        assert min(w.size for w in written) >= 0.022 * 1080
        assert {"R", "L"} <= {w.text for w in written}
    joint = [USUAL.say(s.plan.arrow("joint").values[s.index][0]) for s in some]
    told = {m.role: m.text for m in page.over if isinstance(m, Words) and m.role}
    assert told["callout"] == "Joint force A {}, B {}, C {}".format(*(v.removesuffix(" BW") for v in joint)) + " BW"
    change = float(joint[2].split()[0]) - float(joint[0].split()[0])
    assert f"▼ {abs(change):.2f} BW" in told["difference"]
    assert told["difference"] in page.alt.replace("C against A: ", "")
    bars = [m for m in page.over if isinstance(m, Shape2D) and m.role.startswith("bar")]
    lengths = [painted_length((1920, 1080), b, np.array([1.0, 0.0])) for b in bars]
    for k in (0, 2):
        assert lengths[k] / lengths[1] == pytest.approx(some[k].joint / some[1].joint, abs=2 / lengths[1])


@pytest.mark.parametrize(
    ("name", "size"), in_turn([(n, s) for n in SCENES for s in ("1080x1080", "1080x1920", "1440x1080", "1080x1350")], 9)
)
def test_square_and_upright_films_are_true_and_hold_still(name: str, size: str) -> None:
    """Arrows as long as their forces, tags disjoint and in one place in every frame, words inside the page."""
    sheet = sheet_of(name, f"picture.size={size}", film=True)
    first = sheet.drawing(0).label_boxes
    for i in range(0, len(sheet.plan), 31):
        drawing = sheet.drawing(i)
        boxes = drawing.label_boxes
        assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes.values(), 2))
        assert all(first.get(k, box) == box for k, box in boxes.items())
        words = [m for m in drawing.over if isinstance(m, Words) and m.text]
        for w in words:
            wide = text_width(w.text, w.size, w.weight)
            left = w.x - {"start": 0.0, "middle": wide / 2, "end": wide}[w.anchor]
            assert left >= -1, w.text
            assert left + wide <= sheet.width + 1, w.text
            assert w.y <= sheet.height, w.text
        assert min(w.size for w in words) >= 0.022 * min(sheet.size)
        assert {"R", "L"} <= {w.text for w in words}
    assert check_arrows(sheet.figure, sheet.size, len(sheet.plan) - 1) >= 2


def test_two_panels_name_both_numbers() -> None:
    page = compare_page(
        panels(("cane-opposite-hand", 0), ("cane-opposite-hand", 1)), (1920, 1080), "front", usual_theme("light")
    )
    callout = next(m.text for m in page.over if isinstance(m, Words) and m.role == "callout")
    assert callout == "Joint force 2.57 to 1.35 BW"
    assert page.title == "A cane in the opposite hand"


def test_comparisons_that_make_no_picture_are_refused() -> None:
    one = panels(("level-stance", 0))
    with pytest.raises(InputError, match="2 to 4"):
        compare_page(one, (1920, 1080), "front", usual_theme("light"))
    with pytest.raises(InputError, match="front or the back"):
        compare_page(one * 2, (1920, 1080), "side", usual_theme("light"))


@pytest.mark.long
def test_ten_loads_at_once_are_laid_out() -> None:
    """Ten arrows more than any scene has: labels lose their small lines but never meet."""
    import dataclasses

    scene = load_scene("bag-sides")
    plan = compose(scene, solve_scene(scene))
    bag = next(a for a in plan.arrows if a.role == "load")
    more = [
        dataclasses.replace(
            bag, key=f"load_{k}", label=f"Load {k}", side=("stance", "swing")[k % 2],
            point=plan.hip + np.array([0.0, 0.05 * (k - 5), 0.03 * (k - 5)]),
        )
        for k in range(10)
    ]  # fmt: skip
    sheet = Sheet(dataclasses.replace(plan, arrows=[*plan.arrows, *more]), (1920, 1080), "front", usual_theme("light"))
    boxes = sheet.drawing(0).label_boxes
    assert len(boxes) >= 15
    assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes.values(), 2))
    with pytest.raises(InputError, match="too small"):
        Sheet(
            dataclasses.replace(plan, arrows=[*plan.arrows, *more * 3]), (1920, 1080), "front", usual_theme("light")
        ).place()


@pytest.mark.parametrize(("changes", "least", "most"), [
    (("person.mass=20 kg", "person.stature=1.2 m", "hands.left.mass=0.1 kg"), 0.9, 1.1),
    (("person.mass=300 kg", "hands.left.mass=60 kg", "hands.right.mass=60 kg"), 500, 700),
])  # fmt: skip
def test_small_and_large_forces(changes: tuple[str, ...], least: float, most: float) -> None:
    """A bag of about 1 N, and a joint force near 10 kN: drawn true, labels in the page."""
    scene = load_scene("bag-sides", ["picture.step=1", *changes])
    solved = solve_scene(scene)
    sheet = lay_out(scene, solved, scene.picture.pixels)
    bag = np.linalg.norm(sheet.plan.arrow("bag_stance").force[0])
    assert least < bag < most
    assert check_arrows(sheet.figure, sheet.size, 0) >= 3
    if most > 100:
        assert np.linalg.norm(sheet.plan.arrow("joint").force[0]) > 6e3


def test_print_patterns_stay_inside_their_arrow() -> None:
    sheet = sheet_of("walking-frame", "picture.backdrop=print")
    marks = sheet.figure.forces(len(sheet.plan) - 1)
    k = next(n for n, m in enumerate(marks) if isinstance(m, Shape2D) and m.role == "muscle")
    outline = marks[k].points
    lines = list(itertools.takewhile(lambda m: isinstance(m, Stroke), marks[k + 1 :]))
    assert len(lines) > 4
    low, high = outline.min(axis=0) - 1e-6, outline.max(axis=0) + 1e-6
    for line in lines:
        assert (line.points >= low).all()
        assert (line.points <= high).all()
    assert coverage(sheet.size, marks[k]).sum() > 100
