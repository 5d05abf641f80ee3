"""The document: page frames, running head and foot, page n of m, output intent. One place writes the PDF."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    ActionFlowable,
    BaseDocTemplate,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
)

from finishplan.sheets import look as lk
from finishplan.sheets.look import MARGIN, MM, Look

GUIDE = "A printed swatch is a guide, not a match."
_SAME_RGB = re.compile(r"(?<![\d.])([\d.]+) \1 \1 (rg|RG)\b")


@cache
def srgb_profile() -> bytes:
    """The ICC bytes of sRGB with the date of making blanked, so that they are the same every time."""
    from PIL import ImageCms

    raw = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    raw[24:36] = bytes((0x07, 0xD0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))
    return bytes(raw)


class SheetCanvas(Canvas):  # type: ignore[misc]
    """A canvas that keeps its pages until their number is known, then writes 'page n of m' on each."""

    def __init__(self, *args: Any, look: Look, foot: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self._look, self._foot = look, foot
        self._code: list[str]
        self.section = ""
        self.flowing: list[tuple[int, str]] = []
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:
        """Keep the page; it is written by save."""
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def begin(self, name: str) -> None:
        """A section begins on the page at hand, under what stands there."""
        self.flowing.append((len(self._kept) + 1, name))

    def save(self) -> None:
        """Write every page with its foot, a bookmark where a section begins, and the file's output intent."""
        before = ""
        for number, page in enumerate(self._kept, 1):
            self.__dict__.update(page)
            names = [self.section, *(name for at, name in self.flowing if at == number)]
            for k, name in enumerate(names):
                if name != before:
                    self.bookmarkPage(f"section-{number}-{k}")
                    self.addOutlineEntry(name, f"section-{number}-{k}", 0)
                before = name
            self._write_foot(number, len(self._kept))
            if self._look.grey:
                self._code = [_SAME_RGB.sub(lambda m: f"{m[1]} {'g' if m[2] == 'rg' else 'G'}", c) for c in self._code]
            super().showPage()
        self._add_output_intent()
        super().save()

    def _write_foot(self, number: int, count: int) -> None:
        self.setFillColor(self._look.colour(lk.QUIET))
        self.setFont(lk.FACES["body"], lk.NOTE)
        self.drawString(MARGIN, 8 * MM, self._foot)
        self.drawRightString(self._look.size[0] - MARGIN, 8 * MM, f"page {number} of {count}")

    def _add_output_intent(self) -> None:
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString

        catalog = self._doc.Catalog
        profile = PDFStream(PDFDictionary({"N": 3}), srgb_profile(), filters=[])
        intent = PDFDictionary(
            {
                "Type": PDFName("OutputIntent"),
                "S": PDFName("GTS_PDFX"),
                "OutputConditionIdentifier": PDFString("sRGB IEC61966-2.1"),
                "Info": PDFString("sRGB IEC61966-2.1"),
                "DestOutputProfile": self._doc.Reference(profile),
            }
        )
        catalog.__NoDefault__ = [*catalog.__NoDefault__, "OutputIntents"]
        catalog.OutputIntents = PDFArray([intent])
        catalog.Lang = PDFString("en-GB")


class Section(ActionFlowable):  # type: ignore[misc]
    """From the next page on, the running head names this section."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name

    def apply(self, doc: Any) -> None:
        """Called by the document as it meets this mark."""
        doc.section = self.name


def section(name: str, template: str = "sheet") -> list[Any]:
    """A page break (left out by `render` at the very start) after which a section begins."""
    return [Section(name), NextPageTemplate(template), PageBreak()]


class FlowingSection(Section):
    """A section that begins on the page at hand."""

    def apply(self, doc: Any) -> None:
        """Called by the document as it meets this mark."""
        super().apply(doc)
        doc.canv.begin(doc.look.plain(self.name))


class SheetDoc(BaseDocTemplate):  # type: ignore[misc]
    """Ordinary sheets with a running head, and bare pages for cards that are cut apart."""

    def __init__(
        self, target: BytesIO, look: Look, title: str, date: str, *, section: str = "", template: str = "first"
    ) -> None:
        super().__init__(
            target,
            pagesize=look.size,
            title=look.plain(title),
            author="",
            subject="Painting order",
            keywords=f"plan {0:016}",  # place for the digest of the plan.json written with it
            creator="finishplan",
            initialFontName=lk.FACES["body"],
            invariant=1,
            pageCompression=1,
            allowSplitting=1,
        )
        self.look, self.section, self._title, self._date = look, section, title, date
        width, height = look.size
        body = Frame(MARGIN, lk.FOOT, look.measure, look.depth, 0, 0, 0, 0, id="body")
        front = Frame(MARGIN, lk.FOOT, look.measure, look.depth + lk.HEAD, 0, 0, 0, 0, id="front")
        templates = [
            PageTemplate("first", [front], onPage=self._begin),
            PageTemplate("sheet", [body], onPage=self._head),
            PageTemplate("cards", _card_frames(look), onPage=self._cards),
        ]
        self.addPageTemplates(sorted(templates, key=lambda t: t.id != template))
        self._height, self._width = height, width

    def _begin(self, canvas: Any, doc: Any) -> None:
        canvas.section = self.look.plain(self.section or self._title)

    def _cards(self, canvas: Any, doc: Any) -> None:
        self._begin(canvas, doc)
        _cut_marks(canvas, self.look)

    def _head(self, canvas: Any, doc: Any) -> None:
        self._begin(canvas, doc)
        look, top = self.look, self._height - MARGIN
        room = look.measure
        date = look.fit(self._date, "body", lk.NOTE, room * 0.25)
        canvas.setFillColor(look.colour(lk.QUIET))
        canvas.setFont(lk.FACES["body"], lk.NOTE)
        canvas.drawRightString(self._width - MARGIN, top - 7, date)
        here = look.fit(self.section, "strong", lk.NOTE, room * 0.45)
        canvas.setFillColor(look.colour(lk.ACCENT))
        canvas.setFont(lk.FACES["strong"], lk.NOTE)
        canvas.drawString(MARGIN, top - 7, here)
        left = look.width(here, "strong", lk.NOTE) + 10
        canvas.setFillColor(look.colour(lk.QUIET))
        canvas.setFont(lk.FACES["body"], lk.NOTE)
        rest = room - left - look.width(date, "body", lk.NOTE) - 12
        canvas.drawString(MARGIN + left, top - 7, look.fit(self._title, "body", lk.NOTE, rest))


CARD_PAD = 8 * MM
"""Room between a card's cut and its text: what a home printer leaves white is inside it."""


def card_size(look: Look) -> tuple[float, float]:
    """A quarter of the page: A6 on A4, a little wider and shorter on Letter."""
    return look.size[0] / 2, look.size[1] / 2


def _card_frames(look: Look) -> list[Any]:
    wide, high = card_size(look)
    inner = (wide - 2 * CARD_PAD, high - CARD_PAD - lk.FOOT)
    return [
        Frame(col * wide + CARD_PAD, row * high + lk.FOOT, *inner, 0, 0, 0, 0, id=f"card{row}{col}")
        for row in (1, 0)
        for col in (0, 1)
    ]


def _cut_marks(canvas: Any, look: Look) -> None:
    """Short lines at the edges and a cross in the middle: where the knife goes."""
    width, height = look.size
    arm = 5 * MM
    canvas.setStrokeColor(look.colour(lk.QUIET))
    canvas.setLineWidth(0.4)
    x, y = width / 2, height / 2
    for line in (
        (x, 0, x, arm),
        (x, height - arm, x, height),
        (0, y, arm, y),
        (width - arm, y, width, y),
        (x - arm, y, x + arm, y),
        (x, y - arm, x, y + arm),
    ):
        canvas.line(*line)


def render(story: Sequence[Any], look: Look, title: str, date: str) -> bytes:
    """The PDF's bytes: the same story gives the same bytes."""
    target = BytesIO()
    opening, story = _opened(story)
    doc = SheetDoc(target, look, title, date, **opening)

    def canvas(*args: Any, **more: Any) -> SheetCanvas:
        return SheetCanvas(*args, look=look, foot=GUIDE, **more)

    with _binary_streams():
        doc.build(list(story), canvasmaker=canvas)
    return target.getvalue()


def _opened(story: Sequence[Any]) -> tuple[dict[str, str], Sequence[Any]]:
    """What a document begins with, and the rest: a section at the very start opens its page without a break."""
    if len(story) < 3 or not isinstance(story[0], Section) or not isinstance(story[2], PageBreak):
        return {}, story
    return {"section": story[0].name, "template": story[1].action[1]}, story[3:]


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Streams as bytes, not as text a quarter longer: reportlab has a setting for it, for all documents only."""
    from reportlab import rl_config

    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before


class Room(Flowable):  # type: ignore[misc]
    """A drawn thing of a fixed size: draw(canvas) paints it with its lower left corner at the origin."""

    def __init__(self, width: float, height: float, draw: Any) -> None:
        super().__init__()
        self.width, self.height, self._draw = width, height, draw

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint it."""
        self._draw(self.canv)
