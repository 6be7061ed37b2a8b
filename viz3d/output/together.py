"""A folder of files that belong together: put in place all at once, or not at all.

Question answered: may a pack be written there, and are all its files of one making?

They are made in a hidden folder inside, and moved when the last one is whole; what an earlier making left and this one
does not have goes. The page that lists them says which those are. A folder of somebody's own files is refused.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

from viz3d.atomic import scratch
from viz3d.errors import RenderError
from viz3d.output.files import free_space, told_in_one_line

LIST = "index.html"
"""The page that lists the files."""
MAKER = "viz3d"
"""What that page names as its maker."""


class _Listing(HTMLParser):
    """Reads a list: who made it, and the files beside it that it links to."""

    def __init__(self) -> None:
        super().__init__()
        self.ours = False
        self.names = {LIST}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "meta" and told.get("name") == "generator":
            self.ours = (told.get("content") or "").startswith(MAKER)
        name = told.get("href") or ""
        if tag == "a" and name == Path(name).name:
            self.names.add(name)


def made_before(folder: Path) -> set[str]:
    """The files that an earlier making left in a folder; none where there was none."""
    listing = _Listing()
    with contextlib.suppress(OSError, UnicodeDecodeError):
        listing.feed((folder / LIST).read_text(encoding="utf-8"))
    return {name for name in listing.names if (folder / name).is_file()} if listing.ours else set()


def check_folder(folder: Path) -> None:
    """Refuse, before anything is made, a place where files cannot or must not be put; nothing is made there yet.

    Raises
    ------
    RenderError : it is a file or cannot be written, the disk has no room, or somebody's own files lie there.
    """
    with told_in_one_line(folder / LIST):
        there = next(place for place in (folder, *folder.absolute().parents) if os.path.lexists(place))
        if not there.is_dir():
            raise RenderError(f"{there}: is a file; name a folder with --out")
        free_space(there)
        own = sorted(p.name for p in folder.iterdir() if not p.name.startswith(".")) if there == folder else []
    if own and not made_before(folder):
        raise RenderError(
            f"{folder}: holds files that no lesson made ({own[0]!r}); "
            "allowed with --out: a new or empty folder, or an earlier lesson's"
        )


@contextlib.contextmanager
def made_together(folder: Path) -> Iterator[Path]:
    """A hidden folder whose files all go to ``folder`` on success, and vanish on any failure.

    Raises
    ------
    RenderError : as :func:`check_folder`; what is refused while files are made is told of their later places.
    """
    check_folder(folder)
    new = not folder.is_dir()
    try:
        with told_in_one_line(folder / LIST):
            folder.mkdir(parents=True, exist_ok=True)
            with scratch(folder) as part:
                work = part / "files"
                work.mkdir()
                with _told_of(work, folder):
                    yield work
                _place(work, folder)
    finally:
        if new:
            with contextlib.suppress(OSError):  # something is in it
                folder.rmdir()


@contextlib.contextmanager
def _told_of(work: Path, folder: Path) -> Iterator[None]:
    """Messages name the places where people will look."""
    try:
        yield
    except RenderError as error:
        raise RenderError(str(error).replace(str(work), str(folder))) from error


def _place(work: Path, folder: Path) -> None:
    """Move everything, the list last, and remove what only an earlier making had."""
    old, new = made_before(folder), {p.name for p in work.iterdir()}
    for name in sorted(new, key=lambda n: n == LIST):
        (work / name).replace(folder / name)
    for name in old - new:
        (folder / name).unlink(missing_ok=True)


def brought_over(path: Path, to: Path) -> None:
    """A file that is right already, at a second place; no copy where the disk can share it."""
    if path == to:
        return
    try:
        os.link(path, to)
    except OSError:
        shutil.copy2(path, to)
