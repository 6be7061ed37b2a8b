"""What should be said beside a situation that can be held: pushes nobody gives, a pelvis that would have to be pulled.

Question answered: is there anything in this situation that people do not do, or tissue that would stop it earlier?
"""

from __future__ import annotations

import numpy as np

from viz3d.body.names import SIDES
from viz3d.body.replacement import OWN
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, posture_rows
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.words.message import Message, fraction, message, moment

CANE = "cane"


def rare_push() -> float:
    """What people rarely press on a cane with more than, body weights."""
    return float(posture_rows()["rare_push"].value)


def notes(scene: Scene, solved: Solved, i: int) -> list[Message]:
    """The notes of one situation; pictures show the first."""
    return [*_replaced(scene), *_stopped(solved, i), *_hard_pushes(scene, solved, i)]


def _replaced(scene: Scene) -> list[Message]:
    """That a replacement hip here is a figure for teaching."""
    chosen = (getattr(scene.person, f"{side}_hip").replacement for side in SIDES)
    return [message("note.replaced")] if any(choice != OWN for choice in chosen) else []


def _stopped(solved: Solved, i: int) -> list[Message]:
    """Passive tissue alone makes more than the loads ask for: the adductors would have to pull the pelvis down."""
    load = solved.load
    passive, needed = float(load.passive[i]), float(load.external_moment[i])
    if not (passive > 0.0 and passive > max(needed, 0.0) + 1e-9):
        return []
    return [message("note.stopped", passive=moment(passive), needed=moment(max(needed, 0.0)))]


def _hard_pushes(scene: Scene, solved: Solved, i: int) -> list[Message]:
    """Canes pressed with more than people usually press; crutches and frames are made to carry more."""
    stance, weight = solved.side(i), np.broadcast_to(solved.body.weight, len(solved.posture))
    out = []
    for side in SIDES:
        hand = STANCE_HAND if side == stance else SWING_HAND
        push = float(np.linalg.norm(solved.stance.hand_force[i, hand])) / float(weight[i])
        if getattr(scene.hands, side).holds == CANE and push > rare_push() + 1e-9:
            out.append(message(f"note.hard_push_{side}", share=fraction(push), most=fraction(rare_push())))
    return out
