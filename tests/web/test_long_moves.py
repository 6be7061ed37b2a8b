"""Two hours on the live page: as many moves as a person who never rests could make, at flat memory.

A person who moves a slider all the time makes about ten moves a second that are answered: 72,000 in two hours, in
eight pieces. Each piece begins with the attacks that a server must survive.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import select
import signal
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.web.server import PATIENCE, send, serving
from tests.web.test_attacks import connected
from viz3d.scene.reader import library_scenes

A_SECOND, HOURS, PIECES = 10, 2, 8
COUNT = A_SECOND * 3600 * HOURS // PIECES
WARM = 2000
"""Moves until everything that is kept is there."""
FLAT = 9.0
"""Growth over a piece that counts as none, MB: a leak of a kilobyte a move would be as much."""
RANGES = {
    "posture.lean": (-8.0, 12.0, "deg"), "posture.obliquity": (-4.0, 8.0, "deg"), "hands.right.force": (0.0, 18.0, "%BW"),
    "strength.left_abductors": (50.0, 100.0, "%"), "person.mass": (45.0, 110.0, "kg"), "person.height": (150.0, 190.0, "cm"),
    "person.left_hip.neck_shaft_angle": (115.0, 140.0, "deg"),
}  # fmt: skip

linux = pytest.mark.skipif(
    sys.platform != "linux", reason="reads a process's memory and children where Linux shows them"
)


def memory(pid: int) -> float:
    """Memory that a process holds, MB."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    return int(re.search(r"VmRSS:\s+(\d+) kB", status)[1]) / 1024


def children(pid: int) -> set[int]:
    """Processes that a process has started for work, and that live."""
    found = {int(p) for t in Path(f"/proc/{pid}/task").iterdir() for p in (t / "children").read_text().split()}
    return {one for one in found if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes()}


class Mover:
    """One tab that never rests, over one kept connection."""

    def __init__(self, address: str, seed: int) -> None:
        self.host, self.path = re.search(r"//([^/]+)(/.*)", address).groups()
        self.kept = http.client.HTTPConnection(self.host, timeout=PATIENCE)
        self.rng = np.random.default_rng(seed)
        self.changes: dict[str, str] = {}

    def ask(self, where: str, **more: Any) -> tuple[int, bytes]:
        """The answer to a question, asked again where the server says to wait."""
        body = json.dumps({"changes": self.changes, **more})
        while True:
            self.kept.request("POST", self.path + where, body, {"Origin": f"http://{self.host}"})
            reply = self.kept.getresponse()
            answer = reply.read()
            if reply.status != 429:
                return reply.status, answer

    def move(self, n: int) -> None:
        """Move one slider; now and then look at the chart, the bones, the file."""
        key = str(self.rng.choice(list(RANGES)))
        low, high, unit = RANGES[key]
        before = dict(self.changes)
        self.changes[key] = f"{self.rng.uniform(low, high):.4f} {unit}"
        status, answer = self.ask("solve")
        assert status in (200, 422), answer
        if status == 422:
            self.changes = before
        if n % 10 == 0:
            assert self.ask("chart", over=key)[0] == 200
        if n % 100 == 0:
            assert self.ask("save")[0] == 200


def attacked(address: str, pid: int) -> None:
    """A hundred scenes, a builder and a job killed."""
    text = library_scenes()["lean-over-hip"].read_text(encoding="utf-8")
    for n in range(100):
        opened = send(address, "open", {"text": text.replace("Leaning", f"Leaning {n}", 1), "name": "a.toml"})
        assert send(address, "solve", {"scene": opened[1]["scene"], "changes": {"posture.lean": "3 deg"}})[0] == 200
    others = [send(address, "open", {"library": name})[1]["scene"] for name in ("leg-length", "walking-frame")]
    for where, more in (("bones", {"scene": others[0]}), ("job", {"kind": "film", "changes": {}})):
        before = children(pid)
        assert send(address, where, more)[0] == 200
        begun = children(pid) - before
        assert begun
        for child in begun:
            os.kill(child, signal.SIGKILL)
    for scene in others:
        assert send(address, "bones", {"scene": scene})[0] == 200


def ends(descriptor: int) -> bool:
    """Whether a process ends, waited for."""
    return bool(select.select([descriptor], [], [], PATIENCE)[0])


@linux
@pytest.mark.long
@pytest.mark.parametrize("piece", range(PIECES))
def test_two_hours_of_moves_at_flat_memory(tmp_path: Path, piece: int) -> None:
    with serving("cane-opposite-hand", tmp_path) as (address, process):
        attacked(address, process.pid)
        idle = connected(address, 200)
        mover = Mover(address, piece)
        for n in range(WARM):
            mover.move(n)
        before = memory(process.pid)
        for n in range(COUNT):
            mover.move(n)
        after = memory(process.pid)
        for one in (*idle, mover.kept):
            one.close()
        print(f"\npiece {piece}: {COUNT} moves, {before:.1f} MB before, {after:.1f} MB after")
        assert after - before < FLAT
        left = [os.pidfd_open(child) for child in children(process.pid)]
    assert all(ends(one) for one in left)
