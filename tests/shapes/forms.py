"""Measuring single features on a bone's mesh, as a calliper would. Millimetres out; right bones in their link's frame."""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import femur_frame, pelvis_landmark
from viz3d.body.person import Body
from viz3d.shapes.build import BONES, bone_solids
from viz3d.shapes.fields import fold
from viz3d.shapes.measure import _slice
from viz3d.shapes.surface import Surface
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml

UP = np.array([0.0, 1.0, 0.0])


def front_of_shaft(femur: Surface, top: float, bottom: float, count: int = 41) -> Array:
    """Foremost points (count, 2) of level slices of the shaft: x and y, mm; ``top`` and ``bottom`` as shares of its length."""
    length = float(-femur.points[:, 1].min())
    out = []
    for y in np.linspace(-top * length, -bottom * length, count):
        cut = _slice(femur, np.array([0.0, y, 0.0]), UP).reshape(-1, 3)
        out.append([cut[:, 0].max(), y])
    return 1e3 * np.array(out)


def bow(femur: Surface) -> tuple[float, float]:
    """Radius of the bow of the shaft's front over its middle half, and its sagitta over a 260 mm chord, mm."""
    x, y = front_of_shaft(femur, 0.25, 0.75).T
    bend = 2.0 * np.polyfit(y, x, 2)[0]
    assert bend < 0.0
    return float(-1.0 / bend), float(-bend * 260.0**2 / 8.0)


def notch(hip: Surface, body: Body) -> tuple[float, float]:
    """Width (PIIS to ischial spine) and depth of the greater sciatic notch, mm, seen square to its plane."""
    rear, front, deep = (
        pelvis_landmark(n, body)[0] for n in ("posterior_inferior_spine", "ischial_spine", "greater_notch")
    )
    along = front - rear
    width = float(np.linalg.norm(along))
    along /= width
    inward = deep - rear - ((deep - rear) @ along) * along
    inward /= np.linalg.norm(inward)
    flat = np.stack([(hip.points - rear) @ along, (hip.points - rear) @ inward], axis=-1) * 1e3
    corner = flat[hip.triangles]
    depth = 0.0
    for place in np.linspace(0.15, 0.85, 57) * width * 1e3:
        depth = max(depth, _first_bone(corner, place))
    return width * 1e3, depth


def _first_bone(corner: Array, place: float) -> float:
    """How far from the chord the bone begins, at one place along it, in the notch (from 2 mm on)."""
    off = corner[..., 0] - place
    cut = (off.min(axis=1) < 0.0) & (off.max(axis=1) >= 0.0)
    low = []
    for tri, o in zip(corner[cut], off[cut], strict=True):
        ends = []
        for i, j in ((0, 1), (1, 2), (2, 0)):
            if (o[i] < 0.0) != (o[j] < 0.0):
                share = o[i] / (o[i] - o[j])
                ends.append(tri[i, 1] * (1 - share) + tri[j, 1] * share)
        low.append(min(ends))
    ahead = [v for v in low if v > 2.0]
    return min(ahead, default=0.0)


def symphysis_height(hip: Surface, within: float = 1.0) -> float:
    """Length of the flat face that the pubic bone turns to the midline, mm."""
    front = hip.points[hip.points[:, 0] > 0.0] * 1e3
    face = front[front[:, 2] < front[:, 2].min() + within]
    axis = np.linalg.svd(face - face.mean(axis=0))[2][0]
    return float(np.ptp(face @ axis))


def crest_thickness(hip: Surface, body: Body, behind: float) -> float:
    """Thickness of the iliac crest (its upper 12 mm) at a distance (m) behind the anterior superior spine, mm."""
    start = pelvis_landmark("anterior_spine", body)[0]
    edge = crest_line(hip, start)
    far = np.linalg.norm(edge - start, axis=1)
    k = int(np.argmin(np.abs(far - behind)))
    at, along = edge[k], edge[min(k + 2, len(edge) - 1)] - edge[k - 2]
    along /= np.linalg.norm(along)
    cut = _slice(hip, at, along).reshape(-1, 3) - at
    far = np.linalg.norm(cut, axis=1)
    wing = cut[(far > 0.025) & (far < 0.038)].mean(axis=0)
    across = np.cross(along, wing / np.linalg.norm(wing))
    return float(np.ptp((cut @ across)[far < 0.018]) * 1e3)


def crest_line(hip: Surface, start: Array) -> Array:
    """Highest points of the wing, walking back from the anterior superior spine, (n, 3) m."""
    out = [start]
    for x in np.arange(start[0] - 0.006, start[0] - 0.15, -0.002):
        near = hip.points[(np.abs(hip.points[:, 0] - x) < 0.0015) & (hip.points[:, 1] > 0.04)]
        if len(near):
            out.append(near[np.argmax(near[:, 1])])
    line = np.array(out)
    kernel = np.ones(5) / 5
    pad = np.concatenate([line[:1]] * 2 + [line] + [line[-1:]] * 2)
    return np.stack([np.convolve(pad[:, i], kernel, mode="valid") for i in range(3)], axis=-1)


def socket_map(hip: Surface, body: Body, polar: int = 90, turns: int = 180) -> tuple[Array, Array, Array, Array]:
    """How far (mm) the bone lies beyond the socket's sphere, in directions about the socket's axis.

    Returns
    -------
    excess (polar, turns), inf where nothing is met; angles from the floor and turns from the notch; the sphere's radius.
    """
    import trimesh
    from trimesh.ray.ray_pyembree import RayMeshIntersector

    from viz3d.body.socket import socket_axis

    middle = np.array([0.0, 0.0, body.hip_spacing[0] / 2])
    axis = socket_axis(body.right.socket_inclination.flat[0], body.right.socket_version.flat[0])
    down = -UP + (UP @ axis) * axis
    down /= np.linalg.norm(down)
    aside = np.cross(axis, down)
    theta, phi = np.radians(np.linspace(0, 100, polar)), np.linspace(-np.pi, np.pi, turns, endpoint=False)
    t, p = np.meshgrid(theta, phi, indexing="ij")
    way = (
        -np.cos(t)[..., None] * axis
        + np.sin(t)[..., None] * (np.cos(p)[..., None] * down + np.sin(p)[..., None] * aside)
    ).reshape(-1, 3)
    caster = RayMeshIntersector(trimesh.Trimesh(hip.points, hip.triangles, process=False))
    _, ray, where = caster.intersects_id(
        np.tile(middle, (len(way), 1)), way, multiple_hits=False, return_locations=True
    )
    far = np.full(len(way), np.inf)
    far[ray] = np.linalg.norm(where - middle, axis=1)
    radius = (float(body.right.head_radius[0]) + 3.6e-3) * 1e3
    return (far * 1e3 - radius).reshape(polar, turns), theta, phi, np.array(radius)


def fossa(hip: Surface, body: Body) -> dict[str, float]:
    """Width across the fossa's middle and its depth; width and depth of the notch between the horns, mm."""
    excess, theta, phi, radius = socket_map(hip, body)
    r = float(radius)
    deep = excess > 1.0
    across = np.stack(
        [
            np.broadcast_to(v, excess.shape)
            for v in (r * np.sin(theta)[:, None] * np.sin(phi)[None], r * np.sin(theta)[:, None] * np.cos(phi)[None])
        ],
        axis=0,
    )
    low = theta[:, None] < np.radians(75)
    middle = deep & (np.abs(across[1]) < 3.0) & low & (np.abs(across[0]) < 22)
    edge = int(np.argmin(np.abs(np.degrees(theta) - 70.0)))
    start = len(phi) // 2
    low_ = high_ = start
    while excess[edge, low_ - 1] > 0.8:
        low_ -= 1
    while excess[edge, high_ + 1] > 0.8:
        high_ += 1
    return {
        "width": float(np.ptp(across[0][middle])),
        "depth": float(np.median(excess[theta < np.radians(22)])),
        "notch": r * float(np.sin(phi[high_]) - np.sin(phi[low_])) * float(np.sin(theta[edge])),
        "notch_depth": float(excess[edge, start]),
    }


def neck_axis(body: Body) -> Array:
    """Unit vector from the crossing of neck and shaft to the head, thigh frame."""
    frame = femur_frame(body, body.right)
    return np.asarray(frame.axes[0] @ (frame.head[0] / np.linalg.norm(frame.head[0])))


def pit(body: Body) -> Array:
    """Unit vector from the head's centre to the fovea's middle, thigh frame."""
    (row,) = (r for r in read_toml(BONES, "thigh.toml")["part"] if r["name"] == "fovea")
    way = neck_axis(body) + np.array(row["beside"])
    return np.asarray(way / np.linalg.norm(way))


def relief(surface: Surface, group: str, bone: str, body: Body) -> Array:
    """How far (V,) each vertex stands over the bone without its lines and ridges, mm."""
    table = read_toml(BONES, f"{group}.toml")
    smooth = [part for part in bone_solids(table, bone, make_warp(table, body, body.right)) if part.lift is None]
    return fold(smooth, surface.points * 1e3)
