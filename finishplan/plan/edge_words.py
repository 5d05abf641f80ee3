"""What a pass does at each edge: which lines it cuts, which it laps over, and both in words."""

from collections.abc import Iterable, Sequence

from finishplan.basics.words import listed
from finishplan.order.model import EdgeOrder, Pass, PassKind, PassWork

Pair = tuple[int, int]


def edge_marks(laid: Pass, edges: Sequence[EdgeOrder], work: Iterable[PassWork]) -> tuple[tuple[Pair, ...], ...]:
    """(edges to cut, edges to lap over or shade into) of what a pass does on some areas, each pair ascending."""
    kinds = {w.area: w.kind for w in work}
    cut, soft = [], []
    for edge in edges:
        own = set(edge.areas) & set(kinds)
        done = {_at(edge, area, laid, kinds[area], frozenset(kinds)) for area in own}
        if done & {"cut", "recut"}:
            cut.append(edge.areas)
        elif done & {"thin", "lap", "blend", "across"}:
            soft.append(edge.areas)
    return tuple(sorted(cut)), tuple(sorted(soft))


def _at(edge: EdgeOrder, area: int, laid: Pass, kind: PassKind, together: frozenset[int]) -> str:
    """What to do on this side of one edge in this pass, a key of _WORDS; '' where there is nothing to do."""
    made_here = edge.pass_no == laid.no or edge.areas in laid.edges
    if kind == "recut":
        return "recut" if edge.treat == "recut" and made_here else ""
    # Both sides in one pass and one soft border: no line is needed, and it is told once, on the second colour.
    if together >= set(edge.areas) and edge.treat == "lap":
        return "across" if edge.second == area else ""
    # Undercoats and dots are no colour at the line, unless that is shaded.
    if edge.first == area:
        return "" if kind in ("undercoat", "dot") and edge.treat != "blend" else _as_first(edge)
    return (edge.treat if edge.treat != "recut" else "cut") if made_here else ""


def _as_first(edge: EdgeOrder) -> str:
    """What the first colour does at the line."""
    if edge.treat in ("blend", "dot"):
        return f"under {edge.treat}"
    if edge.lap_mm > 0:
        return "thin"
    return "towards" if edge.treat == "lap" else "stop"


_WORDS = {
    "cut": "cut a clean line against {}",
    "recut": "touch up the line against {}",
    "lap": "run over the thinned edge of {}",
    "thin": "lap {mm} over the line into {} and thin it out",
    "towards": "thin it out towards {}",
    "stop": "stop at the line with {}",
    "across": "paint straight across into {}",
    "blend": "feather softly into {}",
    "under blend": "leave the side of {} thin, for shading",
    "dot": "dot it on top of {}",
    "under dot": "paint right over the place of {}: dotted on top later",
}


def edge_notes(
    laid: Pass, edges: Sequence[EdgeOrder], work: Iterable[PassWork]
) -> tuple[tuple[tuple[int, ...], str], ...]:
    """(areas of the pass, what to do at their edges), areas with the same to do brought together, ascending."""
    kinds = {w.area: w.kind for w in work}
    together = frozenset(kinds)
    notes: dict[str, list[int]] = {}
    for area, kind in sorted(kinds.items()):
        alike_by_words: dict[str, list[EdgeOrder]] = {}
        for edge in edges:
            words = _WORDS.get(_at(edge, area, laid, kind, together), "") if area in edge.areas else ""
            if words:
                # Neighbours with the same to do make one sentence.
                alike_by_words.setdefault(words, []).append(edge)
        text = "; ".join(_filled(words, area, alike) for words, alike in alike_by_words.items())
        if kind == "undercoat" and not text:
            text = "stay inside the lines" if set(kinds.values()) == {"undercoat"} else "undercoat, inside the lines"
        if text:
            notes.setdefault(text, []).append(area)
    return tuple((tuple(ids), text[0].upper() + text[1:] + ".") for text, ids in notes.items())


def _filled(words: str, area: int, edges: Sequence[EdgeOrder]) -> str:
    laps = sorted({round(e.lap_mm, 1) for e in edges})
    mm = "–".join(f"{lap:.1f}".removesuffix(".0") for lap in dict.fromkeys((laps[0], laps[-1]))) + " mm"
    return words.format(listed(sorted(sum(e.areas) - area for e in edges)), mm=mm)
