"""Progress bars with the time left, on standard error; silent when asked or when nobody watches."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator

from viz3d.progress import Progress


@contextlib.contextmanager
def progress(title: str, quiet: bool) -> Iterator[Progress | None]:
    """A bar that a worker reports to as (what, done, of)."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)

        def report(what: str, done: int, of: int) -> None:
            note = f"{title}: {what}" if what != "frame" else title
            bar.update(task, completed=done, total=of, description=note)

        yield report
