"""The swatch card: for each tube full strength, a tint and a thin coat over printed black. Every page begins with the
maker's white, black and two greys of them, by which its light is judged."""

from collections.abc import Sequence

from finishplan.basics.errors import InputError
from finishplan.paint.model import Box, Paint
from finishplan.photo.layout import (
    DICTIONARY,
    FIELD,
    GAP,
    HIGH,
    LABEL,
    MARKS,
    READ,
    WIDE,
    CardField,
    CardPage,
    Label,
    Rect,
    bare,
    free_space,
    grid,
    marks_of,
    page_size,
    places,
)
from finishplan.photo.model import TINT_SHARE, Field

MOST_PAGES = 24
"""Of the dictionary's marks; the rest is for pages of dabs (photo/dab_page.py)."""
GREYS = (
    (0.5, "1 drop with 1 of white, until it hides", "1 : 1 white"),
    (0.25, "1 drop with 3 of white, until it hides", "1 : 3 white"),
)
"""Share of black, in words and under the field: greys between black and its tint (our choice)."""
TINT = (TINT_SHARE, "1 drop in 9 of white, until it hides", "1 : 9 white")
"""The same of every tube's tint."""
_THIN_READ = 0.55
"""Share of the black half's sides that is read (our rule)."""
assert MOST_PAGES * MARKS < DICTIONARY


def card_pages(box: Box, paper: str = "a4") -> tuple[CardPage, ...]:
    """The pages of a box's swatch card. Raises InputError for an unknown paper, a box without white or black."""
    size = page_size(paper)
    white, black = white_and_black(box)
    columns, rows = grid(size)
    rest = [p for p in box.paints if p.id not in (white.id, black.id)]
    each = columns * rows - 3
    chunks = [rest[i : i + each] for i in range(0, len(rest), each)] or [[]]
    if len(chunks) > MOST_PAGES:
        raise InputError(f"{len(box.paints)} paints", where="--paints", cure="choose a larger paper")
    return tuple(_page((no, len(chunks)), size, (white, black), chunk) for no, chunk in enumerate(chunks, 1))


def white_and_black(box: Box) -> tuple[Paint, Paint]:
    """The two paints that every page needs. Raises InputError where the box lacks one."""
    by_id = {p.id: p for p in box.paints}
    for needed, name in ((box.white, "white"), (box.black, "black")):
        if needed is None:
            raise InputError(f"the box has no {name}", key="paints.own", cure=f"the card needs a {name}: add one")
    return by_id[str(box.white)], by_id[str(box.black)]


def _page(
    no: tuple[int, int], size: tuple[float, float], ends: tuple[Paint, Paint], paints: Sequence[Paint]
) -> CardPage:
    white, black = ends
    at = places(size)
    blocks = [_white(white, at[0], no[0]), _paint(black, at[1], no[0]), _greys(black, at[2], no[0])]
    blocks += [_paint(p, place, no[0]) for p, place in zip(paints, at[3:], strict=False)]
    names = [white.name, black.name, f"greys of {black.name}", *(p.name for p in paints)]
    free = free_space(size, len(blocks)) if no[0] == no[1] else None
    return CardPage(
        *no,
        size,
        marks_of(MARKS * (no[0] - 1), size),
        tuple(field for block in blocks for field in block),
        tuple(Label(name, x, y) for name, (x, y) in zip(names, at, strict=False)),
        tuple(bare(size, free)),
        free,
    )


def cell(at: tuple[float, float], column: int) -> Rect:
    """The first, second or third field of the block at a place."""
    return Rect(at[0] + column * (FIELD + GAP), at[1] + LABEL, WIDE if column == 2 else FIELD, HIGH)


def neat(paint: Paint, rect: Rect, page: int) -> CardField:
    """A field of a paint as it comes."""
    what = "straight from the tube, until it hides"
    return CardField(Field(paint.id, "full", page=page), rect, rect.inner(READ), what, "neat")


def printed_bar(rect: Rect, page: int) -> CardField:
    """Printed black that stays bare."""
    return CardField(Field("", "bar", page=page), rect, rect.inner(READ), "leave bare", "leave bare", rect)


def tint(paint: Paint, share: tuple[float, str, str], rect: Rect, page: int) -> CardField:
    """A field of a paint with white. share: as GREYS have it."""
    return CardField(Field(paint.id, "tint", share[0], page), rect, rect.inner(READ), *share[1:])


def _paint(paint: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    return [neat(paint, cell(at, 0), page), tint(paint, TINT, cell(at, 1), page), _thin(paint, at, page)]


def _thin(paint: Paint, at: tuple[float, float], page: int) -> CardField:
    whole = cell(at, 2)
    bar = Rect(whole.x, whole.y, whole.w / 2, whole.h)
    what = "one thin coat, half over the black"
    return CardField(Field(paint.id, "thin", page=page), whole, bar.inner(_THIN_READ), what, "one thin coat", bar)


def _white(white: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    return [neat(white, cell(at, 0), page), printed_bar(cell(at, 1), page), _thin(white, at, page)]


def _greys(black: Paint, at: tuple[float, float], page: int) -> list[CardField]:
    return [tint(black, share, cell(at, i), page) for i, share in enumerate(GREYS)]
