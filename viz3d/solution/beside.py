"""What is said beside the forces: pressure on the horseshoe, balance fore and aft, what a cane relieves.

Question answered: how is the load spread over the socket's facets, what is the least certain place worth, what does a
newton on the cane take off?

Each part costs as much as the forces do, so each is worked out once it is asked for. SI; hip frame as in
:mod:`viz3d.statics.hip`.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body, Hip, geometry_rows
from viz3d.body.socket import socket_axis
from viz3d.contact.facets import FacetPressure, facet_pressure
from viz3d.contact.horseshoe import from_notch, horseshoe
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.muscle_paths import pelvis_rotation
from viz3d.kinematics.posture import posture_rows
from viz3d.solution.cane import Cane, cane_effect
from viz3d.statics.hip import HipLoad, hip_load
from viz3d.statics.model import SPATIAL_SET, MuscleModel


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
    """The parts of one solved batch; ``facets``: the scene chose the horseshoe."""

    body: Body
    hip: Hip
    stance: Stance
    load: HipLoad
    model: MuscleModel
    facets: bool

    @cached_property
    def socket(self) -> FacetPressure | None:
        """Pressure on the horseshoe's facets, where the scene chose them."""
        return _socket(self.body, self.hip, self.stance, self.load) if self.facets else None

    @cached_property
    def sagittal(self) -> Sagittal | None:
        """Fore-and-aft balance, for the three-axis set."""
        return _sagittal(self.body, self.hip, self.stance, self.load, self.model)

    @cached_property
    def cane(self) -> Cane:
        """What the cane relieves."""
        return cane_effect(self.body, self.stance, self.load, self.model)


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
    from viz3d.shapes.own import own_socket  # brings the mesher along, which only a person's own bones need

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
