"""The whole order over one primer: undercoats, passes and all that follows. The cheapest draft is the plan."""

from collections.abc import Mapping, Sequence

from finishplan.finish.build import Frame, Item, Need, items_of, problem_of
from finishplan.finish.coats import (
    DOT_COATS,
    Bare,
    Undercoat,
    coat_mm,
    films,
    spare_undercoats,
    undercoat_for,
)
from finishplan.finish.lay import Draft, Drafting, Inside, Solved, ground_of
from finishplan.finish.model import Tool
from finishplan.finish.passes import solve
from finishplan.finish.primer import Tone
from finishplan.paint.model import Mix


class Orders:
    """What drafts share, by what it depends on: orders already solved (primers that ask for the same undercoats have
    one), the undercoats and the insides of areas over each primer."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.known = frame, dict[tuple[bool, tuple[tuple[Need, int], ...]], Solved]()
        self.spare = spare_undercoats(frame.box, frame.finish)
        self.beds: dict[str, dict[Need, Undercoat]] = {}
        self.insides: dict[str, dict[tuple[Need, Tool, Undercoat | None], Inside]] = {}

    def undercoats(self, tone: Tone) -> dict[Need, Undercoat]:
        """The undercoats over a primer."""
        if tone.name not in self.beds:
            self.beds[tone.name] = _undercoats(self.frame, tone, self.spare)
        return self.beds[tone.name]

    def solved(self, undercoats: Mapping[Need, int], rough: bool) -> Solved:
        """The order given, for each need with an undercoat, the mix that is laid under it. rough: a quick one."""
        key = rough, tuple(sorted(undercoats.items()))
        if key not in self.known:
            items = items_of(self.frame, undercoats)
            problem, behind, ties = problem_of(self.frame, items)
            solution = solve(problem, 0 if rough else None)
            recut = tuple(r for k in solution.recuts if (r := behind[k]) is not None)
            waived = tuple(r for k in solution.broken if k not in solution.recuts and (r := behind[k]) is not None)
            again = tuple(
                Item((r.second,), self.frame.mix_of[r.second], "recut", self.frame.areas[r.second].part) for r in recut
            )
            dropped = tuple(ties[k] for k in solution.dropped)
            self.known[key] = Solved((*items, *again), solution, recut, waived, dropped)
        return self.known[key]


def draft(frame: Frame, tone: Tone, orders: Orders, rough: bool = False) -> Draft:
    """Everything over the primer `tone`; rough: with a quick order, that may have passes too many."""
    mixes = (*frame.mixes, *orders.spare)
    undercoats = orders.undercoats(tone)
    index = {m.id: k for k, m in enumerate(mixes)}
    solved = orders.solved({need: index[u.by.id] for need, u in undercoats.items()}, rough)
    return Drafting(frame, tone, undercoats, mixes, solved, orders.insides.setdefault(tone.name, {})).draft()


def _undercoats(frame: Frame, tone: Tone, spare: Sequence[Mix]) -> dict[Need, Undercoat]:
    """For each mix and ground that is better off with one, its undercoat; shades go without."""
    if not frame.method.undercoat:
        return {}
    found = {}
    in_use = [frame.mixes[k] for k in sorted(set(frame.mix_of.values()))]
    for need in sorted({frame.need(i) for i in frame.order if frame.kind[i] != "blend"}):
        m, _, speck = need
        mm = coat_mm(frame.method, "brush") * (DOT_COATS if speck else 1)
        ground = ground_of(frame, tone, need)
        alone = frame.films.one(m).needed(ground[None], mm, speck)[0, 0]
        undercoat = undercoat_for(
            Bare(frame.mixes[m], ground, mm, int(alone), speck),
            in_use,
            spare,
            lambda mixes: films(mixes, frame.box, frame.finish),
            frame.method.max_coats,
        )
        if undercoat is not None:
            found[need] = undercoat
    return found
