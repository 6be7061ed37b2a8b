"""From bodies and postures to one solved batch.

Question answered: for every situation, what does the hip carry, is it held, and what does the cane relieve?

Balance (:mod:`viz3d.kinematics.frontal`), the free body above the hip (:mod:`viz3d.statics.hip`), its
check from below (:mod:`viz3d.statics.limb`) and the socket's pressure (:mod:`viz3d.contact.lune`) for N
situations at once. ``Solved`` is the only thing that pictures, tables and files read.
SI; hip frame: x forward, y up, l outward.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.muscles import MUSCLE_LINES, unsure_muscle_rows
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import ABDUCTOR_LINE, Body, Hip, geometry_rows, stance_hip
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.body.socket import socket_axis
from viz3d.contact.facets import FacetPressure, facet_pressure
from viz3d.contact.horseshoe import from_notch, horseshoe
from viz3d.contact.lune import LunePressure, lune_pressure
from viz3d.kinematics.carried import THINGS
from viz3d.kinematics.chain import Pose, segment_centres
from viz3d.kinematics.frontal import Stance, stand
from viz3d.kinematics.muscle_paths import pelvis_rotation
from viz3d.kinematics.posture import Posture, posture_rows
from viz3d.kinematics.standing import standing_pose
from viz3d.shapes.own import own_socket
from viz3d.solution.cane import Cane, cane_effect
from viz3d.statics.hip import ONE_MUSCLE, HipLoad, hip_load, torque_margin
from viz3d.statics.limb import LimbCheck, limb_free_body
from viz3d.statics.loads import Load
from viz3d.statics.model import EQUIVALENT, SPATIAL_SET, MuscleModel
from viz3d.tables import UNSURE, load_rows
from viz3d.units import GRAVITY

LUNE, HORSESHOE = "lune", "horseshoe"
HELD, WOULD_FALL, TOO_WEAK = "held", "would_fall", "too_weak"


@dataclass(frozen=True)
class Sagittal:
    """Fore-and-aft balance of N situations, and what its least certain place is worth."""

    gravity_line: float
    """Ahead of the hip, m."""
    deviation: float
    """Published standard deviation of that place, m."""
    forward: Array
    """Forward inclination of the stance leg, rad."""
    flexion_demand: Array
    """Moment the flexors must make, N m; negative for extensors."""
    joint_ahead: Array
    """Joint force with the line one standard deviation further forward, N."""
    joint_behind: Array


@dataclass(frozen=True)
class Beside:
    """What is said beside the forces, worked out once it is asked for: each part costs as much as the forces do."""

    body: Body
    hip: Hip
    stance: Stance
    load: HipLoad
    model: MuscleModel
    surface: str

    @cached_property
    def socket(self) -> FacetPressure | None:
        """Pressure on the horseshoe's facets, where the scene chose them."""
        return _socket(self.body, self.hip, self.stance, self.load) if self.surface == HORSESHOE else None

    @cached_property
    def sagittal(self) -> Sagittal | None:
        """Fore-and-aft balance, for the three-axis set."""
        return _sagittal(self.body, self.hip, self.stance, self.load, self.model)

    @cached_property
    def cane(self) -> Cane:
        """What the cane relieves."""
        return cane_effect(self.body, self.stance, self.load, self.model)


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
    """N m missing where too weak, m outside the foot where it would fall, NaN where held."""
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
        """Highest pressure on the surface the scene chose, (N,) Pa."""
        return self.pressure.peak if self.socket is None else self.socket.peak

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


def solve_batch(
    body: Body,
    posture: Posture,
    times: Array | None = None,
    step: NDArray[np.intp] | None = None,
    model: MuscleModel = ONE_MUSCLE,
    surface: str = LUNE,
) -> Solved:
    """Solve N situations.

    Parameters
    ----------
    body : batch of N or 1. posture : N postures.
    times, step : labels to carry along.
    model : what stands for the muscles.
    surface : loaded surface of the socket, "lune" or "horseshoe".
    """
    asked, stance = posture, stand(body, posture)
    posture = stance.posture
    hip = stance_hip(body, posture.on_right)
    posed = standing_pose(body, stance)
    centres = segment_centres(body, posed)
    load = hip_load(body, hip, stance, model, _own_height(body, stance, posed, centres))
    below = limb_free_body(body, stance, posed, centres, load)
    joint = load.joint_magnitude
    edge = hip.centre_edge_angle - posture.obliquity
    pulled = ~(load.joint_force[:, 1] > 0.0) & np.isfinite(joint)
    radius = np.where(pulled, np.nan, hip.cartilage_radius)
    pressure = lune_pressure(joint, load.joint_angle, radius, edge)
    margin = torque_margin(hip, load)
    falls = stance.falls | pulled
    weak = margin < -1e-9 * body.weight * body.hip_spacing
    status = np.where(falls, WOULD_FALL, np.where(weak, TOO_WEAK, HELD))
    shortfall = np.where(falls, stance.fall_miss, np.where(weak, -margin, np.nan))
    count = len(posture)
    return Solved(
        body, hip, asked, posture, model, stance, load, pressure,
        Beside(body, hip, stance, load, model, surface), status, shortfall,
        np.linalg.norm(below.head_force + load.joint_force, axis=1),
        np.abs(below.moment_left).max(axis=1),
        posed, centres, below, _assumed(body, posture, model),
        np.zeros(count) if times is None else times,
        np.arange(count) if step is None else np.asarray(step, dtype=np.intp),
    )  # fmt: skip


def _own_height(body: Body, stance: Stance, posed: Pose, centres: Array) -> Array:
    """Height of the free body's own centre of mass above the hip, (N,) m."""
    kilograms = mass_fractions(body) * body.mass[:, None] * np.ones((len(centres), 1))
    right = stance.posture.on_right
    for name in LEG:
        for side, on in ((RIGHT, right), (LEFT, ~right)):
            kilograms[on, SEGMENTS.index(f"{side}_{name}")] = 0.0
    height = (kilograms * centres[..., 1]).sum(axis=1) / kilograms.sum(axis=1)
    return np.asarray(height - posed.joints["stance_hip"][:, 1])


def _socket(body: Body, hip: Hip, stance: Stance, load: HipLoad) -> FacetPressure:
    """Pressure on the horseshoe's facets, in the pelvis frame."""
    normals, areas = _articular(body, hip, stance)
    radius = np.atleast_1d(hip.cartilage_radius)
    on_pelvis = np.einsum("nji,nj->ni", pelvis_rotation(stance.posture.obliquity), np.nan_to_num(load.joint_force))
    on_head_side = on_pelvis / (radius**2)[:, None]
    found = facet_pressure(on_head_side, normals, normals, areas)
    lost = ~np.isfinite(load.joint_magnitude) | ~(load.joint_force[:, 1] > 0.0)

    def only(values: Array) -> Array:
        return np.where(lost.reshape(-1, *([1] * (values.ndim - 1))), np.nan, values)

    square = np.broadcast_to(radius**2, lost.shape)
    return dataclasses.replace(
        found,
        pressure=only(found.pressure), peak=only(found.peak), mean=only(found.mean), area=only(found.area * square),
        centre=only(found.centre * np.broadcast_to(radius, lost.shape)[:, None]),
        displacement=only(found.displacement), carried=found.carried & ~lost,
    )  # fmt: skip


def _articular(body: Body, hip: Hip, stance: Stance) -> tuple[Array, Array]:
    """Facets of the loaded surface on the unit sphere: a brought socket's own outside its notch, else the horseshoe."""
    if body.own is None:
        return horseshoe(hip.centre_edge_angle, hip.socket_inclination, hip.socket_version)
    out, area = own_socket(body.own, RIGHT if stance.posture.on_right[0] else LEFT)
    axis = np.atleast_2d(socket_axis(hip.socket_inclination, hip.socket_version))
    loaded = from_notch(out, axis)[0] > np.radians(geometry_rows()["notch_half_width"].value)
    return out[loaded], area[loaded]


def _sagittal(body: Body, hip: Hip, stance: Stance, load: HipLoad, model: MuscleModel) -> Sagittal | None:
    """What the line of gravity's published spread is worth, for the three-axis set."""
    if load.muscles is None or model.kind != SPATIAL_SET:
        return None
    line, apart = load.muscles.gravity_line, float(posture_rows()["gravity_line_deviation"].value)

    def moved(by: float) -> Array:
        return hip_load(body, hip, stance, dataclasses.replace(model, gravity_line=line + by)).joint_magnitude

    return Sagittal(
        line, apart, load.muscles.forward, load.muscles.demand[:, 1], moved(apart), moved(-apart)
    )  # fmt: skip


def _assumed(body: Body, posture: Posture, model: MuscleModel) -> tuple[str, ...]:
    rows = posture_rows()
    names = ["lean_pivot", "centre_of_pressure"]
    if bool(((posture.lifted > 0) & (posture.clearance == rows["swing_clearance"].value)).any()):
        names.append("swing_clearance")
    if bool(posture.has_cane.any()):
        names += ["palm_on_handle", "shoulder_glide"]
    lines = [rows[n].line() for n in names if rows[n].status in UNSURE]
    if model.kind == EQUIVALENT:
        return (ABDUCTOR_LINE, *body.assumed, *lines)
    shared = load_rows("viz3d.statics", "model.toml")
    tilted = ["largest_sagittal_tilt"] if model.kind == SPATIAL_SET else []
    used = ["sharing_power", *tilted] if model.power == shared["sharing_power"].value else tilted
    return (
        MUSCLE_LINES,
        *body.assumed,
        *lines,
        *(row.line() for row in (*unsure_muscle_rows(), *(shared[n] for n in used))),
    )
