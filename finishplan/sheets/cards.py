"""Mix cards: eight to a page, to be cut apart and kept with the pots."""

from typing import Any

from finishplan.basics.words import listed
from finishplan.paint.model import Mix
from finishplan.plan.well import Well
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import LINE, MM, NOTE, Lettering, Look
from finishplan.sheets.marks import dab, paint_name
from finishplan.sheets.page import CLOSER, Block, Page, Placed, beside, filled, gap, smaller, stack, tight, words
from finishplan.sheets.words import number, sentence

SECTION = "Mix cards"
ACROSS, DOWN = 2, 4
PAD = 6 * MM
"""Room between a card's cut and its text: what a home printer leaves white is inside it."""
PATCH = 11 * MM


def card_pages(given: Given, only: frozenset[str] | None = None) -> list[Page]:
    """A card for each mix (of `only`); a mix with much to say takes a second card."""
    look = given.look
    wide, high = look.size[0] / ACROSS, look.size[1] / DOWN
    cards = [card for w in given.wells.values() if only is None or w.mix in only for card in _cards(given, w)]
    pages = []
    for k in range(0, len(cards), ACROSS * DOWN):
        placed = [Placed(_cut_marks(look), 0.0, look.size[1])]
        for n, card in enumerate(cards[k : k + ACROSS * DOWN]):
            left, top = n % ACROSS * wide + PAD, look.size[1] - n // ACROSS * high - PAD
            placed.append(Placed(card, left, top))
        pages.append(Page((SECTION,), tuple(placed), bare=True, cards=True))
    return pages


def _cards(given: Given, well: Well) -> list[Block]:
    """The mix's card, a little smaller where that spares a second."""
    width, depth = given.look.size[0] / ACROSS - 2 * PAD, given.look.size[1] / DOWN - 2 * PAD
    for share in (1.0, *CLOSER):
        cards = _filled(given, well, width / share, depth / share)
        if len(cards) == 1:
            return [smaller(cards[0], share)] if share < 1 else cards
    return _filled(given, well, width, depth)


def _filled(given: Given, well: Well, width: float, depth: float) -> list[Block]:
    """As many cards of this size inside as the mix takes."""
    look, mix = given.look, given.mixes[well.mix]
    body = [_patches(given, well, mix, width), gap(LINE), *_recipe(given, well, width)]
    body += [words(look, sentence(text), width, NOTE) for text in _notes(well, mix)]
    cards: list[Block] = []
    while body:
        head = _head(given, well, mix, width, again=bool(cards))
        count = filled(body, depth - head.height, 1)[0]
        cards.append(stack([head, *body[:count]]))
        body = body[count:]
    return cards


def _head(given: Given, well: Well, mix: Mix, width: float, again: bool) -> Block:
    look = given.look
    areas = [f"area{'s' * (len(well.areas) > 1)} {listed(well.areas)}"] if well.areas else []
    areas += [f"undercoat on {listed(well.undercoats)}"] if well.undercoats else []
    where = look.fit(" · ".join([given.plan.scheme.name, *areas]), "body", NOTE, width - 10 * MM)
    letter = words(look, mix.id, 10 * MM, lk.SIGN, face="heavy", colour=lk.ACCENT)
    name = tight(look, f"{mix.name}, continued" if again else mix.name, width - 10 * MM, face="strong")
    under = words(look, where, width - 10 * MM, NOTE, colour=lk.QUIET)
    return stack([beside((0.0, letter), (10 * MM, stack([name, under]))), gap(LINE)])


def _patches(given: Given, well: Well, mix: Mix, width: float) -> Block:
    """One coat, two coats, full colour over white and over black; beside it a blank to dab the real mix into."""
    look, card = given.look, width - 18 * MM
    # At full strength the ground no longer shows: the same colour over both.
    shown = (("1 coat", well.over_white[0], well.over_black[0]), ("2 coats", well.over_white[1], well.over_black[1]),
             ("full", mix.hex, mix.hex))  # fmt: skip
    step = (card - 2) / 3

    def draw(canvas: Any, left: float, top: float) -> None:
        # White and black show around the patches, as beside the paint on a drawdown card.
        for y, ground in ((top - PATCH / 2, lk.PAPER_WHITE), (top - PATCH, "#0d0d0d")):
            canvas.setFillColor(look.colour(ground))
            canvas.rect(left, y, card, PATCH / 2, stroke=0, fill=1)
        for k, (name, white, black) in enumerate(shown):
            x = left + 2 + k * step
            for y, colour in ((top - PATCH / 2, white), (top - PATCH + 2, black)):
                canvas.setFillColor(look.colour(colour))
                canvas.rect(x, y, step - 2, PATCH / 2 - 2, stroke=0, fill=1)
            look.write(canvas, name, (x + step / 2, top - PATCH - 9), Lettering(NOTE, colour=lk.QUIET, align=0.5))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(left, top - PATCH, card, PATCH)

    return beside((0.0, Block(card, PATCH + 11, draw)), (card + 3 * MM, dab(look, (15 * MM, PATCH), "dab here")))


def _recipe(given: Given, well: Well, width: float) -> list[Block]:
    """A row a paint: how much for one casting and, where that is more, for the largest pot."""
    look, one, most = given.look, well.one, well.largest
    alone = one.amounts == most.amounts and one.unit == most.unit
    rows = []
    for k, (name, colour) in enumerate(well.ingredients):
        chip = Block(10, 12, _chip(look, colour))
        figures = one.amounts[k] if alone else f"{one.amounts[k]} · {most.amounts[k]}"
        lead = 20 * MM
        count = tight(look, figures, lead - 6, face="strong", alignment=2)
        rows.append(beside((0.0, count), (lead - 2, chip), (lead + 10, paint_name(look, name, width - lead - 10))))
    said = f"{one.unit} for one casting"
    # The largest pot has a column of its own only where the run mixes more than one casting takes.
    if not alone:
        said += " · for the largest pot" if one.unit == most.unit else f" · {most.unit} for the largest pot"
    return [words(look, said, width, NOTE, colour=lk.QUIET), *rows]


def _chip(look: Look, colour: str) -> Any:
    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(left, top - 10, 8, 7, fill=1)

    return draw


def _notes(well: Well, mix: Mix) -> list[str]:
    drawn = f" (from the drawing {number(mix.delta_e_drawn)})" if mix.drawing_is_elsewhere else ""
    near = f"Colour error {number(mix.delta_e)}{drawn}, under lamp light {number(mix.delta_e_a)}; "
    near += f"expected spread {number(mix.expect_within)}"
    if mix.drop_paint and mix.drop_delta_e:
        name = next((i.name for i in mix.recipe if i.paint == mix.drop_paint), mix.drop_paint)
        near += f"; effect of one extra drop of {name} {number(mix.drop_delta_e)}"
    lines = [*well.premixes, near, *filter(None, [well.last_pot])]
    if not mix.reachable:
        add = f"; {mix.add_name} would bring it within 2" if mix.add_paint else ""
        lines.append(f"Out of reach of your paints: this is the nearest mix{add}")
    lines += ["An estimate: a paint in it was not measured. Try it on a scrap first"] if mix.estimate else []
    others = [f"{hex}, {number(off)} off" for hex, off in zip(mix.merged_hex, mix.merged_off, strict=True)]
    lines += [f"Also serves the drawn colours {listed(others)}"] if others else []
    return [*lines, *(["Caution: " + " ".join(map(sentence, well.cautions))] if well.cautions else [])]


def _cut_marks(look: Look) -> Block:
    """Short lines at the edges and crosses inside: where the knife goes."""
    width, height = look.size
    arm = 5 * MM

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.4)
        x = width / 2
        canvas.line(x, 0, x, arm)
        canvas.line(x, height - arm, x, height)
        for n in range(1, DOWN):
            y = height * n / DOWN
            for one, other in ((0, arm), (width - arm, width), (x - arm, x + arm)):
                canvas.line(one, y, other, y)
            canvas.line(x, y - arm, x, y + arm)

    return Block(width, height, draw)
