"""Holding back Ctrl-C while the drawing library runs; a polite kill and a closed terminal arrive as Ctrl-C.

An interruption inside the drawing library's own calls would be swallowed by it; held back for the fraction of a
second that one frame takes, it arrives where it can be answered.
"""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator


@contextlib.contextmanager
def interrupt_held() -> Iterator[None]:
    """Deliver a SIGINT that arrives inside only after leaving."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    caught: list[tuple[object, ...]] = []
    before = signal.signal(signal.SIGINT, lambda *args: caught.append(args))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if caught and callable(before):
        before(signal.SIGINT, None)
