"""Shared fixtures: the house person, and a mesh cache that lives as long as the checkout."""

from __future__ import annotations

import os

import numpy as np
import pytest

from viz3d.body.person import Body, make_body

os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


@pytest.fixture(scope="session")
def house() -> Body:
    """The demo person: a woman, 64 kg, 1.66 m."""
    return make_body("female", 64.0, 1.66)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20260101)
