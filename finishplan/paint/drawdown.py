"""The maker's own drawdown: how well their paint hides a black bar, which sets how opaque the paints of the box are.

Relative measurements fix colours and tints, not how thick a film must be to hide. K and S of a paint times one factor
are the same paint, more or less of it in the film. The factor follows from what the maker saw: the thin coats after
which a black bar on white no longer shows, or the dry film in um that hides it completely (contrast ratio 0.98).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.words import counted
from finishplan.colour.film import opaque
from finishplan.colour.hiding import Films
from finishplan.paint.model import ColourTable, Paint, Scale
from finishplan.paint.table import number_at, text_at

_KEYS = ("of", "coats", "um")
_LARGEST_FACTOR = 20.0
"""A paint this many times as opaque as the table's, or as thin, is a slip of the pen (our rule)."""


@dataclass(frozen=True)
class Drawdown:
    """What the maker saw of one paint (id): its K and S are `times` those of the table. told: in words."""

    paint: str
    times: float
    told: str


def read_drawdowns(
    entries: Sequence[dict[str, Any]],
    find: Callable[[str, str], Paint],
    k: tuple[float, float],
    um: float,
    where: str,
) -> tuple[Drawdown, ...]:
    """The [[drawdown]] tables of a box file. find: the paint of a name, told where it stands; k: Saunderson's k1, k2;
    um: dry film of one of the maker's coats. Raises InputError."""
    found: dict[str, Drawdown] = {}
    for number, entry in enumerate(entries, start=1):
        at = f"{where}, drawdown {number}"
        if wrong := next((key for key in entry if key not in _KEYS), None):
            raise InputError(f"unknown key '{wrong}'", where=at, cure=nearest(wrong, _KEYS))
        paint = find(text_at(entry, "of", where=at), f"{at}: of")
        if paint.id in found:
            raise InputError(f"a second drawdown of '{paint.id}'", where=at, cure="keep one of the two")
        # Equal where both are given, or neither.
        if ("coats" in entry) == ("um" in entry):
            raise InputError("needs 'coats' or 'um'", where=at, cure="write one of them, as coats = 3")
        found[paint.id] = _read(paint, entry, k, um, at)
    return tuple(found.values())


def _read(paint: Paint, entry: dict[str, Any], k: tuple[float, float], um: float, at: str) -> Drawdown:
    films = Films(paint.K[None], paint.S[None], opaque(paint.K, paint.S)[None], *k)
    if "um" in entry:
        seen = number_at(entry, "um", (1.0, 2000.0), where=at)
        # Twice as opaque hides with half the film. 1000: um in a mm.
        times = 1000 * float(films.hiding_mm()[0]) / seen
        told = f"a film of {seen:g} um hides a black bar"
    else:
        coats = round(number_at(entry, "coats", (1, 20), where=at))
        times = _times(1000 * float(films.bar_gone_mm()[0]) / um, coats)
        told = f"{counted(coats, 'thin coat')} {'hides' if coats == 1 else 'hide'} a black bar"
    if not 1 / _LARGEST_FACTOR <= times <= _LARGEST_FACTOR:
        raise InputError(
            f"{told}: {times:.2g} times the opacity of the table's {paint.name}", where=at, cure="check the figure"
        )
    return Drawdown(paint.id, times, f"your drawdown of {paint.name}: {told}")


def _times(needed: float, coats: int) -> float:
    """The factor for a bar that is gone after `coats`, not one sooner, where the table says `needed` coats, a fraction
    allowed: 1 where that agrees, else the geometric middle of all that do; of one coat the least."""
    low, high = needed / coats, needed / (coats - 1) if coats > 1 else np.inf
    if low <= 1 < high:
        return 1.0
    return float(low) if coats == 1 else float(np.sqrt(low * high))


def rescaled(table: ColourTable, paints: Sequence[Paint], seen: Sequence[Drawdown]) -> tuple[ColourTable, list[Paint]]:
    """The table and these paints, as opaque as the drawdowns say: each paint by its own, all others by their geometric
    mean."""
    if not seen:
        return table, list(paints)
    own = {d.paint: d.times for d in seen}
    # In logarithms, so that one paint twice as opaque and one half as opaque leave the others alone.
    others = float(np.exp(np.mean(np.log([*own.values()]))))

    def again(paint: Paint) -> Paint:
        times = own.get(paint.id, others)
        return replace(paint, K=times * paint.K, S=times * paint.S)

    # A table given in 1/mm has no scale of its own: the first paint drawn down gives it one.
    of = table.scale.of if table.scale else seen[0].paint
    before = table.scale.times if table.scale else 1.0
    times = own.get(of, others)
    per_mm = times * next(float(p.S.mean()) for p in (*table.paints, *paints) if p.id == of)
    # No range is left to believe: the maker has measured it.
    scale = Scale(of, per_mm, per_mm, per_mm, times * before, "; ".join(d.told for d in seen))
    return replace(table, paints=tuple(map(again, table.paints)), scale=scale), list(map(again, paints))
