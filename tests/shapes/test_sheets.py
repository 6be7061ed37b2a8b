"""Places on curved plates against a library's splines."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import RectBivariateSpline

import viz3d
from viz3d.body.sheets import sheet_grid, sheet_point

TURNS = ((0, 0), (1, 0), (0, 1))


def nets() -> list[np.ndarray]:
    """Every net that is drawn, and ones of every size from three rows on."""
    drawn = [
        np.array(part["net"], dtype=float)
        for path in sorted((Path(viz3d.__file__).parent / "body" / "tables" / "bones").glob("*.toml"))
        for part in tomllib.loads(path.read_text(encoding="utf-8")).get("part", [])
        if "net" in part
    ]
    rng = np.random.default_rng(4)
    return drawn + [rng.normal(0.0, 30.0, (a, b, 4)) for a in range(3, 10) for b in range(3, 10)]


def by_library(net: np.ndarray, turn: tuple[int, int], u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """(U, V, 4) the same from a library."""
    rows, columns = net.shape[:2]
    nodes = np.linspace(0, 1, rows), np.linspace(0, 1, columns)
    degree = {"kx": min(3, rows - 1), "ky": min(3, columns - 1)}
    fits = [RectBivariateSpline(*nodes, net[..., i], **degree) for i in range(4)]
    return np.stack([f(u, v, dx=turn[0], dy=turn[1]) for f in fits], axis=-1)


def test_plates_are_the_splines_of_a_library() -> None:
    u, v = np.linspace(0, 1, 29), np.sort(np.random.default_rng(1).uniform(0, 1, 23))
    found = nets()
    assert len(found) > 55
    for net in found:
        for turn in TURNS:
            true = by_library(net, turn, u, v)
            assert sheet_grid(net, u, v, turn) == pytest.approx(true, abs=1e-11 * max(1.0, np.abs(true).max()))


def test_a_place_is_the_grids_and_its_normal_stands_on_the_plate() -> None:
    net = nets()[0]
    u, v = np.array([0.0, 0.31, 1.0]), np.array([0.0, 0.77, 1.0])
    value, normal = sheet_point(net, np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2))
    assert value == pytest.approx(sheet_grid(net, u, v).reshape(-1, 4), abs=1e-10)
    for turn in TURNS[1:]:
        slope = sheet_grid(net, u, v, turn).reshape(-1, 4)[:, :3]
        assert np.einsum("ij,ij->i", normal, slope) / np.linalg.norm(slope, axis=1) == pytest.approx(0.0, abs=1e-12)
    assert (normal[:, 2] >= 0).all()
