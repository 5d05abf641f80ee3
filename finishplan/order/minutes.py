"""The painter's minutes, from the labour settings: of one area's work in a pass, of a pass, of the whole run."""

from collections.abc import Mapping, Sequence

from finishplan.job.settings import Labour, Tool
from finishplan.order.model import Pass, PassKind, PassWork


def work_minutes(
    kind: PassKind, tool: Tool, labour: Labour, *, coats: int, edge_coats: int, cm2: float, cut_mm: float, copies: int
) -> float:
    """Minutes for all coats of one area in one pass, one casting, handling not counted. cut_mm: edges cut with this
    colour; edge_coats: those of the coats that are only drawn along them; copies: of the piece, a dot is set on
    each."""
    cut = cut_mm / 10 * labour.per_10mm_cut_min
    if kind == "dot":
        return coats * copies * labour.per_dot_min
    if kind == "recut":
        return coats * cut
    cover = cm2 * (labour.per_cm2_min if tool == "brush" else labour.spray_per_cm2_min)
    by_brush = coats if tool == "brush" else edge_coats
    return (coats - edge_coats) * cover + by_brush * cut


def pass_minutes(work: Sequence[PassWork], labour: Labour, copies: Mapping[str, int]) -> float:
    """Minutes of one pass on one casting: its work and, for each coat of each part it takes up, handling each copy."""
    parts = dict.fromkeys(w.part for w in work)
    taken_up = sum(copies.get(part, 1) * max(w.coats for w in work if w.part == part) for part in parts)
    return taken_up * labour.handle_min + sum(w.coats * w.minutes for w in work)


def openings(one: Pass, castings: int, wait_min: float) -> int:
    """How often a run opens a pass's mix: once where a coat of it on all castings takes as long as a coat dries; else
    for every coat, as another mix is taken up meanwhile.

    Against the schedules of one figure: 1, 6 and 30 castings have 49, 44 and 30 changes, priming included; this counts
    47, 44 and 20 for the passes.
    """
    return 1 if castings * one.minutes >= one.coats * wait_min else one.coats


def run_minutes(passes: Sequence[Pass], castings: int, labour: Labour, wait_min: float = 0.0) -> float:
    """Minutes for all castings, and for opening the mixes. wait_min: how long a coat dries, times the painters who
    share the work; 0: a pass's mix is opened once."""
    opened = sum(openings(p, castings, wait_min) for p in passes)
    return castings * sum(p.minutes for p in passes) + opened * labour.change_min
