"""Commands that are killed: run in a place of their own, watched, and looked over afterwards. Linux only."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing import resource_tracker
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGKILL)
STOPPED = "viz3d: stopped; nothing half-written was left\n"
_TIDIED = f"{Path(resource_tracker.__file__)}:"
"""How the standard library begins to say that it cleared away what a killed process held."""
_MARK = "VIZ3D_TEST_PLACE"
SMALL = ("--set", "picture.size=480x360")
FILM = (*SMALL, "--set", "picture.frames_per_second=5", "--quiet")
COMMANDS: dict[str, tuple[str, ...]] = {
    "still": ("still", "cane-opposite-hand", *SMALL, "--out", "out/a.png"),
    "drawing": ("still", "muscle-set", *SMALL, "--out", "out/a.svg"),
    "paper": ("still", "level-stance", *SMALL, "--out", "out/a.pdf"),
    "beside": ("compare", "level-stance", "pelvic-drop", "--set", "picture.size=640x360", "--out", "out/a.png"),
    "film": ("film", "pelvic-drop", *FILM, "--workers", "0", "--out", "out/a.mp4"),
    "workers": ("film", "pelvic-drop", *FILM, "--workers", "2", "--poster", "--words", "--out", "out/a.mp4"),
    "anew": ("film", "pelvic-drop", *FILM, "--workers", "2", "--no-cache", "--out", "out/a.webp"),
    "numbered": ("film", "pelvic-drop", *FILM, "--workers", "0", "--out", "out/a.png"),
    "small film": ("film", "pelvic-drop", *FILM, "--workers", "0", "--out", "out/a.gif"),
    "model": ("film", "pelvic-drop", "--out", "out/a.glb"),
    "two films": (
        "compare", "level-stance", "pelvic-drop", "--set", "picture.size=640x360", "--set",
        "picture.frames_per_second=5", "--out", "out/a.mp4",
    ),
    "page": ("page", "level-stance", "--out", "out/a.html"),
    "chart": ("chart", "level-stance", "--over", "lean", "--out", "out/a.svg"),
    "table": ("chart", "level-stance", "--over", "lean", "--out", "out/a.csv"),
    "plate": ("bones", "level-stance", "--of", "femur", "--out", "out/a.png"),
    "mesh": ("bones", "level-stance", "--of", "femur", "--out", "out/a.stl"),
    "scene": ("new", "mine"),
}  # fmt: skip
"""Every command that writes, as it is run in an empty folder."""
GROWS = ("plate", "mesh")
"""Those that grow their bones each time: few enough of them."""
REFUSES = ("new", "bring")
"""Those that never write over what is there."""


@dataclass
class Place:
    """A folder to run commands in, with its own caches, temporary files, and a mark that all its processes carry."""

    folder: Path
    bones: Path | None
    """Where grown bones lie that are linked into its cache; None for none."""
    mark: str = field(default_factory=lambda: uuid.uuid4().hex)
    ticks: float = 0.0
    """Processor time of the last whole run."""

    def __post_init__(self) -> None:
        for name in ("work/out", "cache", "tmp"):
            (self.folder / name).mkdir(parents=True)
        for one in self.bones.glob("*.npz") if self.bones else ():
            os.link(one, self.folder / "cache" / one.name)

    def start(self, command: tuple[str, ...], out: int = subprocess.DEVNULL) -> subprocess.Popen[str]:
        """Start a command as the shell would, the first of a group of processes."""
        return subprocess.Popen(
            [sys.executable, "-m", "viz3d", *command], cwd=self.folder / "work", stdin=subprocess.DEVNULL,
            stdout=out, stderr=subprocess.PIPE, text=True, start_new_session=True,
            env=self.surroundings(),
        )  # fmt: skip

    def surroundings(self) -> dict[str, str]:
        """The environment of its processes."""
        return {
            **os.environ, "VIZ3D_CACHE": str(self.folder / "cache"), "TMPDIR": str(self.folder / "tmp"),
            _MARK: self.mark, "PYTHONPATH": str(ROOT),
        }  # fmt: skip

    def ran(self, command: tuple[str, ...]) -> dict[str, str]:
        """Run a command to its end; what it wrote, by digest."""
        before = os.times()
        process = self.start(command)
        _, said = process.communicate()
        after = os.times()
        spent = after.children_user + after.children_system - before.children_user - before.children_system
        self.ticks = spent * os.sysconf("SC_CLK_TCK")
        assert process.returncode == 0, said
        return self.written()

    def written(self) -> dict[str, str]:
        """Every file in the working folder and its digest."""
        files = sorted(p for p in (self.folder / "work").rglob("*") if p.is_file())
        return {str(p.relative_to(self.folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}

    def hidden(self) -> list[Path]:
        """Folders of unfinished work anywhere in it."""
        return sorted(self.folder.rglob(".*"))

    def alive(self) -> list[int]:
        """Processes that carry the mark."""
        found = []
        for entry in Path("/proc").iterdir():
            try:
                if entry.name.isdigit() and f"{_MARK}={self.mark}".encode() in (entry / "environ").read_bytes():
                    found.append(int(entry.name))
            except OSError:
                continue
        return found

    def empty(self) -> None:
        """Remove what commands wrote, and all that was drawn before; bones stay where they were given."""
        shutil.rmtree(self.folder / "work")
        (self.folder / "work" / "out").mkdir(parents=True)
        shutil.rmtree(self.folder / "cache" / "films", ignore_errors=True)
        if self.bones is None:
            shutil.rmtree(self.folder / "cache")
            (self.folder / "cache").mkdir()


def listens(process: subprocess.Popen[str]) -> bool:
    """True once a process of ours answers signals, or has ended: from there on the stop is ours to tell."""
    try:
        status = Path(f"/proc/{process.pid}/status").read_text()
    except OSError:
        return True
    caught = int(next(line for line in status.splitlines() if line.startswith("SigCgt")).split()[1], 16)
    return bool(caught >> (signal.SIGTERM - 1) & 1) or process.poll() is not None


def until(happened: Callable[[], bool], what: str, pause: float = 0.02, tries: int = 6000) -> None:
    """Wait for something to have happened."""
    for _ in range(tries):
        if happened():
            return
        threading.Event().wait(pause)
    raise AssertionError(what)


def work(group: int) -> int:
    """Processor time of a group of processes so far, in the system's ticks: how far they are, on a busy machine too."""
    total = 0
    for entry in Path("/proc").iterdir():
        try:
            about = (entry / "stat").read_text().rpartition(")")[2].split() if entry.name.isdigit() else []
        except OSError:
            continue
        if about and int(about[2]) == group:
            total += sum(map(int, about[11:15]))
    return total


def kill(place: Place, command: tuple[str, ...], number: signal.Signals, after: float) -> tuple[int, str]:
    """Start a command, signal it once it listens and has worked for so many ticks; its exit status and what it said.

    A keyboard's or a terminal's signal goes to the whole group, others to the first process alone.
    """
    process = place.start(command)
    until(lambda: listens(process), "the command never began", 0.001)
    until(lambda: process.poll() is not None or work(process.pid) >= after, "the command never came so far")
    if process.poll() is None:
        if number in (signal.SIGINT, signal.SIGHUP):
            os.killpg(process.pid, number)
        else:
            process.send_signal(number)
    _, said = process.communicate()
    return process.returncode, said


def check_end(code: int, said: str, number: signal.Signals, told: str) -> None:
    """What a command says that did not come to its end: nothing if it was killed outright, else its one line."""
    if number == signal.SIGKILL:
        assert code == -signal.SIGKILL, (told, code, said)
        assert (not said or said.startswith(_TIDIED)) and "Traceback" not in said, (told, said)
    else:
        assert (code, said) == (130, STOPPED), (told, code, said)


def check_kill(place: Place, command: tuple[str, ...], whole: dict[str, str], ticks: float, dice: random.Random) -> str:
    """Kill a command at a random moment of its run, run it again, and look: the word for how it ended."""
    place.empty()
    number = dice.choice(SIGNALS)
    after = dice.uniform(0.0, ticks)
    told = f"{' '.join(command)}, {number.name} after {after:.0f} ticks"
    code, said = kill(place, command, number, after)
    if code != 0:
        check_end(code, said, number, told)
    until(lambda: not place.alive(), f"{told}: {place.alive()} still run")
    for one, digest in place.written().items():
        if "/." not in one:
            assert whole.get(one) == digest, f"{told}: {one} is not whole"
    if command[0] in REFUSES:
        shutil.rmtree(place.folder / "work")
        (place.folder / "work" / "out").mkdir(parents=True)
    assert place.ran(command) == whole, told
    work = place.folder / "work"
    assert not [p for p in place.hidden() if work in p.parents], told
    return "done" if code == 0 else number.name
