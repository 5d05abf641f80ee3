"""The family: figures side by side, painted, and below them which takes which mix; their one run; what to buy."""

from collections.abc import Sequence
from dataclasses import replace

from finishplan.basics.words import counted, listed
from finishplan.paint.model import Mix
from finishplan.plan.family import figure_names
from finishplan.plan.plan import Plan
from finishplan.plan.well import Well
from finishplan.sheets import look as lk
from finishplan.sheets.amounts import amount_pages
from finishplan.sheets.document import render
from finishplan.sheets.evenings import evening_pages
from finishplan.sheets.figure import whole_figure
from finishplan.sheets.given import Given, given
from finishplan.sheets.look import GUTTER, LINE, MM, NOTE, NUMBER, READ, TITLE, Look
from finishplan.sheets.marks import DROP, drops, numbers, paint_name, swatch
from finishplan.sheets.page import (
    Block,
    Page,
    Placed,
    beside,
    gap,
    lowered,
    ruled,
    sparing,
    stack,
    tight,
    words,
    wrapped,
)

SECTION = "The family"
ABREAST = 4
"""Figures side by side at most; more of them go on pages of their own."""
SHARES = tuple(k / 100 for k in range(36, 65, 2))
"""Shares of the page's depth that the figures may take: the largest that costs no further page."""
CROWD = 20
"""So many areas take as much room, with their numbers, as one more part."""
WHERE = "areas, as on its wall sheet"
CHIP, DROPS = 11 * MM, 10
"""Room for a swatch; drops in a row at most."""


def family_pdf(figures: Sequence[Given], whole: Plan) -> bytes:
    """The PDF of the family: who takes which mix, the run of all, what to buy. whole: the figures as one plan."""
    title = listed(g.plan.scheme.name for g in figures)
    laid = _laid(figures, whole)
    amounts = sparing(lambda look: amount_pages(replace(laid, look=look)), laid.look)
    pages = [*family_pages(figures, whole.mixes), *evening_pages(laid), *amounts]
    return render(pages, laid.look, title, whole.date)


def _laid(figures: Sequence[Given], whole: Plan) -> Given:
    """The shared run laid ready for its sheets. An undercoat is known there by letter and colour, since each figure
    letters its own: its swatch bears the letter alone."""
    laid = given(whole, figures[0].look, figures[0].pictures)
    plans = [replace(g.plan, run=whole.run) for g in figures]
    names = figure_names(plans)
    mixes = {id: replace(m, id=id.split(" ")[0]) for id, m in laid.mixes.items()}
    return replace(laid, mixes=mixes, figures=dict(zip(names, plans, strict=True)))


def family_pages(figures: Sequence[Given], mixes: Sequence[Mix]) -> list[Page]:
    """A page for each ABREAST figures, and more where their mixes are many."""
    groups = [figures[k : k + ABREAST] for k in range(0, len(figures), ABREAST)]
    return [page for group in groups for page in _group(group, mixes, first=group is groups[0])]


def _group(figures: Sequence[Given], mixes: Sequence[Mix], first: bool) -> list[Page]:
    look = figures[0].look
    used = ((m, [_areas(g, m) for g in figures]) for m in mixes)
    rows = [_row(figures, m, areas) for m, areas in used if any(areas)] + _undercoats(figures)
    head, title = _head(figures), _title(figures, mixes) if first else gap(0.0)
    # The title stands where other pages have their running head.
    start = look.top + (lk.HEAD if first else 0.0)
    top = start - title.height
    shared = [_shared_out([r.height for r in rows], top, share, look, head.height) for share in SHARES]
    # The smallest share leaves rows the most room: its number of pages is the least there can be.
    deep, ends = max((way for way in shared if len(way[1]) == len(shared[0][1])), key=lambda way: way[0])
    placed = [Placed(title, lk.MARGIN, start), Placed(_side_by_side(figures, deep - 2 * LINE), lk.MARGIN, top)]
    pages, top = list[Page](), top - deep
    for here in ends:
        placed.append(Placed(stack([head, *rows[here]]), lk.MARGIN, top))
        pages.append(Page((SECTION,), tuple(placed), bare=first and not pages))
        placed, top = [], look.top
    return pages


def _shared_out(
    heights: Sequence[float], top: float, share: float, look: Look, head: float
) -> tuple[float, list[slice]]:
    """The figures' depth where they take that share of what is under `top`, and the rows of each page."""
    deep = share * (top - look.bottom)
    pages, k, top = list[slice](), 0, top - deep
    while k < len(heights):
        begun, room = k, top - look.bottom - head
        # A row deeper than a page is printed all the same, on a page of its own.
        while k < len(heights) and (k == begun or heights[k] <= room):
            room -= heights[k]
            k += 1
        pages.append(slice(begun, k))
        top = look.top
    return deep, pages


def _undercoats(figures: Sequence[Given]) -> list[Block]:
    """A row for each undercoat, which each figure has for itself."""
    rows = []
    for one in figures:
        for mix in one.plan.order.extra_mixes:
            laid = {w.area for p in one.plan.order.passes if p.mix == mix.id for w in p.work}
            areas = [sorted(laid) if g is one else [] for g in figures]
            rows.append(_row(figures, replace(mix, name=f"{mix.name}, undercoat"), areas))
    return rows


def _title(figures: Sequence[Given], mixes: Sequence[Mix]) -> Block:
    look = figures[0].look
    shared = sum(all(_areas(g, m) for g in figures) for m in mixes)
    facts = [counted(len(figures), "figure"), counted(len(mixes), "mix", "mixes")]
    facts += [f"{shared} of them for all" if len(figures) > 2 else f"{shared} of them for both"] if shared else []
    facts += [figures[0].plan.date] if figures[0].plan.date else []
    name = words(look, listed(g.plan.scheme.name for g in figures), look.measure, TITLE, face="heavy")
    return stack([name, words(look, " · ".join(facts), look.measure, READ, colour=lk.QUIET), gap(2 * LINE)])


def _side_by_side(figures: Sequence[Given], deep: float) -> Block:
    """Each figure painted, with its mixes' letters, over its name; those of many parts and areas get more room."""
    look = figures[0].look
    # The root, since a figure grows in width and height alike.
    shares = [(len(g.plan.scheme.parts) + len(g.plan.scheme.areas) / CROWD) ** 0.5 for g in figures]
    room = look.measure - GUTTER * (len(figures) - 1)
    x, cells = 0.0, list[tuple[float, Block]]()
    for one, share in zip(figures, shares, strict=True):
        wide = room * share / sum(shares)
        name = words(look, one.plan.scheme.name, wide, NUMBER, face="strong", alignment=1)
        told = words(look, _told(one), wide, NOTE, colour=lk.QUIET, alignment=1)
        high = deep - name.height - told.height - LINE
        shown = whole_figure(one.pictures, (wide, high), letters=True)
        cells.append(
            (x, stack([lowered(shown, (high - shown.height) / 2), gap((high - shown.height) / 2 + LINE), name, told]))
        )
        x += wide + GUTTER
    return beside(*cells)


def _told(one: Given) -> str:
    """'4 castings · 16 mixes'."""
    return f"{counted(one.plan.run.castings, 'casting')} · {counted(len(one.plan.mixes), 'mix', 'mixes')}"


def _columns(look: Look, count: int) -> tuple[float, float, float]:
    """Widths of a mix's name, its recipe, and the numbers of one figure's areas."""
    of_figure = min(look.span(2.5), look.span(5) / count)
    left = look.measure - CHIP - count * (of_figure + GUTTER) + GUTTER
    return left * 0.36 - GUTTER, left * 0.64 - GUTTER, of_figure


def _head(figures: Sequence[Given]) -> Block:
    """What stands in the columns."""
    look = figures[0].look
    name, recipe, of_figure = _columns(look, len(figures))
    x = CHIP
    cells = [(x, words(look, "Mix", name, NOTE, colour=lk.QUIET))]
    x += name + GUTTER
    cells.append((x, words(look, "Recipe in drops", recipe, NOTE, colour=lk.QUIET)))
    x += recipe + GUTTER
    for one in figures:
        name_of = words(look, one.plan.scheme.name, of_figure, NOTE, face="strong")
        cells.append((x, stack([name_of, words(look, WHERE, of_figure, NOTE, colour=lk.QUIET)])))
        x += of_figure + GUTTER
    return stack([beside(*cells), gap(LINE)])


def _row(figures: Sequence[Given], mix: Mix, areas: Sequence[list[int]]) -> Block:
    """Swatch and letter, name, recipe, and the areas that take the mix, figure by figure."""
    look = figures[0].look
    name, recipe, of_figure = _columns(look, len(figures))
    x = CHIP + name + GUTTER
    cells = [
        (0.0, swatch(look, mix.hex, (CHIP - 2 * MM, 5 * MM), mix.id)),
        (CHIP, tight(look, mix.name, name, face="strong")),
    ]
    # The recipe is the same in all figures, so the first one's names of its paints will do.
    well = next(g.wells[mix.id] for g, ids in zip(figures, areas, strict=True) if ids)
    cells.append((x, _recipe(look, mix, well, recipe)))
    x += recipe + GUTTER
    for ids in areas:
        shown = numbers(look, ids, of_figure) if ids else words(look, "–", of_figure, READ, colour=lk.QUIET)
        cells.append((x, shown))
        x += of_figure + GUTTER
    return ruled(look, beside(*cells), look.measure, 0.6 * LINE)


def _recipe(look: Look, mix: Mix, well: Well, width: float) -> Block:
    """The drops of each paint, drawn, with their number and its name, one after another."""
    items = []
    for ingredient, (name, colour) in zip(mix.recipe, well.ingredients, strict=True):
        drawn = drops(look, colour, ingredient.parts, DROPS * DROP + 1)
        lead = look.width(str(ingredient.parts), "strong", READ) + 3
        count = tight(look, str(ingredient.parts), lead + 1, face="strong")
        wide = min(look.width(look.plain(name), "body", READ) + 8, width - drawn.width - 3 - lead)
        label = paint_name(look, name, wide)
        items.append(beside((0.0, lowered(drawn, 2.0)), (drawn.width + 3, count), (drawn.width + 3 + lead, label)))
    return wrapped(items, width)


def _areas(one: Given, mix: Mix) -> list[int]:
    return [id for id, k in one.plan.mix_of if one.plan.mixes[k].id == mix.id]
