"""Long runs go on where another stopped: a piece that passed with these very sources is not run again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache

import pytest

from tests.attacks.watch import ROOT


@cache
def _sources() -> str:
    """A digest of the library and of the attacks on it."""
    found = hashlib.sha256()
    for folder in ("viz3d", "scenes", "tests/attacks"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml"):
                found.update(path.read_bytes())
    return found.hexdigest()[:16]


@pytest.fixture(autouse=True)
def _once(request: pytest.FixtureRequest) -> Iterator[None]:
    if request.node.get_closest_marker("long") is None:
        yield
        return
    key = f"attacks/{_sources()}/{request.node.callspec.id}"
    if request.config.cache.get(key, False):
        pytest.skip("passed before with these sources; --cache-clear runs it again")
    before = request.session.testsfailed
    yield
    if request.session.testsfailed == before and not getattr(request.node, "failed", False):
        request.config.cache.set(key, True)


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Let the fixture know, before it ends, that its test failed."""
    if call.when == "call" and call.excinfo is not None:
        item.failed = True  # type: ignore[attr-defined]
    yield
