"""The swatch card as a PDF: marks, fields and words where photo/card.py says; and what a photograph of it showed."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from finishplan.basics.words import duration
from finishplan.colour.light import hex_from_lab
from finishplan.photo.card import CardField, CardPage, Mark, Rect, free_space
from finishplan.photo.model import Calibration
from finishplan.photo.told import difference
from finishplan.sheets import look as lk
from finishplan.sheets.letters import FACES, Face, font_file

_STRONG: Face = "strong"
_BODY: Face = "body"
STEPS = (
    "Print at 100 %, on matt white paper. Do not paint on the marks or the bare paper.",
    "Neat paint, and the mixes with white: coat after coat until the paper no longer shows. One thin coat: once, as "
    "thin as you paint, half over the black. The black field beside the white stays bare. Matt paint, or matt varnish.",
    "Let it dry for {dry} in today's room.",
    "By a window in daylight: no flash, no lamp, no filter, light from the side.",
    "The whole card in the picture, straight from above, filling it. Two or three pictures are better than one.",
)


def swatch_card_pdf(pages: Sequence[CardPage], dry_min: float, title: str = "Swatch card") -> bytes:
    """The PDF of a card. dry_min: how long the thickest field dries in the room."""
    from reportlab.pdfgen.canvas import Canvas

    lk.Look()
    data = BytesIO()
    size = tuple(v * lk.MM for v in pages[0].size)
    canvas = Canvas(data, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    for page in pages:
        _page(canvas, page, duration(dry_min), title)
        canvas.showPage()
    canvas.save()
    return data.getvalue()


def _page(canvas: Any, page: CardPage, dry: str, title: str) -> None:
    height = page.size[1]
    for mark in page.marks:
        _mark(canvas, mark, height)
    for one in page.fields:
        _field(canvas, one, height)
    for label in page.labels:
        _text(canvas, label.text, label.x, label.y + 3.6, height, FACES["strong"], 9)
    _words(canvas, page, dry, title)


def _mark(canvas: Any, mark: Mark, height: float) -> None:
    """The mark's black modules as squares: 6 x 6 with its rim, as OpenCV draws it."""
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    cells = cv2.aruco.generateImageMarker(book, mark.number, 6) < 128
    side = mark.rect.w / 6
    canvas.setFillGray(0)
    path = canvas.beginPath()
    for row, column in zip(*np.nonzero(cells), strict=True):
        x, y = mark.rect.x + column * side, height - mark.rect.y - (row + 1) * side
        path.rect(x * lk.MM, y * lk.MM, (side + 0.02) * lk.MM, (side + 0.02) * lk.MM)
    canvas.drawPath(path, stroke=0, fill=1)


def _field(canvas: Any, one: CardField, height: float) -> None:
    if one.bar is not None:
        canvas.setFillGray(0)
        _rect(canvas, one.bar, height, fill=1)
    canvas.setStrokeGray(0.65)
    canvas.setLineWidth(0.4)
    _rect(canvas, one.rect, height, fill=0)
    if one.field.kind != "bar":
        _text(canvas, _short(one), one.rect.x, one.rect.y + one.rect.h + 3.3, height, FACES["body"], lk.NOTE)


def _short(one: CardField) -> str:
    """What is written under a field."""
    short = {"full": "neat", "thin": "one thin coat"}
    return short.get(one.field.kind) or one.what.removesuffix(", until it hides").replace("drop in", "in")


def _rect(canvas: Any, rect: Rect, height: float, fill: int) -> None:
    x, y = rect.x * lk.MM, (height - rect.y - rect.h) * lk.MM
    canvas.rect(x, y, rect.w * lk.MM, rect.h * lk.MM, stroke=1 - fill, fill=fill)


def _text(canvas: Any, text: str, x: float, y: float, height: float, face: str, size: float) -> None:
    canvas.setFillGray(0.1)
    canvas.setFont(face, size)
    canvas.drawString(x * lk.MM, (height - y) * lk.MM, text)


def _words(canvas: Any, page: CardPage, dry: str, title: str) -> None:
    """Title and date between the upper marks; the steps where blocks are free, else on a page of their own."""
    h = page.size[1]
    pages = f", page {page.no} of {page.pages}" if page.pages > 1 else ""
    _text(canvas, f"{title}{pages}", 24, 12.5, h, FACES["heavy"], 12)
    _text(canvas, "Date:  ____________", 24, 18.5, h, FACES["body"], 9)
    free = free_space(page)
    if page.no < page.pages:
        return
    if free is None:
        canvas.showPage()
        free = Rect(24, 24, page.size[0] - 48, h - 48)
    _steps(canvas, free, h, dry)


def _steps(canvas: Any, space: Rect, height: float, dry: str) -> None:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "step", fontName=FACES["body"], fontSize=lk.READ, leading=lk.LEADING[lk.READ], leftIndent=16, bulletIndent=0
    )
    y = (height - space.y) * lk.MM
    for number, step in enumerate(STEPS, 1):
        words = Paragraph(step.format(dry=dry), style, bulletText=f"{number}.")
        _, needed = words.wrap(space.w * lk.MM, space.h * lk.MM)
        y -= needed
        words.drawOn(canvas, space.x * lk.MM, y)
        y -= 3


def seen_picture(learned: Calibration) -> bytes:
    """A PNG of what was seen: each tube at full strength and as a tint, learned beside the table's, with the words."""
    row, width = 64, 1100
    image = Image.new("RGB", (width, 70 + row * len(learned.tubes)), "white")
    draw = ImageDraw.Draw(image)
    name, note = (ImageFont.truetype(str(font_file(f)), 19) for f in (_STRONG, _BODY))
    for x, text in ((20, "paint"), (300, "neat"), (470, "1 in 9 of white"), (640, "left: yours, right: the table's")):
        draw.text((x, 20), text, font=note, fill=lk.QUIET)
    for i, tube in enumerate(learned.tubes):
        y = 60 + i * row
        draw.text((20, y + 14), tube.paint.name, font=name, fill=lk.INK)
        pairs = ((300, tube.lab, tube.table_lab), (470, tube.tint_lab, tube.table_tint_lab))
        for x, yours, theirs in pairs:
            draw.rectangle((x, y, x + 75, y + row - 12), fill=hex_from_lab(yours))
            draw.rectangle((x + 75, y, x + 150, y + row - 12), fill=hex_from_lab(theirs))
        draw.text((640, y + 4), difference(tube), font=note, fill=lk.INK)
        draw.text((640, y + 28), f"known to {tube.uncertainty:.1f}", font=note, fill=lk.QUIET)
    data = BytesIO()
    image.save(data, "PNG")
    return data.getvalue()
