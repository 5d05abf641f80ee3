"""The rules of the order, one ruling an edge: which of two touching areas is laid first, and why.

The first rule that applies settles the edge:
  wish     the maker said which colour of this edge goes first;
  first,   the maker flagged an area first or last on its part (these bind it to every other area of the part,
  last     touching or not);
  dot      a speck is set on top of what it touches; of two specks the larger goes first. Flagged, or enclosed in one
           neighbour and no longer or wider than DOT_MM, so that no brush can cut around it;
  blend    a shade is laid over the base it is shaded into, wet over dry;
  recess   a hollow before every neighbour that touches it and would close it off;
  lighter  the lighter colour first, so that the darker cuts over it;
  before   the maker wishes it, where it would be a tie (wishes.py);
  tie      under TIE_L apart in L*, either would do: more hiding later (contrast ratio of one coat, TIE_HIDING apart),
           then smaller later, then warmer first. A tie is kept while it costs no pass.
Lightness is that of the mix as it dries, not of the drawing. Two areas of one mix need no ruling: they are painted
straight across.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal

from finishplan.colour.lab import Lab
from finishplan.drawing.measure import DOT_MM
from finishplan.order.area_names import label
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge

TIE_L = 3.0
TIE_HIDING = 0.02
TIE_SIZE = 1.05
WARM_HUE_DEG = 55.0
"""Hue angle taken as the warmest (orange); warmth is a*b* projected on it."""


Tie = Literal["", "hiding", "size", "warmth"]


@dataclass(frozen=True)
class Look:
    """What the rules ask of an area's mix: index, L*a*b* as it dries, contrast ratio (0-1) of one coat."""

    mix: int
    lab: Lab
    hiding: float


@dataclass(frozen=True)
class Ruling:
    """`first` before `second` (area ids) by `rule`. edge: where they touch, None for a rule of the whole part.
    if_cut, else_so: how `why` goes on where the edge is cut, and where it is not. tie: by what a tie is settled."""

    first: int
    second: int
    rule: str
    why: str
    edge: SchemeEdge | None = None
    if_cut: str = ""
    else_so: str = ""
    tie: Tie = ""

    @property
    def pair(self) -> frozenset[int]:
        """The two areas."""
        return frozenset((self.first, self.second))


def is_dot(area: SchemeArea) -> bool:
    """Flagged dot, or too small to cut around; a recess, a shade or a bare area never is of itself."""
    if "dot" in area.flags:
        return True
    # A dot goes on top: it is none where it is to be painted before what is around it, or into it.
    if area.flags & {"recess", "blend", "bare", "first"}:
        return False
    return area.enclosed_by is not None and max(area.wide_mm, area.extent_mm) <= DOT_MM


def dots_of(scheme: Scheme) -> set[int]:
    """The areas set on as dots: those flagged, and those small enough where the maker wants none of their edges
    otherwise."""
    # A treatment of the maker's that is no dot says that the area is to be cut after all.
    wished = {i for e in scheme.edges if e.treat not in (None, "dot") for i in e.areas}
    return {a.id for a in scheme.areas if is_dot(a) and ("dot" in a.flags or a.id not in wished)}


def rulings(scheme: Scheme, looks: Mapping[int, Look]) -> Iterator[Ruling]:
    """A ruling for every edge of two painted areas of different mixes, then those of `first` and `last` beyond their
    edges."""
    areas = {a.id: a for a in scheme.areas}
    dots = dots_of(scheme)
    for edge in scheme.edges:
        a, b = (areas[i] for i in edge.areas)
        if a.id in looks and b.id in looks and looks[a.id].mix != looks[b.id].mix:
            yield _edge_ruling(a, b, edge, dots, looks)
    touching = {e.areas for e in scheme.edges}
    for part in scheme.parts:
        painted = [areas[i] for i in part.areas if i in looks]
        for a in painted:
            for b in painted:
                if a.id < b.id and (a.id, b.id) not in touching and looks[a.id].mix != looks[b.id].mix:
                    yield from _end_ruling(a, b, None)


def _edge_ruling(a: SchemeArea, b: SchemeArea, edge: SchemeEdge, dots: set[int], looks: Mapping[int, Look]) -> Ruling:
    if edge.first is not None:
        first, second = (a, b) if edge.first == a.id else (b, a)
        return Ruling(first.id, second.id, "wish", f"you asked for {label(first)} before {label(second)}", edge)
    # At most one: the generator ends with the first that applies.
    for ruling in _end_ruling(a, b, edge):
        return ruling
    if dots & {a.id, b.id}:
        # Of two specks the larger first, of equal ones the lighter, as everywhere.
        first, second = sorted((a, b), key=lambda x: (x.id in dots, -x.cm2, -looks[x.id].lab[0]))
        flagged = "as you flagged it" if "dot" in second.flags else f"only {second.wide_mm:.1f} mm wide"
        return Ruling(first.id, second.id, "dot", f"{label(second)} is dotted on over {label(first)}, {flagged}", edge)
    for base, shade in ((a, b), (b, a)):
        # A shade of a shade would have no base that is dry before it.
        if "blend" in shade.flags and shade.blend_into == base.id and "blend" not in base.flags:
            why = f"{label(shade)} is shaded over {label(base)} once that is dry"
            return Ruling(base.id, shade.id, "blend", why, edge)
    if ("recess" in a.flags) != ("recess" in b.flags):
        hollow, rim = (a, b) if "recess" in a.flags else (b, a)
        why = f"{label(hollow)} lies in a recess: reach it before {label(rim)} closes it off"
        return Ruling(hollow.id, rim.id, "recess", why, edge)
    return _by_lightness(a, b, edge, looks)


def _end_ruling(a: SchemeArea, b: SchemeArea, edge: SchemeEdge | None) -> Iterator[Ruling]:
    """The maker's first and last: against every area of the part without the same flag."""
    for x, y in ((a, b), (b, a)):
        # Two areas flagged alike are settled like any others.
        if "first" in x.flags and "first" not in y.flags:
            yield Ruling(x.id, y.id, "first", f"you asked for {label(x)} first of its part", edge)
            return
        if "last" in y.flags and "last" not in x.flags:
            yield Ruling(x.id, y.id, "last", f"you asked for {label(y)} last of its part", edge)
            return


def _by_lightness(a: SchemeArea, b: SchemeArea, edge: SchemeEdge, looks: Mapping[int, Look]) -> Ruling:
    light, dark = sorted((a, b), key=lambda x: -looks[x.id].lab[0])
    gap = looks[light.id].lab[0] - looks[dark.id].lab[0]
    if gap >= TIE_L:
        why = f"{label(light)} is lighter than {label(dark)} by {gap:.0f} L*"
        return Ruling(light.id, dark.id, "lighter", why, edge, ", so the darker cuts over it", ", so it goes first")
    hiding = looks[light.id].hiding - looks[dark.id].hiding
    tie: Tie = "warmth"
    if abs(hiding) >= TIE_HIDING:
        tie = "hiding"
        first, second = (light, dark) if hiding < 0 else (dark, light)
        why = f"as light as each other, {label(second)} hides better and goes over {label(first)}"
    elif max(a.cm2, b.cm2) > TIE_SIZE * min(a.cm2, b.cm2):
        tie = "size"
        first, second = sorted((a, b), key=lambda x: -x.cm2)
        why = f"as light as each other, {label(second)} is the smaller and goes after {label(first)}"
    else:
        first, second = sorted((light, dark), key=lambda x: -_warmth(looks[x.id].lab))
        why = f"as light as each other, {label(first)} is the warmer and goes before {label(second)}"
    return Ruling(first.id, second.id, "tie", why, edge, tie=tie)


def _warmth(lab: Lab) -> float:
    return lab[1] * cos(radians(WARM_HUE_DEG)) + lab[2] * sin(radians(WARM_HUE_DEG))
