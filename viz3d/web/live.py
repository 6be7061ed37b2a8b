"""The live page: our own page with the solver behind it, for one person on this machine.

Question answered: what does the hip carry the moment a slider moves?

It answers on 127.0.0.1 only, under a random word in the address; asks every request for its host and origin; reads no
file of this machine but our own; and takes scenes as data. Nothing is kept: the browser holds the scene, sends what
was changed, and sends the scene again where it was forgotten here.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import tomli_w
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from viz3d.echo import shown
from viz3d.errors import InputError, SceneError, Unreadable
from viz3d.given import json_value
from viz3d.output.files import source_line
from viz3d.output.page_body import page_bytes
from viz3d.scene.reader import check_scene, every_scene, parse_scene, parse_text
from viz3d.scene.schema import Scene
from viz3d.scene.translated import spoken
from viz3d.solution.records import scene_record
from viz3d.solution.script import solve_scene
from viz3d.stage.compose import compose
from viz3d.web.answers import (
    Opened,
    at_first,
    chart_of,
    flattened,
    load_title,
    only_shot,
    saved_text,
    situation_of,
    tables_with,
    with_changes,
)
from viz3d.web.asked import asked_of
from viz3d.web.bones import Bones
from viz3d.web.cast import seen_of, told_of
from viz3d.web.controls import HELD, MODELS, WAYS
from viz3d.web.editing import edited, without_nothing
from viz3d.web.guard import BadMessage, Guard, NotOpen, refused
from viz3d.web.jobs import KINDS, Jobs
from viz3d.web.judged import draft_of, judged, offered
from viz3d.web.made import made_of
from viz3d.web.offline import page_text
from viz3d.web.wording import speech_of

HOST = "127.0.0.1"
LARGEST_MESSAGE = 300_000
"""Bytes of one request."""
_SHELF = 40
"""Opened scenes remembered: the one that the page begins with, and those asked about last."""
_FILES = (("person", "bones"), ("picture", "font"), ("picture", "palette"), ("film", "voice"),
          ("walk", "motion"))  # fmt: skip
"""Keys that name files beside a scene: there is no such place here."""


class Live:
    """One server: its opened scenes, bones and jobs."""

    def __init__(self, scene: Scene, data: dict[str, Any], port: int) -> None:
        self.token, self.port = secrets.token_urlsafe(18), port
        self.shelf: OrderedDict[str, Opened] = OrderedDict()
        self.first = ""
        self.first = self.put(data, scene)
        self.bones = Bones(self.shelf[self.first].flat)
        self.jobs = Jobs()
        self.guard = Guard(HOST, port)

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{HOST}:{self.port}/{self.token}/"

    def put(self, data: dict[str, Any], scene: Scene) -> str:
        """Remember an opened scene; its name."""
        for table, key in _FILES:
            if data.get(table, {}).get(key) is not None:
                raise SceneError("scene", f"{table}.{key}", "names a file", "a scene opened on this page stands alone")
        text = json.dumps(data, sort_keys=True, default=str)
        name = hashlib.sha256(text.encode()).hexdigest()[:20]
        self.shelf[name] = Opened(data, scene, flattened(at_first(scene)))
        self.shelf.move_to_end(name)
        while len(self.shelf) > _SHELF:
            del self.shelf[next(n for n in self.shelf if n != self.first)]
        return name

    def known(self, name: str) -> Opened:
        """An opened scene, from now on the last to be forgotten.

        Raises
        ------
        NotOpen : this server never knew it, or had to forget it.
        """
        if name not in self.shelf:
            raise NotOpen("this scene is no longer open here; open its file again")
        self.shelf.move_to_end(name)
        return self.shelf[name]

    def app(self) -> Starlette:
        """The application."""
        post = ["POST"]
        at = f"/{self.token}"
        routes = [
            Route(f"{at}/", self.guard.over(self.page)),
            Route(f"{at}/solve", self.guard.over(self.solve), methods=post),
            Route(f"{at}/chart", self.guard.over(self.chart), methods=post),
            Route(f"{at}/bones", self.guard.over(self.glb), methods=post),
            Route(f"{at}/open", self.guard.over(self.open), methods=post),
            Route(f"{at}/edit", self.guard.over(self.edit), methods=post),
            Route(f"{at}/judge", self.guard.over(self.judge), methods=post),
            Route(f"{at}/questions", self.guard.over(self.questions), methods=post),
            Route(f"{at}/save", self.guard.over(self.save), methods=post),
            Route(f"{at}/data", self.guard.over(self.data), methods=post),
            Route(f"{at}/job", self.guard.over(self.begin), methods=post),
            Route(f"{at}/job/{{name}}", self.guard.over(self.look)),
            Route(f"{at}/job/{{name}}/stop", self.guard.over(self.stop), methods=post),
            Route(f"{at}/job/{{name}}/file", self.guard.over(self.file)),
        ]  # fmt: skip
        return Starlette(routes=routes)

    def close(self) -> None:
        """Stop all work."""
        self.jobs.close()
        self.bones.close()

    async def _asked_for(self, request: Request) -> tuple[dict[str, Any], Opened, Scene]:
        """The message, the opened scene it is about, and that scene with the message's changes.

        Raises
        ------
        BadMessage : it is too large or not one of ours. NotOpen : its scene is not known. SceneError, InputError : its
        changes make no scene.
        """
        message = await _message(request)
        known = self.known(str(message.get("scene", self.first)))
        changes = _texts(message.get("changes", {}))
        return message, known, await run_in_threadpool(with_changes, known.flat, changes)

    # ---- answers ----------------------------------------------------------------------------------------

    async def page(self, request: Request) -> Response:
        """The page itself."""
        opened = self.shelf[self.first]
        text = await run_in_threadpool(self._page_text, opened)
        nonce = secrets.token_urlsafe(16)
        text = text.replace("<script", f'<script nonce="{nonce}"').replace("<style>", f'<style nonce="{nonce}">')
        policy = (
            f"default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; font-src data:;"
            " img-src data: blob:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        return Response(text, media_type="text/html", headers={"Content-Security-Policy": policy})

    def _page_text(self, opened: Opened) -> str:
        from viz3d.web.parts import static

        plan = compose(opened.flat, solve_scene(opened.flat), bodies=False)
        told = told_of(opened.flat, plan) | {
            "scene": self.first,
            "library": {n: load_title(p, opened.scene.picture.language) for n, p in every_scene().items()},
            "held": HELD, "models": MODELS, "ways": WAYS, "kinds": list(KINDS), "offered": offered(),
            "draft": draft_of(opened.data, opened.scene),
        }  # fmt: skip
        return page_text("live", opened.flat, told, "", static("live.html"), static("jumps.html"))

    async def solve(self, request: Request) -> Response:
        """Everything the page shows of one situation."""
        _, known, scene = await self._asked_for(request)
        return JSONResponse(await run_in_threadpool(situation_of, known, scene))

    async def chart(self, request: Request) -> Response:
        """Joint force against one input."""
        message, _, scene = await self._asked_for(request)
        return JSONResponse(await run_in_threadpool(chart_of, scene, str(message.get("over", "posture.lean"))))

    async def glb(self, request: Request) -> Response:
        """The bones of a body; X-Bones says whether they are still being reshaped."""
        _, _, scene = await self._asked_for(request)

        def made() -> tuple[bytes, bool, bool]:
            figure, true = self.bones.get(scene)
            plan = compose(scene, solve_scene(scene), bodies=False)
            return (
                page_bytes([(plan, seen_of(figure, plan))], scene.title, source_line([scene])),
                true,
                self.bones.grows(scene),
            )

        data, true, grows = await run_in_threadpool(made)
        headers = {"X-Bones": "true" if true else "reshaping", "X-Flesh": "growing" if grows else "true",
                   "X-Stature": str(scene.person.stature)}  # fmt: skip
        return Response(data, media_type="model/gltf-binary", headers=headers)

    async def open(self, request: Request) -> Response:
        """Open a scene: a library scene by name, or the text of a scene file."""
        message = await _message(request)
        if "library" in message:
            path = every_scene().get(str(message["library"]))
            if path is None:
                raise InputError(f"found {shown(message['library'])}; allowed: {', '.join(every_scene())}")
            language = self.shelf[self.first].scene.picture.language
            data = await run_in_threadpool(lambda: spoken(parse_scene(path), path, language))
            return await run_in_threadpool(self._opened, data, Path(path.name))
        elif isinstance(message.get("data"), dict):
            return await run_in_threadpool(self._opened, without_nothing(message["data"]), Path("scene"))
        else:
            raw, name = str(message.get("text", "")).encode(), Path(str(message.get("name", "scene.toml"))).name[:80]
        data = await run_in_threadpool(parse_text, raw, Path(name))
        return await run_in_threadpool(self._opened, data, Path(name))

    def _opened(self, data: dict[str, Any], path: Path) -> Response:
        """What the page is told of a scene's tables, once they are a scene and on the shelf."""
        scene = check_scene(data, path)
        name = self.put(data, scene)
        return JSONResponse({"scene": name, "speech": speech_of(scene), "draft": draft_of(data, scene)})

    async def edit(self, request: Request) -> Response:
        """Another scene: the opened one with one thing edited."""
        message, known, _ = await self._asked_for(request)
        about = message.get("edit")
        if not isinstance(about, dict):
            raise BadMessage("found no edit")
        return await run_in_threadpool(
            lambda: self._opened(edited(known.data, message.get("changes", {}), about), Path("scene"))
        )

    async def judge(self, request: Request) -> Response:
        """What the solution says of every step's caption; ``fault``: why the steps do not follow this pose."""
        return await self._of_steps(request, judged)

    async def questions(self, request: Request) -> Response:
        """What could be predicted of the scene as it is; ``fault``: why the steps do not follow this pose."""
        return await self._of_steps(request, asked_of)

    async def _of_steps(self, request: Request, found_of: Callable[[Scene], dict[str, Any]]) -> Response:
        """What is found of the whole scene with what was changed."""
        message, known, _ = await self._asked_for(request)

        def found() -> dict[str, Any]:
            try:
                return found_of(check_scene(tables_with(known, message.get("changes", {})), Path("scene")))
            except (SceneError, InputError) as error:
                return {"fault": str(error)}

        return JSONResponse(await run_in_threadpool(found))

    async def save(self, request: Request) -> Response:
        """The scene file with the page's changes."""
        message, known, _ = await self._asked_for(request)
        text = saved_text(known, message.get("changes", {}))
        return Response(text, media_type="application/toml", headers=_download("scene.toml"))

    async def data(self, request: Request) -> Response:
        """All numbers, as ``viz3d solve --json`` prints them."""
        _, _, scene = await self._asked_for(request)
        record = await run_in_threadpool(lambda: scene_record("scene", scene, [only_shot(scene)]))
        return Response(json.dumps(record, indent=2, allow_nan=False), media_type="application/json",
                        headers=_download("scene.json"))  # fmt: skip

    async def begin(self, request: Request) -> Response:
        """Begin a download that takes longer."""
        message, known, _ = await self._asked_for(request)
        for other in (message.get("before"), message.get("seen")):
            _texts(other.get("changes", {}) if isinstance(other, dict) else {})

        def begun() -> dict[str, Any]:
            made = made_of(known, message, self.known)
            job = self.jobs.start(str(message.get("kind")), tomli_w.dumps(made.data))
            return {"job": job, "silent": made.silent}

        return JSONResponse(await run_in_threadpool(begun))

    async def look(self, request: Request) -> Response:
        """How far a download is."""
        job = self.jobs.all.get(request.path_params["name"])
        if job is None:
            return refused(404, "there is no such download")
        return JSONResponse({"state": job.state, "done": job.done, "of": job.of, "error": job.error})

    async def stop(self, request: Request) -> Response:
        """Stop a download."""
        if request.path_params["name"] not in self.jobs.all:
            return refused(404, "there is no such download")
        await run_in_threadpool(self.jobs.stop, request.path_params["name"])
        return JSONResponse({"state": "stopped"})

    async def file(self, request: Request) -> Response:
        """A finished download."""
        job = self.jobs.all.get(request.path_params["name"])
        if job is None or job.state != "done":
            return refused(404, "there is no such download")
        return FileResponse(job.path, headers=_download(job.path.name))


def _texts(changes: Any) -> dict[str, str]:
    """Changes, which are texts."""
    if not isinstance(changes, dict) or not all(isinstance(v, str) and len(v) < 200 for v in changes.values()):
        raise BadMessage("found changes that are no texts; write them as in a scene file")
    return changes


def _download(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}


async def _message(request: Request) -> dict[str, Any]:
    """A request's JSON object.

    Raises
    ------
    BadMessage : too large, or not one; or it holds halves of letters, which no text may.
    """
    data = b""
    async for part in request.stream():
        data += part
        if len(data) > LARGEST_MESSAGE:
            raise BadMessage(f"found a message above {LARGEST_MESSAGE // 1000} KB; a scene file has at most 250 KB")
    try:
        message = await run_in_threadpool(json_value, data)
    except Unreadable as error:
        raise BadMessage(f"found a message that {error}") from error
    if not isinstance(message, dict):
        raise BadMessage("found a message that is no JSON object")
    return message
