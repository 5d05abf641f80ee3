"""Sequences made of whole rounds: one operation on many castings, one after another."""

from collections.abc import Sequence

from finishplan.run.replay import Action
from finishplan.run.tasks import RunProblem


def round_by_round(
    problem: RunProblem,
    *,
    batch: int | None = None,
    order: Sequence[int] | None = None,
    dried: Sequence[int] | None = None,
    owner: Sequence[int] | None = None,
) -> tuple[Action, ...]:
    """Castings in batches, in each batch pass by pass: every operation on all the castings of the batch
    before the next.

    order: the operations in another order that respects their waits. dried: how many castings of a batch are
    dried by hand after each operation, one after the other, right before the first round that waits for it.
    owner: the painter of each operation, -1 for whoever is free first.
    """
    sequence = range(len(problem.operations)) if order is None else order
    size, actions = batch or problem.castings, list[Action]()
    for first in range(0, problem.castings, size):
        castings, done = range(first, min(first + size, problem.castings)), set[int]()
        for index in sequence:
            who = -1 if owner is None else owner[index]
            if dried is not None:
                for before in sorted(set(problem.operations[index].after) - done):
                    done.add(before)
                    actions += [(before, j, True, who) for j in castings[: dried[before]]]
            actions += [(index, j, False, who) for j in castings]
    return tuple(actions)


def batch_sizes(problem: RunProblem, most: int = 12) -> tuple[int, ...]:
    """Batch sizes worth trying, the largest first: each splits the run into another number of batches, and no
    batch holds more than the rack."""
    limit = min(problem.castings, problem.rack or problem.castings)
    least = -(-problem.castings // limit)
    sizes = (min(limit, -(-problem.castings // n)) for n in range(least, least + most))
    return tuple(dict.fromkeys(sizes))
