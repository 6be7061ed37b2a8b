"""Commands killed at random moments: nothing half-written, no process left, and the next run as if nothing had been."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import urllib.request
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.killed import COMMANDS, GROWS, ROOT, Place, check_end, check_kill, kill, until
from viz3d.cli.stop import Stopped, signals_answered

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="watches processes as Linux tells them")
BONES = ROOT / "meshes"
EACH = 12
"""Kills of each command in the long tier: 17 commands, 204 kills."""
SAMPLE = ("still",)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    """A place whose processes end with the test."""
    made = Place(tmp_path / "place", BONES)
    yield made
    for pid in made.alive():
        os.kill(pid, signal.SIGKILL)


def killed(name: str, folder: Path, count: int, seed: int) -> Counter[str]:
    """Kill one command so many times; how they ended."""
    place = Place(folder, None if name in GROWS else BONES)
    whole, ticks = place.ran(COMMANDS[name]), place.ticks
    dice = random.Random(f"{name} {seed}")
    return Counter(check_kill(place, COMMANDS[name], whole, ticks, dice) for _ in range(count))


@pytest.mark.parametrize("name", SAMPLE)
def test_a_killed_command_leaves_nothing(name: str, tmp_path: Path) -> None:
    assert killed(name, tmp_path / "place", 1, 1).total() == 1


@pytest.mark.long
@pytest.mark.parametrize("name", COMMANDS)
def test_two_hundred_kills(name: str, tmp_path: Path) -> None:
    ended = killed(name, tmp_path / "place", EACH, 2)
    assert ended.total() == EACH
    print(json.dumps({name: ended}))


def asked(address: str, where: str, message: dict[str, Any] | None = None) -> tuple[Any, str]:
    """A request as the live page makes it; the answer, and whether its bones are true."""
    origin = re.match(r"http://[^/]+", address)
    assert origin
    data = None if message is None else json.dumps(message).encode()
    request = urllib.request.Request(address + where, data, {"Origin": origin[0]} if data else {})
    with urllib.request.urlopen(request, timeout=60) as response:
        body = response.read()
        return json.loads(body) if body[:1] == b"{" else body, response.headers.get("X-Bones", "")


def answers(address: str) -> bool:
    try:
        return bool(asked(address, "")[0])
    except OSError:
        return False


PARENT = """
import os, sys
from viz3d.output.children import Pool
if __name__ == "__main__":
    pool = Pool(1)
    print(pool.submit(os.getpid).result(), flush=True)
    sys.stdin.read()
"""


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_a_worker_ends_with_its_parent_and_hears_no_terminal(
    number: signal.Signals, place: Place, tmp_path: Path
) -> None:
    (tmp_path / "parent.py").write_text(PARENT)
    parent = subprocess.Popen(
        [sys.executable, tmp_path / "parent.py"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        stderr=subprocess.PIPE, env=place.surroundings(),
    )  # fmt: skip
    assert parent.stdout is not None
    worker = int(parent.stdout.readline())
    for deaf in (signal.SIGINT, signal.SIGHUP):
        os.kill(worker, deaf)
    assert worker in place.alive()
    parent.send_signal(number)
    _, said = parent.communicate()
    assert "Traceback" not in said
    until(lambda: not place.alive(), "the worker still runs")


@pytest.mark.long
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGHUP])
def test_a_live_page_takes_its_builder_and_its_jobs_with_it(number: signal.Signals, place: Place) -> None:
    live = place.start(("live", "pelvic-drop", "--no-browser", "--port", "0"), subprocess.PIPE)
    assert live.stdout is not None
    found = re.search(r"http://\S+", live.stdout.readline())
    assert found
    live.stdout.readline()
    until(lambda: answers(found[0]), "the page never answered", pause=0.2)
    job, _ = asked(found[0], "job", {"kind": "film"})
    _, bones = asked(found[0], "bones", {"changes": {"person.left_hip.neck_shaft_angle": "111.11 deg"}})
    assert bones == "reshaping"
    until(lambda: asked(found[0], f"job/{job['job']}")[0]["of"] > 0, "the film never began", pause=0.2)
    assert len(place.alive()) >= 3
    if number == signal.SIGKILL:
        live.kill()
    else:
        os.killpg(live.pid, number)
    _, said = live.communicate()
    check_end(live.returncode, said, number, "live")
    until(lambda: not place.alive(), "something still runs")
    if number != signal.SIGKILL:
        assert not place.hidden()


def test_a_stop_while_the_program_is_still_being_read_is_one_line(place: Place) -> None:
    """As soon as it answers at all: before any command, with most of it not yet imported."""
    code, said = kill(place, COMMANDS["still"], signal.SIGINT, 0.0)
    check_end(code, said, signal.SIGINT, "at once")
    assert not place.written()


def test_what_a_library_makes_of_a_stop_is_still_a_stop(capfd: pytest.CaptureFixture[str]) -> None:
    """Raised where it is turned into something else, or where nothing can be raised at all, it arrives."""
    before = {n: signal.getsignal(n) for n in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}

    class Careless:
        def __del__(self) -> None:
            signal.raise_signal(signal.SIGTERM)

    def swallowed() -> None:
        Careless()
        assert not threading.Event().wait(60), "the stop was lost"
        pytest.fail("the stop was lost")

    def turned() -> None:
        try:
            signal.raise_signal(signal.SIGHUP)
            for _ in range(1000):
                pass
        except BaseException as error:
            raise ImportError("failed to load") from error

    try:
        for act in (swallowed, turned):
            signal.signal(signal.SIGHUP, signal.SIG_DFL)  # it may be ignored, as under nohup
            with pytest.raises(Stopped), signals_answered():
                act()
            assert signal.getsignal(signal.SIGINT) == signal.SIG_IGN
            assert capfd.readouterr() == ("", "")
            for number, answer in before.items():
                signal.signal(number, answer)
    finally:
        for number, answer in before.items():
            signal.signal(number, answer)
