"""Volumes of wet films: what each coat of each pass takes."""

from collections.abc import Mapping

from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.order.model import PaintingOrder, Pass, PassWork
from finishplan.scheme.model import Scheme

LINE_MM = 3.0
"""Width of the line laid where an edge is recut, or gets one more coat than its area (common practice)."""

Laid = Mapping[tuple[int, str, int, str], float]
"""ml laid by (pass, part, coat, mix) on one casting."""


def film_ml(cm2: float, wet_um: float) -> float:
    """Volume of a wet film: 1 cm2 x 1 um = 1e-4 ml."""
    return cm2 * wet_um * 1e-4


def laid_ml(
    scheme: Scheme, order: PaintingOrder, paint: DryTimes, loss: float
) -> dict[tuple[int, str, int, str], float]:
    """ml that each (pass, part, coat, mix) takes on one casting, loss on brush or gun included.

    A recut, and the last coats of an area that only its edges need, take a line of LINE_MM along those edges.
    """
    cm2 = {a.id: a.cm2 for a in scheme.areas}
    out: dict[tuple[int, str, int, str], float] = {}
    for one in order.passes:
        wet_um, overspray = _film_of(one, paint)
        for work in one.work:
            # mm x mm / 100 is cm2; on a speck a line has no more room than the speck.
            line = min(cm2[work.area], _line_mm(order, one, work) * LINE_MM / 100)
            whole = 0 if _recut(one, work) else work.coats - order.line_coats(work)
            for coat in range(1, work.coats + 1):
                key = (one.no, work.part, coat, work.mix or one.mix)
                ml = film_ml(cm2[work.area] if coat <= whole else line, wet_um) * loss * overspray
                out[key] = out.get(key, 0.0) + ml
    return out


def _recut(one: Pass, work: PassWork) -> bool:
    return "recut" in (one.kind, work.kind)


def _line_mm(order: PaintingOrder, one: Pass, work: PassWork) -> float:
    """Length of the edges along which the work is drawn: those the pass recuts, else those the area is second at."""
    if _recut(one, work):
        return sum(e.length_mm for e in order.edges if e.areas in one.edges and work.area in e.areas)
    return sum(e.length_mm for e in order.edges if e.second == work.area)


def _film_of(one: Pass, paint: DryTimes) -> tuple[float, float]:
    """Wet film in um and overspray of one coat: the pass's own film, else the paint's, else the tool's usual one."""
    kind, sprayed = paint_kind(paint.kind), one.tool == "airbrush"
    # The paint's own film is of the tool that it is meant for; a pass by the other one takes that one's.
    usual = kind if kind.sprayed == sprayed else paint_kind("airbrush" if sprayed else "acrylic")
    return one.wet_um or (paint.wet_um if usual is kind else usual.wet_um(usual.dry_um)), usual.overspray
