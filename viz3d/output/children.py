"""Processes of our own: they leave Ctrl-C to the process that started them, and end when it does, however it ends.

Question answered: who stops the others, and what if nobody can any more?

A stop from the keyboard reaches every process of a terminal at once. Only the first answers it; it ends the others. If
it is killed outright, a pipe that the system closes tells them.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import resource_tracker
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")
_TERMINAL = tuple(getattr(signal, name) for name in ("SIGINT", "SIGHUP") if hasattr(signal, name))
"""What a terminal sends to all processes in it."""


def begin_child() -> None:
    """What each of our processes does first: leave the terminal's signals to the parent, and end with it."""
    for number in _TERMINAL:
        signal.signal(number, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@contextlib.contextmanager
def born_deaf() -> Iterator[None]:
    """Processes started inside hear nothing of the terminal from their first moment on, before any of our code runs."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _TERMINAL)
    try:
        resource_tracker.ensure_running()  # the library's own helper, which opens our ears again
        signal.pthread_sigmask(signal.SIG_BLOCK, _TERMINAL)
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Pool(ProcessPoolExecutor):
    """Processes that work for this one and end with it.

    Parameters
    ----------
    count : how many. begin : called in each with ``given`` before its first work.
    """

    def __init__(self, count: int, begin: Callable[..., None] | None = None, given: tuple[Any, ...] = ()) -> None:
        with born_deaf():
            super().__init__(count, multiprocessing.get_context("spawn"), _begin, (begin, given))

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """As a pool does; processes may be started here."""
        with born_deaf():
            return super().submit(fn, *args, **kwargs)

    def stop(self) -> None:
        """End all of them now."""
        for process in list((getattr(self, "_processes", None) or {}).values()):
            process.terminate()
        self.shutdown(wait=True, cancel_futures=True)


def _begin(begin: Callable[..., None] | None, given: tuple[Any, ...]) -> None:
    begin_child()
    if begin is not None:
        begin(*given)
