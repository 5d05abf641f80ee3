"""Sequences made of whole rounds: one operation on many castings, one after another."""

from collections.abc import Sequence

from finishplan.run.replay import Coat
from finishplan.run.tasks import RunProblem


def round_by_round(
    problem: RunProblem, *, batch: int | None = None, owner: Sequence[int] | None = None
) -> tuple[Coat, ...]:
    """Castings in batches, in each batch pass by pass: every operation on all its castings before the next
    operation.

    owner: the painter of each operation; None: whoever can start first.
    """
    size, coats = batch or problem.castings, list[Coat]()
    for first in range(0, problem.castings, size):
        for index in range(len(problem.operations)):
            who = -1 if owner is None else owner[index]
            coats += [(index, j, who) for j in range(first, min(first + size, problem.castings))]
    return tuple(coats)


def batch_sizes(problem: RunProblem, most: int) -> tuple[int, ...]:
    """Batch sizes worth trying, the largest first: each splits the run into another number of batches, and no
    batch holds more than the rack."""
    limit = min(problem.castings, problem.rack or problem.castings)
    least = -(-problem.castings // limit)
    sizes = (min(limit, -(-problem.castings // n)) for n in range(least, least + most))
    return tuple(dict.fromkeys(sizes))
