"""The command line: the only room that prints, and the only importer of typer.

Our own errors are one line and exit 1; wrong usage is one line and exits 2; a stop (Ctrl-C, SIGTERM, SIGHUP) is one
line and exits 130; anything else keeps its traceback. Output survives terminals that cannot show every sign.
"""

from __future__ import annotations

import sys

from viz3d.cli.stop import Stopped, leave, signals_answered
from viz3d.echo import harmless, odd_sign, plain
from viz3d.errors import InputError, Viz3dError


def main() -> None:
    """Entry point of the ``viz3d`` command."""
    try:
        with signals_answered() as asked:
            _obey(asked)
    except Stopped:
        from viz3d.cli.say import say_error

        say_error("stopped; nothing half-written was left")
        leave()


def _obey(asked: list[int]) -> None:
    """Run the command; ``asked``: the signals that came, after which an error is only what a library made of them."""
    from viz3d.cli.say import let_go_of_output, prepare_streams, say_error

    prepare_streams()
    try:
        _call()
    except (Viz3dError, OSError) as error:
        if asked:
            raise
        if not isinstance(error, Viz3dError):
            let_go_of_output()
        if isinstance(error, BrokenPipeError):
            sys.exit(0)
        say_error(_trouble(error) if isinstance(error, OSError) else str(error))
        sys.exit(1)


def _call() -> None:
    """Run the command that was typed, and see its output out.

    Raises
    ------
    InputError : a word that is no text, or holds control characters. OSError : the output cannot be written.
    """
    from viz3d.cli.app import app
    from viz3d.cli.usage import NO_WORDS, UsageError

    odd = odd_sign(sys.argv[1:])
    if odd is not None:
        raise InputError(f"found '{plain(odd)}'; control characters, and names that are not UTF-8, cannot be used")
    try:
        code = app(standalone_mode=False)
    except UsageError as error:
        code = _misused(error, bare=type(error).__name__ == NO_WORDS)
    sys.stdout.flush()
    sys.exit(code if isinstance(code, int) else 0)


def _misused(error: Exception, bare: bool) -> int:
    """Tell of wrong usage; a ``bare`` command line gets its help."""
    from viz3d.cli.say import say_error
    from viz3d.cli.usage import usage_line

    if bare:
        print(error)
    else:
        say_error(usage_line(error))
    return 2


def _trouble(error: OSError) -> str:
    """What the system could not do, in a line."""
    named = f"{harmless(str(error.filename))}: " if error.filename else ""
    return f"{named}{error.strerror or error}"
