"""The document: running head, foot with page n of m, bookmarks, output intent. One place writes the PDF."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from finishplan.sheets import look as lk
from finishplan.sheets.letters import FACES
from finishplan.sheets.look import MARGIN, MM, NOTE, Lettering, Look
from finishplan.sheets.page import Page

GUIDE = "A printed swatch is a guide, not a match."
_SAME_RGB = re.compile(r"(?<![\d.])([\d.]+) \1 \1 (rg|RG)\b")


@cache
def srgb_profile() -> bytes:
    """The ICC bytes of sRGB with the date of making blanked, so that they are the same every time."""
    from PIL import ImageCms

    raw = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    # Date and time of a profile (ICC.1, 7.2.8), here the first of January 2000.
    raw[24:36] = bytes((0x07, 0xD0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))
    return bytes(raw)


class SheetCanvas(Canvas):  # type: ignore[misc]
    """A canvas that writes grey as grey, and the file's output intent."""

    _code: list[str]

    def showPage(self) -> None:
        """End the page; colours of equal red, green and blue become levels of grey."""
        # reportlab writes greys as three numbers, which a printer may mix of its inks; a level of grey it prints in
        # black.
        code = "\n".join(self._code)
        self._code = [_SAME_RGB.sub(lambda m: f"{m[1]} {'g' if m[2] == 'rg' else 'G'}", code)]
        super().showPage()

    def add_output_intent(self) -> None:
        """Say that colours are sRGB, and the language."""
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
        # Only the entries listed here are written.
        catalog.__NoDefault__ = [*catalog.__NoDefault__, "OutputIntents"]
        catalog.OutputIntents = PDFArray([intent])
        catalog.Lang = PDFString("en-GB")


def render(pages: Sequence[Page], look: Look, title: str, date: str) -> bytes:
    """The PDF's bytes: the same pages give the same bytes."""
    target = BytesIO()
    with _binary_streams():
        canvas = SheetCanvas(target, pagesize=look.size, invariant=1, pageCompression=1, initialFontName=FACES["body"])
        canvas.setTitle(look.plain(title))
        canvas.setSubject("Painting order")
        canvas.setAuthor("")
        canvas.setCreator("finishplan")
        canvas.setKeywords(f"plan {0:016}")  # place for the digest of the plan.json written with it
        before = ""
        for number, page in enumerate(pages, 1):
            before = _bookmarks(canvas, look, page, number, before)
            for placed in page.placed:
                placed.block.draw(canvas, placed.left, placed.top)
            if not page.bare:
                _head(canvas, look, page.sections[0], title, date)
            if not page.cards:
                _foot(canvas, look, number, len(pages))
            canvas.showPage()
        canvas.add_output_intent()
        canvas.save()
    return target.getvalue()


def _bookmarks(canvas: Any, look: Look, page: Page, number: int, before: str) -> str:
    for k, name in enumerate(page.sections):
        # A section that goes on over several pages is marked where it begins.
        if name != before:
            canvas.bookmarkPage(f"section-{number}-{k}")
            canvas.addOutlineEntry(look.plain(name), f"section-{number}-{k}", 0)
        before = name
    return before


def _head(canvas: Any, look: Look, section: str, title: str, date: str) -> None:
    top, room = look.size[1] - MARGIN, look.measure
    dated = look.fit(date, "body", NOTE, room * 0.25)
    here = look.fit(section, "strong", NOTE, room * 0.45)
    left = look.width(here, "strong", NOTE) + 10
    name = look.fit(title, "body", NOTE, room - left - look.width(dated, "body", NOTE) - 12)
    quiet, y = Lettering(NOTE, colour=lk.QUIET), top - 7
    look.write(canvas, here, (MARGIN, y), Lettering(NOTE, "strong", lk.ACCENT))
    look.write(canvas, name, (MARGIN + left, y), quiet)
    look.write(canvas, dated, (look.size[0] - MARGIN, y), replace(quiet, align=1))


def _foot(canvas: Any, look: Look, number: int, count: int) -> None:
    quiet = Lettering(NOTE, colour=lk.QUIET)
    look.write(canvas, GUIDE, (MARGIN, 8 * MM), quiet)
    look.write(canvas, f"page {number} of {count}", (look.size[0] - MARGIN, 8 * MM), replace(quiet, align=1))


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Streams as bytes, not as text a quarter longer: reportlab has a setting for it, for all documents only."""
    from reportlab import rl_config

    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before
