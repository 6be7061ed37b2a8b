"""Why a load rises or falls, worked out in numbers: what turns about the hip, and what the muscle makes of it.

Question answered: between two situations, which turning effects, lever arm, pull and load change, and which most?

Moments in N m, lengths in m, forces in N; before and after stand side by side. Pages say them in the register and the
units shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.stage.compose import compose
from viz3d.web.state import about_of

MOMENT, LENGTH, FORCE = "moment", "length", "force"
_MUSCLE = "muscle"
_SLIGHT = 0.05
"""N m that is no turning effect."""


@dataclass(frozen=True)
class Account:
    """One situation in numbers.

    ``turns``: role -> moment about the hip without the muscle's, N m, positive where abductors pull against it.
    ``named``: role -> key of the words that name it. ``lever``: m. ``pull``, ``joint``, ``weight`` (the body's): N.
    """

    turns: dict[str, float]
    named: dict[str, str]
    lever: float
    pull: float
    joint: float
    weight: float
    muscle: str
    """Key of the muscle's name."""

    @property
    def moment(self) -> float:
        """What the muscle must balance, N m."""
        return sum(self.turns.values())


def account_of(scene: Scene, solved: Solved, row: int) -> Account:
    """A solved situation in numbers; ``row``: where it stands among ``solved``."""
    plan = compose(scene, solved, bodies=False)
    about = about_of(plan, plan.dimensions)["arrows"]
    load = solved.load
    named: dict[str, tuple[float, str]] = {}
    for arrow, told in zip(plan.arrows, about, strict=True):
        size = float(np.linalg.norm(_at(arrow.force, row)))
        named[arrow.role] = max(named.get(arrow.role, (-1.0, "")), (size, told["name"]))
    abducts = bool(_at(load.abducts, row))
    turns: dict[str, float] = {}
    for t in plan.turns:  # two hands may push, two bags hang: they turn together
        if t.role != _MUSCLE:
            turns[t.role] = turns.get(t.role, 0.0) + float(_at(t.moment, row))
    return Account(
        turns,
        {role: name for role, (_, name) in named.items()},
        abs(float(_at(load.muscle.moment_arm, row))),
        float(_at(load.muscle_force, row)), float(_at(load.joint_magnitude, row)), float(_at(solved.body.weight, row)),
        "page.name.muscle" if abducts else "page.name.adductor",
    )  # fmt: skip


def _at(values: Any, row: int) -> Any:
    """A row of a batch, or of what is the same in all rows."""
    return values[row if len(values) > 1 else 0]


def why(before: Account, after: Account) -> dict[str, Any]:
    """The change as a page tells it: rows of a table, the reason, what the muscle makes of it."""
    roles = [role for role in after.turns if max(abs(x.turns.get(role, 0.0)) for x in (before, after)) > _SLIGHT]
    named = before.named | after.named
    rows = [_row(named[role], MOMENT, before.turns.get(role, 0.0), after.turns[role]) for role in roles]
    rows += [
        _row("page.question.balance", MOMENT, abs(before.moment), abs(after.moment)),
        _row(_lever_key(after), LENGTH, before.lever, after.lever),
        _row(after.muscle, FORCE, abs(before.pull), abs(after.pull)),
        _row("page.name.joint", FORCE, before.joint, after.joint),
    ]
    return {"rows": rows, "turning": len(roles), "reason": _reason(before, after, roles, named),
            "weights": [before.weight, after.weight]}  # fmt: skip


def _row(name: str, unit: str, before: float, after: float) -> dict[str, Any]:
    return {"name": name, "unit": unit, "values": [before, after]}


def _lever_key(account: Account) -> str:
    return f"{account.muscle}_lever"


def _reason(before: Account, after: Account, roles: list[str], named: dict[str, str]) -> dict[str, Any]:
    """What changed most: a turning effect, or the muscle's lever arm."""
    steps = {role: after.turns[role] - before.turns.get(role, 0.0) for role in roles}
    most = max(steps, key=lambda role: abs(steps[role]), default="")
    nearer = abs(np.log(after.lever / before.lever))
    more = abs(np.log(max(abs(after.moment), _SLIGHT) / max(abs(before.moment), _SLIGHT)))
    if not most or nearer > more:
        return {"key": "page.question.because.lever", "name": _lever_key(after), "unit": LENGTH,
                "values": [before.lever, after.lever]}  # fmt: skip
    adds = "adds" if steps[most] * (1.0 if after.moment >= 0 else -1.0) > 0 else "takes"
    values = [before.turns.get(most, 0.0), after.turns[most]]
    return {"key": f"page.question.because.{adds}", "name": named[most], "unit": MOMENT, "values": values}
