"""Random runs for tests and benchmarks."""

import random
from dataclasses import replace

from finishplan.run.hours import Hours
from finishplan.run.tasks import Operation, RunProblem


def chain_run(seed: int, castings: int, *, dryer: bool = False, passes: int = 8, per_coat: bool = True) -> RunProblem:
    """Passes in a fixed order, one to three coats of 1-4 minutes, 15-30 minutes of drying, 4 minutes a mix change; with
    the dryer 2 minutes of the hand instead of the drying. Drawn for every coat or once a pass."""
    rng = random.Random(seed)
    operations: list[Operation] = []
    for number in range(passes):
        for coat in range(1, rng.randint(1, 3) + 1):
            if per_coat or coat == 1:
                work, dry = rng.randint(100, 400), rng.randint(1500, 3000)
            after = (len(operations) - 1,) if operations else ()
            operations.append(Operation(number + 1, coat, "body", number, work, dry, after, 200 if dryer else None))
    return plain(operations, castings, passes, dryer=dryer)


def parts_run(seed: int, castings: int, *, dryer: bool = False, passes: int = 6, parts: int = 3) -> RunProblem:
    """Several parts, each with some of the passes; within a part an area waits only for those it touches."""
    rng = random.Random(seed)
    operations: list[Operation] = []
    for number in range(passes):
        chosen = [p for p in range(parts) if rng.random() < 0.6] or [rng.randrange(parts)]
        coats = rng.randint(1, 2)
        last: dict[int, int] = {}
        for coat in range(1, coats + 1):
            for part in chosen:
                name = f"part {part + 1}"
                before = [i for i, op in enumerate(operations) if op.part == name and op.pass_no <= number]
                after = {i for i in before if rng.random() < 0.5} if coat == 1 else {last[part]}
                work, dry = 50 * rng.randint(1, 6), 100 * rng.randint(15, 30)
                hand = 200 if dryer else None
                last[part] = len(operations)
                operations.append(Operation(number + 1, coat, name, number, work, dry, tuple(sorted(after)), hand))
    return plain(operations, castings, passes, dryer=dryer)


def plain(operations: list[Operation], castings: int, mixes: int, *, dryer: bool = False) -> RunProblem:
    """One painter, no limit on time or rack, 4 minutes a mix change."""
    names = tuple(chr(65 + m) for m in range(mixes))
    return RunProblem(castings, tuple(operations), names, (400,) * mixes, (None,) * mixes, (0,) * castings, dryer=dryer)


def any_run(rng: random.Random) -> RunProblem:
    """Anything a run may have: several parts and painters, sessions, rack, arrivals, stale mixes, dryer."""
    count, parts, mixes = rng.randint(1, 9), rng.randint(1, 3), rng.randint(1, 5)
    castings, dryer = rng.randint(1, 7), rng.random() < 0.4
    operations: list[Operation] = []
    for index in range(count):
        after = tuple(sorted(rng.sample(range(index), min(index, rng.choice((0, 1, 1, 2))))))
        hand, rest = (rng.randint(50, 400), rng.choice((0, 0, 70))) if dryer and rng.random() < 0.8 else (None, 0)
        work, dry, mix = rng.randint(30, 500), rng.randint(0, 3000), rng.randrange(mixes)
        part = f"part {rng.randrange(parts)}"
        operations.append(Operation(index + 1, 1, part, mix, work, dry, after, hand, rest))
    cadence, shot = rng.choice((0, 0, 300, 2000)), rng.randint(1, 3)
    first = rng.choice((0, 150, 700))
    length = rng.choice((None, None, 1500, 3000))
    starts = (0,) if length is None or rng.random() < 0.5 else (rng.choice((0, 200)), 4000, 9000)
    return RunProblem(
        castings,
        tuple(operations),
        tuple(chr(65 + m) for m in range(mixes)),
        tuple(rng.randint(50, 500) for _ in range(mixes)),
        tuple(rng.choice((None, 500, 900, 3000)) for _ in range(mixes)),
        tuple(first + cadence * (j // shot) for j in range(castings)),
        painters=rng.choice((1, 1, 1, 2, 3)),
        rack=rng.choice((None, None, 1, 2, 4)),
        hours=Hours(length, starts, 6000),
        dryer=dryer,
        effort=0.005,
    )


def crew_run(seed: int, what: str) -> RunProblem:
    """A tiny run with two painters, in sessions, or with a rack too small for it; no dryer, no stale mixes."""
    rng = random.Random(seed)
    run, castings = any_run(rng), rng.randint(2, 3)
    count = rng.randint(2, 4 if castings == 2 else 3)
    return replace(
        run,
        operations=tuple(replace(op, hand=None, rest=0) for op in run.operations[:count]),
        castings=castings,
        ready=run.ready[:castings] if len(run.ready) >= castings else (0,) * castings,
        life=(None,) * len(run.mixes),
        dryer=False,
        painters=2 if what == "painters" else 1,
        rack=rng.randint(1, castings - 1) if what == "rack" else None,
        hours=Hours(rng.choice((1200, 1800)), (0,), 3000) if what == "sessions" else Hours(),
    )
