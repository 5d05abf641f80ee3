"""The wall sheet: the whole figure with its numbers, then every pass as a tile that can be read from a metre away."""

from collections.abc import Sequence
from math import ceil
from typing import Any

from finishplan.basics.words import counted, duration
from finishplan.plan.part_passes import mixes_of
from finishplan.sheets import look as lk
from finishplan.sheets.figure import after_pass, inked, whole_figure
from finishplan.sheets.given import Given
from finishplan.sheets.look import GUTTER, LINE, MM, NOTE, NUMBER, READ, SIGN, TITLE, Lettering
from finishplan.sheets.marks import coat_dots, numbers, swatch
from finishplan.sheets.page import Block, Page, Placed, beside, gap, lowered, rich, stack, words
from finishplan.sheets.words import number

SECTION = "Wall sheet"
MOST_TILES = 20
"""Passes on one page."""
FIGURE_SHARE = 0.27
"""Share of the page's depth that the figure takes at least."""
SWATCH = (13 * MM, 7 * MM)
PAD = 1.5 * MM
WORDS = ((0.36, NUMBER), (0.5, NUMBER), (0.5, READ), (0.66, READ), (0.66, NOTE))
"""Share of a tile's width for coats and area numbers, and the size of these: the first that holds them is taken."""


def wall_pages(given: Given) -> list[Page]:
    """One page up to MOST_TILES passes, else the figure and the first of them, and pages of tiles."""
    look, passes = given.look, list(given.passes)
    heads = [_title(given), _primer(given)]
    legend = _legend(given)
    pages: list[Page] = []
    while passes or not pages:
        here, passes = passes[:MOST_TILES], passes[MOST_TILES:]
        top = look.top + (lk.HEAD if not pages else 0.0)
        placed = []
        for block in heads if not pages else []:
            placed.append(Placed(block, lk.MARGIN, top))
            top -= block.height
        bottom = look.bottom + legend.height + LINE
        columns, rows = _grid(len(here))
        high = min((top - bottom) * (1 - FIGURE_SHARE) / rows, 62 * MM) if not pages else (top - bottom) / 5
        depth = top - bottom - rows * high - 2 * LINE
        if not pages:
            placed.append(Placed(whole_figure(given.pictures, (look.measure, depth)), lk.MARGIN, top))
        start = bottom + rows * high if not pages else top
        wide = (look.measure - (columns - 1) * GUTTER / 2) / columns
        for k, no in enumerate(here):
            left = lk.MARGIN + k % columns * (wide + GUTTER / 2)
            placed.append(Placed(_tile(given, no, (wide, high)), left, start - k // columns * high))
        placed.append(Placed(legend, lk.MARGIN, look.bottom + legend.height))
        pages.append(Page((SECTION,), tuple(placed), bare=not pages))
    return pages


def _grid(count: int) -> tuple[int, int]:
    """(columns, rows) of so many tiles."""
    columns = 2 if count <= 4 else 3 if count <= 9 else 4
    return columns, max(1, ceil(count / columns))


def _title(given: Given) -> Block:
    look, plan = given.look, given.plan
    facts = [counted(len(given.passes), "pass"), counted(plan.run.castings, "casting")]
    facts += [f"{number(plan.scheme.height_mm)} mm high", *([plan.date] if plan.date else [])]
    name = words(look, plan.scheme.name, look.measure, TITLE, face="heavy")
    return stack([name, words(look, " · ".join(facts), look.measure, READ, colour=lk.QUIET)])


def _primer(given: Given) -> Block:
    """What comes before pass 1: primer, its coats and its wait."""
    look, primer, mark = given.look, given.plan.order.primer, given.look.mark
    name = primer.name.removesuffix(" primer")
    if not primer.coats:
        text = f"{mark('No primer', 'strong')} {mark(': paint on the bare casting.')}"
    else:
        coats = counted(primer.coats, "thin coat")
        wait = duration(given.plan.dry[0].brushed_over_min, up=True) if given.plan.dry else ""
        text = f"{mark(f'Prime {name}', 'strong')} {mark(f'all over, {coats}, then wait {wait}.')}"
    chip = swatch(look, primer.hex, (SWATCH[0], 5 * MM))
    left = SWATCH[0] + 2 * MM
    return stack([gap(LINE), beside((0, chip), (left, rich(look, text, look.measure - left))), gap(LINE)])


def _tile(given: Given, no: int, size: tuple[float, float]) -> Block:
    """Pass number, swatch with the mix's letter, name; below, the figure after the pass, coats and area numbers."""
    look = given.look
    wide, high = size[0] - 2 * PAD, size[1] - GUTTER / 2 - 2 * PAD
    head = _tile_head(given, no, wide)
    body = _tile_body(given, no, (wide, high - head.height - 1 * MM))

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.RULE))
        canvas.setLineWidth(0.7)
        canvas.roundRect(left, top - size[1] + GUTTER / 2, size[0], size[1] - GUTTER / 2, 2 * MM)
        head.draw(canvas, left + PAD, top - PAD)
        body.draw(canvas, left + PAD, top - PAD - head.height - 1 * MM)

    return Block(size[0], size[1], draw)


def _tile_body(given: Given, no: int, size: tuple[float, float]) -> Block:
    """The picture with coats and areas beside it or over it, whichever leaves it larger."""
    wide, room = size
    ways = ((share, _coats_and_areas(given, no, share * wide, big)) for share, big in WORDS)
    tried = [next(ways)]
    while tried[-1][1].height > room and len(tried) < len(WORDS):
        tried.append(next(ways))
    share, side = tried[-1]
    beside_it = ((1 - share) * wide - 1.5 * MM, room)
    over = _coats_and_areas(given, no, wide, NUMBER)
    under_it = (wide, room - over.height - 1 * MM)
    if inked(given.pictures, no, under_it) > inked(given.pictures, no, beside_it):
        shown = after_pass(given.pictures, no, under_it)
        return stack([over, gap(1 * MM), lowered(shown, (under_it[1] - shown.height) / 2)])
    shown = after_pass(given.pictures, no, beside_it)
    return beside((0.0, lowered(shown, (room - shown.height) / 2)), ((1 - share) * wide, side))


def _tile_head(given: Given, no: int, wide: float) -> Block:
    look, laid = given.look, given.passes[no]
    mixes = [given.mixes[m] for m in mixes_of(laid)]
    lead = look.width("00", "heavy", SIGN + 4) + 1 * MM
    chips = [swatch(look, m.hex, SWATCH, m.id, NUMBER) for m in mixes[:2]]
    left = lead + sum(c.width + 1 * MM for c in chips)
    name = " + ".join(m.name for m in mixes)
    label = _short(given, name, wide - left)

    def sign(canvas: Any, x: float, top: float) -> None:
        look.write(canvas, str(no), (x, top - SIGN + 1), Lettering(SIGN + 4, "heavy", lk.ACCENT))

    row = [(0.0, Block(lead, SWATCH[1], sign))]
    row += [(lead + k * (SWATCH[0] + 1 * MM), chip) for k, chip in enumerate(chips)]
    return beside(*row, (left, label))


def _short(given: Given, name: str, width: float) -> Block:
    """The mix's name in at most two lines; whole on the palette page."""
    look = given.look
    block = words(look, name, width, NOTE, face="strong")
    if block.height <= 2 * lk.LEADING[NOTE] + 0.1 and all(
        look.width(w, "strong", NOTE) <= width for w in look.plain(name).split()
    ):
        return block
    return words(look, look.fit(name, "strong", NOTE, width), width, NOTE, face="strong")


def _coats_and_areas(given: Given, no: int, width: float, size: float = NUMBER) -> Block:
    """Area numbers under a dot a coat; areas with the same coats together."""
    look, order = given.look, given.plan.order
    groups: dict[tuple[int, int, bool], list[int]] = {}
    for w in given.passes[no].work:
        groups.setdefault((w.coats, order.line_coats(w), w.kind == "undercoat"), []).append(w.area)
    blocks = []
    for (coats, line, under), areas in sorted(groups.items(), reverse=True):
        bed = [words(look, "undercoat", width, NOTE, colour=lk.QUIET)] if under else []
        blocks += [coat_dots(look, coats, line, width), *bed, numbers(look, sorted(set(areas)), width, size), gap(LINE)]
    return stack(blocks[:-1])


def _legend(given: Given) -> Block:
    """How to read the tiles, in one or two lines at the foot."""
    look = given.look
    items: Sequence[tuple[Block, str]] = (
        (coat_dots(look, 1, 0, 10), "one thin coat"),
        (coat_dots(look, 1, 1, 10), "one coat along the line only"),
        (_stroke(given, firm=True), "cut a clean edge"),
        (_stroke(given, firm=False), "lap over the line, thinned out"),
        (_ring(given), "dot it on"),
    )
    x, row = 0.0, []
    for sample, text in items:
        label = Block(look.width(text, "body", NOTE), 10.0, _label(given, text))
        row += [(x, sample), (x + sample.width + 3, label)]
        x += sample.width + 3 + label.width + 11
    recoat = sorted({ceil(p.recoat_min - 1e-6) for p in given.passes.values()})
    wait = " to ".join(duration(m, up=True) for m in dict.fromkeys((recoat[0], recoat[-1]))) if recoat else ""
    told = f"Full colour: what this pass paints. Wait {wait} from coat to coat." if wait else ""
    return stack([beside(*row), words(look, told, look.measure, NOTE)])


def _label(given: Given, text: str) -> Any:
    def draw(canvas: Any, left: float, top: float) -> None:
        given.look.write(canvas, text, (left, top - 7.5), Lettering(NOTE))

    return draw


def _stroke(given: Given, firm: bool) -> Block:
    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(2.2 if firm else 2.8)
        canvas.setStrokeColor(given.look.colour(lk.INK if firm else "#8d877c"))
        if not firm:
            canvas.setDash(2, 2)
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
