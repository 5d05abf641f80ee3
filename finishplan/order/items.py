"""From a scheme to the plain problem: items to lay, arcs between them, and the tables of coats everything is weighed
with.

An item is what one mix does to one area: colour it (with a neighbour that is worked in wet, where the maker asked for
a blended edge), shade it, dot it, or lay an undercoat. Items stand in an order made from what they are (part, colour,
size), so that the numbering of the drawing settles nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.hiding import Films, dabs_to_hide
from finishplan.colour.light import delta_e
from finishplan.job.settings import Gloss, Method
from finishplan.order.coats import BROAD_CM2, DOT_COATS, coat_mm, films
from finishplan.order.model import PassKind
from finishplan.order.problem import Arc, OrderProblem
from finishplan.order.rules import Look, Ruling, dots_of, rulings
from finishplan.order.wishes import BEFORE, with_wishes
from finishplan.paint.model import Box, Mix
from finishplan.scheme.model import Scheme, SchemeArea

WISH = 1000.0
"""A wish of the maker weighs this many times a rule of the trade: circles are broken elsewhere if they can be."""
PART_ORDER = 1e9
UNDERCOAT_MM = 0.5
"""How much finer than a colour's brush an undercoat counts: of two passes equally broad the undercoat comes first."""


PRIMER = -1
"""Stands for the primer where a ground is given as the index of a mix."""


class Need(NamedTuple):
    """What coats are counted and undercoats chosen for: a mix, the ground below (index of a mix, or PRIMER), whether
    dotted on, and the coats that are laid at least."""

    mix: int
    ground: int
    dot: bool
    least: int


@dataclass(frozen=True)
class Item:
    """One thing to lay. areas: the painted area first, then those worked into it wet; mix: index, those of spare
    undercoats follow the mixes'."""

    areas: tuple[int, ...]
    mix: int
    kind: PassKind
    part: str


@dataclass(frozen=True, eq=False)
class OrderInputs:
    """Everything that does not depend on the primer. over: (M, M) coats of one mix over another's dry colour; dabs:
    the same of a dot. seen: (M, 3) L*a*b* of the dry mixes; apart: (M, M) CIEDE2000 between them. kind: of each painted
    area; ground: the mix a dot or a shade is set on, else PRIMER. order: painted areas, in an order free of their
    numbers."""

    scheme: Scheme
    mixes: tuple[Mix, ...]
    mix_of: Mapping[int, int]
    box: Box
    method: Method
    finish: Gloss
    areas: Mapping[int, SchemeArea]
    films: Films
    over: NDArray[np.int64]
    dabs: NDArray[np.int64]
    seen: NDArray[np.float64]
    apart: NDArray[np.float64]
    rulings: tuple[Ruling, ...]
    kind: Mapping[int, PassKind]
    ground: Mapping[int, int]
    groups: Mapping[int, tuple[int, ...]]
    order: tuple[int, ...]
    copies: Mapping[str, int]

    def need(self, area: int) -> Need:
        """What an area's coats depend on."""
        # Shades are thin on purpose, and a dot is one bead: neither shows the marks of a brush.
        brushed = self.kind[area] == "colour" and self.areas[area].cm2 >= BROAD_CM2
        least = self.method.least_coats if brushed else 1
        return Need(self.mix_of[area], self.ground[area], self.kind[area] == "dot", least)


def order_inputs(
    scheme: Scheme, painted: tuple[Sequence[Mix], Mapping[int, int]], box: Box, method: Method, finish: Gloss
) -> OrderInputs:
    """Check what arrives and prepare it. painted: the mixes, and area id -> index into them. Raises InputError: an area
    without a mix, nothing to paint."""
    mixes, mix_of = painted
    areas = {a.id: a for a in scheme.areas}
    used, laid, mm = _used(scheme, mix_of), films(mixes, box, finish), coat_mm(method, "brush")
    seen = laid.seen(laid.opaque)
    looks = _looks(used, laid, mm)
    # By what they are, the area's number last of all: numbering a drawing anew must not change its order.
    order = tuple(sorted(used, key=lambda i: (areas[i].part, -looks[i].lab[0], looks[i].lab, *_shape(areas[i]), i)))
    settled = with_wishes(tuple(rulings(scheme, looks)), scheme, looks)
    groups, dots = _wet_groups(scheme, used, order), dots_of(scheme)
    kind = {i: _kind(areas[i], dots, settled, groups[i]) for i in order}
    dabs = dabs_to_hide(laid.curves(laid.opaque, DOT_COATS * mm))
    return OrderInputs(
        scheme=scheme,
        mixes=tuple(mixes),
        mix_of=used,
        box=box,
        method=method,
        finish=finish,
        areas=areas,
        films=laid,
        over=laid.coats(laid.opaque, mm),
        dabs=dabs,
        seen=seen,
        apart=delta_e(seen[:, None], seen[None]),
        rulings=settled,
        kind=kind,
        ground={i: _ground(areas[i], kind[i], used, settled, dabs) for i in order},
        groups=groups,
        order=order,
        copies={p.name: p.copies for p in scheme.parts},
    )


def _looks(mix_of: Mapping[int, int], laid: Films, mm: float) -> dict[int, Look]:
    """Of each painted area what the rules ask of its mix."""
    labs, contrast = laid.seen(laid.opaque).tolist(), laid.contrast(mm).tolist()
    return {i: Look(m, (labs[m][0], labs[m][1], labs[m][2]), contrast[m]) for i, m in mix_of.items()}


def painted_areas(scheme: Scheme) -> list[SchemeArea]:
    """The areas that are not left bare. Raises InputError where there is none."""
    painted = [a for a in scheme.areas if "bare" not in a.flags]
    if not painted:
        raise InputError("every area is left bare", key="areas", cure="take the flag 'bare' off one")
    return painted


def _used(scheme: Scheme, mix_of: Mapping[int, int]) -> dict[int, int]:
    """The mixes of the areas to paint, once it is sure that they can be painted."""
    painted = painted_areas(scheme)
    lost = [a.id for a in painted if a.id not in mix_of]
    if lost:
        raise InputError(f"area {lost[0]} has no mix", cure="give it a target colour or flag it 'bare'")
    torn = [a.id for a in painted if {"first", "last"} <= a.flags]
    if torn:
        raise InputError(f"area {torn[0]} is flagged both first and last", key=f"areas.{torn[0]}", cure="keep one")
    return {a.id: mix_of[a.id] for a in painted}


def _kind(area: SchemeArea, dots: set[int], settled: Sequence[Ruling], group: Sequence[int]) -> PassKind:
    """A shade is one only where it touches its base and comes after it."""
    if len(group) > 1:
        return "colour"
    if area.id in dots:
        return "dot"
    over = any(r.edge and (r.first, r.second) == (area.blend_into, area.id) for r in settled)
    return "blend" if "blend" in area.flags and over else "colour"


def _ground(
    area: SchemeArea,
    kind: PassKind,
    mix_of: Mapping[int, int],
    settled: Sequence[Ruling],
    dabs: NDArray[np.int64],
) -> int:
    """The mix a dot or a shade is set on: of several neighbours the one hardest to hide."""
    own = mix_of[area.id]
    if kind == "blend" and area.blend_into is not None:
        return mix_of[area.blend_into]
    under = {mix_of[r.first] for r in settled if r.second == area.id and r.edge is not None}
    if kind == "dot" and under:
        return max(sorted(under), key=lambda m: int(dabs[own, m]))
    return PRIMER


def _shape(area: SchemeArea) -> tuple[float, float, float, str]:
    return (-area.cm2, -area.wide_mm, -area.narrow_mm, area.hex)


def _wet_groups(scheme: Scheme, mix_of: Mapping[int, int], order: Sequence[int]) -> dict[int, tuple[int, ...]]:
    """For each painted area the areas laid wet in wet with it, the broadest first: joined by edges the maker wants
    blended."""
    joined = {i: [i] for i in order}
    for edge in scheme.edges:
        a, b = edge.areas
        # `is not`: areas joined before share one list, which must not be added to itself.
        if edge.treat == "blend" and a in joined and b in joined and joined[a] is not joined[b]:
            joined[a] += joined[b]
            for i in joined[b]:
                joined[i] = joined[a]
    areas = {a.id: a for a in scheme.areas}
    place = {i: p for p, i in enumerate(order)}
    return {i: tuple(sorted(g, key=lambda j: (-areas[j].cm2, place[j]))) for i, g in joined.items()}


def items_of(given: OrderInputs, undercoats: Mapping[Need, int]) -> tuple[Item, ...]:
    """Everything to lay, given for each need that gets an undercoat the index of the mix it is made of."""
    items = []
    for i in given.order:
        group = given.groups[i]
        if group[0] == i:
            items.append(Item(group, given.mix_of[i], given.kind[i], given.areas[i].part))
        if given.kind[i] != "blend" and given.need(i) in undercoats:
            items.append(Item((i,), undercoats[given.need(i)], "undercoat", given.areas[i].part))
    return tuple(items)


def problem_of(
    given: OrderInputs, items: Sequence[Item], lightness: Sequence[float]
) -> tuple[OrderProblem, tuple[Ruling | None, ...], tuple[Ruling, ...]]:
    """The problem, and the rulings its arcs and its ties stand for (None: an undercoat or the order of parts).
    lightness: L* of every mix that an item names."""
    rank = {m: r for r, m in enumerate(dict.fromkeys(item.mix for item in items))}  # free of the drawing's numbers
    lays = {j: k for k, item in enumerate(items) if item.kind != "undercoat" for j in item.areas}
    arcs: list[tuple[Arc, Ruling | None]] = []
    ties: list[tuple[Arc, Ruling]] = []
    for ruling in given.rulings:
        first, second = lays[ruling.first], lays[ruling.second]
        # Worked in wet: both are one item, and no order between them is left.
        if first == second:
            continue
        wish = ruling.rule == BEFORE
        # Only an edge can be recut; `first` and `last` of a part have none.
        arc = Arc(first, second, _weight(given, ruling), ruling.edge is not None, wish)
        if ruling.rule in ("tie", BEFORE):
            ties.append((arc, ruling))
        else:
            arcs.append((arc, ruling))
    for k, item in enumerate(items):
        if item.kind == "undercoat":
            arcs += [(arc, None) for arc in _undercoat_arcs(given, k, item.areas[0], lays)]
    arcs += [(arc, None) for arc in _part_arcs(given, items)]
    # Sorted, since the rulings come in the order of the drawing's edges.
    arcs.sort(key=lambda pair: (pair[0].first, pair[0].second))
    ties.sort(key=lambda pair: (pair[0].first, pair[0].second))
    return (
        OrderProblem(
            mix=tuple(rank[item.mix] for item in items),
            breadth=tuple(_breadth(given, item) for item in items),
            lightness=tuple(lightness[m] for m in rank),
            arcs=tuple(a for a, _ in arcs),
            ties=tuple(a for a, _ in ties),
        ),
        tuple(r for _, r in arcs),
        tuple(r for _, r in ties),
    )


def _weight(given: OrderInputs, ruling: Ruling) -> float:
    """mm of edge x coats to lay the second colour again over the first; a wish counts WISH times that."""
    factor = WISH if ruling.rule in ("wish", "first", "last") else 1.0
    if ruling.edge is None:
        return factor
    coats = int(given.over[given.mix_of[ruling.second], given.mix_of[ruling.first]])
    # An edge of no measured length is still not free to break.
    return factor * max(ruling.edge.length_mm, 0.1) * min(coats, given.method.max_coats)


def _undercoat_arcs(given: OrderInputs, item: int, area: int, lays: Mapping[int, int]) -> list[Arc]:
    """An undercoat before what covers it; that of a dot, after what the dot is set on."""
    below = [r for r in given.rulings if r.second == area and r.edge is not None and given.kind[area] == "dot"]
    # The dot's own undercoat must not be laid before what the dot sits on, which would cover it.
    set_on = [Arc(lays[r.first], item, _weight(given, r), False) for r in below]
    return [Arc(item, lays[area], PART_ORDER, False), *set_on]


def _part_arcs(given: OrderInputs, items: Sequence[Item]) -> list[Arc]:
    after = {p.name: p.after for p in given.scheme.parts}
    return [
        Arc(k, j, PART_ORDER, False)
        for j, later in enumerate(items)
        for k, sooner in enumerate(items)
        if sooner.part in after.get(later.part, ())
    ]


def _breadth(given: OrderInputs, item: Item) -> float:
    if given.kind[item.areas[0]] == "dot":
        return 0.0
    wide = max(given.areas[i].wide_mm for i in item.areas)
    return wide + (UNDERCOAT_MM if item.kind == "undercoat" else 0.0)
