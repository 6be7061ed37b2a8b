"""The drawing library of our pages.

Question answered: where does three.js come from, without a copy of it in this project?

``hatch_build.py`` fetches it when viz3d is set up or its wheel is built, in the version that ``library/package.json``
names, with its glTF loader and under the MIT licence. It is read with the digest beside it, so that another one is
noticed.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib import resources

from viz3d.errors import RenderError


@lru_cache(maxsize=1)
def three_script() -> str:
    """three.js and its glTF loader: one classic script that defines ``THREE``.

    Raises
    ------
    RenderError : it is missing, or another one than this viz3d knows.
    """
    folder = resources.files("viz3d.web").joinpath("library")
    known = folder.joinpath("three.js.sha256").read_text(encoding="utf-8").split()[0]
    try:
        script = folder.joinpath("three.js").read_bytes()
    except FileNotFoundError as error:
        raise RenderError("the drawing library of pages is missing; run: sh setup.sh") from error
    if hashlib.sha256(script).hexdigest() != known:
        raise RenderError("the drawing library of pages is another one than this viz3d knows; run: sh setup.sh")
    return script.decode("utf-8")
