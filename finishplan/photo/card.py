"""The swatch card: where its marks, fields and bare paper lie, page by page. Millimetres from the page's top left.

Marks are of OpenCV's open 4 x 4 dictionary (Garrido-Jurado et al., Pattern Recognition 47, 2280, 2014): eight of 12 mm
a page, numbered on from page to page, so that a photograph tells which page it shows and where. Every page begins with
the maker's white, black and two greys of them, by which its light is judged.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from finishplan.basics.errors import InputError, nearest
from finishplan.paint.model import Box, Paint
from finishplan.photo.model import Field

CardPaper = Literal["a4", "letter", "a5"]
PAGES_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a5": (148.0, 210.0)}
"""ISO 216, and ANSI/ASME Y14.1 (letter)."""
MARK_MM = 12.0
MARKS = 8
MOST_PAGES = 31
"""The dictionary of 250 marks, eight a page."""
TINT_SHARE = 0.1
"""1 drop in 9 of white (Mohammadi, Berns 2006: a masstone and one tint)."""
NEAT, TINTED = "straight from the tube, until it hides", "1 drop in 9 of white, until it hides"
THIN = "one thin coat, half over the black"
GREYS = ((0.5, "1 drop with 1 white"), (0.25, "1 drop with 3 white"))
_EDGE, _CLEAR = 8.0, 4.0
_FULL, _TINT, _THIN, _HIGH = 20.0, 20.0, 26.0, 12.0
_GAP, _LABEL, _PITCH = 3.0, 5.0, 21.5
_BLOCK = _FULL + _GAP + _TINT + _GAP + _THIN
_PAPER = 5.0
"""Layout in mm: what a 12-megapixel phone shows at 8 pixels a mm and a size 4 brush fills (our rule)."""


@dataclass(frozen=True)
class Rect:
    """A rectangle on the page, mm: left, top, width, height."""

    x: float
    y: float
    w: float
    h: float

    def inner(self, share: float) -> "Rect":
        """The middle of it, `share` (0-1) as wide and high."""
        w, h = self.w * share, self.h * share
        return Rect(self.x + (self.w - w) / 2, self.y + (self.h - h) / 2, w, h)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Clockwise from the top left."""
        x, y, w, h = self.x, self.y, self.w, self.h
        return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


@dataclass(frozen=True)
class Mark:
    """One printed mark."""

    number: int
    rect: Rect


@dataclass(frozen=True)
class CardField:
    """One field to paint. rect: what is outlined; read: the part that the photograph is read in; bar: the printed
    black under it; what: what goes into it, in words."""

    field: Field
    rect: Rect
    read: Rect
    what: str
    bar: Rect | None = None


@dataclass(frozen=True)
class Label:
    """A paint's name over its fields."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class CardPage:
    """One page. paper: places that stay bare, by which the light is judged."""

    no: int
    pages: int
    size: tuple[float, float]
    marks: tuple[Mark, ...]
    fields: tuple[CardField, ...]
    labels: tuple[Label, ...]
    paper: tuple[Rect, ...]


def card_pages(box: Box, paper: str = "a4") -> tuple[CardPage, ...]:
    """The pages of a box's swatch card. Raises InputError for an unknown paper, a box without white or black."""
    if paper not in PAGES_MM:
        raise InputError(f"no paper is called '{paper}'", where="--paper", cure=nearest(paper, (*PAGES_MM,)))
    for needed, name in ((box.white, "white"), (box.black, "black")):
        if needed is None:
            raise InputError(f"the box has no {name}", key="paints.own", cure=f"the card needs a {name}: add one")
    size = PAGES_MM[paper]
    columns, rows = _grid(size)
    rest = [p for p in box.paints if p.id not in (box.white, box.black)]
    each = columns * rows - 3
    chunks = [rest[i : i + each] for i in range(0, len(rest), each)] or [[]]
    if len(chunks) > MOST_PAGES:
        raise InputError(f"{len(box.paints)} paints", where="--paints", cure="choose a larger paper")
    return tuple(_page(no, len(chunks), size, box, chunk) for no, chunk in enumerate(chunks, 1))


def _grid(size: tuple[float, float]) -> tuple[int, int]:
    """Columns and rows of blocks on a page."""
    w, h = _space(size)
    return int((w + 2 * _PAPER) // (_BLOCK + 2 * _PAPER)), int(h // _PITCH)


def _space(size: tuple[float, float]) -> tuple[float, float]:
    frame = 2 * (_EDGE + MARK_MM + _CLEAR)
    return size[0] - frame, size[1] - frame


def _page(no: int, pages: int, size: tuple[float, float], box: Box, paints: Sequence[Paint]) -> CardPage:
    by_id = {p.id: p for p in box.paints}
    white, black = by_id[str(box.white)], by_id[str(box.black)]
    places = list(_places(size))
    fields, labels = list[CardField](), list[Label]()
    blocks = [
        _white_fields(white, places[0], no),
        _paint_fields(black, places[1], no),
        _grey_fields(black, places[2], no),
    ]
    blocks += [_paint_fields(p, place, no) for p, place in zip(paints, places[3:], strict=False)]
    names = [white.name, black.name, f"greys of {black.name}", *(p.name for p in paints)]
    for block, name, (x, y) in zip(blocks, names, places, strict=False):
        fields += block
        labels.append(Label(name, x, y))
    return CardPage(no, pages, size, _marks(no, size), tuple(fields), tuple(labels), tuple(_bare(size)))


def _places(size: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Top left of each block, row by row."""
    columns, rows = _grid(size)
    w, h = _space(size)
    left = _EDGE + MARK_MM + _CLEAR
    step = (w - _BLOCK) / (columns - 1) if columns > 1 else 0.0
    first = left if columns > 1 else left + (w - _BLOCK) / 2
    top = left + (h - rows * _PITCH) / 2
    for row in range(rows):
        for column in range(columns):
            yield first + column * step, top + row * _PITCH


def _paint_fields(paint: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    x, y = at[0], at[1] + _LABEL
    full, tint = Rect(x, y, _FULL, _HIGH), Rect(x + _FULL + _GAP, y, _TINT, _HIGH)
    return [
        CardField(Field(paint.id, "full", page=page), full, full.inner(0.6), NEAT),
        CardField(Field(paint.id, "tint", TINT_SHARE, page), tint, tint.inner(0.6), TINTED),
        _thin(paint, x + _FULL + _TINT + 2 * _GAP, y, page),
    ]


def _thin(paint: Paint, x: float, y: float, page: int) -> CardField:
    whole, bar = Rect(x, y, _THIN, _HIGH), Rect(x, y, _THIN / 2, _HIGH)
    return CardField(Field(paint.id, "thin", page=page), whole, bar.inner(0.55), THIN, bar)


def _white_fields(white: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    x, y = at[0], at[1] + _LABEL
    full, bar = Rect(x, y, _FULL, _HIGH), Rect(x + _FULL + _GAP, y, _TINT, _HIGH)
    return [
        CardField(Field(white.id, "full", page=page), full, full.inner(0.6), NEAT),
        CardField(Field("", "bar", page=page), bar, bar.inner(0.6), "leave bare", bar),
        _thin(white, x + _FULL + _TINT + 2 * _GAP, y, page),
    ]


def _grey_fields(black: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    x, y = at[0], at[1] + _LABEL
    rects = [Rect(x + i * (_FULL + _GAP), y, _FULL, _HIGH) for i in range(len(GREYS))]
    return [
        CardField(Field(black.id, "tint", share, page), rect, rect.inner(0.6), what + ", until it hides")
        for rect, (share, what) in zip(rects, GREYS, strict=True)
    ]


def _marks(no: int, size: tuple[float, float]) -> tuple[Mark, ...]:
    """Four corners and four middles of the sides, clockwise from the top left."""
    w, h = size
    xs, ys = (_EDGE, (w - MARK_MM) / 2, w - _EDGE - MARK_MM), (_EDGE, (h - MARK_MM) / 2, h - _EDGE - MARK_MM)
    at = [(0, 0), (1, 0), (2, 0), (2, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    return tuple(
        Mark(MARKS * (no - 1) + i, Rect(xs[column], ys[row], MARK_MM, MARK_MM)) for i, (column, row) in enumerate(at)
    )


def _bare(size: tuple[float, float]) -> Iterator[Rect]:
    """Bare places beside every block and between the marks of the rim."""
    w, h = size
    for x, y in _places(size):
        yield Rect(x + _BLOCK + 2, y + _LABEL + (_HIGH - _PAPER) / 2, _PAPER, _PAPER)
    side = _EDGE + (MARK_MM - _PAPER) / 2
    for part in (0.3, 0.7):
        yield Rect(w * part, side, _PAPER, _PAPER)
        yield Rect(w * part, h - side - _PAPER, _PAPER, _PAPER)
        yield Rect(side, h * part, _PAPER, _PAPER)
        yield Rect(w - side - _PAPER, h * part, _PAPER, _PAPER)


def free_space(page: CardPage) -> Rect | None:
    """Where words have room: the rows left free at the bottom, three or more; else None."""
    columns, rows = _grid(page.size)
    used = -(-len(page.labels) // columns)
    if rows - used < 3:
        return None
    places = list(_places(page.size))
    right = places[columns - 1][0] + _BLOCK
    return Rect(places[0][0], places[used * columns][1] + _LABEL, right - places[0][0], (rows - used) * _PITCH - _LABEL)


def card_json(page: CardPage) -> dict[str, Any]:
    """The page's layout as data: mm from its top left, x, y, width, height."""

    def at(rect: Rect | None) -> list[float] | None:
        return None if rect is None else [round(v, 3) for v in (rect.x, rect.y, rect.w, rect.h)]

    return {
        "page": page.no,
        "pages": page.pages,
        "size_mm": list(page.size),
        "marks": [{"dictionary": "4x4, 250", "number": m.number, "rect": at(m.rect)} for m in page.marks],
        "fields": [
            {
                "paint": f.field.paint,
                "kind": f.field.kind,
                "share": f.field.share,
                "what": f.what,
                "rect": at(f.rect),
                "read": at(f.read),
                "bar": at(f.bar),
            }
            for f in page.fields
        ],
        "paper": [at(r) for r in page.paper],
    }
