"""What happens at every edge: which colour is first, which second, and how the line is made.

  cut    the drawn line: the first colour laps a little under it, thinned out so that no ridge shows, and the second
         makes it;
  lap    no line is needed (one mix on both sides, or two that differ by less than SAME): the second simply runs over
         the first;
  dot    the second is set on top;
  blend  soft: the second is feathered into the first, wet in wet or over the dry colour;
  recut  the rules run in a circle here: what was laid too early is laid again along this edge.
The first colour laps under the line only where the second hides it in no more coats than are allowed; else it stops
at the line.
"""

from dataclasses import dataclass

from finishplan.basics.words import counted
from finishplan.job.settings import Treat
from finishplan.order.area_names import label
from finishplan.order.rules import Ruling
from finishplan.scheme.model import SchemeArea, SchemeEdge

SAME = 3.0
"""CIEDE2000 under which two colours side by side need no crisp line (common practice)."""

_ASKED = {
    "cut": "{second} makes a clean line against {first}",
    "lap": "{second} runs over the edge of {first}, no line is cut",
    "dot": "{second} is set on top of {first}",
    "blend": "{second} is feathered into {first}",
}
"""What the maker's own treatment of an edge comes to."""


@dataclass(frozen=True)
class EdgeFacts:
    """What is known once the order stands. over: coats of the second over the first's dry colour; inside: its coats
    over its own ground; apart: CIEDE2000 of the two; None, 0, 0 where a side is bare. wet: both in one pass, wet in
    wet."""

    first: SchemeArea
    second: SchemeArea
    edge: SchemeEdge
    ruling: Ruling | None
    kept: bool
    recut: bool
    dot: bool
    wet: bool
    bare: bool
    over: int | None
    inside: int
    apart: float
    lighter_last: bool


def treatment(facts: EdgeFacts) -> Treat:
    """The one treatment of an edge; the maker's own wish goes before all but a recut and a bare side."""
    # A recut is due whatever was wished: the rules could not be kept there.
    if facts.recut:
        return "recut"
    if facts.bare:
        return "cut"
    if facts.edge.treat is not None:
        return facts.edge.treat
    if facts.dot:
        return "dot"
    # None: one mix on both sides, or both wet: there is nothing that could show through a line.
    if facts.over is None:
        return "lap"
    if facts.edge.soft or (facts.ruling is not None and facts.ruling.rule == "blend"):
        return "blend"
    return "lap" if facts.apart < SAME else "cut"


def lap_and_edge_coats(facts: EdgeFacts, treat: Treat, lap_mm: float, most: int) -> tuple[float, int]:
    """(mm the first runs under the line, coats the second needs at the line alone)."""
    if treat not in ("cut", "lap", "recut") or facts.over is None or facts.bare:
        return 0.0, 0
    # `inside` may be more than the most allowed: those coats are laid anyway and hide the line too.
    if facts.over > max(most, facts.inside):
        return 0.0, 0
    # Half its width at most: laps from both sides would meet in the middle, and all of it lie on a foreign ground.
    room = min(lap_mm, facts.second.narrow_mm / 2)
    return round(room, 2), max(0, facts.over - facts.inside)


def reason(facts: EdgeFacts, treat: Treat, lap_mm: float, edge_coats: int) -> str:
    """One line: the rule that put the first first, and what follows at the line."""
    first, second = label(facts.first), label(facts.second)
    if facts.bare:
        return f"{first} stays bare: bring {second} cleanly up to it"
    if facts.ruling is None:
        alike = f"{first} and {second} share one mix"
        return f"{alike}; {_asked(facts)}" if treat != "lap" else f"{alike}: paint straight across"
    if facts.wet:
        return f"{second} is worked into {first} while both are wet, as you asked"
    why = facts.ruling.why + facts.ruling.if_cut
    if facts.recut:
        return (
            f"{why}, but the rules contradict each other here: touch up {label_of(facts.ruling, facts)} along this edge"
        )
    if treat != "cut":
        why = facts.ruling.why + facts.ruling.else_so
    if not facts.kept:
        why = f"{why}; given up, it would cost another pass or go against your wish"
    # Only where it adds something: that a dot is dotted, a shade blended, the rule says.
    if facts.edge.treat == treat != facts.ruling.rule:
        why = f"{why}; {_asked(facts)}"
    if not facts.kept:
        return why
    if treat == "cut" and lap_mm == 0:
        return f"{why}; {second} would not hide it, so stop {first} at the line"
    if edge_coats:
        return f"{why}; that takes {counted(edge_coats, 'more coat')} along the cut edge only"
    return why


def _asked(facts: EdgeFacts) -> str:
    words = _ASKED[facts.edge.treat or "cut"]
    return words.format(first=label(facts.first), second=label(facts.second)) + ", as you asked"


def label_of(ruling: Ruling, facts: EdgeFacts) -> str:
    """The area that had to wait and could not: the ruling's second."""
    return label(facts.first if ruling.second == facts.first.id else facts.second)
