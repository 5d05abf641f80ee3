"""Random runs for tests and benchmarks."""

import random
from dataclasses import replace

from finishplan.run.hours import Hours
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem, Stream

WEEK = 7 * 144_000
MIXING = 300


def chain_run(seed: int, castings: int, *, dryer: bool = False, passes: int = 8) -> RunProblem:
    """Passes in a fixed order, one to three coats of 1-4 minutes, 15-30 minutes of drying; 3 minutes a pot."""
    rng = random.Random(seed)
    operations: list[Operation] = []
    for number in range(passes):
        for coat in range(1, rng.randint(1, 3) + 1):
            work, dry = rng.randint(100, 400), rng.randint(1500, 3000)
            over = (len(operations) - 1,) if operations else ()
            operations.append(Operation(number + 1, coat, "body", number, work, dry, dry * 2 // 3, over))
    return plain(operations, castings, passes, dryer=dryer)


def parts_run(seed: int, castings: int, *, dryer: bool = False, passes: int = 6, parts: int = 3) -> RunProblem:
    """Several parts, each with some of the passes; within a part an area is laid over some earlier coats, and cut
    beside others."""
    rng = random.Random(seed)
    operations: list[Operation] = []
    for number in range(passes):
        chosen = [p for p in range(parts) if rng.random() < 0.6] or [rng.randrange(parts)]
        last: dict[int, int] = {}
        for coat in range(1, rng.randint(1, 2) + 1):
            for part in chosen:
                name = f"part {part + 1}"
                before = [i for i, op in enumerate(operations) if op.part == name and op.pass_no <= number]
                over = {i for i in before if rng.random() < 0.3} if coat == 1 else {last[part]}
                beside = {i for i in before if rng.random() < 0.3} - over if coat == 1 else set()
                work, dry = 50 * rng.randint(1, 6), 150 * rng.randint(10, 20)
                last[part] = len(operations)
                waits = tuple(sorted(over)), tuple(sorted(beside))
                operations.append(Operation(number + 1, coat, name, number, work, dry, dry * 2 // 3, *waits))
    return plain(operations, castings, passes, dryer=dryer)


def plain(operations: list[Operation], castings: int, mixes: int, *, dryer: bool = False) -> RunProblem:
    """One painter, no limit on time or rack, a wet palette."""
    works = tuple(MixWork(chr(65 + m), MIXING, WEEK) for m in range(mixes))
    return RunProblem(
        (Figure(tuple(operations)),), Castings((0,) * castings, (0,) * castings), works, dryer=dryer, effort=0.05
    )


def figure(rng: random.Random, mixes: int, most: int) -> Figure:
    """Anything a figure may have: several parts, second colours worked in wet, what no dryer dries, priming."""
    operations: list[Operation] = []
    parts, primed = rng.randint(1, 3), rng.random() < 0.4
    for index in range(rng.randint(1, most)):
        waits = rng.sample(range(index), min(index, rng.choice((0, 1, 1, 2))))
        over = tuple(sorted(i for i in waits if rng.random() < 0.6))
        beside = tuple(sorted(set(waits) - set(over)))
        prime = primed and not index
        work, dry, mix = rng.randint(30, 500), rng.randint(0, 3000), 0 if prime else rng.randrange(mixes)
        also = (rng.randrange(mixes),) if rng.random() < 0.1 and not prime else ()
        operations.append(
            Operation(
                index + 1,
                1,
                f"part {rng.randrange(parts)}",
                mix,
                work,
                dry,
                rng.randint(0, dry),
                over,
                beside,
                forced=rng.random() < 0.8,
                kind="prime" if prime else "coat",
                also=tuple(m for m in also if m != mix),
            )
        )
    return Figure(tuple(operations))


def any_run(rng: random.Random) -> RunProblem:
    """Anything a run may have: figures, painters, sessions run over, rack, arrivals, pots too old, few wells, dryer."""
    mixes, castings, figures = rng.randint(1, 5), rng.randint(2, 7), rng.choice((1, 1, 1, 2))
    castings -= rng.random() < 0.2 and figures == 1
    length = rng.choice((None, None, 1900, 3000))
    starts = (0,) if length is None or rng.random() < 0.5 else (rng.choice((0, 200)), 4000, 9000)
    first, cadence, shot = rng.choice((0, 0, 150, 700)), rng.choice((0, 0, 300, 2000)), rng.randint(1, 3)
    return RunProblem(
        tuple(figure(rng, mixes, 9) for _ in range(figures)),
        Castings(
            tuple(j % figures if j < 2 else rng.randrange(figures) for j in range(castings)),
            tuple(first + cadence * (j // shot) for j in range(castings)),
            rng.choice((None, None, None, 1, 2, 4)),
        ),
        tuple(MixWork(chr(65 + m), rng.choice((0, 150, 400)), rng.choice((None, 1900, 3000))) for m in range(mixes)),
        turn=rng.randint(20, 100),
        wells=rng.choice((2, 3, 12)),
        painters=rng.choice((1, 1, 1, 2, 3)),
        hours=Hours(length, starts, 6000, 0 if length is None else rng.choice((0, 301))),
        stream=Stream(rng.choice(((150,), (150, 250, 250))), rng.choice((0, 70))),
        dryer=rng.random() < 0.4,
        slack=rng.choice((0, 200)),
        effort=0.005,
    )


def small_run(seed: int, *, dryer: bool = False) -> RunProblem:
    """Two to five operations on one or two castings, one painter, one stretch, pots that keep."""
    rng = random.Random(seed)
    mixes = rng.randint(1, 3)
    own = figure(rng, mixes, 5)
    operations = tuple(replace(op, also=(), kind="coat", forced=True) for op in own.operations)
    castings = rng.randint(1, 2)
    works = tuple(MixWork(chr(65 + m), rng.choice((0, 200, 350)), None) for m in range(mixes))
    return RunProblem(
        (Figure(operations),),
        Castings((0,) * castings, tuple(j * rng.choice((0, 500)) for j in range(castings))),
        works,
        stream=Stream((200, 200), 100),
        dryer=dryer,
    )
