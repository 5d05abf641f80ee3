"""The last page: shopping list and amounts, the assumptions that matter, the cautions that apply."""

from collections.abc import Sequence

from finishplan.amounts.model import Quantity
from finishplan.basics.assumption import Assumption
from finishplan.basics.words import counted
from finishplan.plan.assumptions import foremost
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import LINE, MM, NOTE, READ, SIGN
from finishplan.sheets.marks import heading, swatch, tick
from finishplan.sheets.page import Block, Page, beside, in_columns, pages_of, rich, snapped, stack, tight, words
from finishplan.sheets.words import amount, ml, number, sentence

SECTION = "Amounts and cautions"
MOST_ASSUMPTIONS = 10
PIECE = 12
"""Rows of a list that are kept together."""


def amount_pages(given: Given) -> list[Page]:
    """One page where it holds all: shopping, amounts, ten assumptions, the cautions in short."""
    look = given.look
    title = snapped(words(look, SECTION, look.measure, SIGN, face="heavy"))
    blocks = [*_guessed(given), *_shopping(given), *_amounts(given), *_assumptions(given), *_cautions(given)]
    return pages_of(look, SECTION, blocks, 1, title) if blocks else []


def _guessed(given: Given) -> list[Block]:
    """That the amounts rest on a guessed size, figure by figure of several."""
    look, figures = given.look, given.figures
    of = {name: p.scheme.guessed for name, p in figures.items()} if figures else {"": given.plan.scheme.guessed}
    told = [": ".join(filter(None, (name, text))) for name, text in of.items() if text]
    return [snapped(words(look, text, look.measure, face="strong")) for text in told]


def _listed(given: Given, name: str, rows: Sequence[Block], note: str = "") -> list[Block]:
    """A heading and its rows in two columns, in pieces that a page can hold."""
    look = given.look
    if not rows:
        return []
    under = [words(look, note, look.measure, NOTE, colour=lk.QUIET)] if note else []
    # The heading and the first rows are one block: no heading is left alone at the foot of a page.
    first, rest = list(rows[:PIECE]), rows[PIECE:]
    more = [in_columns(rest[k : k + PIECE], 2, look.measure) for k in range(0, len(rest), PIECE)]
    return [stack([heading(look, name, look.measure), *under, in_columns(first, 2, look.measure)]), *more]


def _shopping(given: Given) -> list[Block]:
    """The paints the run takes: what is needed, what there is, what to buy."""
    paints = [q for q in given.plan.quantities if q.what == "paint"]
    known = any(q.ml_left is not None for q in paints)
    told = [] if known else ["No stock given: tick what you have."]
    told += [text] if (text := bill(paints)) else []
    return [*_listed(given, "Paints", [_paint(given, q, known) for q in paints], " ".join(told)), *_additions(given)]


def _additions(given: Given) -> list[Block]:
    """What to add to the box."""
    look, wide = given.look, given.look.span(1, 2)
    lines = [snapped(words(look, text, wide, NOTE), 1) for text in given.plan.additions]
    note = "Figures are colour errors: how far the nearest mix is off now, how near it would come."
    return _listed(given, "To add for colours out of reach", lines, note)


def bill(paints: Sequence[Quantity]) -> str:
    """'To buy: about 0.34; the paint used is worth about 2.71, in the money of your box file.'; '' without a price."""
    used, short = sum(q.cost or 0.0 for q in paints), sum(q.buy_cost for q in paints)
    if not used:
        return ""
    unpriced = ", as far as it has a price," if any(q.price_per_ml is None for q in paints) else ""
    worth = f"the paint used{unpriced} is worth about {used:.2f}, in the money of your box file"
    return sentence(f"to buy: about {short:.2f}; {worth}" if short else worth)


def _paint(given: Given, q: Quantity, known: bool) -> Block:
    look, wide = given.look, given.look.span(1, 2)
    buy = q.note or ("enough" if q.ml_left is not None else "")
    right = 30 * MM
    names = [tight(look, q.name, wide - 6 * MM - right)]
    figures = look.mark(ml(q.ml_run)) + (f" {look.mark(buy, 'strong' if q.short_ml > 0 else 'body')}" if buy else "")
    # To tick: what is short, to be bought; where no stock is told, anything may be missing.
    box = [(0.0, tick(look, 3.2 * MM))] if q.short_ml > 0 or not known else []
    amounts = rich(look, figures, right, alignment=2, leading=3.5 * LINE)
    return snapped(beside(*box, (6 * MM, stack(names)), (wide - right, amounts)), 1)


def _amounts(given: Given) -> list[Block]:
    """What is mixed and laid: mixes, pre-mixes, primer, varnish, resin."""
    rows = [q for q in given.plan.quantities if q.what not in ("paint", "pass")]
    each = any(q.ml_per_casting for q in rows) and given.plan.run.castings > 1
    note = "For one casting, then for the whole run." if each else ""
    return _listed(given, "Mixed and laid", [_amount(given, q) for q in rows], note)


def _amount(given: Given, q: Quantity) -> Block:
    look, wide, told = given.look, given.look.span(1, 2), _told(given, q)
    right = look.width(told, "body", READ) + 1
    mix = given.mixes.get(q.id) if q.what == "mix" else None
    chip = [(0.0, swatch(look, mix.hex, (8 * MM, 3.7 * MM), mix.id, NOTE))] if mix else []
    said = {"premix": f"pre-mixed, {q.note}"}.get(q.what, q.note if q.what != "mix" else "")
    left = 10 * MM if mix else 0.0
    room = wide - left - right - 2 * MM
    names = [tight(look, q.name, room)]
    names += [words(look, sentence(said), room, NOTE, colour=lk.QUIET)] if said else []
    amounts = words(look, told, right, READ, alignment=2, leading=3.5 * LINE)
    return snapped(beside(*chip, (left, stack(names)), (wide - right, amounts)), 1)


def _told(given: Given, q: Quantity) -> str:
    """'0.11 ml · 1.6 ml, 32 drops': for one casting and for the run; of resin, which is weighed, '26 g · 290 g'."""
    if q.what == "resin":
        # The grams told are those of the run; those of one casting are as many to the millilitre.
        one, run = (f"{number(v * q.grams / q.ml_run)} g" for v in (q.ml_per_casting, q.ml_run))
    else:
        one, run = ml(q.ml_per_casting), ml(q.ml_run)
    each = one if q.ml_per_casting and given.plan.run.castings > 1 else ""
    drops = f", {counted(q.drops, 'drop')}" if q.drops else ""
    return " · ".join(t for t in (each, run + drops) if t)


def _assumptions(given: Given) -> list[Block]:
    """The ten assumptions that matter most for this plan, the maker's own settings first; all stand in plan.json."""
    chosen = foremost(given.plan.assumptions, MOST_ASSUMPTIONS)
    rows = [snapped(_assumption(given, a), 1) for a in chosen]
    return _listed(given, "Assumptions", rows, "The ten that matter most here; all of them stand in plan.json.")


def _assumption(given: Given, a: Assumption) -> Block:
    look = given.look
    return rich(look, f"{look.mark(a.name)} {look.mark(amount(a.value, a.unit), 'strong')}", look.span(1, 2), NOTE)


def _cautions(given: Given) -> list[Block]:
    """The cautions that apply to this plan, in two columns of small type."""
    look, wide = given.look, given.look.span(1, 2)
    lines = [snapped(words(look, sentence(c), wide, NOTE), 2) for c in given.plan.cautions_short]
    return _listed(given, "Caution", lines, "In short; in full in plan.json, and printed by --sheets cautions.")
