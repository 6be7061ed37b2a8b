"""Workers of a Dask cluster, asked as the processes of this machine are.

Question answered: how does a film's description reach workers elsewhere without being sent with each of its pieces?
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import Any

from viz3d.output.children import P, T


class Cluster(Executor):
    """A cluster's workers; what every piece of a film needs is sent to them once, not with each piece."""

    def __init__(self, client: Any) -> None:
        self._client, self._workers = client, client.get_executor()
        self._sent: dict[bytes, Any] = {}

    @property
    def workers(self) -> int:
        """How many pieces the cluster draws at once."""
        return sum(self._client.nthreads().values())

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Ask a worker."""
        told = [self._at_workers(arg) if isinstance(arg, bytes) else arg for arg in args]
        asked: Future[T] = self._workers.submit(fn, *told, **kwargs)
        return asked

    def _at_workers(self, packed: bytes) -> Any:
        if packed not in self._sent:
            self._sent[packed] = self._client.scatter(packed, broadcast=True)
        return self._sent[packed]
