"""Measuring by hand: pots in whole drops, pre-mixes step by step in whole drops, large pots by weight."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from finishplan.paint.model import Mix, Premix
from finishplan.paint.settings import DROP_ML
from finishplan.paint.shelf import let_down_steps

MOST_DROPS = 120
"""Beyond this a pot is weighed, not counted (6 ml; common practice)."""

MEASURE_ML = 0.5
"""Graduation of the cup or syringe for what is too much to count in drops (common practice)."""


FEW_DROPS = 3
"""Less than so many drops of a whole mix are not counted in drops (our rule)."""
BRUSH_LOAD_ML, TIP_ML = 0.03, 0.01
"""What a small round brush takes up, and what hangs on the tip of a toothpick (common practice)."""


@dataclass(frozen=True)
class Measured:
    """One pot of a mix in whole drops. each: drops for one part of the recipe; drops and ml of the whole pot."""

    each: int
    drops: int
    ml: float


def measured_pot(mix: Mix, ml: float, drop_ml: float = DROP_ML) -> Measured:
    """The smallest pot of whole drops that holds `ml` and keeps the recipe's whole parts."""
    parts = sum(i.parts for i in mix.recipe)
    # The small part taken off is for rounding: 3 drops, not 4 by the last digit.
    each = max(1, math.ceil(ml / (parts * drop_ml) - 1e-9))
    return Measured(each, each * parts, each * parts * drop_ml)


def small_unit(mix: Mix, ml: float, drop_ml: float = DROP_ML) -> tuple[str, float]:
    """In what a hand measures a mix of which so little is needed, and what one holds, ml: 'drops'; of less than
    FEW_DROPS the tip of a toothpick, where one for each part is enough, else the load of a brush."""
    if not 0 < ml < FEW_DROPS * drop_ml - 1e-9:
        return "drops", drop_ml
    parts = sum(i.parts for i in mix.recipe)
    return ("toothpick tips", TIP_ML) if parts * TIP_ML >= ml else ("brush loads", min(BRUSH_LOAD_ML, drop_ml))


def premix_drops(mixes: Sequence[Mix], each: Mapping[str, Sequence[int]]) -> dict[Premix, int]:
    """Drops of each pre-mix that all pots take. each: mix id -> drops a part of its pots."""
    drops: dict[Premix, int] = {}
    for m in mixes:
        for i in m.recipe:
            if i.premix is not None:
                drops[i.premix] = drops.get(i.premix, 0) + i.parts * sum(each[m.id])
    return drops


def let_down(premix: Premix, drops: int) -> tuple[tuple[int, int], ...]:
    """Drops in and drops of white, step by step, to have at least so many of the pre-mix: in the first step drops of
    the paint, then of what the step before made. No step is made more often than the next needs; what is left over
    keeps, covered."""
    rows: list[tuple[int, int]] = []
    # From the last step back: what it takes of the step before is what that must make.
    for into in reversed(let_down_steps(premix)):
        times = math.ceil(drops / (premix.parts + into))
        drops = times * premix.parts
        rows.insert(0, (drops, times * into))
    return tuple(rows)


def paint_drops(mixes: Sequence[Mix], each: Mapping[str, Sequence[int]]) -> dict[str, int]:
    """Drops of each paint that all pots take. each: mix id -> drops a part of its pots. A pre-mix is let down once for
    the run, step by step."""
    drops: dict[str, int] = {}
    for m in mixes:
        for i in m.recipe:
            if i.premix is None:
                drops[i.paint] = drops.get(i.paint, 0) + i.parts * sum(each[m.id])
    for premix, needed in premix_drops(mixes, each).items():
        steps = let_down(premix, needed)
        # The paint itself goes into the first step alone, what it is let down in into every one.
        for paint, taken in ((premix.paint, steps[0][0]), (premix.into, sum(white for _, white in steps))):
            drops[paint] = drops.get(paint, 0) + taken
    return drops


def contents(mix: Mix) -> dict[str, float]:
    """Parts of each paint, by id, in the mix itself, pre-mixes taken apart."""
    parts: dict[str, float] = {}
    for i in mix.recipe:
        shares = [(i.paint, 1.0)]
        if i.premix is not None:
            whole = i.premix.parts + i.premix.of
            shares = [(i.premix.paint, i.premix.parts / whole), (i.premix.into, i.premix.of / whole)]
        for id, share in shares:
            parts[id] = parts.get(id, 0.0) + i.parts * share
    return parts


def mix_density(mix: Mix, density: Mapping[str, float]) -> float:
    """g/ml of a mix, by the volumes of its paints. density: g/ml of each paint, by id."""
    parts = contents(mix)
    return sum(density.get(id, 1.2) * count for id, count in parts.items()) / sum(parts.values())


def pot_sizes(least: int, most: int, gram: float) -> str:
    """'12 to 60' drops, in grams where the largest pot is weighed; one figure where all are alike. gram: of one
    drop."""
    # By the largest, so that all pots of a mix are told in one unit.
    words = (f"{n * gram:.1f}" if most > MOST_DROPS else f"{n}" for n in (least, most))
    return " to ".join(dict.fromkeys(words))


def pot_note(pots: Sequence[Measured], gram: float) -> str:
    """How often and how much at a time; a pot too large to count in drops is weighed. gram: of one drop."""
    least, most = (pick(p.drops for p in pots) for pick in (min, max))
    heavy = most > MOST_DROPS
    if len(pots) == 1 and not heavy:
        return ""
    size = pot_sizes(least, most, gram)
    many = f"made {len(pots)} times, " if len(pots) > 1 else ""
    each = " each" if len(pots) > 1 else ""
    drops = "drop" if size == "1" else "drops"
    return f"{many}{size} g{each}: weigh it" if heavy else f"{many}{size} {drops}{each}"


def let_down_words(steps: Sequence[tuple[int, int]]) -> str:
    """'1 drop into 9, one of that into 4' for the steps of `let_down`."""
    (first, white), *more = steps
    words = [f"{first} drop{'s' if first > 1 else ''} into {white}"]
    return ", ".join(words + [f"{'one' if n == 1 else n} of that into {into}" for n, into in more])


def drops_ml(drops: int, drop_ml: float) -> float:
    """Drops as ml, without the dust of binary fractions."""
    return round(drops * drop_ml, 6)
