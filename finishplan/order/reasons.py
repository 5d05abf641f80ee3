"""Why a pass stands where it stands: a few lines a painter would nod at, naming areas by number and name."""

from collections.abc import Mapping, Sequence

from finishplan.basics.words import counted
from finishplan.colour.hiding import CLOSE, HIDDEN
from finishplan.order.area_names import label, listed
from finishplan.order.model import AreaCoats, EdgeOrder, Pass
from finishplan.scheme.model import SchemeArea

_TIES = {
    "hiding": ("which {0} better and {1} over it", "hides better"),
    "size": ("but larger: {2} over it", "but smaller"),
    "warmth": ("but warmer: {2} over it", "but less warm"),
}
"""What settled a tie -> how the first and the second of the edge say it."""


def pass_reasons(
    one: Pass,
    passes: Sequence[Pass],
    edges: Sequence[EdgeOrder],
    coats: Mapping[int, AreaCoats],
    areas: Mapping[int, SchemeArea],
) -> tuple[str, ...]:
    """One line each: what kind of pass it is, what it waits for, what waits for it, why the mix is opened again."""
    lines = [_opened_again(one, passes, edges, areas), *_kinds(one, coats, areas), *_place(one, edges, areas)]
    lines += [*_ties(one, edges, areas), *_after_recess(one, edges, areas), *_exceptions(one, edges)]
    lines.append(_shared(one))
    # Two edges may give one and the same line.
    kept = tuple(dict.fromkeys(line for line in lines if line))
    return kept or (_alone(one, edges, areas),)


def coats_reason(told: AreaCoats, noun: str, over: str, under: str) -> str:
    """One line on the coats of an area. noun: coat or dab; over: what they lie on; under: the undercoat's name."""
    inside, left = told.coats - told.edge_coats, told.curve[-1]
    laid, off = counted(inside, noun), f"{left:.1f} from the full colour"
    if told.enough_coats < inside:
        why = f"{counted(told.enough_coats, noun)} would hide the {over}, but fewer than {inside} show brush marks"
    elif left > CLOSE:
        why = f"even {laid} let the {over} show: {off}"
    elif left <= HIDDEN:
        why = f"{laid} {'hides' if inside == 1 else 'hide'} the {over}: {off}, less than the eye sees"
    elif noun == "dab":
        why = f"{laid} over the {over}: {off}, near enough for a speck"
    else:
        why = f"{laid} over the {over} {'lies' if inside == 1 else 'lie'} even, {off}"
    if under:
        why += f"; {counted(told.undercoat_coats, noun)} of {under} under it, {told.saves} fewer in all"
    if told.edge_coats:
        why += f"; {counted(told.edge_coats, 'more coat')} only along the cut"
    return why


def _names(ids: Sequence[int], areas: Mapping[int, SchemeArea]) -> str:
    return listed(label(areas[i]) for i in sorted(set(ids)))


def _of(one: Pass, kind: str) -> list[int]:
    return [w.area for w in one.work if w.kind == kind]


def _kinds(one: Pass, coats: Mapping[int, AreaCoats], areas: Mapping[int, SchemeArea]) -> list[str]:
    lines = []
    if under := _of(one, "undercoat"):
        for saved in sorted({coats[i].saves for i in under}, reverse=True):
            alike = [i for i in under if coats[i].saves == saved]
            lines.append(f"undercoat for {_names(alike, areas)}: spares {counted(saved, 'coat')} there")
    if dots := _of(one, "dot"):
        noun = "a dot" if len(set(dots)) == 1 else "dots"
        lines.append(f"{_names(dots, areas)}: {noun} added on top once the colour around is dry")
    if shades := _of(one, "blend"):
        lines.append(f"{_names(shades, areas)}: shading, thin, over the dry base")
    if again := _of(one, "recut"):
        lines.append(f"{_names(again, areas)}: touch up the line, where the rules contradict each other")
    if wet := [w.area for w in one.work if w.mix]:
        lines.append(f"{_names(wet, areas)}: worked in while this colour is wet")
    return lines


def _place(one: Pass, edges: Sequence[EdgeOrder], areas: Mapping[int, SchemeArea]) -> list[str]:
    """What it must precede and what it follows, by the rules of the recess and of lightness."""
    laid, lines = set(_coloured(one)), []
    # Areas of one pass have no order among each other, so only later passes count.
    ahead = [e for e in edges if e.first in laid and e.pass_no > one.no and e.rule in ("recess", "lighter")]
    behind = [e for e in edges if e.second in laid and e.first not in laid and e.pass_no == one.no]
    if hollow := [e for e in ahead if e.rule == "recess"]:
        firsts, rims = ([getattr(e, side) for e in hollow] for side in ("first", "second"))
        verb = "lies" if len(set(firsts)) == 1 else "lie"
        lines.append(f"{_names(firsts, areas)} {verb} in a recess: before {_names(rims, areas)} beside it")
    for cut in (True, False):
        if later := [e.second for e in ahead if _by_lightness(e, cut)]:
            one_later = len(set(later)) == 1
            they = ("it cuts" if one_later else "they cut") + " over it later" if cut else "laid before"
            lines.append(f"lighter than {_names(later, areas)}: {they}")
        if darker := [e.first for e in behind if _by_lightness(e, cut)]:
            edge = "its dried edge" if len(set(darker)) == 1 else "their dried edges"
            they = f"cuts the line over {edge}" if cut else "laid after"
            lines.append(f"darker than {_names(darker, areas)}: {they}")
    return lines


def _ties(one: Pass, edges: Sequence[EdgeOrder], areas: Mapping[int, SchemeArea]) -> list[str]:
    """What goes over it, and what it goes over, where the two are as light as each other."""
    laid, lines = set(_coloured(one)), []
    for settled, (as_first, as_second) in _TIES.items():
        ties = [e for e in edges if e.rule == "tie" and not e.reversed_rule and e.tie == settled]
        if over := {e.second for e in ties if e.first in laid and e.pass_no > one.no}:
            names, few = _names([*over], areas), len(over) == 1
            told = as_first.format(*(("hides", "goes", "that goes") if few else ("hide", "go", "those go")))
            lines.append(f"as light as {names}, {told}")
        if under := {e.first for e in ties if e.second in laid and e.first not in laid and e.pass_no == one.no}:
            lines.append(f"goes over {_names([*under], areas)}: as light, {as_second}")
    return lines


def _by_lightness(edge: EdgeOrder, cut: bool) -> bool:
    """Settled by the rule of lightness, and a line is cut there, or none is."""
    return edge.rule == "lighter" and not edge.reversed_rule and (edge.treat == "cut") == cut


def _after_recess(one: Pass, edges: Sequence[EdgeOrder], areas: Mapping[int, SchemeArea]) -> list[str]:
    """What waited for a hollow though it is the lighter."""
    rims = [e for e in edges if e.pass_no == one.no and e.rule == "recess" and e.reversed_rule and e.treat != "recut"]
    if not rims:
        return []
    later, hollows = ([getattr(e, side) for e in rims] for side in ("second", "first"))
    return [f"{_names(later, areas)} after the recess beside, {_names(hollows, areas)}, though lighter"]


def _exceptions(one: Pass, edges: Sequence[EdgeOrder]) -> list[str]:
    """The reasons of edges made here against the rule of lightness, or by the maker's wish; dots, shades and recesses
    have their own lines."""
    odd = [e for e in edges if e.pass_no == one.no and (e.reversed_rule or e.rule in ("wish", "first", "last"))]
    # A pass of recuts has no line of its own on recesses.
    told = ("dot", "blend") if one.kind == "recut" else ("dot", "blend", "recess")
    return [e.why for e in odd if e.rule not in told or e.treat == "recut"][:3]


def _opened_again(
    one: Pass, passes: Sequence[Pass], edges: Sequence[EdgeOrder], areas: Mapping[int, SchemeArea]
) -> str:
    sooner = [p.no for p in passes if p.no < one.no and p.mix == one.mix]
    if not sooner:
        return ""
    laid = set(_coloured(one)) or set(one.areas)
    waits = [e.first for e in edges if e.second in laid and e.pass_no == one.no and e.first not in laid]
    # Only what came between the two openings can have been waited for.
    between = [i for i in waits if any(sooner[-1] < p.no < one.no and i in p.areas for p in passes)]
    if between:
        return f"opened again: {_names(_coloured(one) or one.areas, areas)} had to wait for {_names(between, areas)}"
    return f"opened again after pass {sooner[-1]}: what is laid here was not due then"


def _coloured(one: Pass) -> list[int]:
    """Areas that get their own colour here, not an undercoat."""
    return [w.area for w in one.work if w.kind != "undercoat"]


def _shared(one: Pass) -> str:
    parts = dict.fromkeys(w.part for w in one.work)
    return f"one mix on {counted(len(parts), 'part')} at once: {listed(parts)}" if len(parts) > 1 else ""


def _alone(one: Pass, edges: Sequence[EdgeOrder], areas: Mapping[int, SchemeArea]) -> str:
    """A pass that no rule above places: only dots, shades or a line given up may wait for it."""
    later = [e.second for e in edges if e.first in one.areas and e.second not in one.areas and e.pass_no > one.no]
    none = f"only {_names(later, areas)} for it" if later else "none for it"
    return f"it waits for no colour and {none}: its turn comes from light to dark over the whole figure"
