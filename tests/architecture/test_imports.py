"""Imports run one way: no cycle of modules, type-only and lazy imports included; what draws stays in its room."""

from __future__ import annotations

import ast
from pathlib import Path

import grimp
import networkx as nx
import pytest

import viz3d

ROOT = Path(viz3d.__file__).parent


def rings() -> list[set[str]]:
    """Groups of modules that reach each other, names without the package's."""
    found = grimp.build_graph("viz3d", exclude_type_checking_imports=False, cache_dir=None)
    graph = nx.DiGraph((a, b) for a in found.modules for b in found.find_modules_directly_imported_by(a))
    assert graph.number_of_edges() > 300
    return [
        {m.removeprefix("viz3d.") for m in ring} for ring in nx.strongly_connected_components(graph) if len(ring) > 1
    ]


def test_no_ring_of_imports() -> None:
    """Neither at run time, nor lazily, nor for types alone."""
    assert rings() == []


def imported(path: Path) -> set[str]:
    """Top-level names of everything a file imports, wherever in the file."""
    out = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            out |= {a.name.split(".")[0] for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            out.add(node.module.split(".")[0])
    return out


@pytest.mark.parametrize(
    ("libraries", "room", "others"),
    [
        ({"pyvista", "vtk", "vtkmodules"}, "output", {"shapes/surface.py"}),
        ({"matplotlib", "imageio", "imageio_ffmpeg", "fpdf"}, "output", set()),
        ({"typer", "rich"}, "cli", set()),
        ({"starlette", "uvicorn"}, "web", set()),
    ],
    ids=["drawing", "figures", "command line", "server"],
)
def test_a_library_is_imported_by_one_room(libraries: set[str], room: str, others: set[str]) -> None:
    """Lazy imports count too; ``others``: the exceptions that the guide names."""
    users = {p.relative_to(ROOT).as_posix() for p in ROOT.rglob("*.py") if imported(p) & libraries}
    outside = {u for u in users if not u.startswith(f"{room}/")}
    assert users - outside, "nobody imports it: the list is out of date"
    assert outside == others
