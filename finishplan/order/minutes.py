"""The painter's minutes, from the labour settings: of one area's work in a pass, of a pass, of a pot, of the run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from finishplan.job.settings import Labour, Tool
from finishplan.order.model import Pass, PassKind, PassWork
from finishplan.paint.model import Mix

OVERLAP = 0.5
"""Share of a stroke's width that the next one covers again (common practice)."""
ON_PIECE = 0.4
"""Share of the time at the work in which the brush is on the piece (common practice)."""
WIDTHS_A_S = 10.0
"""A narrow brush goes so many of its widths a second, until the hand's own speed is reached (derived)."""
USUAL_PAINTS = 3
"""Paints of a mix that is not at hand."""
COATING_BRUSH_MM = 10.0
"""A flat for priming and varnishing by hand (common practice)."""


def cover_per_cm2(labour: Labour, brush_mm: float) -> float:
    """Minutes for 1 cm2 with a brush so wide: 100 mm2 / (60 x overlap x width x speed x share on the piece)."""
    speed = min(labour.stroke_mm_s, WIDTHS_A_S * brush_mm)
    return 100 / (60 * (1 - OVERLAP) * brush_mm * speed * ON_PIECE)


def mixing_minutes(labour: Labour, mix: Mix) -> float:
    """Minutes to mix a pot: to begin with, for each paint, for each that is pre-mixed."""
    premixed = sum(i.premix is not None for i in mix.recipe)
    return labour.mix_min + len(mix.recipe) * labour.mix_paint_min + premixed * labour.mix_premix_min


def cut_minutes(labour: Labour, cut_mm: float, coats: int) -> float:
    """Minutes for all coats along an edge: the last makes the line, the earlier ones keep short of it. Steering law
    (Accot and Zhai, CHI 1997): time = b x length / width of the tunnel."""
    if not coats:
        return 0.0
    return cut_mm / 10 * (labour.line_10mm_min + (coats - 1) * labour.edge_10mm_min)


@dataclass(frozen=True)
class AreaWork:
    """All coats of one area in one pass. edge_coats: those of them that are only drawn along edges; cut_mm: edges cut
    with this colour; copies: of the piece, a dot is set on each; brush_mm: width of the brush it is covered with."""

    kind: PassKind
    tool: Tool
    coats: int
    edge_coats: int
    cm2: float
    cut_mm: float
    copies: int
    brush_mm: float


def work_minutes(work: AreaWork, labour: Labour) -> float:
    """Minutes for all coats of one area in one pass, one casting, handling not counted."""
    if work.kind == "dot":
        # Set down, not spread: how large a dot is takes no time.
        return work.coats * work.copies * labour.per_dot_min
    brushed = work.tool == "brush"
    # Sprayed, only the coats along edges are cut by brush; the others need no line.
    cut = cut_minutes(labour, work.cut_mm, work.coats if brushed or work.kind == "recut" else work.edge_coats)
    if work.kind == "recut":
        return cut
    cover = work.cm2 * (cover_per_cm2(labour, work.brush_mm) if brushed else labour.spray_per_cm2_min)
    return (work.coats - work.edge_coats) * cover + cut


def pass_minutes(work: Sequence[PassWork], labour: Labour, copies: Mapping[str, int]) -> float:
    """Minutes of one pass on one casting: its work and, for each coat of each part it takes up, handling each copy."""
    parts = dict.fromkeys(w.part for w in work)
    taken_up = sum(copies.get(part, 1) * max(w.coats for w in work if w.part == part) for part in parts)
    return taken_up * labour.handle_min + sum(w.coats * w.minutes for w in work)


def openings(one: Pass, castings: int, wait_min: float) -> int:
    """How often a run turns to a pass's mix: once where a coat of it on all castings takes as long as a coat dries;
    else for every coat, as another mix is taken up meanwhile."""
    return 1 if castings * one.minutes >= one.coats * wait_min else one.coats


def run_minutes(passes: Sequence[Pass], castings: int, labour: Labour, wait_min: float = 0.0) -> float:
    """Minutes for all castings, for turning to the mixes and for a pot of each. wait_min: how long a coat dries, times
    the painters who share the work; 0: a pass's mix is turned to once."""
    turns = sum(openings(p, castings, wait_min) for p in passes)
    pots = len({m for p in passes for m in (p.mix, *p.also_open)})
    # Only the mixes' names are at hand here, so the usual number of paints is counted.
    pot_min = labour.mix_min + USUAL_PAINTS * labour.mix_paint_min
    return castings * sum(p.minutes for p in passes) + turns * labour.turn_min + pots * pot_min
