"""The run as a plain indexed problem: operations of the castings, and what binds the painters. Times in ticks."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import accumulate, chain, pairwise
from typing import Literal

from finishplan.basics.errors import InputError
from finishplan.run.hours import Hours

TICKS_PER_MIN = 100
"""Whole hundredths of a minute: sums are exact and an optimum can be told from a near miss."""


def ticks(minutes: float) -> int:
    """Minutes as ticks, rounded up: a wait or a task is never made shorter."""
    # The small part taken off is for rounding: 0.7 min is 70 ticks, not 71.
    return math.ceil(minutes * TICKS_PER_MIN - 1e-6)


def minutes(count: int) -> float:
    """Ticks as minutes."""
    return count / TICKS_PER_MIN


@dataclass(frozen=True)
class Operation:
    """One coat of one pass on one part of a casting.

    mix: index into RunProblem.mixes; also: mixes worked in wet, their pots open beside it. work: ticks of a painter.
    touch, recoat: ticks after its end until it is touch dry, until it may be painted over. over: indices of the
    operations of the same casting that it is laid over, recoat dry by then; beside: those it is only cut along, touch
    dry by then. forced: a hair dryer may dry it.
    """

    pass_no: int
    coat: int
    part: str
    mix: int
    work: int
    recoat: int
    touch: int = 0
    over: tuple[int, ...] = ()
    beside: tuple[int, ...] = ()
    forced: bool = True
    kind: Literal["prime", "coat"] = "coat"
    also: tuple[int, ...] = ()

    @cached_property
    def after(self) -> tuple[int, ...]:
        """All that it waits for."""
        return (*self.over, *self.beside)

    @cached_property
    def used(self) -> tuple[int, ...]:
        """All mixes that are open for it."""
        return (self.mix, *self.also)


@dataclass(frozen=True)
class MixWork:
    """One mix in the run. mixing: ticks to mix a pot, 0 where there is nothing to mix (a spray can). life: ticks a pot
    stays workable, a coat must be finished by then; None: for good."""

    name: str
    mixing: int
    life: int | None = None


@dataclass(frozen=True)
class Stream:
    """The hair dryer: ticks of one go by the number of castings in its stream (its length: how many fit), and of rest
    after it."""

    go: tuple[int, ...] = (200, 200, 300, 300)
    rest: int = 100


@dataclass(frozen=True)
class Figure:
    """One figure of the run: its operations, each after those it waits for, in the order of its painting order."""

    operations: tuple[Operation, ...]
    name: str = ""


@dataclass(frozen=True)
class Castings:
    """figure: of each casting, an index into RunProblem.figures. ready: when each arrives, ascending. rack: castings
    begun and not yet dry for good, at most; None: all."""

    figure: tuple[int, ...]
    ready: tuple[int, ...]
    rack: int | None = None


@dataclass(frozen=True)
class RunProblem:
    """A run of castings of one figure or several, which share their mixes.

    turn: ticks of going over to another mix (rinse, dry, load), due before a painter's first coat with it and first in
    every session. Where no live pot of the mix lies on the painter's palette of `wells` it is mixed first; beyond the
    wells the pot least recently used goes. setup: ticks of setting up and clearing away, half before and half after
    the work of a session. dryer: whether the hair dryer is used. fewest_turns: they come first, then the makespan.
    """

    figures: tuple[Figure, ...]
    castings: Castings
    mixes: tuple[MixWork, ...]
    turn: int = 75
    wells: int = 12
    painters: int = 1
    hours: Hours = field(default_factory=Hours)
    stream: Stream = Stream()
    dryer: bool = False
    fewest_turns: bool = False
    priming: tuple[int, int] = (0, 0)
    """Ticks of priming all castings before the first session, and of the wait after it."""
    slack: int = 0
    """Ticks that a session may run over where that spares one."""
    start_at: int | None = None
    """Time of day at which the run begins, in minutes, where it is known."""
    effort: float = 0.2
    """Seconds of search on a machine of the reference speed; counted in steps, never by the clock (our limit on the
    search)."""

    def __post_init__(self) -> None:
        self._check_operations()
        ready = self.castings.ready
        if not ready or self.painters < 1 or self.wells < 1:
            raise ValueError("a run needs a casting, a painter and a well")
        if self.castings.rack is not None and self.castings.rack < 1:
            raise ValueError("the rack holds nothing")
        if len(ready) != len(self.castings.figure) or any(a > b for a, b in pairwise(ready)):
            raise ValueError("`ready` gives one ascending time a casting")
        if set(self.castings.figure) != set(range(len(self.figures))):
            raise ValueError("a figure without a casting, or a casting of no figure")
        self._check_hours()

    def _check_operations(self) -> None:
        if not all(figure.operations for figure in self.figures):
            raise ValueError("a figure needs an operation")
        for figure in self.figures:
            for index, op in enumerate(figure.operations):
                # The bounds, the rules and the implied waits all go through the operations once and rely on this order.
                if any(not 0 <= p < index for p in op.after):
                    raise ValueError(f"operation {index} comes before one it waits for")
                # Else mixing one of its pots would push out another of the same coat.
                if len(set(op.used)) > self.wells:
                    raise ValueError("a coat takes more mixes than the palette has wells")

    def _check_hours(self) -> None:
        for op in chain.from_iterable(f.operations for f in self.figures):
            mixes = [self.mixes[m] for m in op.used]
            # Each session may begin with this very coat, so it must fit with its turn and pots.
            longest = self.turn + sum(m.mixing for m in mixes) + op.work
            life = min((m.life for m in mixes if m.life is not None), default=None)
            if life is not None and longest > life:
                raise InputError(
                    f"mixing and one coat of pass {op.pass_no} take {minutes(longest):g} min, "
                    f"a pot stays workable for {minutes(life):g}",
                    key="run.pot_life_min",
                    cure="check height_mm, surface_cm2 and copies, or give the pots a longer life",
                )
            if self.hours.room is not None and longest > self.hours.room:
                raise InputError(
                    f"mixing and one coat of pass {op.pass_no} take {minutes(longest):g} min, "
                    f"an evening has {minutes(self.hours.room):g} between setting up and clearing away",
                    key="run.session_min",
                    cure="make the evenings longer",
                )

    @cached_property
    def count(self) -> int:
        """Castings of the run."""
        return len(self.castings.figure)

    @cached_property
    def base(self) -> tuple[int, ...]:
        """Number of each casting's first coat when all coats of the run are numbered casting by casting, and of all."""
        sizes = (len(self.figures[f].operations) for f in self.castings.figure)
        return (0, *accumulate(sizes))

    @cached_property
    def coats(self) -> tuple[tuple[int, Operation], ...]:
        """(casting, operation) of every coat by its number."""
        return tuple((j, op) for j, f in enumerate(self.castings.figure) for op in self.figures[f].operations)

    @cached_property
    def waits(self) -> tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]:
        """What each coat is laid over and what it is cut beside, all by their numbers."""
        base = self.base
        return tuple(
            (tuple(base[j] + b for b in op.over), tuple(base[j] + b for b in op.beside)) for j, op in self.coats
        )

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """The coats that wait for each coat, ascending, twice where one is laid over it and cut beside it."""
        found: list[list[int]] = [[] for _ in self.coats]
        for coat, (over, beside) in enumerate(self.waits):
            for before in (*over, *beside):
                found[before].append(coat)
        return tuple(map(tuple, found))

    @cached_property
    def primes_first(self) -> bool:
        """All castings are primed before the first is painted, where all are there from the start and have room.
        The primer is set up once, and nothing is sprayed beside wet paint or a hair dryer."""
        primes = any(op.kind == "prime" for f in self.figures for op in f.operations)
        # Arrivals ascend, so the last is 0 only where all are there at the start.
        return primes and not self.castings.ready[-1] and self.castings.rack is None

    def of(self, castings: int, **changes: object) -> "RunProblem":
        """The same work for so many castings of the first figure, all there at the start."""
        alone = Castings((0,) * castings, (0,) * castings)
        return replace(self, figures=self.figures[:1], castings=alone, **changes)  # type: ignore[arg-type]


def joined(problems: Sequence[RunProblem]) -> RunProblem:
    """One run of several figures' castings, at the bench of the first; mixes of one name are one mix. Castings keep
    their order of arrival."""
    mixes = list(dict.fromkeys(m.name for p in problems for m in p.mixes))
    # Reversed, so that of mixes of one name the first problem's is kept.
    work = {m.name: m for p in reversed(problems) for m in p.mixes}
    figures, rows = list[Figure](), list[tuple[int, int]]()
    for problem in problems:
        number = [mixes.index(m.name) for m in problem.mixes]
        rows += [(a, len(figures) + f) for a, f in zip(problem.castings.ready, problem.castings.figure, strict=True)]
        figures += [_renumbered(figure, number) for figure in problem.figures]
    rows.sort()
    castings = Castings(tuple(f for _, f in rows), tuple(a for a, _ in rows), problems[0].castings.rack)
    effort = max(p.effort for p in problems)
    return replace(
        problems[0], figures=tuple(figures), castings=castings, mixes=tuple(work[m] for m in mixes), effort=effort
    )


def _renumbered(figure: Figure, number: Sequence[int]) -> Figure:
    ops = (replace(op, mix=number[op.mix], also=tuple(number[m] for m in op.also)) for op in figure.operations)
    return replace(figure, operations=tuple(ops))
