"""Hands of skin in a glTF file, of those that hold a bag: gripping while there is something in it, open else.

Question answered: which pieces of a skin are there all the time, which come and go, and when?

The format can neither hide a node nor scale a skin that bends with links. A hand that goes is drawn into its wrist, as
a morph target; forearm and hand turn about that point, so that nothing of it is left wherever they are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Frames
from viz3d.output.gltf_file import GltfFile
from viz3d.shapes.body_shell import GRIP, OPEN, Shell
from viz3d.stage.plan import Plan


@dataclass(frozen=True)
class PieceOfSkin:
    """A skin but for the hands that come and go, or one of these."""

    shell: Shell
    kept: Frames
    """Its vertices in the whole skin."""
    side: str = ""
    group: str = ""
    """Of a hand: gripping or open."""
    gone: Array | None = None
    """(N,) 1 in the rows in which it is not there, else 0; None for what always is."""

    @property
    def name(self) -> str:
        """What a hand's node is called."""
        return f"{self.side} hand, {'gripping' if self.group == GRIP else 'open'}"

    def come_and_go(self, out: GltfFile, mesh: int, points: Array) -> None:
        """Let a hand's mesh, of these points in the neutral stance, be drawn into its wrist."""
        assert self.gone is not None
        wrist = self.shell.rest[self.shell.links.index(f"{self.side}_hand")][:3, 3]
        out.morph(mesh, [{"POSITION": wrist - points}])
        out.file.meshes[mesh].weights = [float(self.gone[-1])]


def pieces_of(shell: Shell, plan: Plan) -> list[PieceOfSkin]:
    """A skin with every hand that never changes, then each hand that comes and goes."""
    if shell.hands is None:
        return [PieceOfSkin(shell, np.arange(len(shell.points)))]
    rows = [plan.empty_hands(i) for i in range(len(plan))]
    hands, spare = [], []
    for side in (side for side, what in plan.aids.items() if what == "bag"):
        empty = np.array([float(side in row) for row in rows])
        for group, gone in ((GRIP, empty), (OPEN, 1.0 - empty)):
            if gone.any():
                spare.append((side, group))
            if gone.any() and not gone.all():
                alone = shell.part(shell.of_hands([(side, group)]))
                hands.append(PieceOfSkin(*alone, side, group, gone))
    return [PieceOfSkin(*shell.part(~shell.of_hands(spare))), *hands]
