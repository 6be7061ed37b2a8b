"""Who stands in an exercise and what they do: ordinary people by a seed, one case after another.

Question answered: which person and which scene is an exercise solved from?

Statures and masses are drawn evenly within ordinary bounds, in whole kilograms and centimetres; nobody in particular.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from viz3d.scene.picture import Step
from viz3d.scene.posture import Hands, LoadTable, PostureTable
from viz3d.scene.reader import check_scene
from viz3d.scene.schema import Model, Scene

_STATURE = {"female": (1.52, 1.78), "male": (1.62, 1.92)}
_BUILD = (19.5, 29.0)
"""Mass over stature squared, kg/m²."""
Holds = Mapping[str, Mapping[str, str]]
"""Side -> what that hand holds, as a scene file says it."""


def any_person(rng: np.random.Generator) -> Scene:
    """A person standing on the leg of the painful hip, hands free.

    Examples
    --------
    >>> any_person(np.random.default_rng(1)).person.sex in ("female", "male")
    True
    """
    sex = str(rng.choice(["female", "male"]))
    stature = round(float(rng.uniform(*_STATURE[sex])), 2)
    mass = round(float(rng.uniform(*_BUILD)) * stature**2)
    side = str(rng.choice(["left", "right"]))
    person = {"sex": sex, "mass": f"{mass} kg", "stature": f"{stature:.2f} m", "painful_hip": side}
    return check_scene(
        {"format": 1, "title": "exercise", "person": person, "posture": {"stance": side}}, Path("exercise")
    )


def case(person: Scene, hands: Holds | None = None, steps: Sequence[Mapping[str, str]] = ({},)) -> Scene:
    """A scene's person on one leg, with one equivalent muscle: what the hands hold, what each step changes.

    Raises
    ------
    ValidationError : a programming error; what is held and changed is ours.
    """
    return person.model_copy(
        update={
            "model": Model(),
            "posture": PostureTable.model_validate({"stance": person.posture.stance}),
            "hands": Hands.model_validate({side: dict(held) for side, held in (hands or {}).items()}),
            "load": LoadTable(),
            "walk": None,
            "steps": [Step.model_validate({"name": str(n), "set": dict(some)}) for n, some in enumerate(steps, 1)],
        }
    )
