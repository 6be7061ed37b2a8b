"""The command line: the only room that prints, and the only importer of typer.

Our own errors are one line and exit 1; wrong usage exits 2; a stop (Ctrl-C, SIGTERM, SIGHUP) is one line and exits 130;
anything else keeps its traceback. Output survives terminals that cannot show every sign.
"""

from __future__ import annotations

import os
import sys

from viz3d.cli.stop import Stopped, leave, signals_answered
from viz3d.errors import Viz3dError


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
    from viz3d.cli.app import app
    from viz3d.cli.say import prepare_streams, say_error

    prepare_streams()
    try:
        app()
    except Viz3dError as error:
        if asked:
            raise
        say_error(str(error))
        sys.exit(1)
    except BrokenPipeError:
        if asked:
            raise
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
