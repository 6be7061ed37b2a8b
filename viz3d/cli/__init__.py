"""The command line: the only room that prints, and the only importer of typer.

Our own errors are one line and exit 1; wrong usage exits 2; Ctrl-C exits 130; anything else keeps its
traceback. Output survives terminals that cannot show every sign.
"""

from __future__ import annotations

import os
import signal
import sys

from viz3d.errors import Viz3dError


class Stopped(BaseException):
    """The person pressed Ctrl-C."""


def _stop(*_: object) -> None:
    raise Stopped


def main() -> None:
    """Entry point of the ``viz3d`` command."""
    from viz3d.cli.app import app
    from viz3d.cli.say import prepare_streams, say_error

    prepare_streams()
    signal.signal(signal.SIGINT, _stop)
    try:
        app()
    except Viz3dError as error:
        say_error(str(error))
        sys.exit(1)
    except Stopped:
        say_error("stopped; nothing half-written was left")
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
