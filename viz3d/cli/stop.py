"""Ctrl-C, a polite kill and a closed terminal: all the same to a command, which ends in one line.

Question answered: was this command asked to stop, whatever the libraries on the way made of it?
"""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator
from typing import Any

CODE = 130
_ALSO = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))

_SOON = 0.01
"""Seconds."""


class Stopped(BaseException):
    """Somebody asked the command to stop."""


@contextlib.contextmanager
def signals_answered() -> Iterator[list[int]]:
    """Raises :class:`Stopped` wherever the command is when a signal comes, and gives the list of those that came.

    SIGTERM and SIGHUP are passed on as SIGINT, so that whoever holds that back or answers it for a while (a frame being
    drawn, the live server) has them all; a SIGHUP that was ignored from the start (nohup) stays so. Once the command is
    over, done or stopped, it is only leaving, and hears nothing more.
    """
    asked: list[int] = []
    unraisable = sys.unraisablehook

    def stop(number: int, _: object) -> None:
        asked.append(number)
        raise Stopped

    def again(about: Any) -> None:
        """A stop that came while an object was being cleared away, where nothing can be raised, soon comes again."""
        if isinstance(about.exc_value, Stopped):
            threading.Timer(_SOON, _wake).start()
        else:
            unraisable(about)

    sys.unraisablehook = again
    signal.signal(signal.SIGINT, stop)
    for number in _ALSO:
        if signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, lambda *_: signal.raise_signal(signal.SIGINT))
    try:
        yield asked
    except BaseException as error:
        if asked:
            raise Stopped from error  # a library may have made something else of it
        raise
    finally:
        for number in (signal.SIGINT, *_ALSO):
            signal.signal(number, signal.SIG_IGN)
        sys.unraisablehook = unraisable


def _wake() -> None:
    """Interrupt the main thread, out of its waiting too."""
    if hasattr(signal, "pthread_kill"):
        signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGINT)
    else:
        signal.raise_signal(signal.SIGINT)


def leave() -> None:
    """End now, without waiting for threads that still build: nothing of theirs is half in place."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    if threading.active_count() > 1:
        atexit._run_exitfuncs()
        os._exit(CODE)
    sys.exit(CODE)
