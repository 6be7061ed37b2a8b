"""Serving the live page: a port of this machine, and the server on it until it is stopped.

Question answered: where is the page, and who stops it?

Without a port asked for it is always the same one where that is free: what a browser keeps of scenes it keeps by the
address, and finds again only there.
"""

from __future__ import annotations

import socket
from collections.abc import Callable
from typing import Any

from viz3d.errors import RenderError
from viz3d.scene.schema import Scene
from viz3d.web.live import HOST, Live

USUAL_PORT = 8437
"""Where the page is when no port was asked for and nobody else is there."""


def bound_socket(port: int) -> socket.socket:
    """A socket on this machine at a port; 0 for any free one.

    Raises
    ------
    RenderError : the port is in use.
    """
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((HOST, port))
        made.listen()  # whoever asks from now on waits until the server is there
    except OSError as error:
        made.close()
        raise RenderError(f"port {port} is in use on this machine; choose another with --port") from error
    return made


def usual_socket() -> socket.socket:
    """A socket at the usual port, or at any free one where somebody else is there."""
    try:
        return bound_socket(USUAL_PORT)
    except RenderError:
        return bound_socket(0)


def serve(scene: Scene, data: dict[str, Any], port: int | None, ready: Callable[[str], None]) -> None:
    """Serve until stopped at a port, None for the usual one; ``ready`` is called with the address.

    Raises
    ------
    RenderError : the port is in use.
    """
    import uvicorn

    from viz3d.web.connection import Connection

    made = usual_socket() if port is None else bound_socket(port)
    live = Live(scene, data, made.getsockname()[1])
    config = uvicorn.Config(
        live.app(), http=Connection, log_level="error", access_log=False, ws="none", lifespan="off",
        timeout_keep_alive=20, server_header=False, proxy_headers=False,
    )  # fmt: skip
    server = uvicorn.Server(config)
    try:
        ready(live.address)
        server.run(sockets=[made])
    finally:
        live.close()
        made.close()
