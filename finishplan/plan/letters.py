"""Mixes lettered in the order in which they are opened, so that the card, the pots and the passes run A, B, C."""

from dataclasses import replace

from finishplan.order.model import PaintingOrder
from finishplan.plan.plan import Mixes


def lettered(mixes: Mixes, order: PaintingOrder) -> tuple[Mixes, PaintingOrder]:
    """The mixes in the order of their first pass, under the same ids given out anew, and the order with these ids.
    Mixes that no pass opens, as none should be, come last. Those shared with other figures keep their letters."""
    if mixes.shared:
        return mixes, order
    opened = dict.fromkeys(id for p in order.passes for id in (p.mix, *p.also_open))
    place = {id: k for k, id in enumerate(opened)}
    # By place, then as they were: the same input gives the same letters.
    old = sorted(range(len(mixes.mixes)), key=lambda k: (place.get(mixes.mixes[k].id, len(place)), k))
    new = {k: n for n, k in enumerate(old)}
    ids = {mixes.mixes[k].id: mixes.mixes[n].id for k, n in new.items()}
    again = tuple(replace(mixes.mixes[k], id=mixes.mixes[n].id) for n, k in enumerate(old))
    of = tuple((area, new[k]) for area, k in mixes.mix_of)
    return replace(mixes, mixes=again, mix_of=of), _renamed(order, ids)


def _renamed(order: PaintingOrder, ids: dict[str, str]) -> PaintingOrder:
    """The order with every mix under its new id; undercoats that the order adds keep theirs."""

    def name(id: str) -> str:
        return ids.get(id, id)

    passes = tuple(
        replace(
            p,
            mix=name(p.mix),
            also_open=tuple(map(name, p.also_open)),
            work=tuple(replace(w, mix=name(w.mix)) for w in p.work),
        )
        for p in order.passes
    )
    coats = tuple(
        replace(c, mix=name(c.mix), ground=name(c.ground), undercoat=None if c.undercoat is None else name(c.undercoat))
        for c in order.coats
    )
    return replace(order, passes=passes, coats=coats)
