"""The drawing library of our pages, taken out of the package that carries it.

Question answered: where does three.js come from, without a copy of it in this project?

It lies inside the template of trimesh's own viewer, with its glTF loader, under the MIT licence; it is checked against
a known digest, so that another version is noticed.
"""

from __future__ import annotations

import hashlib
import zipfile
from functools import lru_cache
from importlib import resources

from viz3d.errors import RenderError

_START, _END = "/**", "THREE.GLTFLoader=GLTFLoader;})();"
_DIGEST = "467a4969a34b56d015d0d8f6e5e557746ada6fad11ae51619c2e9a925a28c898"


@lru_cache(maxsize=1)
def three_script() -> str:
    """three.js r140 and its glTF loader: one classic script that defines ``THREE``.

    Raises
    ------
    RenderError : the installed trimesh carries another one.
    """
    try:
        with (
            resources.files("trimesh.resources").joinpath("templates", "viewer.zip").open("rb") as file,
            zipfile.ZipFile(file) as archive,
        ):
            text = archive.read("viewer.html.template").decode("utf-8")
    except (OSError, KeyError, ModuleNotFoundError, zipfile.BadZipFile) as error:
        raise RenderError(f"the page's drawing library was not found in trimesh: {error}") from error
    start, end = text.find(_START, text.find("<script>")), text.find(_END)
    script = text[start : end + len(_END)]
    if hashlib.sha256(script.encode()).hexdigest() != _DIGEST:
        raise RenderError("trimesh carries another drawing library than this viz3d knows; install trimesh 5.2")
    return script
