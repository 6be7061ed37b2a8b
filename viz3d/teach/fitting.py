"""How a cane fits a person: handle height, bend of the elbow, place of the tip, for a sheet to take along.

Question answered: how high is the handle, how far is the elbow bent, where does the tip stand, and how sure is that?

The handle is where the wrist crease of the hanging arm is, solved for the person on both feet, barefoot, the cane in
the hand opposite the painful hip; beside it stands the published estimate from stature with its error. In plain words,
for patients: no force to press with. The sheet says that a licensed clinician chooses, fits and teaches a walking aid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from viz3d.body.names import other_side
from viz3d.kinematics.posture import posture_rows
from viz3d.scene.picture import Step
from viz3d.scene.posture import Hands, LoadTable, PostureTable
from viz3d.scene.schema import Model, Scene
from viz3d.solution.script import Script
from viz3d.stage.tell import person_words
from viz3d.tables import load_values
from viz3d.teach.deck import SlidePicture
from viz3d.teach.facts import taught
from viz3d.teach.paper import Block, Leaf, Mark, listed, words
from viz3d.words.message import Amount, message

CAUTIONS = ("learning", "warning", "clinician", "checks", "local")
"""Rows of the cautions that everything handed to a patient carries."""


@dataclass(frozen=True)
class Fit:
    """A fitted cane: lengths in m, angles in rad."""

    scene: Scene
    """The person on both feet with the cane."""
    side: str
    """The hand it is in."""
    handle: float
    """Height of the handle above the floor, as solved, barefoot."""
    estimate: float
    error: float
    elbow: float
    elbow_usual: tuple[float, float]
    tip: float
    """How far the tip stands outside the little toe."""

    @property
    def is_usual(self) -> bool:
        """True where the elbow is bent as it usually is; under about 1.45 m the tip is too far aside for that."""
        return self.elbow_usual[0] <= self.elbow <= self.elbow_usual[1]


def fit_of(scene: Scene, file: str = "scene") -> Fit:
    """Fit a cane to a scene's person.

    Raises
    ------
    SceneError : the hand does not reach it.
    """
    hurts = scene.person.painful_hip
    stance = hurts if hurts != "none" else scene.posture.stance
    side = other_side(stance)
    standing = scene.model_copy(
        update={
            "posture": PostureTable.model_validate({"stance": stance, "lifted": "0 %", "share": "50 %"}),
            "hands": Hands.model_validate({side: {"holds": "cane", "force": "0 %BW"}}),
            "load": LoadTable(), "model": Model(), "steps": [Step(name="1")], "walk": None,
            "picture": scene.picture.model_copy(update={"words": "plain", "dress": "patient", "view": "front"}),
        }
    )  # fmt: skip
    at = taught(Script(standing, file), 0)
    upper, lower = (at.solved.posed.frames[f"{side}_{x}"][0, :3, 1] for x in ("upper_arm", "forearm"))
    k = 0 if side == at.solved.side(0) else 1
    known: dict[str, Any] = load_values("viz3d.teach", "fitting.toml")
    low, high = (math.radians(float(v)) for v in known["elbow"])
    return Fit(
        standing, side, float(at.solved.stance.handle[0, k, 1]),
        known["stature_share"] * scene.person.stature + known["stature_offset"], known["estimate_error"],
        float(np.arccos(np.clip(upper @ lower, -1.0, 1.0))), (low, high), float(posture_rows()["tip_beside_toe"].value),
    )  # fmt: skip


def fitting_sheet(scene: Scene, file: str = "scene") -> Leaf:
    """The sheet of a scene's person.

    Raises
    ------
    SceneError : the hand does not reach the cane.
    """
    fit = fit_of(scene, file)
    voice = fit.scene.picture.voice
    low, high = (Amount(v, "whole_angle") for v in fit.elbow_usual)
    elbow = "fitting.elbow" if fit.is_usual else "fitting.elbow_unusual"
    handle, tip = Amount(fit.handle, "whole_length"), Amount(fit.tip, "whole_length")
    told = listed(
        "steps",
        [
            message(f"fitting.hand_{fit.side}"), message("fitting.stand"), message("fitting.handle", handle=handle),
            message(elbow, low=low, high=high, here=Amount(fit.elbow, "whole_angle")),
            message("fitting.tip", tip=tip),
        ],
    )  # fmt: skip
    marks = (
        Mark("handle", message("fitting.mark_handle", handle=handle)),
        Mark("tip", message("fitting.mark_tip", tip=tip)),
    )
    standing = SlidePicture(fit.scene, file, (0,), ("bones", "cane"), whole=True)
    picture = Block("picture", picture=standing, wide=53.0, marks=marks)
    estimate = message(
        "fitting.estimate", estimate=Amount(fit.estimate, "whole_length"), error=Amount(fit.error, "whole_length"),
        share=Amount(load_values("viz3d.teach", "fitting.toml")["crease_right"], "fraction"),
    )  # fmt: skip
    checks = listed("list", [message(f"fitting.check_{n}") for n in ("tip", "height", "floor", "shoes")])
    right = (
        told, words("heading", message("fitting.sure")), words("text", estimate),
        words("heading", message("fitting.before")), checks,
    )  # fmt: skip
    blocks = (
        words("title", message("fitting.title")),
        words("text", message("fitting.person", person=person_words(fit.scene))),
        Block("beside", left=(picture,), right=right, share=0.42),
        caution_box(),
    )
    return Leaf(message("fitting.title"), message("fitting.subject"), blocks, voice, letters=12.0)


def caution_box() -> Block:
    """The cautions of everything that is handed to a patient, in full."""
    return listed("caution", [message(f"handout.caution.{name}") for name in CAUTIONS], message("handout.caution.head"))
