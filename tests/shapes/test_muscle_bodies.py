"""Muscle bodies lie on bones and on each other, run from bone to bone, bend with the hip and swell at constant volume."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from viz3d.body.muscle_bodies import body_lines, muscle_bodies
from viz3d.body.muscles import muscle_lines
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body, make_body
from viz3d.output.flesh import body_colour
from viz3d.scene.reader import load_scene
from viz3d.shapes.muscle_mesh import MuscleMesh
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.shapes.surface import Surface, is_closed
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.stage.compose import compose
from viz3d.stage.muscles import drawn_muscles
from viz3d.stage.palette import palette
from viz3d.stage.plan import Plan


def shown(scene: str, *changes: str) -> list:
    loaded = load_scene(scene, list(changes))
    return drawn_muscles(loaded, solve_scene(loaded))


@pytest.fixture(scope="module")
def figures(house: Body) -> dict[str, Figure]:
    """The house person's bones and muscles, by side."""
    return {side: build_figure(house, None, {}, "full", flesh=side) for side in (LEFT, RIGHT)}


def solid(points: np.ndarray, triangles: np.ndarray) -> trimesh.Trimesh:
    return trimesh.Trimesh(points, triangles, process=False)


def bones(figure: Figure, side: str, pelvis: np.ndarray, thigh: np.ndarray) -> list[trimesh.Trimesh]:
    """The bones round a hip in the world."""
    out = []
    for shape in figure.shapes.values():
        frame = {"pelvis": pelvis, "thigh": thigh}.get(shape.link)
        if frame is None or shape.material == "cartilage" or shape.side not in (side, "middle"):
            continue
        out.append(solid(shape.surface.points @ frame[:3, :3].T + frame[:3, 3], shape.surface.triangles))
    return out


def neutral(one: MuscleMesh) -> np.ndarray:
    """The thigh's frame in neutral stance with the pelvis at the origin."""
    frame = np.eye(4)
    frame[:3, 3] = one.hip
    return frame


def test_every_line_of_the_set_has_a_body(house: Body) -> None:
    drawn = [k for one in muscle_bodies(house, house.right) if not one.common for k in one.lines]
    assert sorted(drawn) == list(range(len(muscle_lines())))


@pytest.mark.parametrize("side", [LEFT, RIGHT])
def test_bodies_are_closed_outward_and_begin_and_end_at_their_bones(
    side: str, figures: dict[str, Figure], house: Body
) -> None:
    flip = np.array([1.0, 1.0, 1.0 if side == RIGHT else -1.0])
    for one in muscle_bodies(house, house.hip(side)):
        body = figures[side].muscles[one.name]
        assert is_closed(body.triangles), one.name
        volume = Surface(body.points, body.triangles, body.normals, body.shade).volume()
        assert 5e-6 < volume < 3e-4, one.name
        mesh = solid(body.points, body.triangles)
        assert (mesh.vertex_normals * body.normals).sum(axis=1).mean() > 0.9, one.name
        for place in (one.start.mean(axis=(0, 1)), one.end.mean(axis=(0, 1)) + body.hip * flip):
            assert np.linalg.norm(body.points - place * flip, axis=1).min() < 0.03, one.name


def test_no_body_reaches_into_a_bone_or_another_body(figures: dict[str, Figure]) -> None:
    """In the stance they are built in, tried by a ray test that knows nothing of how they were built."""
    figure = figures[LEFT]
    around = bones(figure, LEFT, np.eye(4), neutral(next(iter(figure.muscles.values()))))
    assert len(around) >= 3
    others = {name: solid(one.points, one.triangles) for name, one in figure.muscles.items()}
    for name, one in figure.muscles.items():
        for bone in around:
            assert not bone.contains(one.points).any(), name
        for other, mesh in others.items():
            if other != name:
                assert mesh.contains(one.points).mean() < 0.002, (name, other)


def first_met(meshes: list[trimesh.Trimesh], turned_deg: float) -> np.ndarray:
    """How far forward the first surface lies that is met from the front, the body turned to its side first: rows 3 mm
    apart upwards, columns 0.7 mm; -inf where there is none. A left side."""
    turn = trimesh.transformations.rotation_matrix(np.radians(-turned_deg), [0, 1, 0])
    both = trimesh.util.concatenate(meshes).apply_transform(turn)
    low, high = both.bounds
    up, aside = np.meshgrid(np.arange(low[1], high[1], 3e-3), np.arange(low[2], high[2], 7e-4), indexing="ij")
    begin = np.stack([np.full(up.size, high[0] + 0.01), up.ravel(), aside.ravel()], axis=1)
    ways = np.broadcast_to([-1.0, 0.0, 0.0], begin.shape)
    places, ray, _ = both.ray.intersects_location(begin, ways, multiple_hits=True)
    out = np.full(up.size, -np.inf)
    np.maximum.at(out, ray, places[:, 0])
    return out.reshape(up.shape)


@pytest.mark.parametrize("turned_deg", [0.0, 45.0])
def test_gluteus_medius_and_minimus_meet_in_one_edge(turned_deg: float, figures: dict[str, Figure]) -> None:
    """From the front and from between front and side no gap and no groove parts them, above the last 3 cm, where
    each ends on its own facet of the trochanter, and below the fringe of their origins."""
    bodies = [figures[LEFT].muscles[name] for name in ("gluteus_medius", "gluteus_minimus")]
    grooves = []
    for row in first_met([solid(one.points, one.triangles) for one in bodies], turned_deg)[9:-9]:
        there = np.flatnonzero(np.isfinite(row))
        if len(there) > 2:
            seen = row[there[0] : there[-1] + 1]
            beside = np.minimum(np.maximum.accumulate(seen), np.maximum.accumulate(seen[::-1])[::-1])
            grooves.append((beside - seen).max())
    assert len(grooves) > 25 and np.isfinite(grooves).all()
    assert np.median(grooves) < 1e-3 and max(grooves) < 8e-3


POSTURES = [
    ("muscle-set", ()), ("muscle-set", ("posture.obliquity=8 deg",)), ("muscle-set", ("posture.lean=10 deg",)),
    ("pelvic-drop", ()), ("lean-over-hip", ()),
]  # fmt: skip


def plan_of(scene: str, *changes: str) -> tuple[Plan, Figure]:
    loaded = load_scene(scene, list(changes))
    plan = compose(loaded, solve_scene(loaded))
    return plan, build_figure(body_of(loaded), None, {}, "full", flesh=plan.flesh)


@pytest.mark.parametrize(("scene", "changes"), POSTURES)
def test_bent_bodies_stay_out_of_bones(scene: str, changes: tuple[str, ...]) -> None:
    """No vertex of a muscle lies in a bone of a moved hip."""
    plan, figure = plan_of(scene, *changes)
    for i in {0, len(plan) - 1}:
        pelvis, thigh = plan.frames["pelvis"][i], plan.frames[f"{plan.side}_thigh"][i]
        for muscle in plan.muscles:
            points, normals = figure.muscles[muscle.name].posed(pelvis, thigh, float(muscle.activation[i]))
            assert np.linalg.norm(normals, axis=1) == pytest.approx(np.ones(len(points)))
            for bone in bones(figure, plan.side, pelvis, thigh):
                assert not bone.contains(points).any(), muscle.name


def test_left_and_right_are_mirror_images(figures: dict[str, Figure]) -> None:
    for name, left in figures[LEFT].muscles.items():
        right = figures[RIGHT].muscles[name]
        assert left.points * [1.0, 1.0, -1.0] == pytest.approx(right.points, abs=1e-9), name
        assert left.swell == pytest.approx(right.swell, abs=1e-9) and left.thigh == pytest.approx(right.thigh), name


def test_a_muscle_thickens_at_constant_volume(figures: dict[str, Figure]) -> None:
    for name, one in figures[LEFT].muscles.items():
        if one.tendon == 1.0:
            assert np.abs(one.swell).max() < 1e-9, name
            continue
        at = [one.posed(np.eye(4), neutral(one), share)[0] for share in (0.0, 1.0)]
        volumes = [solid(points, one.triangles).volume for points in at]
        assert volumes[1] == pytest.approx(volumes[0], rel=0.03), name
        moved = ((at[1] - at[0]) * one.normals).sum(axis=1)
        belly = (np.abs(one.along / (1.0 - one.tendon) - 0.5) < 0.15) & (one.swell > 0)
        assert moved[belly].mean() > 1e-4, name


def test_what_lies_on_a_bone_goes_with_it(figures: dict[str, Figure]) -> None:
    """The thigh turned by 20 degrees: ends at the thigh turn with it, ends at the pelvis stay where they are.

    "Ends" go to 97 % with their bone: 3 % of a 20 degree turn 0.4 m from the hip is 4 mm. A common tendon has no end at
    the thigh, and the muscles that leave it none at the pelvis.
    """
    parted = [one for one in body_lines() if one.common]
    leaving = {one.name for one in body_lines() for t in parted if not one.common and set(one.lines) <= set(t.lines)}
    turn = np.eye(4)
    turn[1:3, 1:3] = [[np.cos(0.35), -np.sin(0.35)], [np.sin(0.35), np.cos(0.35)]]
    for name, one in figures[LEFT].muscles.items():
        rest = one.posed(np.eye(4), neutral(one), 0.5)[0]
        bent = one.posed(np.eye(4), neutral(one) @ turn, 0.5)[0]
        still = one.thigh < 0.03
        assert (still.any() or name in leaving) and bent[still] == pytest.approx(rest[still], abs=4e-3), name
        if one.tendon == 1.0:
            continue
        with_thigh = one.thigh > 0.97
        away = (rest[with_thigh] - one.hip) @ turn[:3, :3].T + one.hip
        assert with_thigh.any() and bent[with_thigh] == pytest.approx(away, abs=4e-3), name


@pytest.mark.parametrize("axis", [0, 2])
def test_semitendinosus_and_biceps_leave_one_tendon(axis: int, figures: dict[str, Figure], house: Body) -> None:
    """They begin on it, its inner and its outer side, and stay there with the thigh turned 20 degrees either way;
    semimembranosus begins above and outside it and runs beneath it."""
    muscles = figures[LEFT].muscles
    tendon, one, two, three = (
        muscles[n] for n in ("hamstring_tendon", "semitendinosus", "biceps_femoris_long", "semimembranosus")
    )
    for degrees in (-20.0, 0.0, 20.0):
        thigh = neutral(tendon) @ trimesh.transformations.rotation_matrix(np.radians(degrees), np.eye(3)[axis])
        strap = tendon.posed(np.eye(4), thigh, 0.5)[0]
        for belly in (one, two):
            head = belly.posed(np.eye(4), thigh, 0.5)[0][belly.along < 0.1]
            assert cKDTree(strap).query(head)[0].min() < 4e-3, (belly.name, degrees)
    top, inner, outer, beneath = (m.points[m.along < 0.12].mean(axis=0) for m in (tendon, one, two, three))
    assert inner[2] > outer[2] and beneath[2] < top[2] and beneath[1] > top[1]  # a left side: inner is to the right
    assert tendon.points[tendon.along < 0.1, 1].min() > tendon.points[tendon.along > 0.9, 1].max()
    assert three.points[np.abs(three.points[:, 1] - strap_end(tendon)) < 0.01, 0].mean() > tendon.points[:, 0].mean()


def strap_end(tendon: MuscleMesh) -> float:
    """Height of a tendon's lower end, m."""
    return float(tendon.points[:, 1].min())


def test_colour_darkens_with_activation() -> None:
    (one,) = (m for m in shown("muscle-set") if m.name == "gluteus_medius")
    tones = [
        body_colour(dataclasses.replace(one, activation=np.array([a])), 0, palette("light")).sum()
        for a in (0.0, 0.5, 1.0)
    ]
    assert tones[0] > tones[1] > tones[2]


def test_of_resting_muscles_only_some_are_drawn() -> None:
    muscles = {m.name: m for m in shown("muscle-set")}
    assert not muscles["gluteus_medius"].rests
    assert {name for name, m in muscles.items() if m.rests} == {
        "gluteus_maximus_upper",
        "gluteus_maximus_lower",
        "psoas",
    }
    assert "adductor_longus" not in muscles


def test_the_fan_begins_on_its_area_of_the_wing_and_converges() -> None:
    """Gluteus medius begins on the outer face, between the gluteal lines and the crest, and ends on the trochanter."""
    body = make_body("female", 64.0, 1.66)
    (fan,) = (b for b in muscle_bodies(body, body.right) if b.name == "gluteus_medius")
    assert np.ptp(fan.start[..., 0]) > 0.06 and np.ptp(fan.start[..., 1]) > 0.05
    assert np.ptp(fan.end.reshape(-1, 3), axis=0).max() < 0.04


def test_scenes_can_leave_muscles_out() -> None:
    assert shown("level-stance", "picture.muscles=none") == []
    assert {m.name for m in shown("level-stance")} == {"gluteus_medius", "gluteus_minimus"}
