"""A live server as a person starts it, and requests as any program on this machine could make them."""

from __future__ import annotations

import contextlib
import json
import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from viz3d.shapes.cache import cache_folder

PATIENCE = 300
"""Seconds until what should happen is said not to have: long, so that a busy machine is only slower."""


@contextlib.contextmanager
def serving(name: str, kept: Path, *more: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The address and the process of a running live server; bones that it builds are kept in a folder of its own."""
    for path in cache_folder().glob("*.npz"):
        (kept / path.name).symlink_to(path)
    process = subprocess.Popen(
        [sys.executable, "-m", "viz3d", "live", name, "--no-browser", "--port", "0", *more],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "VIZ3D_CACHE": str(kept)},
    )  # fmt: skip
    assert process.stdout is not None
    try:
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line
        yield found[0], process
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(PATIENCE)
        process.stdout.close()


def send(address: str, where: str, body: bytes | dict[str, Any], **headers: str) -> tuple[int, dict[str, Any]]:
    """A request's status and answer; asked again, as the page does, where the server says to wait."""
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    origin = re.match(r"http://[^/]+", address)
    sent = {"Origin": origin[0] if origin else "", "Content-Type": "application/json"} | {
        k.replace("_", "-"): v for k, v in headers.items()
    }
    request = urllib.request.Request(address + where, data, {k: v for k, v in sent.items() if v}, method="POST")
    status = 429
    while status == 429:
        status, found = _answer(request)
    return status, json.loads(found) if found[:1] == b"{" else {"bytes": len(found)} if status == 200 else {}


def _answer(request: urllib.request.Request) -> tuple[int, bytes]:
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE) as response:
            return response.status, response.read()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read()
