"""House rules a machine can check: tables are whole, docstrings run, modules stay readable, tests assert."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import viz3d
from viz3d.body.landmarks import landmark_rows
from viz3d.tables import OTHERS, STATUSES, constant_tables, load_rows

ROOT = Path(viz3d.__file__).parent
MODULES = [m.name for m in pkgutil.walk_packages([str(ROOT)], "viz3d.") if not m.name.endswith("__main__")]


@pytest.mark.parametrize(("package", "name"), constant_tables())
def test_every_constant_is_whole(package: str, name: str) -> None:
    rows = load_rows(package, name)
    assert rows
    for row in rows.values():
        assert row.meaning
        assert row.unit
        if row.status == "published":
            assert row.source, row.name
        value = row.value if isinstance(row.value, list) else [row.value]
        assert all(row.range[0] <= v <= row.range[1] for v in value), row.name


def test_every_table_is_of_constants_or_said_to_be_another() -> None:
    """A new TOML file is a table of whole constants unless ``viz3d.tables.OTHERS`` says what else it is."""
    assert len(constant_tables()) >= 11
    for other, what in OTHERS.items():
        assert what
        if other not in ("scenes/", "words/"):  # in the wheel, or only in it
            assert (ROOT / other).exists(), f"{other} is gone"


def test_every_place_on_the_bones_says_what_it_is() -> None:
    """Places are drawings, not constants, but each says what it stands for and how sure we are."""
    for frame, rows in landmark_rows().items():
        for name, row in rows.items():
            assert row["meaning"], f"{frame}.{name}"
            assert row["status"] in STATUSES, f"{frame}.{name}"


@pytest.mark.parametrize("name", MODULES)
def test_docstrings_run(name: str) -> None:
    module = importlib.import_module(name)
    assert module.__doc__, f"{name} has no docstring"
    failed, _ = doctest.testmod(module)
    assert failed == 0


LONGEST, LONGEST_FUNCTION = 350, 60


def test_modules_and_functions_stay_readable() -> None:
    for path in ROOT.rglob("*.py"):
        text, name = path.read_text(encoding="utf-8"), path.relative_to(ROOT).as_posix()
        assert text.count("\n") <= LONGEST, name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                doc = ast.get_docstring(node, clean=False)
                length = (node.end_lineno or 0) - node.lineno - (doc.count("\n") + 1 if doc else 0)
                assert length <= LONGEST_FUNCTION, f"{path.name}: {node.name} has {length} lines"


def every_test() -> list[tuple[str, ast.FunctionDef]]:
    found = [
        (f"{path.name}: {node.name}", node)
        for path in (ROOT.parent / "tests").rglob("test_*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    ]
    assert len(found) > 300
    return found


def checks(node: ast.AST) -> list[ast.AST]:
    """Assertions in a function: ``assert``, ``pytest.raises``, and calls of helpers named check… or assert_…."""
    return [
        n
        for n in ast.walk(node)
        if isinstance(n, ast.Assert)
        or (isinstance(n, ast.Call) and called(n).startswith(("raises", "assert_", "check_")))
    ]


def called(call: ast.Call) -> str:
    return (
        call.func.attr
        if isinstance(call.func, ast.Attribute)
        else call.func.id
        if isinstance(call.func, ast.Name)
        else ""
    )


def says_nothing(check: ast.AST) -> bool:
    """An assertion of bare constants, of a thing with itself, or of alternatives of which any one would do."""
    if not isinstance(check, ast.Assert):
        return False
    if isinstance(check.test, ast.BoolOp) and isinstance(check.test.op, ast.Or):
        return True
    if isinstance(check.test, ast.Compare) and not isinstance(check.test.ops[0], (ast.In, ast.NotIn)):
        sides = [check.test.left, *check.test.comparators]
        bare = [s.args[0] if isinstance(s, ast.Call) and called(s) == "approx" else s for s in sides]
        if len({ast.dump(s) for s in bare}) == 1:
            return True
    names = {n.id for n in ast.walk(check.test) if isinstance(n, ast.Name)} - {"pytest", "np", "math", "len"}
    return not names


def test_no_two_classes_of_one_name() -> None:
    """A reader who meets a class's name knows which one it is."""
    where: dict[str, list[str]] = {}
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where.setdefault(node.name, []).append(path.relative_to(ROOT).as_posix())
    shared = {name: files for name, files in where.items() if len(files) > 1}
    assert not shared


def test_every_test_asserts() -> None:
    for name, node in every_test():
        assert checks(node), name


def test_no_assertion_holds_whatever_the_code_does() -> None:
    """Figures typed in on both sides, and ``assert this or that``, say nothing of the code."""
    for name, node in every_test():
        for check in checks(node):
            assert not says_nothing(check), f"{name}, line {check.lineno}: {ast.unparse(check)}"


def test_no_test_reads_the_clock() -> None:
    """What a test does may not depend on the time of day, on how long something took, nor on a wait of some length."""
    for path in (ROOT.parent / "tests").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                assert (node.value.id, node.attr) not in CLOCKS, f"{path.name}, line {node.lineno}"


CLOCKS = {("time", n) for n in ("time", "perf_counter", "monotonic", "process_time", "sleep")} | {
    ("asyncio", "sleep"),
    ("page", "wait_for_timeout"),
    ("datetime", "now"),
    ("date", "today"),
}


def test_no_benchmark_gates() -> None:
    """Benchmarks print ratios for a person to read: none passes or fails."""
    paths = list((ROOT.parent / "benchmarks").glob("*.py"))
    assert len(paths) >= 4
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            assert not isinstance(node, (ast.Assert, ast.Raise)), f"{path.name}, line {node.lineno}"
            assert not (isinstance(node, ast.Call) and called(node) in {"exit", "_exit"}), (
                f"{path.name}, line {node.lineno}"
            )


@pytest.mark.parametrize(
    ("line", "empty"),
    [
        ("assert 1.0 == 0.678 + 2 * 0.161", True),
        ("assert pytest.approx(6.0) == 2 * 3", True),
        ("assert a in text or b in text", True),
        ("assert len([1, 2]) == 2", True),
        ("assert a.b == pytest.approx(a.b)", True),
        ("assert a in text", False),
        ("assert (a or b) == 3", False),
    ],
)
def test_the_check_sees_empty_assertions(line: str, empty: bool) -> None:
    assert says_nothing(ast.parse(line).body[0]) is empty
