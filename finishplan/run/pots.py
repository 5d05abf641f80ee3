"""When a mix must be made anew: it stays workable on the palette for so long, then the next pot is due."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from finishplan.order.model import Pass
from finishplan.run.films import Laid
from finishplan.run.model import Run, Task, Turn


def turns_from_run(run: Run, laid: Laid, life_min: float) -> tuple[Turn, ...]:
    """Every turn to a mix by start. A pot serves each turn that ends within life_min of its making; so none is made
    but when a painter turns to the mix, as the schedule's minutes have it."""
    by_coat: dict[tuple[int, str, int], list[tuple[str, float]]] = {}
    for (no, part, coat, mix), ml in laid.items():
        by_coat.setdefault((no, part, coat), []).append((mix, ml))
    made: dict[str, tuple[float, int]] = {}
    out = []
    for turn in sorted(_turns(run, by_coat, life_min), key=lambda t: (t.start_min, t.painter)):
        since, pot = made.get(turn.mix, (-math.inf, -1))
        fresh = turn.end_min > since + life_min + 1e-6
        if fresh:
            made[turn.mix] = turn.start_min, pot + 1
        out.append(replace(turn, pot=pot + fresh, fresh=fresh))
    return tuple(out)


def _turns(run: Run, by_coat: dict[tuple[int, str, int], list[tuple[str, float]]], life_min: float) -> Iterator[Turn]:
    """The turns of each painter; one ends with the next mix change, or when its mix is stale."""
    for painter in sorted({t.painter for t in run.tasks}):
        mine = (t for t in run.tasks if t.painter == painter and t.kind in ("change", "prime", "coat"))
        now: dict[str, Turn] = {}
        last: Task | None = None
        since = 0.0
        for task in sorted(mine, key=lambda t: (t.start_min, t.end_min)):
            if last is None or last.mix != task.mix or task.kind == "change" or task.end_min > since + life_min + 1e-6:
                yield from now.values()
                now, since = {}, task.end_min if task.kind == "change" else task.start_min
            last = task
            for mix, ml in by_coat.get((task.pass_no, task.part, task.coat), ()) if task.kind == "coat" else ():
                new = Turn(task.start_min, task.end_min, painter, task.pass_no, mix)
                turn = now.get(mix, new)
                now[mix] = replace(turn, end_min=task.end_min, ml=turn.ml + ml)
        yield from now.values()


def pots_from_run(run: Run, laid: Laid, life_min: float) -> dict[str, tuple[float, ...]]:
    """ml of each pot of each mix in the schedule."""
    pots: dict[str, list[float]] = {}
    for turn in turns_from_run(run, laid, life_min):
        if turn.fresh:
            pots.setdefault(turn.mix, []).append(0.0)
        pots[turn.mix][turn.pot] += turn.ml
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
