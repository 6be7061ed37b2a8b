"""Sheets of paper as tagged PDF.

Question answered: how does :class:`viz3d.teach.paper.Leaf` become a file to print, that screen readers can read too?

Set by Typst from one template (paper.typ) and one file of data: headings, lists, tables and pictures become tags,
pictures with their words; title and language are the document's. The one font is the shipped one. No date: the same
sheet gives the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

from viz3d.atomic import scratch
from viz3d.errors import RenderError
from viz3d.output.files import told_in_one_line, written_whole
from viz3d.output.sketch import sketch_svg
from viz3d.output.slide_pictures import Drawn, slide_picture
from viz3d.progress import Progress
from viz3d.stage.palette import palette
from viz3d.teach.paper import Block, Leaf, Mark
from viz3d.words.voice import Voice

_TYPST = {"a4": "a4", "letter": "us-letter"}
_TABLE = {4: (0.42, 0.18, 0.22, 0.18), 5: (0.34, 0.15, 0.14, 0.22, 0.15), 2: (0.6, 0.4), 3: (0.5, 0.25, 0.25)}
"""Number of a table's columns -> their widths."""


def write_paper(leaf: Leaf, path: Path, paper: str = "a4", progress: Progress | None = None) -> Path:
    """Write a sheet as PDF.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    with told_in_one_line(path), scratch(path.parent) as folder:
        data = paper_bytes(leaf, folder, paper, progress)
    with written_whole(path) as part:
        part.write_bytes(data)
    return path


def paper_bytes(leaf: Leaf, folder: Path, paper: str = "a4", progress: Progress | None = None) -> bytes:
    """A sheet's PDF; ``folder``: where its pictures and data may lie meanwhile.

    Raises
    ------
    RenderError : it cannot be set.
    """
    import typst

    setter = _Setter(leaf, folder, progress)
    (folder / "data.json").write_text(json.dumps(setter.data(paper), ensure_ascii=False), encoding="utf-8")
    template = resources.files("viz3d.output").joinpath("paper.typ").read_text(encoding="utf-8")
    (folder / "paper.typ").write_text(template, encoding="utf-8")
    fonts = str(resources.files("viz3d.stage").joinpath("fonts"))
    try:
        made = typst.compile(
            str(folder / "paper.typ"), root=str(folder), font_paths=[fonts], ignore_system_fonts=True, format="pdf"
        )
    except RuntimeError as error:
        raise RenderError(f"the sheet cannot be set: {' '.join(str(error).split())}") from error
    return bytes(made)


class _Setter:
    """One sheet being turned into data, its pictures into files."""

    def __init__(self, leaf: Leaf, folder: Path, progress: Progress | None) -> None:
        self.leaf, self.folder, self.progress, self.count = leaf, folder, progress, 0

    def data(self, paper: str) -> dict[str, Any]:
        """Everything the template reads."""
        leaf, light = self.leaf, palette("light")
        say = leaf.voice.say
        return {
            "title": say(leaf.title), "subject": say(leaf.subject), "footer": say(leaf.title), "paper": _TYPST[paper],
            "language": leaf.voice.language, "size": leaf.letters, "blocks": list(self.blocks(leaf.blocks)),
            "colours": {
                "ink": light["ink"], "soft": light["soft"], "line": light["card_line"], "tint": light["paper_top"]
            },
        }  # fmt: skip

    def blocks(self, some: tuple[Block, ...]) -> Iterator[dict[str, Any]]:
        """Blocks as the template reads them."""
        for block in some:
            yield self.block(block)

    def block(self, block: Block) -> dict[str, Any]:
        """One block."""
        voice, kind = self.leaf.voice, block.kind
        if block.picture is not None:
            return self.picture(block, slide_picture(block.picture, self.progress))
        if block.sketch is not None:
            svg = sketch_svg(block.sketch, voice, block.forces).encode()
            return self.placed(svg, "svg", voice.say(block.sketch.alt), block.wide, 0.0, [])
        out: dict[str, Any] = {"kind": kind, "text": voice.say(block.told), "items": voice.lines(list(block.items))}
        if kind == "table":
            rows = [[voice.say(cell) for cell in row] for row in block.rows]
            out |= {"rows": rows, "shares": list(_TABLE[len(rows[0])])}
        out |= {"count": block.count, "share": block.share}
        out |= {"left": list(self.blocks(block.left)), "right": list(self.blocks(block.right))}
        return out | {"blocks": out["left"]}

    def picture(self, block: Block, drawn: Drawn) -> dict[str, Any]:
        """A drawn picture with the marks over it."""
        wide = block.wide or 170.0
        tall = wide * drawn.size[1] / drawn.size[0]
        marks = [_mark(mark, drawn, self.leaf.voice) for mark in block.marks]
        return self.placed(drawn.png, "png", drawn.alt, wide, tall, marks)

    def placed(
        self, content: bytes, kind: str, alt: str, wide: float, tall: float, marks: list[dict[str, Any]]
    ) -> dict[str, Any]:
        """A picture's file and what the template is told of it."""
        self.count += 1
        name = f"picture-{self.count}.{kind}"
        (self.folder / name).write_bytes(content)
        return {"kind": "picture", "file": name, "alt": alt, "width": wide, "height": tall, "marks": marks}


def _mark(mark: Mark, drawn: Drawn, voice: Voice) -> dict[str, Any]:
    """Where a mark stands, shares of the picture; ``side``: which way its words go."""
    (x1, y1), (x2, _) = drawn.spots[mark.kind]
    level = mark.kind == "handle"
    return {
        "kind": "level" if level else "span", "x": x1 if level else min(x1, x2), "y": y1, "length": abs(x2 - x1),
        "text": voice.say(mark.told), "side": -1 if x2 < x1 else 1,
    }  # fmt: skip
