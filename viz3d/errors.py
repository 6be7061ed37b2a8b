"""The error tree: everything viz3d refuses, with one clear line each.

The library raises these; only the command line prints them. Each message says what was found, where,
and what is allowed, so that a person who does not program can act on it.

    Viz3dError
    ├── InputError           a value that cannot be used
    │   ├── OutOfRange       a number outside its allowed range
    │   └── Unreadable       a text that may not, or cannot, be parsed
    ├── MotionError          a table of movement: file, line or column, what is allowed
    ├── SceneError           a scene file: file, dotted key, nearest valid key
    ├── NoEquilibrium        nothing balances the situation asked for
    ├── TableError           a constants table of ours is incomplete
    ├── MeshError            a surface that is not closed, or cannot be built
    └── RenderError          drawing or writing failed; says what to install or free
"""

from __future__ import annotations

from pathlib import Path

from viz3d.echo import plain


class Viz3dError(Exception):
    """Base of every error viz3d raises on purpose."""


class InputError(Viz3dError):
    """A value cannot be used as given."""


class OutOfRange(InputError):
    """A number lies outside its allowed range.

    Parameters
    ----------
    name : what the number is.
    found : the number, with its unit, as the person wrote it.
    allowed : the range in words.
    """

    def __init__(self, name: str, found: str, allowed: str) -> None:
        super().__init__(f"{name}: found {plain(found)}; allowed: {allowed}")
        self.name, self.found, self.allowed = name, found, allowed


class OutOfReach(InputError):
    """A walking hand does not reach its cane.

    Parameters
    ----------
    side : the hand's.
    """

    def __init__(self, side: str) -> None:
        super().__init__(f"the {side} hand cannot reach its cane")
        self.side = side


class Unreadable(InputError):
    """A text handed in may not, or cannot, be parsed.

    Parameters
    ----------
    found : what is wrong with it. allowed : what may stand there.
    """

    def __init__(self, found: str, allowed: str = "") -> None:
        super().__init__(f"{found}; {allowed}" if allowed else found)
        self.found, self.allowed = found, allowed


class MotionError(Viz3dError):
    """A table of movement cannot be used.

    Parameters
    ----------
    file : what the person called it. found : what is wrong, with line or column. allowed : what may stand there.
    """

    def __init__(self, file: str, found: str, allowed: str = "") -> None:
        super().__init__(f"{plain(file)}: {found}; {allowed}" if allowed else f"{plain(file)}: {found}")
        self.file, self.found, self.allowed = file, found, allowed


class SceneError(Viz3dError):
    """A scene file cannot be used.

    Parameters
    ----------
    file : the scene file.
    key : dotted key, or "" for the whole file.
    found : what stands there.
    allowed : what may stand there.
    nearest : the nearest valid key, when a key was misspelt.
    called : how the file is named; "": as it is called in its folder.
    """

    def __init__(
        self, file: Path | str, key: str, found: str, allowed: str = "", nearest: str = "", called: str = ""
    ) -> None:
        name = plain(called or Path(file).name or str(file))
        where = f"{name}: {plain(key)}" if key else name
        hint = f"; did you mean {nearest}?" if nearest else ""
        may = f"; {allowed}" if allowed else ""
        super().__init__(f"{where}: {found}{may}{hint}")
        self.file, self.key, self.found, self.allowed, self.nearest = Path(file), key, found, allowed, nearest


class NoEquilibrium(Viz3dError):
    """No forces of the kinds modelled balance the situation."""


class TableError(Viz3dError):
    """A constants table is missing a field or holds a value of the wrong kind."""


class MeshError(Viz3dError):
    """A surface cannot be built, or is not what it must be."""


class RenderError(Viz3dError):
    """Drawing or writing failed; the message says what to install, free or choose."""
