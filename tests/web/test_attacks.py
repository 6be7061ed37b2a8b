"""The live page under attack: forgotten scenes, idle connections, builders and jobs that are killed."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from tests.web.server import PATIENCE, send
from viz3d.errors import RenderError
from viz3d.scene.reader import check_scene, library_scenes, load_data, load_scene, parse_text
from viz3d.web.bones import MOST_LOST, Bones
from viz3d.web.connection import Connection
from viz3d.web.guard import NotOpen
from viz3d.web.jobs import Jobs
from viz3d.web.live import Live

NAME = "level-stance"


def titled(n: int) -> dict[str, Any]:
    """A scene's data that differs from all others."""
    text = library_scenes()["lean-over-hip"].read_text(encoding="utf-8")
    return parse_text(re.sub(r'title = ".*"', f'title = "Scene {n}"', text, count=1).encode(), Path("x.toml"))


@pytest.fixture
def live() -> Iterator[Live]:
    one = Live(*load_data(NAME, ()), 80)
    yield one
    one.close()


def test_the_first_scene_and_those_in_use_are_never_forgotten(live: Live) -> None:
    used = live.put(titled(0), check_scene(titled(0), Path("x.toml")))
    names = []
    for n in range(1, 101):
        names.append(live.put(titled(n), check_scene(titled(n), Path("x.toml"))))
        assert live.known(used).scene.title == "Scene 0"
    assert live.known(live.first).scene.title == load_scene(NAME).title
    assert live.known(names[-1]).scene.title == "Scene 100"
    with pytest.raises(NotOpen, match="no longer open here"):
        live.known(names[0])
    assert len(live.shelf) == 40


@pytest.fixture
def address() -> Iterator[str]:
    """The address of a live page served from a thread of this process."""
    made = socket.create_server(("127.0.0.1", 0))
    one = Live(*load_data(NAME, ()), made.getsockname()[1])
    server = uvicorn.Server(uvicorn.Config(one.app(), http=Connection, log_level="error", ws="none", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [made]})
    thread.start()
    yield one.address
    server.should_exit = True
    thread.join(PATIENCE)
    one.close()


def connected(address: str, count: int) -> list[socket.socket]:
    port = int(re.search(r":(\d+)/", address)[1])
    return [socket.create_connection(("127.0.0.1", port), PATIENCE) for _ in range(count)]


def ended(one: socket.socket) -> bool:
    """Whether the server ends a connection, waited for."""
    one.settimeout(PATIENCE)
    try:
        return one.recv(1) == b""
    except ConnectionResetError:
        return True


def test_two_hundred_idle_connections_keep_nobody_out(address: str) -> None:
    idle = connected(address, 200)
    for _ in range(5):
        assert send(address, "solve", {"changes": {}})[0] == 200
    for one in idle:
        one.close()


def test_too_many_connections_make_room_for_new_ones(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Connection, "most", 20)
    idle = connected(address, 60)
    assert send(address, "solve", {"changes": {}})[0] == 200
    assert all(ended(one) for one in idle[:40])
    for one in idle:
        one.close()


@pytest.mark.parametrize(
    "begun",
    [
        b"",
        b"POST /x HTTP/1.1\r\nHost: a\r\n",
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: 9\r\n\r\nhalf",
    ],
)
def test_a_connection_that_asks_for_nothing_whole_is_closed(
    address: str, monkeypatch: pytest.MonkeyPatch, begun: bytes
) -> None:
    monkeypatch.setattr(Connection, "patience", 0.05)
    (one,) = connected(address, 1)
    one.sendall(begun)
    while one.recv(4096):  # an answer to half a request may come first
        pass
    one.close()
    monkeypatch.setattr(Connection, "patience", PATIENCE)
    assert send(address, "solve", {"changes": {}})[0] == 200


def test_a_kept_connection_answers_again_and_again(address: str) -> None:
    host = re.search(r"//([^/]+)/", address)[1]
    one = http.client.HTTPConnection(host, timeout=PATIENCE)
    path = address.split(host)[1]
    for _ in range(3):
        one.request("POST", f"{path}solve", b"{}", {"Origin": f"http://{host}"})
        answer = one.getresponse()
        assert answer.status == 200
        assert answer.read()
    one.close()


def test_other_tabs_are_answered_while_a_scene_is_read(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    reading, read = threading.Event(), threading.Event()

    def slow(data: bytes, path: Path) -> dict[str, Any]:
        reading.set()
        assert read.wait(PATIENCE)
        return parse_text(data, path)

    monkeypatch.setattr("viz3d.web.live.parse_text", slow)
    answers: list[int] = []
    text = library_scenes()[NAME].read_text(encoding="utf-8")
    other = threading.Thread(target=lambda: answers.append(send(address, "open", {"text": text, "name": "a.toml"})[0]))
    other.start()
    assert reading.wait(PATIENCE)
    assert send(address, "solve", {"changes": {}})[0] == 200
    assert answers == []
    read.set()
    other.join(PATIENCE)
    assert answers == [200]


def kill_builder(bones: Bones) -> None:
    """Kill the process that builds, and wait until that is known."""
    for process in list(bones._pools["bones"]._processes.values()):
        os.kill(process.pid, signal.SIGKILL)
    ((job,),) = bones._building.values()
    assert job.exception(PATIENCE) is not None


def test_a_killed_builder_is_replaced() -> None:
    bones = Bones(load_scene(NAME))
    other = load_scene(NAME, ["person.left_hip.neck_shaft_angle=118 deg"])
    try:
        assert not bones.get(other)[1]
        kill_builder(bones)
        assert not bones.get(other)[1]  # asked again: another one builds
        bones._building[Bones.key(other)][0].result(PATIENCE)
        assert bones.get(other)[1]
    finally:
        bones.close()


def test_a_builder_that_always_ends_is_told() -> None:
    bones = Bones(load_scene(NAME))
    other = load_scene(NAME, ["person.left_hip.neck_shaft_angle=118 deg"])
    try:
        for _ in range(MOST_LOST):
            assert not bones.get(other)[1]
            kill_builder(bones)
        with pytest.raises(RenderError, match=f"their builder ended {MOST_LOST} times"):
            bones.get(other)
        assert not bones.get(other)[1]  # and may be asked for again
    finally:
        bones.close()


def test_a_killed_job_has_failed_and_the_next_one_runs() -> None:
    jobs = Jobs()
    try:
        text = library_scenes()[NAME].read_text(encoding="utf-8")
        first, second = (jobs.all[jobs.start("model", text)] for _ in range(2))
        os.kill(first.process.pid or 0, signal.SIGKILL)
        for job in (first, second):
            job.process.join(PATIENCE)
        assert (first.state, second.state) == ("failed", "done")
        assert second.path.read_bytes()[:4] == b"glTF"
    finally:
        jobs.close()
    assert not jobs.folder.exists()
