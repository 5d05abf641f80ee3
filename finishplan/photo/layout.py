"""How a page that is to be photographed is laid out: marks, fields, bare paper. Millimetres from the page's top left.

Marks are of OpenCV's open 4 x 4 dictionary (Garrido-Jurado et al., Pattern Recognition 47, 2280, 2014): eight of 12 mm
a page, numbered on from page to page, so that a photograph tells which page it shows and where.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.hiding import BRUSH_COAT_MM
from finishplan.photo.model import Field

CardPaper = Literal["a4", "letter", "a5"]
PAGES_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a5": (148.0, 210.0)}
"""ISO 216, and ANSI/ASME Y14.1 (letter)."""
MARK_MM = 12.0
MARKS = 8
"""Side of a mark, and how many a page has: a quarter hidden still leaves enough (our layout)."""
DICTIONARY = 250
"""Marks that the dictionary holds (OpenCV's DICT_4X4_250, 2014)."""
EDGE = 8.0
"""From the page's edge to its marks: printers leave 5 mm white (common practice)."""
FIELD, WIDE, HIGH, GAP = 22.0, 26.0, 12.0, 3.0
"""A field, the wider one of the thin coat, their height, and what lies between two (our layout)."""
LABEL, PITCH = 5.0, 21.5
"""Room for the name over a block, and from block to block (our layout)."""
BLOCK = FIELD + GAP + FIELD + GAP + WIDE
"""Layout in mm: what a 12-megapixel phone shows at 8 pixels a mm and a size 4 brush fills (our rule)."""
_CLEAR, _PAPER = 4.0, 5.0
READ = 0.6
"""Share of a field's sides that is read: a hand does not paint to the line (our rule)."""


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
    def middle(self) -> tuple[float, float]:
        return self.x + self.w / 2, self.y + self.h / 2

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
    black under it; what: what goes into it, in words; short: the same under the field."""

    field: Field
    rect: Rect
    read: Rect
    what: str
    short: str
    bar: Rect | None = None


@dataclass(frozen=True)
class Label:
    """What stands over fields: a paint's name, a mix's letter."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class CardPage:
    """One page. paper: places that stay bare, by which the light is judged; free: where words have room, or None."""

    no: int
    pages: int
    size: tuple[float, float]
    marks: tuple[Mark, ...]
    fields: tuple[CardField, ...]
    labels: tuple[Label, ...]
    paper: tuple[Rect, ...]
    free: Rect | None = None


def page_size(paper: str) -> tuple[float, float]:
    """Width and height in mm. Raises InputError for an unknown paper."""
    if paper not in PAGES_MM:
        raise InputError(f"no paper is called '{paper}'", where="--paper", cure=nearest(paper, (*PAGES_MM,)))
    return PAGES_MM[paper]


def on_papers(make: Callable[[str], tuple[CardPage, ...]], paper: str | None) -> tuple[CardPage, ...]:
    """The pages that `make` lays out on every paper that has room for them: a photograph's marks tell which it is, so
    that a wrong name of the paper misplaces nothing. Raises InputError for an unknown name, and where no paper has."""
    if paper is not None:
        page_size(paper)
    # All papers: which one it is the marks tell, better than the maker's memory.
    found, lacks = list[CardPage](), list[InputError]()
    for one in PAGES_MM:
        try:
            found += make(one)
        except InputError as error:
            lacks.append(error)
    if not found:
        raise lacks[0]
    return tuple(found)


def grid(size: tuple[float, float]) -> tuple[int, int]:
    """Columns and rows of blocks on a page."""
    w, h = _space(size)
    return int((w + 2 * _PAPER) // (BLOCK + 2 * _PAPER)), int(h // PITCH)


def _space(size: tuple[float, float]) -> tuple[float, float]:
    frame = 2 * (EDGE + MARK_MM + _CLEAR)
    return size[0] - frame, size[1] - frame


def places(size: tuple[float, float]) -> list[tuple[float, float]]:
    """Top left of each block, row by row."""
    columns, rows = grid(size)
    w, h = _space(size)
    left = EDGE + MARK_MM + _CLEAR
    step = (w - BLOCK) / (columns - 1) if columns > 1 else 0.0
    first = left if columns > 1 else left + (w - BLOCK) / 2
    top = left + (h - rows * PITCH) / 2
    return [(first + column * step, top + row * PITCH) for row in range(rows) for column in range(columns)]


def marks_of(first: int, size: tuple[float, float]) -> tuple[Mark, ...]:
    """Four corners and four middles of the sides, clockwise from the top left, numbered from `first`."""
    w, h = size
    xs, ys = (EDGE, (w - MARK_MM) / 2, w - EDGE - MARK_MM), (EDGE, (h - MARK_MM) / 2, h - EDGE - MARK_MM)
    at = [(0, 0), (1, 0), (2, 0), (2, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    return tuple(Mark(first + i, Rect(xs[column], ys[row], MARK_MM, MARK_MM)) for i, (column, row) in enumerate(at))


def bare(size: tuple[float, float], words: Rect | None) -> Iterator[Rect]:
    """Bare places beside every block and between the marks of the rim; none where the title or other words stand."""
    w, h = size
    middle = marks_of(0, size)[3].rect  # of the right side
    for x, y in places(size):
        top = y + LABEL + (HIGH - _PAPER) / 2
        if words is not None and y >= words.y - LABEL and x + BLOCK + 2 < words.x + words.w:
            continue
        if x + BLOCK + 2 + _PAPER < middle.x - 1 or not middle.y - _PAPER < top < middle.y + MARK_MM:
            yield Rect(x + BLOCK + 2, top, _PAPER, _PAPER)
    side = EDGE + (MARK_MM - _PAPER) / 2
    for part in (0.3, 0.7):
        if part > 0.5:
            yield Rect(w * part, side, _PAPER, _PAPER)
        yield Rect(w * part, h - side - _PAPER, _PAPER, _PAPER)
        yield Rect(side, h * part, _PAPER, _PAPER)
        yield Rect(w - side - _PAPER, h * part, _PAPER, _PAPER)


def free_space(size: tuple[float, float], blocks: int) -> Rect | None:
    """From the rows under so many blocks down to the marks, or None where there are none."""
    columns, rows = grid(size)
    used, at = -(-blocks // columns), places(size)
    if used >= rows:
        return None
    right = at[columns - 1][0] + BLOCK
    top = at[used * columns][1] + LABEL
    return Rect(at[0][0], top, right - at[0][0], size[1] - EDGE - MARK_MM - _CLEAR - top)


def card_json(page: CardPage) -> dict[str, Any]:
    """The page's layout as data, by which a program can fill and photograph it (photo/README.md has every key)."""
    # Every page begins with the white at full strength.
    white = page.fields[0].field.paint

    def row(f: CardField) -> dict[str, Any]:
        said = {"paint": f.field.paint, "kind": f.field.kind, "share": f.field.share, "what": f.what}
        said |= {
            "parts": _parts(f.field, white),
            "coat_um": round(1000 * BRUSH_COAT_MM) if f.bar and said["paint"] else None,
        }
        return said | {"rect": _at(f.rect), "read": _at(f.read), "bar": _at(f.bar)}

    return {
        "page": page.no,
        "pages": page.pages,
        "units": "mm from the page's top left corner, x to the right, y down; rectangles: x, y, width, height",
        "size_mm": list(page.size),
        "marks": [{"dictionary": "DICT_4X4_250", "number": m.number, "rect": _at(m.rect)} for m in page.marks],
        "fields": [row(f) for f in page.fields],
        "paper": [_at(r) for r in page.paper],
    }


def _at(rect: Rect | None) -> list[float] | None:
    return None if rect is None else [round(v, 3) for v in (rect.x, rect.y, rect.w, rect.h)]


def _parts(field: Field, white: str) -> dict[str, float]:
    """Paint -> its share by volume, as drops are; none of a bare bar, a dab's is its mix alone."""
    if field.kind == "bar":
        return {}
    whole = {field.paint: field.share}
    return whole if field.share == 1 else whole | {white: round(1 - field.share, 6)}
