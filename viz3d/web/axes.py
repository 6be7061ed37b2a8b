"""What a page lets its reader move: one axis for each input that the scene's author lists.

Question answered: which inputs of a scene does each control of its page move, from where to where, in how many steps?

``page.controls`` of a scene names them; without it a page moves lean, push and hand. The hand is no axis: each hand has
a table of its own. Angles in rad, masses in kg, lengths in m, pushes in body weights, strength as a share.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import other_side
from viz3d.errors import InputError
from viz3d.questions.vary import Case
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed
from viz3d.units import GRAVITY

NONE, OPPOSITE, SAME, OWN = "none", "opposite", "same", "own"
"""Which hand holds a cane on the page, or that the hands hold what the scene says."""
LEAN, PUSH, NEAR, HAND, NECK = "lean", "push", "near", "hand", "neck"
PHASE = "phase"
"""The one control of a walk: where in its cycle it is, a share."""
PUSHES = (PUSH, NEAR)
"""The push of the only aid, or of that opposite the hip; and of the one beside the hip where there are two."""
USUAL = (LEAN, PUSH, HAND)


@dataclass(frozen=True)
class Range:
    """Lowest and highest value of a control, and how it is solved: steps of ``apart`` each with bones of its own, or
    as many nodes as its curves need."""

    low: float
    high: float
    apart: float = 0.0


RANGES = {
    LEAN: Range(np.radians(-10.0), np.radians(20.0)), "drop": Range(np.radians(-6.0), np.radians(10.0)),
    PUSH: Range(0.0, 0.20), NEAR: Range(0.0, 0.20), "bag": Range(0.0, 16.0), "strength": Range(0.0, 1.0),
    "mass": Range(45.0, 125.0), "lever": Range(0.030, 0.080),
    NECK: Range(np.radians(110.0), np.radians(142.0), np.radians(8.0)), PHASE: Range(0.0, 1.0),
}  # fmt: skip


@dataclass(frozen=True)
class Dial:
    """One control: the scene's keys that it sets together, and the nodes (n,) at which the scene is solved."""

    word: str
    keys: tuple[str, ...]
    nodes: Array

    @property
    def shapes(self) -> bool:
        """True where every node has bones of its own."""
        return bool(RANGES[self.word].apart > 0.0)


def hands_of(scene: Scene) -> list[str]:
    """The hands among which a page's reader chooses; what the scene holds comes with them where it is no lone cane."""
    own = own_hand(scene)
    if HAND not in controls_of(scene):
        return [own if own != NONE or PUSH not in controls_of(scene) else OPPOSITE]
    return [*([OWN] if own == OWN else []), NONE, OPPOSITE, SAME]


def controls_of(scene: Scene) -> tuple[str, ...]:
    """The controls of a scene's page."""
    if scene.walk is not None:
        return (PHASE,)
    return USUAL if scene.page.controls is None else tuple(scene.page.controls)


def words_of(scene: Scene) -> tuple[str, ...]:
    """The same, with a push for each hand where both press on something."""
    both = len(pressed(scene)) > 1
    return tuple(w for word in controls_of(scene) for w in (PUSHES if word == PUSH and both else (word,)))


def own_hand(scene: Scene) -> str:
    """Which of a table's hands is the scene's own."""
    held = {side: getattr(scene.hands, side).holds for side in ("left", "right")}
    aids = [side for side, what in held.items() if what in AIDS]
    if not aids:
        return NONE
    if len(aids) == 1 and held[aids[0]] == "cane":
        return SAME if aids[0] == scene.posture.stance else OPPOSITE
    return OWN


def with_cane(scene: Scene, hand: str) -> Scene:
    """The scene with a cane in the opposite hand, in the same hand, or in none; its own hands are left as they are."""
    changes = cane_changes(scene, hand)
    return changed(scene, changes) if changes else scene


def cane_changes(scene: Scene, hand: str) -> dict[str, str]:
    """What :func:`with_cane` changes: dotted key -> text."""
    stance = scene.posture.stance
    changes: dict[str, str] = {}
    for side in ("left", "right") if hand != OWN else ():
        wanted = {OPPOSITE: other_side(stance), SAME: stance}.get(hand) == side
        held = getattr(scene.hands, side).holds
        if wanted and held != "cane":
            changes |= {f"hands.{side}.holds": "cane", f"hands.{side}.force": "0 %BW"}
        elif not wanted and held in AIDS:
            changes |= {f"hands.{side}.holds": "nothing"}
    return changes


def pressed(scene: Scene) -> tuple[str, ...]:
    """Keys of the forces of what a scene's hands press on, that opposite the stance hip first."""
    stance = scene.posture.stance
    return tuple(f"hands.{s}.force" for s in (other_side(stance), stance) if getattr(scene.hands, s).holds in AIDS)


def axes_of(scene: Scene, case: Case, nodes: Mapping[str, int]) -> list[Dial] | None:
    """The axes of a scene whose hands hold what they shall, as wide as the feet can hold and the hands can follow; None
    where they cannot be moved together at all.

    Parameters
    ----------
    nodes : word -> how many nodes.

    Raises
    ------
    InputError : a control that this scene has nothing for.
    """
    axes = []
    for word in words_of(scene):
        keys = control_keys(word, scene)
        if word == "bag" and not keys:
            raise InputError(f'page.controls: "bag" needs a hand with holds = "bag" ({scene.title})')
        if keys:
            axes.append(Dial(word, keys, _nodes(word, nodes[word])))
    return _within(axes, case)


def _nodes(word: str, count: int) -> Array:
    one = RANGES[word]
    if one.apart:
        count = round((one.high - one.low) / one.apart) + 1
    return np.linspace(one.low, one.high, count)


def control_keys(word: str, scene: Scene) -> tuple[str, ...]:
    """The scene's keys that a control moves; none for the hand, and where no hand holds such a thing."""
    stance = scene.posture.stance
    bags = [s for s in (other_side(stance), stance) if getattr(scene.hands, s).holds == "bag"]
    return {
        HAND: (), PHASE: (), PUSH: pressed(scene)[:1], NEAR: pressed(scene)[1:],
        "bag": tuple(f"hands.{side}.mass" for side in bags[:1]),
        LEAN: ("posture.lean",), "drop": ("posture.obliquity",), "strength": (f"strength.{stance}_abductors",),
        "mass": ("person.mass",), "lever": (f"person.{stance}_hip.abductor_lever",),
        NECK: ("person.left_hip.neck_shaft_angle", "person.right_hip.neck_shaft_angle"),
    }[word]  # fmt: skip


def start_of(axis: Dial, case: Case) -> float:
    """What a control stands at in the case's step, in the unit of its axis."""
    key = axis.keys[0]
    if axis.word == "mass":
        return float(case.scene.person.mass)
    if axis.word == "lever":
        return float(np.ravel(case.solved().load.muscle.moment_arm)[0])
    if axis.word == NECK:
        return float(np.ravel(case.body.hip(case.scene.posture.stance).neck_shaft_angle)[0])
    return case.value(key) / (case.weight if axis.word in PUSHES else 1.0)


def solved_values(axes: list[Dial], at: Mapping[str, Array], weight: float) -> dict[str, Array]:
    """What the solver is given for positions of several controls: word -> (N,)."""
    weights = GRAVITY * at["mass"] if "mass" in at else weight
    sizes = dict.fromkeys(PUSHES, weights)
    return {key: at[axis.word] * sizes.get(axis.word, 1.0) for axis in axes for key in axis.keys}


_TRIES, _NEARER = 14, 0.85
_FULL = (*PUSHES, "bag", "strength", "mass")
"""Controls whose range is never cut."""


def _within(axes: list[Dial], case: Case) -> list[Dial] | None:
    """Axes cut so that any mixture of their ends may be asked for: first the lean, then all towards their middle."""
    axes = [_reachable(axis, axes, case) if axis.word == LEAN else axis for axis in axes]
    for _ in range(_TRIES):
        if not all(len(axis.nodes) for axis in axes):
            return None
        if bool(_corners(axes, case).all()):
            return axes
        axes = [_nearer(axis) for axis in axes]
    return None


def _nearer(axis: Dial) -> Dial:
    """An axis with its ends drawn in, towards nothing where that lies between them."""
    if axis.shapes or axis.word in _FULL:
        return axis
    low, high = axis.nodes[[0, -1]]
    middle = 0.0 if low < 0.0 < high else (low + high) / 2.0
    return Dial(axis.word, axis.keys, middle + _NEARER * np.linspace(low - middle, high - middle, len(axis.nodes)))


def _corners(axes: list[Dial], case: Case) -> Flags:
    """Whether each mixture of the axes' ends may be asked for."""
    ends = np.array(list(product(*(axis.nodes[[0, -1]] for axis in axes))))
    at = {axis.word: ends[:, k] for k, axis in enumerate(axes)}
    return case.allowed(case.solved(solved_values(axes, at, case.weight)))


def _reachable(lean: Dial, axes: list[Dial], case: Case) -> Dial:
    """As much of the lean's range, around upright, as every mixture of the other axes' ends allows."""
    fine = np.linspace(lean.nodes[0], lean.nodes[-1], 121)
    others = [axis for axis in axes if axis.word in (*PUSHES, "bag")]
    ok = np.ones(len(fine), dtype=bool)
    for ends in product(*(axis.nodes[[0, -1]] for axis in others)):
        at = {axis.word: np.full(len(fine), end) for axis, end in zip(others, ends, strict=True)} | {LEAN: fine}
        ok &= case.allowed(case.solved(solved_values([lean, *others], at, case.weight)))
    low = high = int(np.argmin(np.abs(fine)))
    if not ok[low]:
        return Dial(lean.word, lean.keys, np.array([]))
    while low > 0 and ok[low - 1]:
        low -= 1
    while high < len(fine) - 1 and ok[high + 1]:
        high += 1
    return Dial(lean.word, lean.keys, np.linspace(fine[low], fine[high], len(lean.nodes)))
