"""When a mix must be made anew: it stays workable on the palette for so long, then the next pot is due."""

import math
from collections.abc import Sequence

from finishplan.finish.model import Pass
from finishplan.run.films import Laid
from finishplan.run.model import Run


def pots_from_run(run: Run, laid: Laid, life_min: float) -> dict[str, tuple[float, ...]]:
    """ml of each pot of each mix in the schedule: a pot serves all coats that end within life_min of its opening."""
    by_coat: dict[tuple[int, str, int], list[tuple[str, float]]] = {}
    for (no, part, coat, mix), ml in laid.items():
        by_coat.setdefault((no, part, coat), []).append((mix, ml))
    pots: dict[str, list[float]] = {}
    opened: dict[str, float] = {}
    for task in sorted((t for t in run.tasks if t.kind == "coat"), key=lambda t: t.start_min):
        for mix, ml in by_coat.get((task.pass_no, task.part, task.coat), ()):
            if task.end_min > opened.get(mix, -math.inf) + life_min + 1e-6:
                opened[mix] = task.start_min
                pots.setdefault(mix, []).append(0.0)
            pots[mix][-1] += ml
    return {mix: tuple(sizes) for mix, sizes in pots.items()}


def pots_by_pass(
    passes: Sequence[Pass], volumes: Sequence[float], castings: int, painters: int, recoat_min: float, life_min: float
) -> tuple[float, ...]:
    """ml of each pot without a schedule: passes of one mix over all castings, coat by coat, fresh pots each pass.

    passes and volumes (ml of the whole run) correspond. A coat goes round in castings x minutes / painters, or as soon
    as the first casting is dry again, whichever is later.
    """
    pots: list[float] = []
    for one, volume in zip(passes, volumes, strict=True):
        coat = one.minutes / max(one.coats, 1)
        lap = castings * coat / painters
        lasts = (one.coats - 1) * max(lap, coat + (one.recoat_min or recoat_min)) + lap
        count = max(1, math.ceil(lasts / life_min - 1e-9))
        pots += [volume / count] * count
    return tuple(pots)
