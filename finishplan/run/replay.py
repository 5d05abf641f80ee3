"""From the order in which things are done to times: each as early as it may be."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from finishplan.run.bench import Bench, Done, Score
from finishplan.run.problem import RunProblem

GO, HOME, POT = -1, -2, -3
"""In a sequence: one go of the hair dryer; the end of the session; POT - m: a pot of mix m, where none is live, sooner
than its next coat asks for. Any other item is the number of a coat."""
AHEAD = 160
"""Coats that are looked at for what to dry next."""
EVERY, MOST_KEPT = 48, 20
"""Items between two looks at the bench that a trail keeps at least, and about how many it keeps at most (our numerical
step): each is as large as the run."""


@dataclass(frozen=True)
class Timed:
    """A sequence with its times. finish: when each casting's last coat is laid."""

    score: Score
    done: tuple[Done, ...]
    finish: tuple[int, ...]


def replay(problem: RunProblem, sequence: Sequence[int]) -> Timed:
    """Give everything in the sequence the earliest time that what stands before it leaves.

    Every coat must occur once, after those it waits for (ValueError otherwise). Raises Unfit where a casting is
    begun for which the rack has no place.
    """
    _check(problem, sequence)
    log, ends = list[Done](), dict[int, int]()
    score = run_through(problem, sequence, log)
    for one in log:
        if one.kind == "coat":
            casting = problem.coats[one.coat][0]
            ends[casting] = max(ends.get(casting, 0), one.end)
    return Timed(score, tuple(log), tuple(ends[j] for j in range(problem.count)))


def run_through(problem: RunProblem, sequence: Sequence[int], log: list[Done] | None = None) -> Score:
    """The score of a valid sequence. Raises Unfit."""
    bench = Bench(problem, log)
    _go_on(bench, sequence, 0, len(sequence))
    return bench.score()


@dataclass(frozen=True, eq=False)
class Trail:
    """How the bench stood before every so many items of a sequence."""

    sequence: Sequence[int]
    stood: tuple[Bench, ...]

    def run_through(self, problem: RunProblem, sequence: Sequence[int]) -> tuple[Score, "Trail"]:
        """The score of another valid sequence and its trail: as far as both are the same it is not worked through
        again. Raises Unfit."""
        pairs, short = zip(self.sequence, sequence, strict=False), min(len(self.sequence), len(sequence))
        same = next((k for k, (a, b) in enumerate(pairs) if a != b), short)
        # What a go dries hangs on the coats that come after it.
        every = max(EVERY, problem.base[-1] // MOST_KEPT)
        stood = list(self.stood[: max(0, same - AHEAD * problem.dryer) // every + 1])
        bench = stood.pop().copy() if stood else Bench(problem)
        for place in range(len(stood) * every, len(sequence), every):
            stood.append(bench.copy())
            _go_on(bench, sequence, place, min(place + every, len(sequence)))
        return bench.score(), Trail(sequence, tuple(stood))


def _go_on(bench: Bench, sequence: Sequence[int], first: int, stop: int) -> None:
    """Do what stands in the sequence from there to there. Raises Unfit."""
    for place in range(first, stop):
        item = sequence[place]
        if item >= 0:
            bench.lay(item)
        elif item == HOME:
            bench.go_home()
        elif item <= POT:
            bench.mix_now(POT - item)
        # Without a dryer a GO is passed over, so that the same sequence can be timed in a room without one.
        elif bench.problem.dryer:
            # What to dry is not in the sequence but seen on the bench: a mark stays sensible when the search moves it.
            bench.dry(bench.wet(_coming(sequence, place + 1)))


def _coming(sequence: Sequence[int], place: int) -> Iterator[int]:
    """The coats after a place of the sequence."""
    return (item for item in islice(sequence, place, place + AHEAD) if item >= 0)


def _check(problem: RunProblem, sequence: Sequence[int]) -> None:
    place = {item: k for k, item in enumerate(sequence) if item >= 0}
    if sorted(i for i in sequence if i >= 0) != list(range(problem.base[-1])):
        raise ValueError("a coat is laid twice or left out")
    # Twice is ruled out above, so `place` holds every coat.
    if any(place[b] > place[n] for n, waits in enumerate(problem.waits) for kind in waits for b in kind):
        raise ValueError("a coat is laid before one it waits for")
