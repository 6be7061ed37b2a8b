"""Who may ask the live page's server, and how often; a clock of the test's own."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from viz3d.errors import InputError
from viz3d.web.guard import MOST_A_SECOND, Guard

OURS = {"host": "127.0.0.1:80", "origin": "http://127.0.0.1:80"}


class Clock:
    """Seconds that pass only when told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


async def _answer(request: Request) -> Response:
    if request.url.path == "/bad":
        raise InputError("lean: found 99")
    return PlainTextResponse("yes")


def asked(guard: Guard, method: str = "POST", path: str = "/", **headers: str) -> Response:
    """The response to a request with these headers."""
    raw = [(k.encode(), v.encode()) for k, v in headers.items()]
    scope = {"type": "http", "method": method, "path": path, "query_string": b"", "headers": raw}
    with ThreadPoolExecutor(1) as beside:  # a browser of other tests may keep this thread's loop
        return beside.submit(lambda: asyncio.run(guard.over(_answer)(Request(scope)))).result()


def test_no_more_than_so_many_are_answered_in_a_second() -> None:
    clock = Clock()
    guard = Guard("127.0.0.1", 80, clock)
    for _ in range(MOST_A_SECOND):
        assert asked(guard, **OURS).status_code == 200
        clock.now += 0.9 / MOST_A_SECOND
    slowed = asked(guard, **OURS)
    assert slowed.status_code == 429
    assert b"too many questions at once" in slowed.body
    clock.now = 100.0 + 1.001  # one second after the first of them
    assert asked(guard, **OURS).status_code == 200
    assert asked(guard, **OURS).status_code == 429  # the second of them is not yet a second old


def test_those_who_are_turned_away_use_up_nothing() -> None:
    guard = Guard("127.0.0.1", 80, Clock())
    for _ in range(2 * MOST_A_SECOND):
        assert asked(guard, host="127.0.0.1:80", origin="http://evil.example").status_code == 403
    assert asked(guard, **OURS).status_code == 200


@pytest.mark.parametrize(
    ("method", "headers", "status"),
    [
        ("POST", OURS, 200),
        ("POST", {"host": "localhost:80", "origin": "http://localhost:80"}, 200),
        ("GET", {"host": "127.0.0.1:80"}, 200),
        ("POST", {"host": "127.0.0.1:80"}, 403),
        ("GET", {"host": "127.0.0.1:80", "origin": "http://evil.example"}, 403),
        ("POST", {"host": "evil.example", "origin": "http://127.0.0.1:80"}, 403),
        ("POST", {"host": "127.0.0.1:81", "origin": "http://127.0.0.1:81"}, 403),
    ],
)
def test_only_our_own_page_on_this_machine_is_answered(method: str, headers: dict[str, str], status: int) -> None:
    response = asked(Guard("127.0.0.1", 80), method, **headers)
    assert response.status_code == status
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_our_own_errors_become_one_line() -> None:
    response = asked(Guard("127.0.0.1", 80), path="/bad", **OURS)
    assert (response.status_code, response.body) == (422, b'{"error":"lean: found 99"}')
