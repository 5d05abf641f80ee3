"""The wall sheet: the whole figure with its numbers, then every pass as a tile that can be read from a metre away."""

from typing import Any

from finishplan.basics.words import counted, duration
from finishplan.scheme.model import Scheme
from finishplan.sheets import look as lk
from finishplan.sheets.figure import whole_figure
from finishplan.sheets.given import Given
from finishplan.sheets.letters import Face
from finishplan.sheets.look import GUTTER, LINE, MM, NOTE, READ, TITLE, Lettering
from finishplan.sheets.marks import coat_dots, swatch, target
from finishplan.sheets.page import Block, Page, Placed, beside, gap, rich, stack, words
from finishplan.sheets.tiles import SWATCH, in_rows, tile
from finishplan.sheets.words import number

SECTION = "Wall sheet"
MOST_TILES = 20
"""Passes on one page."""
FIGURE_SHARE = 0.31
"""Share of the page's depth that the figure takes at least."""
DEEPEST = 62 * MM
"""A tile is no deeper."""


def wall_pages(given: Given) -> list[Page]:
    """One page up to MOST_TILES passes, else the figure and the first of them, and pages of tiles."""
    passes, pages = list(given.passes), list[Page]()
    while passes or not pages:
        here, passes = passes[:MOST_TILES], passes[MOST_TILES:]
        pages.append(_page(given, here, first=not pages))
    return pages


def _page(given: Given, here: list[int], first: bool) -> Page:
    look, legend = given.look, _legend(given)
    top, placed = look.top + (lk.HEAD if first else 0.0), list[Placed]()
    # The title stands where other pages have their running head.
    for block in (_title(given), _primer(given)) if first else ():
        placed.append(Placed(block, lk.MARGIN, top))
        top -= block.height
    bottom = look.bottom + legend.height + LINE
    room = (top - bottom) * (1 - FIGURE_SHARE if first else 1)
    rows = in_rows(given, here, (look.measure, room), DEEPEST)
    high = min(room / max(len(rows), 1), DEEPEST)
    # Tiles stand at the foot of the first page, and what is left over goes to the figure.
    start = bottom + len(rows) * high if first else top
    if first:
        depth = top - start - 2 * LINE
        placed.append(Placed(whole_figure(given.pictures, (look.measure, depth)), lk.MARGIN, top))
    for k, row in enumerate(rows):
        left = lk.MARGIN
        for no, wide in row:
            placed.append(Placed(tile(given, no, (wide, high - GUTTER / 2)), left, start - k * high))
            left += wide + GUTTER / 2
    placed.append(Placed(legend, lk.MARGIN, look.bottom + legend.height))
    return Page((SECTION,), tuple(placed), bare=first)


def height(scheme: Scheme) -> str:
    """'80 mm high', or that this is guessed."""
    high = f"{number(scheme.height_mm)} mm high"
    if not scheme.height_told:
        return f"about {high}: a guess, give --height-mm"
    return f"{high}, its pieces guessed: give the height_mm of one" if scheme.guessed else high


def _title(given: Given) -> Block:
    look, plan = given.look, given.plan
    facts = [counted(len(given.passes), "pass"), counted(plan.run.castings, "casting")]
    facts += [height(plan.scheme), *([plan.date] if plan.date else [])]
    name = words(look, plan.scheme.name, look.measure, TITLE, face="heavy")
    return stack([name, words(look, " · ".join(facts), look.measure, READ, colour=lk.QUIET)])


def _primer(given: Given) -> Block:
    """What comes before pass 1: primer, its coats and its wait; then the waits while painting."""
    look, primer, mark = given.look, given.plan.order.primer, given.look.mark
    if not primer.coats:
        text = f"{mark('No primer', 'strong')} {mark(': paint on the bare casting.')}"
    else:
        coats = counted(primer.coats, "thin coat")
        wait = duration(given.plan.dry[0].brushed_over_min, up=True) if given.plan.dry else ""
        text = f"{mark(f'Prime {primer.name}', 'strong')} {mark(f'all over, {coats}, then wait {wait}.')}"
    chip = swatch(look, primer.hex, (SWATCH[0], 5 * MM))
    left = SWATCH[0] + 2 * MM
    lines = stack(rich(look, line, look.measure - left) for line in (text, _waits(given)) if line)
    return stack([gap(LINE), beside((0, chip), (left, lines)), gap(LINE)])


def _waits(given: Given) -> str:
    """How long to wait on the same area, and beside it."""
    # Coats of several thicknesses dry in several times: the shortest and the longest are told.
    again = sorted(p.recoat_min for p in given.passes.values())
    touch = sorted(p.touch_dry_min for p in given.passes.values())
    if not again:
        return ""
    mark = given.look.mark
    said = [" to ".join(dict.fromkeys(duration(t[k], up=True) for k in (0, -1))) for t in (again, touch)]
    return (
        f"{mark('Wait', 'strong')} {mark(said[0], 'strong')} {mark('before the next coat on the same area,')} "
        f"{mark(said[1], 'strong')} {mark('(touch dry) before you paint beside it.')}"
    )


def _legend(given: Given) -> Block:
    """How to read the tiles: what stands beside the numbers, then what stands in the pictures."""
    look = given.look
    small = look.width("small", "strong", NOTE)
    coats = (
        (coat_dots(look, 1, 0, 10), "one thin coat"),
        (coat_dots(look, 1, 1, 10), "along the cut edge only, after the full coats"),
        (target(look), "dots: dot it on"),
        (_word(given, "small", small), "areas where one coat is enough"),
    )
    strokes = (
        (_stroke(given, firm=True), "cut a clean edge"),
        (_stroke(given, firm=False), "lap over the line, thinned out"),
        (_ring(given), "dot it on"),
        (gap(0), "Full colour: what this pass paints."),
    )
    rows = [_row(given, "Numbers:", coats), _row(given, "Pictures:", strokes)]
    letters = "The letter on a swatch: its recipe stands under that letter on the palette page."
    return stack([*rows, words(look, letters, look.measure, NOTE)])


def _row(given: Given, head: str, items: tuple[tuple[Block, str], ...]) -> Block:
    look = given.look
    x = look.width("Pictures:", "strong", NOTE) + 8
    row = [(0.0, _word(given, head, x))]
    for sample, text in items:
        wide = look.width(text, "body", NOTE)
        row += [(x, sample), (x + sample.width + 3, _word(given, text, wide, "body"))]
        x += sample.width + 3 + wide + 11
    return beside(*row)


def _word(given: Given, text: str, wide: float, face: Face = "strong") -> Block:
    def draw(canvas: Any, left: float, top: float) -> None:
        given.look.write(canvas, text, (left, top - 7.5), Lettering(NOTE, face))

    return Block(wide, 3 * LINE, draw)


def _stroke(given: Given, firm: bool) -> Block:
    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(2.4 if firm else 3.4)
        canvas.setStrokeColor(given.look.colour(lk.INK if firm else "#8d877c"))
        if not firm:
            canvas.setDash(2.5, 2.5)
        canvas.line(left, top - 4.5, left + 18, top - 4.5)
        canvas.setDash()

    return Block(18.0, 9.0, draw)


def _ring(given: Given) -> Block:
    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(1.6)
        canvas.setStrokeColor(given.look.colour(lk.INK))
        canvas.setFillColor(given.look.colour(lk.PAPER_WHITE))
        canvas.circle(left + 4, top - 4.5, 3.2, fill=1)

    return Block(9.0, 9.0, draw)
