"""The dab page: a square for each mix of a plan beside what its light is judged by, so that a pot can be corrected from
a photograph of its dab.

References first: white, printed black, black, its greys, then every paint of the box as it comes, which may stay bare
where it is not used; then the mixes by letter. So a letter keeps its place when the plan gets more mixes or fewer.
Marks are numbered down from the end of the dictionary.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from finishplan.basics.errors import InputError
from finishplan.paint.model import Box, Paint
from finishplan.photo.card import GREYS, MOST_PAGES, cell, neat, printed_bar, tint, white_and_black
from finishplan.photo.layout import (
    DICTIONARY,
    MARKS,
    READ,
    CardField,
    CardPage,
    Rect,
    bare,
    free_space,
    grid,
    marks_of,
    page_size,
    places,
)
from finishplan.photo.model import Field

MOST_DAB_PAGES = DICTIONARY // MARKS - MOST_PAGES


@dataclass(frozen=True)
class Dab:
    """A mix that gets a square: its letter and its name."""

    id: str
    name: str


_Maker = Callable[[Rect, int], CardField]
"""Makes a field at a rectangle of a page."""


def dab_pages(box: Box, mixes: Sequence[Dab], paper: str = "a4") -> tuple[CardPage, ...]:
    """The pages for the dabs of these mixes. Raises InputError for an unknown paper, a box without white or black, no
    mix at all, and where the page has no room left for dabs."""
    size = page_size(paper)
    columns, rows = grid(size)
    references = [*_references(box)]
    each = 3 * columns * rows - len(references)
    if not mixes:
        raise InputError("the plan has no mixes", where="--mixes", cure="name a job that paints something")
    pages = -(-len(mixes) // each) if each > 0 else MOST_DAB_PAGES + 1
    if pages > MOST_DAB_PAGES:
        raise InputError("no room on the page for so many", where="--paper", cure="choose a larger paper")
    return tuple(
        _page((no, pages), size, [*references, *map(_dab, mixes[each * (no - 1) : each * no])])
        for no in range(1, pages + 1)
    )


def _references(box: Box) -> Iterator[tuple[str, _Maker]]:
    """Name over it, and what makes it, of each field that all pages begin with."""
    white, black = white_and_black(box)
    yield white.name, lambda rect, page: neat(white, rect, page)
    yield "leave bare", printed_bar
    yield black.name, lambda rect, page: neat(black, rect, page)
    for share in GREYS:
        yield f"{black.name}, {share[2]}", _tint_of(black, share)
    for paint in box.paints:
        if paint.id not in (white.id, black.id):
            yield paint.name, _neat_of(paint)


def _tint_of(paint: Paint, share: tuple[float, str, str]) -> _Maker:
    return lambda rect, page: tint(paint, share, rect, page)


def _neat_of(paint: Paint) -> _Maker:
    return lambda rect, page: neat(paint, rect, page)


def _dab(mix: Dab) -> tuple[str, _Maker]:
    what = f"a dab of mix {mix.id}, until it hides"
    return f"{mix.id}  {mix.name}", lambda rect, page: CardField(
        Field(mix.id, "dab", page=page), rect, rect.inner(READ), what, mix.name
    )


def _page(no: tuple[int, int], size: tuple[float, float], makers: Sequence[tuple[str, _Maker]]) -> CardPage:
    rects = [cell(at, column) for at in places(size) for column in range(3)]
    fields = tuple(replace(make(rect, no[0]), short=name) for (name, make), rect in zip(makers, rects, strict=False))
    free = free_space(size, -(-len(makers) // 3)) if no[0] == no[1] else None
    return CardPage(
        *no,
        size,
        # From the dictionary's end down, so that no page of dabs is ever taken for a swatch card.
        marks_of(DICTIONARY - MARKS * no[0], size),
        fields,
        (),
        tuple(bare(size, free)),
        free,
    )
