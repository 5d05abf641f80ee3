"""What fewer pots would cost: the mixes there are, and how far from the drawing, if more colours share one."""

from dataclasses import asdict, dataclass, replace
from typing import Any

from finishplan.colour.light import delta_e
from finishplan.job.job import Job
from finishplan.plan.plan import Materials
from finishplan.plan.planner import Planner

WITHIN = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""CIEDE2000 within which a pot may lie of the colours that share it: the key `paints.within`. Our choice."""


@dataclass(frozen=True)
class Exchange:
    """within: the value of the key; pots: mixes then; off: CIEDE2000 from the drawing, the mean over the painted area;
    farthest: of any one."""

    within: float
    pots: int
    off: float
    farthest: float


def exchange(materials: Materials, job: Job) -> list[dict[str, Any]]:
    """The exchange for each of WITHIN, from the nearest colours to the fewest pots. Raises InputError."""
    # A planner of its own: the bench's is at work in another thread.
    planner = Planner(materials)
    return [asdict(_at(planner, job, within)) for within in WITHIN]


def _at(planner: Planner, job: Job, within: float) -> Exchange:
    # Without `merge`, the key's older name, which counts where `within` has its usual value.
    wished = replace(job, paints=replace(job.paints, within=within, merge=None))
    areas = {a.id: a for a in planner.scheme(wished).areas}
    mixed = planner.mixes(wished)
    off = [(float(delta_e(areas[id].target, mixed.mixes[i].lab)), areas[id].cm2) for id, i in mixed.mix_of]
    mean = sum(far * cm2 for far, cm2 in off) / sum(cm2 for _, cm2 in off)
    return Exchange(within, len(mixed.mixes), round(mean, 2), round(max(far for far, _ in off), 2))
