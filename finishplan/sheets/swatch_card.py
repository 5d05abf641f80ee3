"""The swatch card as a PDF: marks, fields and words where photo/card.py says; and what a photograph of it showed."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from finishplan.basics.words import duration
from finishplan.colour.light import hex_from_lab
from finishplan.photo.layout import CardField, CardPage, Mark, Rect
from finishplan.photo.model import Calibration
from finishplan.photo.told import difference
from finishplan.sheets import look as lk
from finishplan.sheets.letters import FACES, font_file, register

PRINT = "Print at 100 %, on matt white paper. Do not paint on the marks, nor on the paper around the fields."
PHOTOGRAPH = (
    "Let it dry for {dry} in today's room.",
    "By a window in daylight: no flash, no lamp, no filter, the light from one side.",
    "The whole page in the picture, straight from above, filling it. Two or three pictures are better than one.",
)
STEPS = (
    PRINT,
    "Neat, and mixed with white: coat after coat until the paper no longer shows. 1 : 9 white is 1 drop of the paint "
    "to 9 of white. One thin coat: once, as thin as you paint, half over the black.",
    "'Leave bare' stays black. If a paint dries glossy, give the whole page a coat of matt varnish.",
    *PHOTOGRAPH,
)
DAB_STEPS = (
    PRINT,
    "White, black and the two greys must be painted (1 : 3 white is 1 drop of black to 3 of white); paint those of the "
    "other tubes that are in your mixes. All until the paper no longer shows.",
    "From each pot a dab in the field of its letter, until the paper no longer shows.",
    *PHOTOGRAPH,
)
NOTE_PT = 9
"""The smallest type on the page: it is read at arm's length (our rule)."""


def swatch_card_pdf(pages: Sequence[CardPage], dry_min: float, title: str = "Swatch card") -> bytes:
    """The PDF of a card, or of a page of dabs. dry_min: how long the thickest field dries in the room."""
    from reportlab.pdfgen.canvas import Canvas

    register()
    data = BytesIO()
    size = tuple(v * lk.MM for v in pages[0].size)
    canvas = Canvas(data, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    for page in pages:
        _page(canvas, page, title)
    # To the next half hour: no estimate of drying is closer.
    _steps(canvas, pages[-1], title, duration(30 * -(-dry_min // 30)))
    canvas.showPage()
    canvas.save()
    return data.getvalue()


def _page(canvas: Any, page: CardPage, title: str) -> None:
    """Marks, fields, names; title and date between the upper marks."""
    # The first page is there from the beginning.
    if page.no > 1:
        canvas.showPage()
    height = page.size[1]
    for mark in page.marks:
        _mark(canvas, mark, height)
    for one in page.fields:
        _field(canvas, one, height)
    for label in page.labels:
        _text(canvas, (label.text, label.x, label.y + 3.6), height, FACES["strong"], NOTE_PT)
    of = f" {page.no} of {page.pages}" if page.pages > 1 else ""
    _text(canvas, (f"{title}{of}", 24, 13), height, FACES["heavy"], 11)
    _text(canvas, ("Date: ______________", 24, 19), height, FACES["body"], NOTE_PT)


def _mark(canvas: Any, mark: Mark, height: float) -> None:
    """The mark's black modules as squares: 6 x 6 with its rim, as OpenCV draws it."""
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    cells = cv2.aruco.generateImageMarker(book, mark.number, 6) < 128
    side = mark.rect.w / 6
    canvas.setFillGray(0)
    path = canvas.beginPath()
    for row, column in zip(*np.nonzero(cells), strict=True):
        x, y = mark.rect.x + column * side, height - mark.rect.y - (row + 1) * side
        # A hair larger: viewers else show white seams between the squares.
        path.rect(x * lk.MM, y * lk.MM, (side + 0.02) * lk.MM, (side + 0.02) * lk.MM)
    canvas.drawPath(path, stroke=0, fill=1)


def _field(canvas: Any, one: CardField, height: float) -> None:
    if one.bar is not None:
        canvas.setFillGray(0)
        _rect(canvas, one.bar, height, fill=1)
    canvas.setStrokeGray(0.65)
    canvas.setLineWidth(0.4)
    _rect(canvas, one.rect, height, fill=0)
    y = one.rect.y + one.rect.h + 3.5
    for line in _lines(one.short, one.rect.w + 2):
        _text(canvas, (line, one.rect.x, y), height, FACES["body"], NOTE_PT)
        y += 3.4


def _lines(text: str, width: float) -> list[str]:
    """The text in at most two lines of a width in mm, cut off where it is longer."""
    from reportlab.lib.utils import simpleSplit

    lines = [str(line) for line in simpleSplit(text, FACES["body"], NOTE_PT, width * lk.MM)]
    return lines[:2]


def _rect(canvas: Any, rect: Rect, height: float, fill: int) -> None:
    x, y = rect.x * lk.MM, (height - rect.y - rect.h) * lk.MM
    canvas.rect(x, y, rect.w * lk.MM, rect.h * lk.MM, stroke=1 - fill, fill=fill)


def _text(canvas: Any, at: tuple[str, float, float], height: float, face: str, size: float) -> None:
    """A text at x, y mm from the top left."""
    text, x, y = at
    canvas.setFillGray(0.1)
    canvas.setFont(face, size)
    canvas.drawString(x * lk.MM, (height - y) * lk.MM, text)


def _steps(canvas: Any, page: CardPage, title: str, dry: str) -> None:
    """What to do, where rows are free on the last page, else on a page of its own."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "step", fontName=FACES["body"], fontSize=lk.READ, leading=lk.LEADING[lk.READ], leftIndent=16, bulletIndent=0
    )
    said = DAB_STEPS if any(f.field.kind == "dab" for f in page.fields) else STEPS
    steps = [Paragraph(step.format(dry=dry), style, bulletText=f"{n}.") for n, step in enumerate(said, 1)]
    space = page.free or Rect(24, 24, page.size[0] - 48, 0)
    if sum(_height(s, space.w) + 3 for s in steps) > space.h * lk.MM:
        canvas.showPage()
        _text(canvas, (f"{title}: how to paint and photograph it", 24, 19), page.size[1], FACES["heavy"], 11)
        space = Rect(24, 24, page.size[0] - 48, page.size[1] - 48)
    y = (page.size[1] - space.y) * lk.MM
    for step in steps:
        y -= _height(step, space.w)
        step.drawOn(canvas, space.x * lk.MM, y)
        y -= 3


def _height(words: Any, width: float) -> float:
    """Points that a paragraph takes at a width in mm."""
    return float(words.wrap(width * lk.MM, 1e4)[1])


def seen_picture(learned: Calibration) -> bytes:
    """A PNG of what was seen: each tube at full strength and as a tint, learned beside the table's, with the words."""
    row, width = 64, 1100
    image = Image.new("RGB", (width, 70 + row * len(learned.tubes)), "white")
    draw = ImageDraw.Draw(image)
    name, note = ImageFont.truetype(str(font_file("strong")), 19), ImageFont.truetype(str(font_file("body")), 19)
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
        draw.text((640, y + 28), f"sure to within {2 * tube.uncertainty:.1f}", font=note, fill=lk.QUIET)
    data = BytesIO()
    image.save(data, "PNG")
    return data.getvalue()
