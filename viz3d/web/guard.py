"""Who may ask the live page's server, and how often.

Question answered: does this request come from this machine's browser and our own page, and is there time for it?
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from viz3d.errors import InputError, Viz3dError

MOST_A_SECOND = 150
"""Requests answered in a second."""
_ALWAYS = {
    "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
}  # fmt: skip

Answer = Callable[[Request], Awaitable[Response]]


class BadMessage(InputError):
    """A message that our page never sends."""

    status = 400


class NotOpen(InputError):
    """A scene that this server does not know, or no longer: the page sends it again."""

    status = 410


class Guard:
    """Lets requests of our own page through, so many a second; ``clock`` tells seconds."""

    def __init__(self, host: str, port: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._hosts = {f"{host}:{port}", f"localhost:{port}"}
        self._clock = clock
        self._asked: deque[float] = deque(maxlen=MOST_A_SECOND)

    def over(self, answer: Answer) -> Answer:
        """An answer that is given only to those who may ask; our own errors become one line."""

        async def guarded(request: Request) -> Response:
            response = self._turned_away(request)
            if response is None:
                try:
                    response = await answer(request)
                except Viz3dError as error:
                    response = refused(getattr(error, "status", 422), str(error))
            response.headers.update(_ALWAYS)
            return response

        return guarded

    def _turned_away(self, request: Request) -> Response | None:
        """What a request hears that gets no answer; None for one that does."""
        if request.headers.get("host") not in self._hosts:
            return refused(403, "this page answers on this machine only")
        origin = request.headers.get("origin")
        ours = {f"http://{host}" for host in self._hosts}
        if (request.method == "POST" or origin is not None) and origin not in ours:
            return refused(403, "another site's page may not ask here")
        now = self._clock()
        if len(self._asked) == MOST_A_SECOND and now - self._asked[0] < 1.0:
            return refused(429, "too many questions at once; the page asks again")
        self._asked.append(now)
        return None


def refused(status: int, line: str) -> Response:
    """One line that says why there is no answer."""
    return JSONResponse({"error": line}, status_code=status)
