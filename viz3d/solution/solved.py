"""N solved situations: what balance, the two free bodies, the muscles and the socket's pressure came to.

Question answered: what is known of a situation once it is solved, and how does it lie in the world?

``Solved`` is the only thing that pictures, tables and files read. SI; hip frame: x forward, y up, l outward; world: x
forward, y up, z to the right. Made by :func:`viz3d.solution.solve.solve_batch`.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body, Hip
from viz3d.body.segments import mass_fractions
from viz3d.contact.facets import FacetPressure
from viz3d.contact.lune import LunePressure
from viz3d.kinematics.carried import THINGS
from viz3d.kinematics.chain import Pose
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.posture import Posture
from viz3d.solution.beside import Beside, Sagittal
from viz3d.solution.cane import Cane
from viz3d.statics.hip import HipLoad
from viz3d.statics.limb import LimbCheck
from viz3d.statics.loads import Load
from viz3d.statics.model import MuscleModel
from viz3d.units import GRAVITY

if TYPE_CHECKING:
    from viz3d.solution.gait import Gait

LUNE, HORSESHOE = "lune", "horseshoe"
HELD, WOULD_FALL, TOO_WEAK = "held", "would_fall", "too_weak"


@dataclass(frozen=True)
class Solved:
    """N solved situations."""

    body: Body
    hip: Hip
    asked: Posture
    """As asked for."""
    posture: Posture
    """As solved: with the obliquity that a second foot or a stiff hip asks for."""
    model: MuscleModel
    stance: Stance
    load: HipLoad
    pressure: LunePressure
    """Closed form on a lune; always computed."""
    beside: Beside
    status: NDArray[np.str_]
    shortfall: Array
    """N m missing where too weak, m outside the foot where it would fall, NaN where held. Of a walk, status and what is
    missing are those of its hardest moment: it is held as a whole."""
    residual_force: Array
    residual_moment: Array
    posed: Pose
    centres: Array
    """(N, segments, 3) centres of mass of all segments, world."""
    below: LimbCheck
    """The stance limb's free body."""
    assumed: tuple[str, ...]
    times: Array
    step: NDArray[np.intp]
    phase: Array | None = None
    """(N,) share of the walking cycle since the studied side's heel strike; None for a body that stands."""
    course: tuple[Array, Array] | None = None
    """Joint force of whole walking cycles round these times, or of all of a scene's steps where these are but some:
    times, s, and body weights."""
    gait: Gait | None = None
    """The walk's cycle, events, ground force and footprints; None for who stands."""

    @property
    def socket(self) -> FacetPressure | None:
        """Facets of the horseshoe, pelvis frame (x forward, y up, l outward), where they were asked for."""
        return self.beside.socket

    @property
    def sagittal(self) -> Sagittal | None:
        """Fore and aft, where the muscle set balances three axes."""
        return self.beside.sagittal

    @property
    def cane(self) -> Cane:
        """What the cane does."""
        return self.beside.cane

    @property
    def peak_pressure(self) -> Array:
        """Highest pressure on the surface the scene chose, (N,) Pa; NaN for a replaced hip, which has no cartilage."""
        peak = self.pressure.peak if self.socket is None else self.socket.peak
        return np.where(self.hip.replaced > 0.0, np.nan, peak)

    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """Every force from outside on both free bodies, in the world (x forward, y up, z right)."""
        return tuple(self._in_world(x) for x in (*self.load.loads, *self.below.loads))

    def _in_world(self, load: Load) -> Load:
        way = None if load.way is None else self.turned(load.way)
        return dataclasses.replace(load, point=self.in_world(load.point), force=self.turned(load.force), way=way)

    def turned(self, vectors: Array) -> Array:
        """Vectors (N, 3) of the hip frame in the world."""
        return np.asarray(vectors * np.stack([np.ones_like(self.sign), np.ones_like(self.sign), self.sign], axis=-1))

    def in_world(self, points: Array) -> Array:
        """Points (N, 3) of the hip frame in the world."""
        return np.asarray(self.hip_centre + self.turned(points))

    def adducts(self, load: Load) -> Array:
        """Moment of a load (world) about the stance hip in the frontal plane, positive where it adducts, (N,) N m."""
        away = load.point - self.hip_centre
        return np.asarray(self.sign * (away[:, 2] * load.force[:, 1] - away[:, 1] * load.force[:, 2]))

    def moment_arm_foot(self, load: Load) -> Array:
        """Where the moment arm of a load (world) meets its line of action in the frontal plane, (N, 3) world."""
        away, way = load.point - self.hip_centre, load.line
        along = (away[:, 1:] * way[:, 1:]).sum(axis=1, keepdims=True)
        return np.asarray(load.point - along * way)

    @property
    def sign(self) -> Array:
        """(N,) +1 where the studied hip is the right one: the hip frame's l is this times z."""
        return self.posed.sign

    @property
    def hip_centre(self) -> Array:
        """(N, 3) the stance hip centre in the world."""
        return self.posed.joints["stance_hip"]

    @property
    def own_weight(self) -> Array:
        """Weight of the body above the hip, without what is carried, (N,) N."""
        return np.asarray(GRAVITY * self.stance.own_mass)

    @property
    def own_moment_arm(self) -> Array:
        """Medial distance of that weight from the hip centre, (N,) m."""
        return np.asarray(-self.stance.own_moment / self.stance.own_mass)

    @cached_property
    def centre_of_mass(self) -> Array:
        """Centre of mass of the whole body with what it carries, (N, 3) world."""
        joints, p = self.posed.joints, self.posture
        kilograms = np.broadcast_to(mass_fractions(self.body) * self.body.mass[:, None], self.centres.shape[:2])
        things = [joints[n] for n in ("stance_wrist", "swing_wrist", *(t.key for t in THINGS))]
        carried = np.stack(things, axis=1)
        loads = np.concatenate([p.bag_mass, *(t.mass(p)[:, None] for t in THINGS)], axis=1)
        moment = (kilograms[..., None] * self.centres).sum(axis=1) + (loads[..., None] * carried).sum(axis=1)
        return np.asarray(moment / (kilograms.sum(axis=1) + loads.sum(axis=1))[:, None])

    @property
    def joint_bw(self) -> Array:
        """Joint force in body weights, without carried loads."""
        return self.load.joint_magnitude / self.body.weight

    def side(self, index: int) -> str:
        """The studied hip's side."""
        return RIGHT if self.posture.on_right[index] else LEFT
