"""Write viz3d/teach/pelvis_outline.toml: the house person's pelvis seen from the front, for sketches of free bodies.

The drawn bones' shadow on the frontal plane, traced on a grid of half a millimetre and thinned to what a sketch needs.

.venv/bin/python docs/make_outline.py
"""

from __future__ import annotations

from pathlib import Path

import contourpy
import numpy as np
from PIL import Image, ImageDraw

from viz3d.body.person import make_body
from viz3d.shapes.body_form import neutral_frames
from viz3d.shapes.skeleton import build_figure

BONES = {"hip", "sacrum", "symphysis"}
STEP, GRID, SMALLEST = 0.0008, 0.0005, 60
"""How far a thinned outline may lie off, m; the grid, m; points of the shortest outline kept."""


def thinned(points: np.ndarray) -> np.ndarray:
    """A line with those points left out that lie nearer than ``STEP`` to the line through their neighbours."""
    if len(points) < 3:
        return points
    a, b = points[0], points[-1]
    along = b - a
    long = max(float(np.hypot(*along)), 1e-9)
    off = np.abs((points[:, 0] - a[0]) * along[1] - (points[:, 1] - a[1]) * along[0]) / long
    if long < 1e-6:
        off = np.hypot(*(points - a).T)
    k = int(off.argmax())
    if off[k] < STEP:
        return np.array([a, b])
    return np.concatenate([thinned(points[: k + 1])[:-1], thinned(points[k:])])


def main() -> None:
    body = make_body("female", 64.0, 1.66)
    frames, figure = neutral_frames(body), build_figure(body)
    seen = []
    for key, shape in figure.shapes.items():
        if key.split("/")[-1] in BONES:
            frame = frames[shape.link_among(frames)]
            points = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
            seen.append(((points - frame[:3, 3])[:, [2, 1]], shape.surface.triangles))
    low = np.min([p.min(axis=0) for p, _ in seen], axis=0) - 0.005
    high = np.max([p.max(axis=0) for p, _ in seen], axis=0) + 0.005
    shadow = Image.new("L", tuple(int(n) for n in (high - low) / GRID), 0)
    pen = ImageDraw.Draw(shadow)
    for points, triangles in seen:
        for triangle in ((points - low) / GRID)[triangles]:
            pen.polygon([tuple(p) for p in triangle], fill=255)
    found = contourpy.contour_generator(z=np.asarray(shadow, dtype=float)).lines(127.5)
    lines = [thinned(np.asarray(line) * GRID + low) for line in found if len(line) > SMALLEST]
    rows = [", ".join(f"[{1000 * x:.1f}, {1000 * y:.1f}]" for x, y in line[:-1]) for line in lines]
    text = [
        "# Written by docs/make_outline.py: the pelvis' shadow from the front and the holes in it, from the middle of the hips,",
        "# x to the right and y up, millimetres; and how far the hips are apart.",
        f"hips_apart = {1000 * float(body.hip_spacing[0]):.1f}",
        "outlines = [",
        *(f"  [{row}]," for row in rows),
        "]",
    ]
    Path("viz3d/teach/pelvis_outline.toml").write_text("\n".join(text) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
