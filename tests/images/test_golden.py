"""Small pictures approved by eye, compared by structural similarity: what changes by accident is seen.

When a picture changes on purpose: ``VIZ3D_APPROVE=1 pytest tests/images/test_golden.py``, then look at
``tests/images/golden`` before committing.
"""

from __future__ import annotations

import os
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage.metrics import structural_similarity

from viz3d.output.still import draw_still
from viz3d.scene.reader import load_scene

GOLDEN = Path(__file__).with_name("golden")
CONSTRAINTS = Path(__file__).resolve().parents[1] / "constraints.txt"
PICTURES = {
    "cane-front-light": ("cane-opposite-hand", "picture.view=front"),
    "muscles-quarter-dark": ("muscle-set", "picture.view=three-quarter", "picture.backdrop=dark"),
    "lean-joint-light": ("lean-over-hip", "picture.view=joint"),
    "frame-back-print": ("walking-frame", "picture.view=back", "picture.backdrop=print"),
}
LEAST = 0.93
"""Renderers differ in the last bit along edges; a moved arrow or a lost bone falls below this."""


@pytest.mark.regression
@pytest.mark.parametrize("name", PICTURES)
def test_picture_looks_as_approved(tmp_path: Path, name: str) -> None:
    scene, *changes = PICTURES[name]
    path = tmp_path / "a.png"
    draw_still(load_scene(scene, [*changes, "picture.size=960x540"]), path, "x")
    found = Image.open(path).convert("L").resize((480, 270), Image.Resampling.LANCZOS)
    approved = GOLDEN / f"{name}.png"
    if os.environ.get("VIZ3D_APPROVE"):
        found.save(approved)
    alike = structural_similarity(np.asarray(found), np.asarray(Image.open(approved)))
    assert alike > LEAST, f"{name}: {alike:.3f} alike; look at both, then approve"


@pytest.mark.regression
@pytest.mark.parametrize("name", ["vtk", "pyvista", "pillow", "matplotlib", "numpy"])
def test_pixels_are_drawn_by_the_versions_they_were_approved_with(name: str) -> None:
    told = dict(x.split("==") for x in CONSTRAINTS.read_text(encoding="utf-8").splitlines() if "==" in x)
    assert version(name) == told[name], "install the tested versions: sh setup.sh test"


def test_a_moved_arrow_would_be_seen(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    draw_still(load_scene("cane-opposite-hand", ["picture.size=960x540", "picture.step=1"]), path, "x")
    other = Image.open(path).convert("L").resize((480, 270), Image.Resampling.LANCZOS)
    approved = Image.open(GOLDEN / "cane-front-light.png")
    assert structural_similarity(np.asarray(other), np.asarray(approved)) < LEAST
