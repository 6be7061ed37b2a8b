"""Who: the sizes of one person, or of a batch of people, as plain arrays.

Question answered: which numbers describe this body, and which of them were measured, published or assumed?

Every array has a leading axis of N people or of 1, so that mass, hip geometry and strength can vary in a
sweep. Left and right hips are separate. Lengths in metres, angles in radians, mass in kilograms. Default
values are rows of ``tables/geometry.toml``; any of them can be replaced by a measured value.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.arrays import Array
from viz3d.body.limits import check_room, check_size, limits
from viz3d.body.names import LEFT, RIGHT, SEXES
from viz3d.body.own import OwnBones
from viz3d.body.replacement import OWN, Choice, change_of
from viz3d.body.segment_tables import SEGMENTS, check_added, unsure_rows
from viz3d.errors import InputError, OutOfRange
from viz3d.tables import Row, load_rows
from viz3d.units import GRAVITY

SEGMENT_TABLES = ("de-leva", "dempster")
ABDUCTOR_LINE = (
    "abductor_line (derived): one line from the centre of gluteus medius' origin to the greater trochanter, on the"
    " drawn bones, unless a lever arm was measured; 5 mm more of lever arm take about 0.17 BW off the joint force, 5 mm"
    " less add about 0.21, and published abduction arms weighted by cross-section average 55 mm (from memory)"
)
"""Said with every result: the input that matters most is a derived one."""


def as_batch(value: ArrayLike) -> Array:
    """A float array with a leading batch axis; a bare number becomes a batch of one."""
    return np.atleast_1d(np.asarray(value, dtype=float))


@dataclass(frozen=True)
class Hip:
    """One hip joint; every field has shape (N,) or (1,).

    ``abductor_lever`` is NaN where the lever arm follows from the landmarks, else the measured value.
    """

    head_radius: Array
    neck_shaft_angle: Array
    version: Array
    offset: Array
    trochanter_height: Array
    centre_edge_angle: Array
    abductor_lever: Array
    full_torque: Array
    """Abduction moment of the muscles at full strength, N m."""
    strength: Array
    """Fraction of it that is left."""
    socket_out: Array
    """How far the hip centre lies outward of its usual place in the pelvis, m."""
    socket_up: Array
    """How far it lies above its usual place, m."""
    shortening: Array
    """How much shorter this leg's shin is than stature says, m."""
    socket_inclination: Array
    """Rim plane of the socket against the horizontal, in the frontal plane, rad."""
    socket_version: Array
    """How far the socket opens forward, rad."""
    replaced: Array
    """1 for a replacement hip on paper, 0 for the person's own."""

    @property
    def abductor_torque(self) -> Array:
        """Largest abduction moment the muscles can make, N m."""
        return np.asarray(self.full_torque * self.strength)

    @property
    def cartilage_radius(self) -> Array:
        """Radius of the loaded surface: the bony head's plus its cartilage, metres."""
        return np.asarray(self.head_radius + geometry_rows()["head_cartilage"].value)


@dataclass(frozen=True)
class Body:
    """A batch of people; every array has shape (N,) or (1,)."""

    sex: NDArray[np.int64]
    """Index into :data:`SEXES`."""
    mass: Array
    stature: Array
    hip_spacing: Array
    pelvic_width: Array
    """Between the anterior superior iliac spines, m."""
    pelvis_form: Array
    """1 for the typical woman's pelvis, 0 for the typical man's."""
    left: Hip
    right: Hip
    added: Array
    """(N, segments) mass put on each segment, or taken off it, kg; counted in ``mass``."""
    segment_table: str = "de-leva"
    own: OwnBones | None = None
    """The person's own bones, where a bone folder was named."""
    assumed: tuple[str, ...] = field(default=())
    """Inputs nobody measured that are from memory, common practice or assumed: one line each."""

    @property
    def weight(self) -> Array:
        """Body weight without carried loads, newtons."""
        return self.mass * GRAVITY

    def hip(self, side: str) -> Hip:
        """The left or the right hip."""
        return self.left if side == LEFT else self.right


def geometry_rows() -> dict[str, Row]:
    """The sourced default hip geometry."""
    return load_rows("viz3d.body.tables", "geometry.toml")


_DEGREES = ("neck_shaft_angle", "version", "centre_edge_angle", "socket_inclination", "socket_version")
_BY_SEX = ("head_radius", "offset", "abductor_torque", "socket_inclination")


def default_hip_value(name: str, sex: NDArray[np.int64]) -> Array:
    """Default of one hip measurement in SI units, shape of ``sex``; torque per kg for abductor_torque."""
    rows = geometry_rows()
    if name in _BY_SEX:
        both = np.array([rows[f"{name}.{s}"].value for s in SEXES], dtype=float)
    else:
        both = np.full(len(SEXES), float(rows[name].value))
    return np.asarray((np.radians(both) if name in _DEGREES else both)[sex])


def make_hip(
    sex: NDArray[np.int64], mass: Array, strength: ArrayLike | None = 1.0, replacement: Choice = OWN,
    **measured: ArrayLike | None,
) -> Hip:  # fmt: skip
    """A hip from defaults and measured values.

    Parameters
    ----------
    sex : (N,) index into :data:`SEXES`.
    mass : (N,) kg, for the default strength.
    strength : fraction of the default abduction torque that is left.
    replacement : a choice of :data:`viz3d.body.replacement.CHOICES`, on top of all measures.
    measured : any field of :class:`Hip` in SI units; None means not measured.

    Raises
    ------
    OutOfRange : a measured value lies outside the range its table row allows.
    """
    values: dict[str, Array] = {}
    given_names = {name for name, value in measured.items() if value is not None}
    for name in ("head_radius", "neck_shaft_angle", "version", "offset", "trochanter_height", "centre_edge_angle",
                 "socket_inclination", "socket_version"):  # fmt: skip
        given = measured.pop(name, None)
        values[name] = default_hip_value(name, sex) if given is None else as_batch(given)
        _check_range(name, values[name], sex)
    _follow_neck(values, sex, given_names)
    for name in ("socket_out", "socket_up", "shortening"):
        given = measured.pop(name, None)
        values[name] = np.zeros(1) if given is None else as_batch(given)
    values = change_of(replacement).applied(values)
    values["replaced"] = np.full(1, float(replacement != OWN))
    for name in ("offset", "trochanter_height"):
        _check_range(name, values[name], sex)
    lever = measured.pop("abductor_lever", None)
    values["abductor_lever"] = np.full(sex.shape, np.nan) if lever is None else as_batch(lever)
    torque = measured.pop("abductor_torque", None)
    values["full_torque"] = default_hip_value("abductor_torque", sex) * mass if torque is None else as_batch(torque)
    values["strength"] = as_batch(1.0 if strength is None else strength)
    if measured:
        raise InputError(f"unknown hip measurement: {', '.join(measured)}")
    return Hip(**values)


def _follow_neck(values: dict[str, Array], sex: NDArray[np.int64], given: set[str]) -> None:
    """A measured neck-shaft angle turns the default neck: offset and trochanter height follow unless measured."""
    if "neck_shaft_angle" not in given:
        return
    usual = default_hip_value("neck_shaft_angle", sex) - np.pi / 2
    neck = default_hip_value("offset", sex) / np.cos(usual)
    angle = values["neck_shaft_angle"] - np.pi / 2
    if "trochanter_height" not in given:
        values["trochanter_height"] = values["trochanter_height"] - neck * (np.sin(angle) - np.sin(usual))
    if "offset" not in given:
        values["offset"] = neck * np.cos(angle)


def _check_range(name: str, value: Array, sex: NDArray[np.int64]) -> None:
    key = f"{name}.{SEXES[int(sex.flat[0])]}" if name in _BY_SEX else name
    row = geometry_rows()[key]
    shown = np.degrees(value) if name in _DEGREES else value
    low, high = row.range
    if not bool(np.all((shown >= low) & (shown <= high))):
        worst = shown[~((shown >= low) & (shown <= high))][0]
        scale, unit = (1000.0, "mm") if row.unit == "m" else (1.0, row.unit)
        raise OutOfRange(
            name.replace("_", " "), f"{worst * scale:g} {unit}", f"{low * scale:g} to {high * scale:g} {unit}"
        )


def make_body(
    sex: str | NDArray[np.int64],
    mass: ArrayLike,
    stature: ArrayLike,
    hip_spacing: ArrayLike | None = None,
    pelvic_width: ArrayLike | None = None,
    pelvis_form: ArrayLike | None = None,
    left: dict[str, Any] | None = None,
    right: dict[str, Any] | None = None,
    segment_table: str = "de-leva",
    added: Array | None = None,
    own: OwnBones | None = None,
) -> Body:
    """A body from mass, stature and whatever was measured.

    Parameters
    ----------
    sex : "male" or "female", or (N,) indices into :data:`SEXES`.
    mass : kg, scalar or (N,).
    stature : m, scalar or (N,).
    hip_spacing : m between the hip centres; None for the published mean.
    pelvic_width : m between the anterior superior iliac spines; None follows the hip spacing.
    pelvis_form : 0 (typical man) to 1 (typical woman); None follows the sex.
    left, right : measured hip values for :func:`make_hip`, with ``strength`` as a fraction.
    segment_table : "de-leva" or "dempster".
    added : (N, segments) kg put on segments or taken off them, beyond ``mass``; None for nothing.
    own : a bone folder; what it measured must not be given as well.

    Raises
    ------
    InputError : unknown sex or table. OutOfRange : a size nobody has, or a segment that would weigh less than nothing.

    Examples
    --------
    >>> make_body("female", 64.0, 1.66).weight.round(1)
    array([627.6])
    """
    if segment_table not in SEGMENT_TABLES:
        raise InputError(f"segment table {segment_table!r}; allowed: {', '.join(SEGMENT_TABLES)}")
    if isinstance(sex, str):
        if sex not in SEXES:
            raise InputError(f"sex {sex!r}; allowed: {', '.join(SEXES)}")
        index = np.array([SEXES.index(sex)])
    else:
        index = np.atleast_1d(sex)
    if own is not None:
        hip_spacing = _measured(own, "hip_spacing", hip_spacing, own.person)
        pelvic_width = _measured(own, "pelvic_width", pelvic_width, own.person)
        left, right = (_hip_measured(own, side, given) for side, given in ((LEFT, left), (RIGHT, right)))
    kg, metres = as_batch(mass), as_batch(stature)
    check_size("mass", kg, limits()["mass"], "kg")
    check_size("stature", metres, limits()["stature"], "m")
    spacing = np.full(1, float(geometry_rows()["hip_spacing"].value)) if hip_spacing is None else as_batch(hip_spacing)
    _check_range("hip_spacing", spacing, index)
    width = spacing * width_over_spacing() if pelvic_width is None else as_batch(pelvic_width)
    _check_range("pelvic_width", width, index)
    form = np.asarray(index, dtype=float) if pelvis_form is None else as_batch(pelvis_form)
    check_size("pelvis form", form, (0.0, 1.0), "")
    hips = [make_hip(index, kg, **(given or {})) for given in (left, right)]
    for hip in hips:
        check_room(hip.head_radius, hip.offset, hip.neck_shaft_angle, spacing)
    extra = np.zeros((1, len(SEGMENTS))) if added is None else np.atleast_2d(added)
    check_added(index, kg, extra, segment_table)
    total = kg + extra.sum(axis=1)
    return Body(
        index, total, metres, spacing, width, form, hips[0], hips[1], extra, segment_table,
        own, _assumed(segment_table, index, own, metres),
    )  # fmt: skip


def width_over_spacing() -> float:
    """Pelvic width over hip spacing, of the published means."""
    rows = geometry_rows()
    return float(rows["pelvic_width"].value) / float(rows["hip_spacing"].value)


def _measured(
    own: OwnBones, name: str, given: ArrayLike | None, found: dict[str, float], where: str = "person."
) -> float:
    """What the bone folder measured; nothing else may be given, or picture and numbers would be of two people."""
    if given is not None:
        raise InputError(
            f"{where}{name}: the bone folder {own.folder.name} has measured it; leave it out, or leave out person.bones"
        )
    return found[name]


def _hip_measured(own: OwnBones, side: str, given: dict[str, Any] | None) -> dict[str, Any]:
    """A hip's values with the folder's measures."""
    out = dict(given or {})
    for name in own.hips[side]:
        out[name] = _measured(own, name, out.get(name), own.hips[side], f"person.{side}_hip.")
    return out


def _assumed(segment_table: str, sex: NDArray[np.int64], own: OwnBones | None, stature: Array) -> tuple[str, ...]:
    socket = load_rows("viz3d.body.tables", "socket.toml")
    rows = [r for r in (*geometry_rows().values(), *socket.values()) if r.status in ("from-memory", "assumed")]
    lines = [r.line() for r in [*rows, *unsure_rows(segment_table, {SEXES[i] for i in np.unique(sex)})]]
    return tuple(lines if own is None else [own.line(float(stature[0])), *lines])


def stance_hip(body: Body, on_right: NDArray[np.bool_]) -> Hip:
    """The hip stood on, per situation: right where ``on_right``, else left; fields (N,), or as the body has them
    where all stand on one side."""
    if on_right.all():
        return body.right
    if not on_right.any():
        return body.left
    values = {
        f.name: np.where(on_right, getattr(body.right, f.name), getattr(body.left, f.name))
        for f in dataclasses.fields(Hip)
    }
    return Hip(**values)
