"""The palette page: every mix in its well, in the order of use: recipe in drawn drops, pots, a dab square."""

from collections.abc import Sequence
from typing import Any

from finishplan.basics.words import counted, duration, listed
from finishplan.paint.model import Mix
from finishplan.plan.sharing_words import ERROR_LEGEND, exchange
from finishplan.plan.well import PotMade, Well
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import LINE, MM, NOTE, READ, SIGN
from finishplan.sheets.marks import DROP, dab, drops, paint_name, well
from finishplan.sheets.page import Block, Page, beside, gap, lowered, pages_of, rich, snapped, stack, tight, words
from finishplan.sheets.words import number, ranges, sentence, weighed

SECTION = "Palette"
WELL, DAB = 11 * MM, 11 * MM


def palette_pages(given: Given, only: frozenset[str] | None = None) -> list[Page]:
    """All mixes, or those of `only`, in two columns."""
    look = given.look
    wanted = [w for w in given.wells.values() if only is None or w.mix in only]
    if not wanted:
        return []
    life = _kept(given.plan.run_settings.pot_life)
    said = f"In the order of use; recipes in drops. A pot × 5 is five times the drops, and stays good for {life}."
    name = words(look, "Palette", look.measure, SIGN, face="heavy")
    fewer = exchange(given.plan.pots_within, given.plan.mix_settings.within)
    lines = [said, *([fewer] if fewer else []), ERROR_LEGEND]
    title = snapped(stack([name, *(words(look, line, look.measure, READ, colour=lk.QUIET) for line in lines)]), LINE)
    wide = look.span(1, 2)
    return pages_of(look, SECTION, [_well(given, w, wide) for w in wanted], 2, title)


def _kept(life_min: float) -> str:
    """'7 days', '4 h'."""
    return f"{life_min / 1440:.0f} days" if life_min >= 2 * 1440 else duration(life_min, days=False)


def _well(given: Given, one: Well, wide: float) -> Block:
    """Well and name on the left, recipe in drops, dab square and a line for the hand on the right."""
    look, mix = given.look, given.mixes[one.mix]
    left, right = WELL + 3 * MM, DAB + 2 * MM
    middle = wide - left - right
    name = rich(look, f"{look.mark(mix.name, 'strong')} {look.mark(_use(one), 'body')}", middle, colour=lk.INK)
    body = stack([name, *_recipe(given, one, mix, middle), *_pots(given, one, middle)])
    hand = stack([dab(look, (DAB, DAB), "dab"), gap(2.5 * LINE), _line(given, DAB)])
    block = beside((0.0, well(look, mix.hex, mix.id, WELL)), (left, body), (left + middle + 2 * MM, hand))
    notes = [words(look, text, wide, NOTE, colour=lk.QUIET) for text in _notes(one, mix)]

    def draw(canvas: Any, x: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.RULE))
        canvas.setLineWidth(0.7)
        canvas.line(x, top, x + wide, top)
        stack([block, *notes]).draw(canvas, x, top - LINE)

    return Block(wide, stack([block, *notes]).height + LINE + 0.5, draw)


def _use(one: Well) -> str:
    """'pass 4', 'passes 6 and 17', 'undercoat in pass 4'."""
    if not one.passes:
        return ""
    return f"pass{'es' * (len(one.passes) > 1)} {listed(one.passes)}"


def _recipe(given: Given, one: Well, mix: Mix, width: float) -> list[Block]:
    """A row a paint: as many drops as parts, then its number and name."""
    look = given.look
    most = max(i.parts for i in mix.recipe)
    # More than ten drops go on in a second row.
    room = min(most, 10) * DROP + 2
    lead = max(look.width(str(i.parts), "strong", READ) for i in mix.recipe) + 3
    rows = []
    for ingredient, (name, colour) in zip(mix.recipe, one.ingredients, strict=True):
        count = tight(look, str(ingredient.parts), lead, face="strong")
        label = paint_name(look, name, width - room - lead)
        row = ((0.0, lowered(drops(look, colour, ingredient.parts, room), 2.0)), (room, count), (room + lead, label))
        rows.append(beside(*row))
    return rows


def _pots(given: Given, one: Well, width: float) -> list[Block]:
    """The pots of the run: how many times the recipe, on which evening; in grams where they are weighed."""
    parts = [i.parts for i in given.mixes[one.mix].recipe]
    told = pots_told(one, parts, len(given.plan.run.sessions) > 1)
    return [tight(given.look, told, width, face="strong")]


def pots_told(one: Well, parts: Sequence[int], several: bool) -> str:
    """'Pot × 5, 35 drops', of one paint '35 drops', of a weighed one what to weigh; of several
    evenings 'Evening 1: × 5; evenings 2–3: × 1'. parts: of the recipe."""
    made: dict[str, list[PotMade]] = {}
    for pot in one.pots or (one.one,):
        made.setdefault(_size(one, pot, parts), []).append(pot)
    if not several or not one.pots:
        of = " pots of" if len(parts) == 1 else " of"
        sizes = [f"{f'{len(pots)}{of} ' * (len(pots) > 1)}{size}" for size, pots in made.items()]
        alone = one.pots[0] if len(one.pots) == 1 else None
        if len(parts) == 1 or (alone and alone.weighed):
            # sentence() for the capital alone: no full stop after an amount.
            return sentence(listed(sizes))[:-1]
        return f"Pot {listed(sizes)}" + (f", {counted(sum(alone.drops), 'drop')}" if alone else "")
    told = []
    for size, pots in made.items():
        evenings = sorted({p.session for p in pots})
        # A second painter, or a pot that dried up: one mix may be made more than once an evening.
        twice = f" ({len(pots)} pots)" if len(pots) > len(evenings) else ""
        told.append(f"evening{'s' * (len(evenings) > 1)} {ranges(evenings)}: {size}{twice}")
    return sentence("; ".join(told))[:-1]


def _size(one: Well, pot: PotMade, parts: Sequence[int]) -> str:
    """'× 5', '23 drops' of one paint; '18 ml: 13.8 g of titanium white + 4.7 g of ochre' of a weighed pot."""
    if pot.weighed:
        return weighed(one, pot)
    # Every paint of a pot has the same multiple of its parts, so the first one tells it.
    return counted(pot.drops[0], pot.unit.removesuffix("s")) if len(parts) == 1 else f"× {pot.drops[0] // parts[0]}"


def _notes(one: Well, mix: Mix) -> list[str]:
    """Pre-mixes, how near the colour comes, cautions."""
    drawn = f" (from the drawing {number(mix.delta_e_drawn)})" if mix.drawing_is_elsewhere else ""
    near = f"Colour error {number(mix.delta_e)}{drawn}, expected spread {number(mix.expect_within)}"
    if not mix.reachable:
        near = f"Out of reach of your paints: the nearest mix, colour error {number(mix.delta_e)}"
    if mix.from_book:
        near = f"From your mix book; {near[0].lower()}{near[1:]}"
    lines = [*map(sentence, one.premixes), sentence(near), *map(sentence, filter(None, [one.last_pot]))]
    lines += ["Caution: " + " ".join(map(sentence, one.cautions))] if one.holds else []
    return [" ".join(lines)]


def _line(given: Given, width: float) -> Block:
    """A line to write on."""

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(given.look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.line(left, top, left + width, top)

    return Block(width, 0.5, draw)
