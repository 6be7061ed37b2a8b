"""What no answer may do: fail with another's error, say a number that is none, take too long, need too much memory."""

from __future__ import annotations

import contextlib
import math
import re
import resource
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from viz3d.errors import Viz3dError

SLOWEST = 5.0
"""Seconds of processor that one answer may take."""
MOST_MEMORY = 2e9
"""Bytes that a run may need."""
_NO_NUMBER = re.compile(r"(?<![\w./-])[-+−]?(nan|inf|infinity|none)(?![\w./-])", re.IGNORECASE)
_STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")
ROOT = Path(__file__).resolve().parents[2]


class TooSlowError(BaseException):
    """Raised from outside, so that no code under attack can take it for an error of its own."""


@contextlib.contextmanager
def quick() -> Iterator[None]:
    """Stop what needs more of the processor than an answer may."""

    def stop(*_: object) -> None:
        raise TooSlowError(f"more than {SLOWEST:g} s of processor")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, SLOWEST)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def outcome(answer: Callable[[], Any]) -> str:
    """What an answer came to: "" or our own error's line; anything else passes through."""
    try:
        with quick():
            answer()
    except Viz3dError as error:
        line = str(error)
        assert len(line) < 1200, line[:200]
        return line
    return ""


def check_numbers(value: Any, where: str = "") -> None:
    """Every number among tables, lists and texts is one."""
    if isinstance(value, dict):
        for key, one in value.items():
            check_numbers(one, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for k, one in enumerate(value):
            check_numbers(one, f"{where}.{k}")
    elif isinstance(value, float):
        assert math.isfinite(value), f"{where}: {value}"
    elif isinstance(value, str):
        check_text(value, where)


def check_text(text: str, where: str = "") -> None:
    """No word stands for a number that is none, and no sign steers a terminal."""
    odd = _NO_NUMBER.search(text)
    assert odd is None or odd[0].lower() == "none", f"{where}: {text[max(0, odd.start() - 40) : odd.end() + 40]!r}"
    assert not _STEERING.search(text), f"{where}: {text[:80]!r}"


def check_memory() -> None:
    """This process never needed more than it may."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    assert peak < MOST_MEMORY, f"{peak / 1e9:.1f} GB"


def pieces(name: str, count: int, each: int) -> pytest.MarkDecorator:
    """Parameters for a long test in numbered pieces of ``each`` seeds: ``count`` seeds in all."""
    numbers = range(count // each)
    return pytest.mark.parametrize(
        "seeds", [range(n * each, (n + 1) * each) for n in numbers], ids=[f"{name}-{n:03d}" for n in numbers]
    )


def failures(seeds: range, one: Callable[[int], None]) -> dict[str, list[int]]:
    """Run each seed; what went wrong, with the seeds."""
    wrong: dict[str, list[int]] = {}
    for seed in seeds:
        try:
            one(seed)
        except (Exception, TooSlowError) as error:
            last = error.__traceback__
            while last is not None and last.tb_next is not None:
                last = last.tb_next
            place = f"{Path(last.tb_frame.f_code.co_filename).name}:{last.tb_lineno}" if last else ""
            wrong.setdefault(f"{type(error).__name__} at {place}: {str(error)[:300]}", []).append(seed)
    check_memory()
    return wrong
