"""A deck as a PowerPoint file: real text boxes, pictures with words for those who do not see them, notes.

Question answered: how does :class:`viz3d.teach.deck.Deck` become a file that a lecturer opens, edits and shows?

Office Open XML by python-pptx, 16 to 9. Titles are title placeholders, so that outlines and screen readers find them;
captions are text boxes over the picture's band; the free body is made of shapes; tables are tables. All sizes are for a
hall: nothing but the small print of pictures, and a long caption, is under 16 points. Texts are data: they pass the
library as strings. The same deck gives the same bytes.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from pathlib import Path
from typing import Any

from pptx import Presentation
from pptx.enum.text import MSO_ANCHOR
from pptx.slide import Slide as Page
from pptx.util import Emu, Inches

from viz3d.errors import SceneError
from viz3d.output.files import written_whole
from viz3d.output.slide_pictures import Drawn, slide_picture
from viz3d.output.slide_shapes import FONT, Frame, add_rows, add_sketch, bare, colour_of, text_box, write
from viz3d.progress import Progress
from viz3d.stage.type import text_width, wrap
from viz3d.teach.deck import Deck, Slide
from viz3d.words.cautions import SHORT
from viz3d.words.message import message

WIDTH, HEIGHT = int(Inches(13.333)), int(Inches(7.5))
_DAY = datetime.datetime(2000, 1, 1)
_ZIPPED = (1980, 1, 1, 0, 0, 0)
"""The one date of every packed part: files are functions of their deck."""
_TITLES, _CAPTIONS, _BODIES = (30, 28, 26, 24, 22), (26, 24, 22, 20, 18, 17, 16, 15), (26, 24, 22, 20, 18)
"""Sizes that are tried, points."""
_SIDE, _LEADING, _EMU = int(Inches(1 / 3)), 1.15 * 0.95, 12700
_LIST: Frame = (_SIDE, int(Inches(1.5)), WIDTH - int(Inches(1.6)), int(Inches(5.6)))
"""Where sentences stand that are listed."""
_APART = 12
"""Points between them."""
_TITLE_ONLY = 5
"""The library's layout with a title and nothing else."""


def write_slides(deck: Deck, path: Path, progress: Progress | None = None) -> Path:
    """Write a deck; ``path`` ends in .pptx.

    Raises
    ------
    RenderError, InputError, SceneError : one line each; a text that does not fit names its key.
    """
    data = _Writer(deck, progress).written()
    with written_whole(path) as part:
        part.write_bytes(data)
    return path


def check_slides(deck: Deck) -> None:
    """Refuse a deck whose lists do not fit; nothing is drawn or written.

    Raises
    ------
    SceneError : names the first one.
    """
    _Writer(deck, None).check()


class _Writer:
    """One deck being written."""

    def __init__(self, deck: Deck, progress: Progress | None) -> None:
        self.deck, self.voice, self.progress = deck, deck.voice, progress
        self.file = _opened(deck)

    def written(self) -> bytes:
        """Every slide in order; the file's bytes."""
        kinds = {
            "title": self.opening, "free_body": self.free_body, "summary": self.table, "measured": self.listed,
            "limits": self.listed, "listed": self.listed,
            "film": self.film,
        }  # fmt: skip
        self.check()
        for n, slide in enumerate(self.deck.slides, 1):
            page = self.file.slides.add_slide(self.file.slide_layouts[_TITLE_ONLY])
            page.background.fill.solid()
            page.background.fill.fore_color.rgb = colour_of("paper")
            kinds.get(slide.key, self.pictured)(page, slide)
            page.notes_slide.notes_text_frame.text = "\n".join(self.voice.lines(list(slide.notes)))
            if self.progress:
                self.progress("slide", n, len(self.deck.slides))
        return _packed(self.file)

    # ---- kinds of slides ----------------------------------------------------------------------------

    def check(self) -> None:
        """Refuse lists that do not fit before anything is drawn.

        Raises
        ------
        SceneError : names the first one.
        """
        for slide in self.deck.slides:
            if slide.key in ("measured", "limits", "listed"):
                self.fitting(self.voice.lines(list(slide.lines)), _LIST, _BODIES, slide, "Regular", spaced=_APART)

    def pictured(self, page: Page, slide: Slide) -> None:
        """A picture as large as the slide; title and caption over the places that it leaves free."""
        drawn = self.drawn(page, slide, (0, 0, WIDTH, HEIGHT))
        self.title(page, slide, (_SIDE, Inches(0.11), Inches(9.8), Inches(0.5)))
        if slide.note:
            told = message("deck.note", note=slide.note)
            self.text(page, [told], (Inches(3.55), Inches(0.6), Inches(6.8), Inches(0.44)), (16, 14), slide, bold=True)
        if slide.caption:
            top = int(drawn.band / drawn.size[1] * HEIGHT)
            room = int(drawn.room / drawn.size[1] * HEIGHT) or int(Inches(0.56))
            frame = (_SIDE, top + int(Inches(0.01)), WIDTH - 2 * _SIDE, min(room, int(Inches(0.56))))
            self.text(page, [slide.caption], frame, _CAPTIONS, slide, bold=True, where=slide.caption_where)

    def film(self, page: Page, slide: Slide) -> None:
        """A film with its poster, below the title."""
        assert slide.picture is not None and slide.film is not None  # a deck gives this slide both
        self.title(page, slide, (_SIDE, Inches(0.12), WIDTH - 2 * _SIDE, Inches(0.6)))
        poster = slide_picture(slide.picture, self.progress)
        tall = int(Inches(6.55))
        wide = int(tall * 16 / 9)
        movie = page.shapes.add_movie(
            str(slide.film), Emu((WIDTH - wide) // 2), Emu(int(Inches(0.8))), Emu(wide), Emu(tall),
            poster_frame_image=io.BytesIO(poster.png), mime_type="video/mp4",
        )  # fmt: skip
        movie._element.nvPicPr.cNvPr.set("descr", poster.alt)

    def opening(self, page: Page, slide: Slide) -> None:
        """Title, aim and person at the left, the whole person at the right."""
        drawn = self.drawn(page, slide, (0, Inches(0.2), 0, Inches(7.1)))
        room = WIDTH - int(Inches(7.1) * drawn.size[0] / drawn.size[1]) - int(Inches(1.9))
        self.title(page, slide, (_SIDE, Inches(1.1), room, Inches(1.9)), (44, 40, 36, 32), low=True)
        *aim, who = slide.lines
        self.text(page, aim, (_SIDE, Inches(3.3), room, Inches(1.9)), _BODIES, slide)
        self.text(page, [who], (_SIDE, Inches(5.3), room, Inches(0.8)), (20, 18), slide, tone="soft")
        self.text(page, [SHORT], (_SIDE, Inches(6.35), room, Inches(0.8)), (16,), slide, tone="soft")

    def free_body(self, page: Page, slide: Slide) -> None:
        """The sketch at the left, its sums at the right."""
        assert slide.sketch is not None  # a deck gives this slide one
        self.title(page, slide, (_SIDE, Inches(0.4), WIDTH - 2 * _SIDE, Inches(0.6)))
        add_sketch(page, slide.sketch, (_SIDE, int(Inches(1.15)), int(Inches(6.9)), int(Inches(6.1))), self.voice)
        left, wide = int(Inches(7.6)), int(Inches(5.4))
        self.text(
            page,
            [slide.caption],
            (left, Inches(1.25), wide, Inches(0.7)),
            (20, 18),
            slide,
            tone="soft",
            where=slide.caption_where,
        )
        self.text(
            page,
            list(slide.lines),
            (left, Inches(2.2), wide, Inches(4.9)),
            (24, 22, 20, 18),
            slide,
            spaced=14,
            unbroken=True,
        )

    def listed(self, page: Page, slide: Slide) -> None:
        """A title and sentences."""
        self.title(page, slide, (_SIDE, Inches(0.45), WIDTH - 2 * _SIDE, Inches(0.7)))
        self.text(page, list(slide.lines), _LIST, _BODIES, slide, spaced=_APART)

    def table(self, page: Page, slide: Slide) -> None:
        """A title and a table."""
        self.title(page, slide, (_SIDE, Inches(0.45), WIDTH - 2 * _SIDE, Inches(0.7)))
        rows = [[self.voice.say(cell) for cell in row] for row in slide.rows]
        add_rows(page, rows, (_SIDE, int(Inches(1.5)), WIDTH - 2 * _SIDE), self.voice)

    # ---- parts --------------------------------------------------------------------------------------

    def drawn(self, page: Page, slide: Slide, frame: Frame) -> Drawn:
        """The slide's picture in its place, with its alternative text; without a width it stands at the right."""
        assert slide.picture is not None  # a deck gives every such slide one
        picture = slide_picture(slide.picture, self.progress)
        left, top, width, height = frame
        if not width:
            width = int(height * picture.size[0] / picture.size[1])
            left = WIDTH - width - int(Inches(0.55))
        shape = page.shapes.add_picture(io.BytesIO(picture.png), Emu(left), Emu(top), Emu(width), Emu(height))
        shape._element.nvPicPr.cNvPr.set("descr", picture.alt)
        return picture

    def title(
        self, page: Page, slide: Slide, frame: Frame, sizes: tuple[int, ...] = _TITLES, low: bool = False
    ) -> None:  # fmt: skip
        """The slide's title in its placeholder, above the picture; ``low``: at the bottom of its frame."""
        title: Any = page.shapes.title
        title.left, title.top, title.width, title.height = (Emu(int(v)) for v in frame)
        bare(title.text_frame)
        title.text_frame.word_wrap = True
        title.text_frame.vertical_anchor = MSO_ANCHOR.BOTTOM if low else MSO_ANCHOR.MIDDLE
        text = self.voice.say(slide.title)
        write(title.text_frame, [text], self.fitting([text], frame, sizes, slide, "Bold"), True, "ink", self.voice)
        page.shapes._spTree.append(title._element)

    def text(
        self, page: Page, lines: list[Any], frame: Frame, sizes: tuple[int, ...], slide: Slide, *, bold: bool = False,
        tone: str = "ink", spaced: float = 0.0, where: str = "", unbroken: bool = False,
    ) -> None:  # fmt: skip
        """A text box with its lines as large as fit."""
        said = self.voice.lines(lines)
        if said:
            size = self.fitting(said, frame, sizes, slide, "SemiBold" if bold else "Regular", spaced, where, unbroken)
            text_box(page, frame, said, size, self.voice, bold=bold, tone=tone, spaced=spaced)

    def fitting(
        self,
        lines: list[str],
        frame: Frame,
        sizes: tuple[int, ...],
        slide: Slide,
        weight: str,
        spaced: float = 0.0,
        where: str = "",
        unbroken: bool = False,
    ) -> int:
        """The largest size at which lines fit into a frame; ``unbroken``: each in a row, if any size allows it.

        Raises
        ------
        SceneError : none does.
        """
        width, height = frame[2] / _EMU, frame[3] / _EMU
        for size in sizes:
            rows = [len(wrap(line, width, size, weight)) for line in lines]
            if unbroken and max(rows) > 1 and size > sizes[-1]:
                continue
            if sum(rows) * size * _LEADING + spaced * (len(lines) - 1) <= height + 1.0:
                return size
        room = int((height + 1.0 - spaced * (len(lines) - 1)) / (sizes[-1] * _LEADING))
        letters = int(width / text_width("n", sizes[-1], weight)) * max(1, room)
        file = slide.picture.file if slide.picture else slide.file or self.deck.title
        key = where or slide.where or slide.key
        if len(lines) == 1:
            raise SceneError(
                file,
                key,
                f"{len(lines[0])} letters do not fit on a slide",
                f"about {letters} do, at {sizes[-1]} points",
            )
        raise SceneError(
            file, key, f"{sum(map(len, lines))} letters do not fit on a slide: they make {sum(rows)} lines",
            f"{room} lines do, at {sizes[-1]} points",
        )  # fmt: skip


def _opened(deck: Deck) -> Any:
    """An empty deck, 16 to 9 down to its layouts, in one font, with what it says of itself."""
    file = Presentation()
    wider = WIDTH / file.slide_width
    file.slide_width, file.slide_height = Emu(WIDTH), Emu(HEIGHT)
    for layout in (file.slide_master, *file.slide_layouts):
        for shape in layout.placeholders:
            shape.left, shape.width = Emu(int(shape.left * wider)), Emu(int(shape.width * wider))
    for part in file.part.package.iter_parts():
        if str(part.partname).startswith("/ppt/theme/"):
            part._blob = part.blob.replace(b'typeface="Calibri"', f'typeface="{FONT}"'.encode())
    about = file.core_properties
    about.title, about.language, about.author, about.last_modified_by = (
        deck.title,
        deck.voice.language,
        "viz3d",
        "viz3d",
    )
    about.created = about.modified = _DAY
    about.subject = deck.voice.say(SHORT)
    about.revision, about.keywords, about.comments = 1, "", ""
    return file


def _packed(file: Any) -> bytes:
    """The file's bytes, its parts in one order and of one date."""
    first, out = io.BytesIO(), io.BytesIO()
    file.save(first)
    with zipfile.ZipFile(first) as parts, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in parts.namelist():
            packed.writestr(zipfile.ZipInfo(name, _ZIPPED), parts.read(name), zipfile.ZIP_DEFLATED)
    return out.getvalue()
