"""Connections to the live page's server: how long one may ask for nothing.

Question answered: can programs that connect and then say nothing, or say it without end, keep others out?

A connection on which no whole request comes within ``PATIENCE`` seconds is closed; where there are more than ``MOST``,
the one that has waited longest makes room. Kept connections between two requests are closed by the server below us.
"""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

PATIENCE = 10.0
"""Seconds until a request must be there as a whole."""
MOST = 256
"""Connections at one time."""


class Connection(H11Protocol):
    """A connection that does not wait for ever."""

    patience = PATIENCE
    most = MOST
    _until: asyncio.TimerHandle | None = None
    _since = 0.0

    @property
    def is_waiting(self) -> bool:
        """Whether there is no whole request to answer."""
        return self.cycle is None or self.cycle.response_complete or self.cycle.more_body

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection up, and let go of the one that has waited longest where there are too many."""
        super().connection_made(transport)
        self._wait()
        there = [c for c in self.connections if isinstance(c, Connection) and not c.transport.is_closing()]
        if len(there) > self.most:
            min((c for c in there if c.is_waiting), key=lambda c: (c.cycle is not None, c._since)).close()

    def data_received(self, data: bytes) -> None:
        """Read on; the time runs from a request's first byte until its last."""
        super().data_received(data)
        if not self.is_waiting:
            self._stop_waiting()
        elif self._until is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Let go."""
        self._stop_waiting()
        super().connection_lost(exc)

    def close(self) -> None:
        """Close at once, where nothing is being answered."""
        if self.is_waiting:
            self.transport.abort()

    def _wait(self) -> None:
        self._since = self.loop.time()
        self._until = self.loop.call_later(self.patience, self.close)

    def _stop_waiting(self) -> None:
        if self._until is not None:
            self._until.cancel()
            self._until = None
