"""The command line: the only room that prints, and the only importer of typer.

Our own errors are one line and exit 1; wrong usage exits 2; Ctrl-C exits 130; anything else keeps its
traceback. Output survives terminals that cannot show every sign.
"""

from __future__ import annotations

import signal
import sys

from viz3d.echo import harmless, odd_sign, plain
from viz3d.errors import InputError, Viz3dError


class Stopped(BaseException):
    """The person pressed Ctrl-C."""


def _stop(*_: object) -> None:
    raise Stopped


def _call() -> None:
    """Run the command that was typed, and see its output out.

    Raises
    ------
    InputError : a word that is no text, or holds control characters. OSError : the output cannot be written.
    """
    from viz3d.cli.app import app

    odd = odd_sign(sys.argv[1:])
    if odd is not None:
        raise InputError(f"found '{plain(odd)}'; control characters, and names that are not UTF-8, cannot be used")
    try:
        app()
    except SystemExit:
        sys.stdout.flush()
        raise


def _trouble(error: OSError) -> str:
    """What the system could not do, in a line."""
    named = f"{harmless(str(error.filename))}: " if error.filename else ""
    return f"{named}{error.strerror or error}"


def main() -> None:
    """Entry point of the ``viz3d`` command."""
    from viz3d.cli.say import let_go_of_output, prepare_streams, say_error

    prepare_streams()
    signal.signal(signal.SIGINT, _stop)
    try:
        _call()
    except Viz3dError as error:
        say_error(str(error))
        sys.exit(1)
    except Stopped:
        say_error("stopped; nothing half-written was left")
        sys.exit(130)
    except BrokenPipeError:
        let_go_of_output()
        sys.exit(0)
    except OSError as error:
        let_go_of_output()
        say_error(_trouble(error))
        sys.exit(1)
