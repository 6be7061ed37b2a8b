"""Feet on the floor: the smallest change of the measured leg angles with which the feet neither slide nor sink.

Question answered: how must the legs' angles differ from the measured ones on this body, so that each foot that stands
stays where it stands?

A measured motion on another body has feet that float, sink and slide by centimetres. The harmonics of the leg angles
are changed by weighted least squares (Gauss and Newton's method): deviations from the measured angles in their
standard deviations, against the places of heel and ball while they touch, and the sole's height while it swings. The
heel touches from heel strike until the foot tips forward, the ball from when the foot lies flat until toe off. The
height of the root, where each foot stands, and how far it is turned out, come with it. World frame that moves along
with the walker (x forward, y up, z right): a standing foot goes back at the walking speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import RIGHT
from viz3d.motion.leg import ANGLES, BALL, HEEL, TOE, Leg, sole_of
from viz3d.motion.series import waves
from viz3d.motion.table import SAME
from viz3d.tables import load_values

MOST_SLID = 0.005
"""How far a standing foot should slide at most, m; where it strays half as far again, another firmness is tried too."""
_FIRMER = (2.0, 1.0)
_STEPS, _HALVED = 15, 5
_SETTLED = 1e-5
_TIPPED = np.radians(3.0)
"""Pitch of the foot against lying flat from which heel or ball is off."""
_EDGE = 0.025
"""Share of the cycle after heel strike and before toe off in which the foot carries less than a fifth of the body and
may still move."""
_LATE = 0.1
"""Share of the cycle after toe off from which the toes are straight again and must clear the floor."""


@dataclass(frozen=True)
class Standing:
    """One foot's contacts over F frames: how long ago it came down, s, and which of its points touch."""

    leg: Leg
    since: Array
    """(F,) s since heel strike."""
    heel: Flags
    ball: Flags
    clear: Flags
    """(F,) True where the whole sole must clear the floor."""
    width: float
    """The foot's midline from the middle, m, not negative."""


@dataclass(frozen=True)
class Planted:
    """The legs' angles (F, 7) per side, how far the root moved up, and how well the feet stand."""

    angles: dict[str, Array]
    rise: float
    slid: dict[str, float]
    """Farthest that a touching point strays along the floor, m."""
    sunk: dict[str, float]
    """Farthest that heel or ball lies below the floor, m."""
    changed: dict[str, Array]
    """(7,) root mean square change of each angle from the measured one, rad."""
    moved: dict[str, float]
    """How far the sole lay off the floor, at most, before, m."""

    @property
    def strays(self) -> float:
        """The larger of sliding and sinking, of both feet, m."""
        return max(*self.slid.values(), *self.sunk.values())


def contacts(
    leg: Leg, pitch: Array, stance: Flags, period: float, shares: Array, swung: Array, width: float
) -> Standing:
    """Which points of a sole touch.

    Parameters
    ----------
    pitch : (F,) of the foot in space, toe up positive, rad. stance : (F,). shares, swung : (F,) shares of the
        cycle since heel strike and since toe off. period : s. width : of the foot's midline from the middle, m.
    """
    since = shares * period
    order = np.argsort(since[stance])
    through = pitch[stance][order]
    middle = through[int(0.25 * len(through)) : int(0.6 * len(through))]
    flat = pitch - float(np.median(middle))
    half = since < 0.5 * float(since[stance].max()) - SAME
    heel = stance & (half | (flat > -_TIPPED))
    ball = stance & (~half | (flat < _TIPPED))
    firm = (shares > _EDGE + SAME) & (swung < 1.0 - _EDGE - SAME)
    heel, ball = heel & firm, ball & firm
    clear = ~stance & (swung > _LATE + SAME) & (swung < 1.0 - SAME)
    return Standing(leg, since, heel, ball, clear, width)


def plant(
    feet: list[Standing], root: Array, pelvis: Array, share: Array, speed: float, measured: dict[str, Array],
    weights: dict[str, Array], harmonics: int,
) -> Planted:  # fmt: skip
    """Change the legs' angles so that the feet stand.

    Parameters
    ----------
    root : (F, 3), periodic. pelvis : (F, 3, 3). share : (F,) of the cycle. speed : m/s.
    measured : side -> coefficients (1 + 2 harmonics, 7) of the measured angles, rad.
    weights : side -> (1 + 2 harmonics, 7) one over the standard deviation of each coefficient, 0 where it is free.
    """
    shapes = waves(share, harmonics)
    problem = _Problem(feet, root, pelvis, speed, measured, weights, shapes)
    best = None
    for firmer in _FIRMER:
        problem.firm = firmer / problem.stray
        found = problem.answer(problem.solved(problem.start()))
        best = found if best is None or found.strays < best.strays else best
        if best.strays < 1.5 * MOST_SLID:
            break
    assert best is not None
    return best


class _Problem:
    """The least-squares problem; unknowns: the root's rise, then for each foot its place, its turn and coefficients."""

    def __init__(
        self, feet: list[Standing], root: Array, pelvis: Array, speed: float, measured: dict[str, Array],
        weights: dict[str, Array], shapes: Array,
    ) -> None:  # fmt: skip
        self.feet, self.root, self.pelvis, self.speed = feet, root, pelvis, speed
        self.measured, self.weights, self.shapes = measured, weights, shapes
        of = load_values("viz3d.motion", "motion.toml")
        self.stray, self.clearance = of["contact_firmness"], of["swing_clearance"]
        self.firm = 1.0 / self.stray
        self.out, self.true = np.radians(of["turned_out"]), 1.0 / np.radians(of["turned_out_deviation"])
        self.per = 2 + shapes.shape[1] * len(ANGLES)

    def start(self) -> Array:
        """The measured angles; the root and each foot where the sole's points lie on average."""
        x = np.zeros(1 + self.per * len(self.feet))
        low = []
        for k, foot in enumerate(self.feet):
            own = self._own(k)
            x[own][2:] = self.measured[foot.leg.side].ravel()
            points, _ = self._sole(x, k)
            back = points[:, HEEL, 0] + self.speed * foot.since
            x[own.start] = back[foot.heel & foot.ball].mean()
            low.append(points[:, HEEL, 1][foot.heel & foot.ball].mean())
        x[0] = -float(np.mean(low))
        return x

    def solved(self, x: Array) -> Array:
        """The unknowns of the least sum of squares; a step that makes it larger is halved."""
        feet, cost = self._all(x)
        for _ in range(_STEPS):
            change = self._step(feet)
            for _ in range(_HALVED):
                feet, now = self._all(x + change)
                if now <= cost:
                    break
                change = 0.5 * change
            x, cost = x + change, now
            if float(np.abs(change).max()) < _SETTLED:
                break
        return x

    def _all(self, x: Array) -> tuple[list[tuple[Array, Array]], float]:
        """Residuals and slopes of all feet, and the sum of squares."""
        feet = [self.linear(x, k) for k in range(len(self.feet))]
        return feet, float(sum((left**2).sum() for left, _ in feet))

    def _step(self, feet: list[tuple[Array, Array]]) -> Array:
        """The normal equations' answer: each foot's unknowns hang together through the root's rise alone."""
        out, rise, stiff, found = np.zeros(1 + self.per * len(feet)), 0.0, 0.0, []
        for left, slope in feet:
            square, right = np.einsum("ri,rj->ij", slope, slope), -np.einsum("ri,r->i", slope, left)
            both = np.linalg.solve(square[1:, 1:], np.stack([right[1:], square[1:, 0]], axis=1))
            rise += float(right[0] - square[0, 1:] @ both[:, 0])
            stiff += float(square[0, 0] - square[0, 1:] @ both[:, 1])
            found.append(both)
        out[0] = rise / stiff
        for k, both in enumerate(found):
            out[self._own(k)] = both[:, 0] - both[:, 1] * out[0]
        return out

    def _own(self, k: int) -> slice:
        return slice(1 + k * self.per, 1 + (k + 1) * self.per)

    def _angles(self, x: Array, k: int) -> Array:
        return np.asarray(self.shapes @ x[self._own(k)][2:].reshape(-1, len(ANGLES)))

    def _sole(self, x: Array, k: int) -> tuple[Array, Array]:
        lifted = self.root + np.array([0.0, x[0], 0.0])
        return sole_of(self.feet[k].leg, lifted, self.pelvis, self._angles(x, k))

    def linear(self, x: Array, k: int) -> tuple[Array, Array]:
        """One foot's residuals (R,) at some unknowns, and their slopes (R, 1 + per): the rise, then its own."""
        foot = self.feet[k]
        weight = self.weights[foot.leg.side].ravel()
        slope = np.zeros((len(weight), 1 + self.per))
        slope[:, 3:] = np.diag(weight)
        rows = [weight * (x[self._own(k)][2:] - self.measured[foot.leg.side].ravel())]
        slopes = [slope]
        turn = np.zeros((1, 1 + self.per))
        turn[0, 2] = self.true
        rows.append(np.array([self.true * (x[2 + k * self.per] - self.out)]))
        slopes.append(turn)
        for left, part in self._touching(x, k):
            rows.append(left.ravel() * self.firm)
            slopes.append(part.reshape(-1, 1 + self.per) * self.firm)
        return np.concatenate(rows), np.concatenate(slopes)

    def _touching(self, x: Array, k: int) -> list[tuple[Array, Array]]:
        """How far touching points are off their place (R, 3), and heights too low (R, 1), with slopes."""
        foot, out = self.feet[k], []
        points, jacobian = self._sole(x, k)
        for point, touches in ((HEEL, foot.heel), (BALL, foot.ball)):
            at, way = self._place(x, k, point)
            slope = np.zeros((int(touches.sum()), 3, 1 + self.per))
            slope[..., 3:] = self._turned(jacobian[touches, point], touches)
            slope[:, 1, 0] = 1.0
            slope[:, 0, 1] = -1.0
            slope[..., 2] = -way
            out.append(((points[:, point] - at)[touches], slope))
        for point in (HEEL, BALL, TOE):
            floor = np.where(foot.clear, self.clearance, 0.0 if point != TOE else -1.0)
            low = (points[:, point, 1] < floor) & ~(foot.heel if point == HEEL else foot.ball)
            slope = np.zeros((int(low.sum()), 1, 1 + self.per))
            slope[..., 3:] = self._turned(jacobian[low, point, 1][:, None], low)
            slope[..., 0] = 1.0
            out.append(((points[:, point, 1] - floor)[low][:, None], slope))
        return out

    def _turned(self, jacobian: Array, rows: Flags) -> Array:
        """Slopes (R, A, coefficients) of places from those of angles (R, A, 7) at some frames."""
        found = jacobian[:, :, None, :] * self.shapes[rows][:, None, :, None]
        return np.asarray(found.reshape(*jacobian.shape[:2], self.per - 2))

    def _place(self, x: Array, k: int, point: int) -> tuple[Array, Array]:
        """Where a point of the sole stands over the frames (F, 3), and how that place turns with the foot (3,)."""
        foot = self.feet[k]
        out = 1.0 if foot.leg.side == RIGHT else -1.0
        place, turn = x[1 + k * self.per], x[2 + k * self.per]
        along = foot.leg.sole[point, 0] - foot.leg.sole[HEEL, 0]
        at = np.zeros((len(foot.since), 3))
        at[:, 0] = place - self.speed * foot.since + along * np.cos(turn)
        at[:, 2] = out * (foot.width + along * np.sin(turn))
        return at, along * np.array([-np.sin(turn), 0.0, out * np.cos(turn)])

    def answer(self, x: Array) -> Planted:
        """The solved legs and what is left."""
        angles, slid, sunk, changed, moved = {}, {}, {}, {}, {}
        before = self.start()
        for k, foot in enumerate(self.feet):
            side = foot.leg.side
            points, _ = self._sole(x, k)
            stray = [(points[:, p] - self._place(x, k, p)[0])[t] for p, t in ((HEEL, foot.heel), (BALL, foot.ball))]
            angles[side] = self._angles(x, k)
            slid[side] = max(float(np.hypot(s[:, 0], s[:, 2]).max()) for s in stray)
            sunk[side] = max(0.0, -float(points[:, [HEEL, BALL], 1].min()))
            changed[side] = np.sqrt(((angles[side] - self.shapes @ self.measured[side]) ** 2).mean(axis=0))
            raw, _ = self._sole(before, k)
            moved[side] = max(float(np.abs(raw[t, p, 1]).max()) for p, t in ((HEEL, foot.heel), (BALL, foot.ball)))
        return Planted(angles, float(x[0]), slid, sunk, changed, moved)
