"""A solved batch as plain columns of numbers: what the page draws and interpolates, and nothing else.

Question answered: which numbers does a browser need to show this situation, smooth enough to interpolate?

Every arrow, lever arm and moment of the plan becomes a column, whichever they are; so a new load needs nothing here.
Where the load passes from the abductors to the adductors the joint force has a kink. What depends on the muscle is
given for both (``name@abductor``, ``name@adductor``), each smooth through that point; the page takes those of the
muscle that pulls. Muscle sets share the load themselves and are given once. Metres, newtons, radians, pascals; world
axes as in :mod:`viz3d.kinematics.chain`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

from viz3d.arrays import Array
from viz3d.contact.lune import lune_pressure
from viz3d.scene.schema import Scene
from viz3d.solution.held import MUSCLES, held_by
from viz3d.solution.solved import WOULD_FALL, Solved
from viz3d.stage.compose import compose
from viz3d.stage.plan import CARRIED_THINGS, Arrow, Dimension, Plan
from viz3d.stage.polygon import head_to_tail
from viz3d.stage.tell import AID_KEYS
from viz3d.statics.hip import torque_margin
from viz3d.statics.loads import CARRIED, HAND, SIDES

_OF_MUSCLE = ("muscle", "joint")
"""Roles that depend on which muscle pulls."""
_LUNE_RANGE, _LUNE_ROWS = (0.02, 2.2), 400
_LARGEST = 1e6
"""Moment that stands for any moment, N m."""


@dataclass(frozen=True)
class State:
    """N situations: their plan, named columns (N, width), and what is drawn from them."""

    plan: Plan
    columns: dict[str, Array]
    about: dict[str, Any]

    @property
    def layout(self) -> list[tuple[str, int]]:
        """Names of the columns with their widths, in order."""
        return [(name, values.shape[1]) for name, values in self.columns.items()]

    @property
    def rows(self) -> Array:
        """(N, width) all columns side by side."""
        return np.concatenate(list(self.columns.values()), axis=1)


def state_of(scene: Scene, solved: Solved) -> State:
    """The columns of solved situations of a scene."""
    plan = compose(scene, solved)
    links = _places_and_turns(np.stack(list(plan.frames.values()), axis=1))
    columns = {f"link {name}": links[:, k] for k, name in enumerate(plan.frames)}
    columns |= {
        "hip": plan.hip,
        # body weight, N
        "weight": np.broadcast_to(solved.body.weight, (len(plan),)),
        # moment about the hip that the muscles must balance: its sign says which of them pulls
        "moment": solved.load.external_moment,
        # moment that the abductors could still add
        "margin": np.clip(np.nan_to_num(torque_margin(solved.hip, solved.load), posinf=_LARGEST), -_LARGEST, _LARGEST),
        # 1 where the body would fall; 1 where no muscle force balances the pose, so that there is no joint force
        "falls": (solved.status == WOULD_FALL).astype(float),
        "lost": (~np.isfinite(solved.load.joint_magnitude)).astype(float),
        # the cartilage's edge and the pressure's pole from the vertical, the pressure at the pole, the highest one
        "edge": plan.pressure.edge,
        "pressure": np.stack([plan.pressure.pole, plan.pressure.pole_pressure, plan.pressure.peak], axis=-1),
    }
    columns |= {f"arrow {a.key}": _arrow(a) for a in plan.arrows if a.role not in _OF_MUSCLE}
    levers = _levers(plan, solved)
    columns |= {f"lever {v.key}": _lever(v, plan.sign) for v in levers if v.role not in _OF_MUSCLE}
    columns |= {f"turn {t.key}": t.moment for t in plan.turns}
    columns |= {f"active {m.name}": m.activation for m in plan.muscles} | _carried(plan)
    columns |= _of_muscles(scene, solved)
    if plan.pressure.displacement is not None:
        columns["displacement"] = plan.pressure.displacement
    one = np.ones(len(plan))
    wide = {k: _wide(np.nan_to_num(v) * (one if v.ndim < 2 else one[:, None])) for k, v in columns.items()}
    return State(plan, wide, about_of(plan, levers) | {"stands": _stands(scene)} | _weak(solved))


def _weak(solved: Solved) -> dict[str, dict[str, float]]:
    """When the muscles of a walk lack most, and what; nothing where they suffice throughout."""
    if solved.gait is None or solved.gait.hardest.held:
        return {}
    return {"weak": {"phase": solved.gait.hardest.phase, "moment": solved.gait.hardest.missing}}


def _stands(scene: Scene) -> str:
    """What the person stands on, or that they walk."""
    if scene.walk is not None:
        return "walks"
    return scene.posture.stance if scene.posture.lifted > 0.0 else "both"


def _carried(plan: Plan) -> dict[str, Array]:
    """1 where what a hand or the back carries is there, for each side that ever does."""
    sides = [side for side, what in plan.aids.items() if what in CARRIED_THINGS]
    there = [plan.held_at(i) for i in range(len(plan))] if sides else []
    return {f"carried {side}": np.array([float(side in held) for held in there]) for side in sides}


def _of_muscles(scene: Scene, solved: Solved) -> dict[str, Array]:
    """What depends on the muscle that pulls, for either of them; once where muscles share the load themselves."""
    if solved.gait is not None:
        return _of_muscle(scene, solved)
    held = {name: held_by(solved, name) for name in MUSCLES}
    if all(one is solved for one in held.values()):
        return _of_muscle(scene, solved)
    return {f"{key}@{name}": v for name, one in held.items() for key, v in _of_muscle(scene, one).items()}


def _of_muscle(scene: Scene, held: Solved) -> dict[str, Array]:
    """What depends on the muscle that pulls, as the plan has it where this one does."""
    plan = compose(scene, held, bodies=False)
    out = {f"arrow {a.key}": _arrow(a) for a in plan.arrows if a.role in _OF_MUSCLE}
    out |= {f"lever {v.key}": _lever(v, plan.sign) for v in plan.dimensions if v.role in _OF_MUSCLE}
    return out


def lune_rows(solved: Solved) -> dict[str, Any]:
    """The loaded lune for a joint force of 1 N, over the force's inclination plus the edge's angle (rad).

    ``gap``: from the pole to the edge; ``size``: pressure at the pole. Pages look them up for the joint force between
    solved poses: pressures themselves have a kink where the muscle changes, and steep curves beside it.
    """
    x = np.linspace(*_LUNE_RANGE, _LUNE_ROWS)
    found = lune_pressure(1.0, x, solved.hip.cartilage_radius[0], 0.0)
    step = (_LUNE_RANGE[1] - _LUNE_RANGE[0]) / (_LUNE_ROWS - 1)
    return {"from": _LUNE_RANGE[0], "step": step, "gap": (-found.pole).tolist(), "size": found.pole_pressure.tolist()}


def about_of(plan: Plan, levers: list[Dimension]) -> dict[str, Any]:
    """What the columns of a plan are: which arrows, lever arms and moments there are, and how each is drawn."""
    return {
        "arrows": [
            {"key": a.key, "role": a.role, "tip": a.holds == "tip", "own": a.side == "stance"} | _named(a, plan)
            for a in plan.arrows
        ],
        "levers": [
            {"key": v.key, "role": v.role, "own": v.side == "stance", "drawn": any(v is x for x in plan.dimensions),
             "of": next(a.key for a in plan.arrows if lever_key(a.key) == v.key),
             "drop": float(v.drop) if np.isfinite(v.drop) else None} | _named(v, plan)
            for v in levers
        ],
        "turns": [{"key": t.key, "role": t.role} for t in plan.turns],
        "polygon": polygon_order(plan), "aids": plan.aids,
        "muscles": [{"name": m.name, "faint": m.rests} for m in plan.muscles],
    }  # fmt: skip


def polygon_order(plan: Plan) -> list[str]:
    """Keys of the arrows in the order in which the pictures put them head to tail."""
    return head_to_tail(a.key for a in plan.arrows)


def _levers(plan: Plan, solved: Solved) -> list[Dimension]:
    """The plan's lever arms; those of carried loads pages only tell."""
    carried = [x for x in solved.loads if x.above and x.role == CARRIED]
    sides = ["stance" if x.key.endswith("stance") else "swing" for x in carried]
    told = [
        Dimension(lever_key(x.key), x.role, "", x.point, plan.hip, 0.0, side, [])
        for x, side in zip(carried, sides, strict=True)
    ]
    return [*(x for x in plan.dimensions if x.role != CARRIED), *told]


def lever_key(arrow: str) -> str:
    """The key of the lever arm of an arrow.

    Examples
    --------
    >>> lever_key("weight"), lever_key("cane_swing")
    ('weight_lever', 'cane_lever_swing')
    """
    kind, _, where = arrow.rpartition("_")
    return f"{kind}_lever_{where}" if where in SIDES else f"{arrow}_lever"


def _named(one: Arrow | Dimension, plan: Plan) -> dict[str, Any]:
    """Keys of the words that name it: by what the hand holds, and for the muscle by which of them pulls."""
    kind = one.key.removesuffix("_stance").removesuffix("_swing")
    if one.role == HAND:
        right = (plan.sign > 0.0) == one.key.endswith("stance")
        kind = kind.replace("cane", AID_KEYS[plan.aids["right" if right else "left"]])
    if one.role == CARRIED:
        kind = "load_lever" if kind.endswith("_lever") else "load" if kind == "bag" else kind
    if kind == "weight" and isinstance(one, Arrow) and one.told.startswith("arrow.moving_weight"):
        kind = "moving_weight"
    if one.role != "muscle":
        return {"name": f"page.name.{kind}"}
    return {"name": f"page.name.{kind}", "names": {"adductor": f"page.name.{kind.replace('muscle', 'adductor')}"}}


def _arrow(arrow: Arrow) -> Array:
    """(N, 6) where it acts, its force."""
    return np.concatenate([arrow.point, arrow.force], axis=1)


def _lever(lever: Dimension, sign: float) -> Array:
    """(N, 7) its two ends and its length: signed where it is level, so that it stays smooth through the hip."""
    across = lever.end - lever.start
    level = np.isfinite(lever.drop)
    length = sign * across[:, 2] if level else np.hypot(across[:, 1], across[:, 2])
    return np.column_stack([lever.start, lever.end, length])


def _places_and_turns(frames: Array) -> Array:
    """(N, L, 7) of rigid frames (N, L, 4, 4); turns on the half of all quaternions where w is not negative."""
    count, links = frames.shape[:2]
    turn = Rotation.from_matrix(frames[..., :3, :3].reshape(-1, 3, 3)).as_quat().reshape(count, links, 4)
    turn = turn * np.where(turn[..., 3:] < 0.0, -1.0, 1.0)
    return np.concatenate([frames[..., :3, 3], turn], axis=-1)


def _wide(values: Array) -> Array:
    return np.asarray(values, dtype=float).reshape(len(values), -1)
