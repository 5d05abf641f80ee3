"""The run as a plain indexed problem: operations of one casting, and what binds the painters. Times in ticks."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

from finishplan.basics.errors import InputError
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.drying.times import dry_times
from finishplan.job.settings import Labour, Room, RunSettings
from finishplan.order.model import PaintingOrder, Pass
from finishplan.run.hours import Hours
from finishplan.scheme.model import Scheme, SchemePart

TICKS_PER_MIN = 100
"""Whole hundredths of a minute: sums are exact and an optimum can be told from a near miss."""
HARDER = 2.5
"""How much longer is searched where a sequence takes long to time, or many must be tried."""
EASY_COATS = 1200
"""A run of so many coats needs no more than the plain effort; from there on the effort grows with the coats."""


def ticks(minutes: float) -> int:
    """Minutes as ticks, rounded up: a wait or a task is never made shorter."""
    return math.ceil(minutes * TICKS_PER_MIN - 1e-6)


def minutes(count: int) -> float:
    """Ticks as minutes."""
    return count / TICKS_PER_MIN


@dataclass(frozen=True)
class Operation:
    """One coat of one pass on one part of one casting.

    mix: index into RunProblem.mixes. work: ticks of a painter. dry: ticks after its end before what comes
    after it may start. hand, rest: with the hair dryer, ticks of hand time (begun any time after the coat)
    and of rest after them instead of `dry`; None: not for the dryer. after: indices of the operations of the
    same casting that are to be dry first.
    """

    pass_no: int
    coat: int
    part: str
    mix: int
    work: int
    dry: int
    after: tuple[int, ...] = ()
    hand: int | None = None
    rest: int = 0
    kind: Literal["prime", "coat"] = "coat"


@dataclass(frozen=True)
class RunProblem:
    """A run of identical castings.

    operations: of one casting, each after those it waits for, in the order of the painting order (pass by
    pass). A piece (casting, part) is in one hand at a time, a painter does one thing at a time. changes:
    ticks to wash the brush and open each mix; due before the first coat with a mix, whenever a painter turns
    to another, in every session anew, and when the mix has been open for `life` ticks (a coat must be
    finished by then; None: never stale). ready: when each casting arrives, ascending. rack: castings begun
    and not yet dry for good, at most. dryer: whether the hair dryer may be used. fewest_changes: the goal is the
    fewest mix changes, then the least makespan, then the least painters' time; else the least makespan, then the least
    painters' time, then the fewest changes.
    """

    castings: int
    operations: tuple[Operation, ...]
    mixes: tuple[str, ...]
    changes: tuple[int, ...]
    life: tuple[int | None, ...]
    ready: tuple[int, ...]
    painters: int = 1
    rack: int | None = None
    hours: Hours = field(default_factory=Hours)
    dryer: bool = False
    fewest_changes: bool = False
    start_at: int | None = None
    """Time of day at which the run begins, in minutes, where it is known."""
    effort: float = 2.0
    """Seconds of search on a machine of the reference speed; counted in steps, never by the clock."""

    def __post_init__(self) -> None:
        for index, op in enumerate(self.operations):
            if any(not 0 <= p < index for p in op.after):
                raise ValueError(f"operation {index} comes before one it waits for")
        if not self.operations or self.castings < 1 or self.painters < 1:
            raise ValueError("a run needs a casting, a painter and an operation")
        if self.rack is not None and self.rack < 1:
            raise ValueError("the rack holds nothing")
        if len(self.ready) != self.castings or any(a > b for a, b in pairwise(self.ready)):
            raise ValueError("`ready` gives one ascending time a casting")
        self._check_hours()

    def _check_hours(self) -> None:
        for op in self.operations:
            life, longest = self.life[op.mix], self.changes[op.mix] + op.work
            if life is not None and op.work > life:
                took, stays = minutes(op.work), minutes(life)
                raise InputError(
                    f"one coat of pass {op.pass_no} takes {took:g} min, its mix stays workable for {stays:g}",
                    where="[run] mix_life_min",
                    cure="check height_mm, surface_cm2 and copies, or give the mix a longer life",
                )
            if self.hours.length is not None and max(longest, op.hand or 0) > self.hours.length:
                raise InputError(
                    f"opening the mix and one coat of pass {op.pass_no} take {minutes(longest):g} min, "
                    f"a session only {minutes(self.hours.length):g}",
                    where="[run] session_min",
                    cure="make the sessions longer",
                )

    def goal(self, score: tuple[int, int, int]) -> tuple[int, int, int]:
        """Makespan, painters' time and mix changes, in the order in which they are to be least."""
        return (score[2], score[0], score[1]) if self.fewest_changes else score

    @cached_property
    def primes_first(self) -> bool:
        """All castings are primed before the first is painted, where all are there from the start and have room.
        The primer is set up once, and nothing is sprayed beside wet paint or a hair dryer."""
        primes = any(op.kind == "prime" for op in self.operations)
        return primes and not self.ready[-1] and self.rack is None

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """For each operation, those that wait for it."""
        out: list[list[int]] = [[] for _ in self.operations]
        for index, op in enumerate(self.operations):
            for before in op.after:
                out[before].append(index)
        return tuple(tuple(o) for o in out)

    def of(self, castings: int, **changes: object) -> "RunProblem":
        """The same work for another number of castings, all there at the start unless `ready` is given."""
        return replace(self, castings=castings, ready=(0,) * castings, **changes)  # type: ignore[arg-type]


def run_problem(
    scheme: Scheme,
    order: PaintingOrder,
    dry: Sequence[DryTimes],
    labour: Labour,
    room: Room,
    settings: RunSettings,
    primer_coats: int = 1,
) -> RunProblem:
    """The problem of painting `settings.castings` castings by the painting order, its coats of primer included.

    dry: primer first, then the paint (one more may follow). An operation is a coat of a pass on a part; it
    waits for every earlier coat that lies on the same area or beside it, which keeps the order of the passes
    wherever two areas touch and leaves it free where they do not. Raises InputError when a session or the
    life of a mix is too short for one coat.
    """
    wet = f"primer {order.primer.name}"
    names = list(dict.fromkeys([*([wet] if primer_coats else []), *(one.mix for one in order.passes)]))
    operations = _priming(scheme, dry[0], primer_coats, labour)
    laid = [frozenset(part.areas) for _ in range(primer_coats) for part in scheme.parts]
    touching = {frozenset(e.areas) for e in order.edges} | {frozenset(e.areas) for e in scheme.edges}
    for one in order.passes:
        mix, film = names.index(one.mix), _dryer_tried(_film_of(one, dry[1], room), room)
        parts = [p for p in scheme.parts if any(w.part == p.name for w in one.work)]
        for coat in range(1, one.coats + 1):
            for part in parts:
                areas = frozenset(w.area for w in one.work if w.part == part.name and w.coats >= coat)
                if areas:
                    after = _waits_for(operations, laid, part.name, one, coat, areas, touching)
                    operations.append(_coat(one, coat, part, mix, film, after, labour))
                    laid.append(areas)
    spared = wet if "aerosol" in dry[0].kind else ""
    return RunProblem(
        castings=settings.castings,
        operations=tuple(_without_implied(_parts_after(scheme, operations))),
        mixes=tuple(names),
        changes=tuple(ticks(labour.change_min) for _ in names),
        life=tuple(None if name == spared else ticks(settings.mix_life_min) for name in names),
        ready=_arrivals(settings),
        painters=settings.painters,
        rack=settings.rack,
        hours=_hours(settings),
        dryer=room.dryer,
        fewest_changes=settings.fewest_changes,
        start_at=time_of_day(settings.start_at),
        effort=settings.search_s * _hardness(settings, room, settings.castings * len(operations)),
    )


def _hardness(settings: RunSettings, room: Room, coats: int) -> float:
    """How many times the effort is needed, from 1 to HARDER."""
    if room.dryer or settings.painters > 1 or settings.session_min is not None or settings.rack is not None:
        return HARDER
    return min(HARDER, max(1.0, coats / EASY_COATS))


def _priming(scheme: Scheme, primer: DryTimes, coats: int, labour: Labour) -> list[Operation]:
    """Each coat of primer on each part; the primer is the first mix."""
    rate = labour.spray_per_cm2_min if paint_kind(primer.kind).sprayed else labour.per_cm2_min
    (hand, rest), dry, count = _forced(primer), ticks(primer.recoat_min), len(scheme.parts)
    return [
        Operation(
            0,
            coat + 1,
            part.name,
            0,
            ticks(labour.handle_min * part.copies + part.surface_cm2 * rate),
            dry,
            (number + (coat - 1) * count,) if coat else (),
            hand,
            rest,
            "prime",
        )
        for coat in range(coats)
        for number, part in enumerate(scheme.parts)
    ]


def _arrivals(settings: RunSettings) -> tuple[int, ...]:
    """When each casting is there."""
    shots = (j // max(1, settings.per_shot) for j in range(settings.castings))
    return tuple(ticks(settings.first_ready_min + settings.cadence_min * shot) for shot in shots)


def _film_of(one: Pass, paint: DryTimes, room: Room) -> DryTimes:
    """The times of the pass's own film: a sprayed one is thinner, and leaner in water, than the brushed paint's."""
    if one.tool != "airbrush" or not one.wet_um:
        return paint
    row = paint_kind("airbrush")
    times = dry_times(row.key, one.wet_um * row.volume_solids, room, dryer=False)
    return replace(times, touch_dry_min=one.touch_dry_min or times.touch_dry_min)


def _dryer_tried(paint: DryTimes, room: Room) -> DryTimes:
    """The times with the dryer's minutes even where none is in use, so that its gain can be told."""
    if paint.dryer_hand_min is not None:
        return paint
    forced = dry_times(paint.kind, paint.dry_um, room, dryer=True)
    if forced.dryer_hand_min is None:
        return paint
    own = paint.touch_dry_min / forced.touch_dry_min
    return replace(paint, dryer_hand_min=own * forced.dryer_hand_min, dryer_rest_min=forced.dryer_rest_min)


def _forced(dry: DryTimes) -> tuple[int | None, int]:
    """Hand ticks and rest ticks with the dryer."""
    return (None, 0) if dry.dryer_hand_min is None else (ticks(dry.dryer_hand_min), ticks(dry.dryer_rest_min))


def _coat(
    one: Pass, coat: int, part: SchemePart, mix: int, paint: DryTimes, after: tuple[int, ...], labour: Labour
) -> Operation:
    work = labour.handle_min * part.copies + sum(w.minutes for w in one.work if w.part == part.name and w.coats >= coat)
    hand, rest = _forced(paint)
    dry = ticks(one.recoat_min if one.recoat_min > 0 else paint.recoat_min)
    return Operation(one.no, coat, part.name, mix, ticks(work), dry, after, hand, rest)


def _waits_for(
    operations: Sequence[Operation],
    laid: Sequence[frozenset[int]],
    part: str,
    one: Pass,
    coat: int,
    areas: frozenset[int],
    touching: set[frozenset[int]],
) -> tuple[int, ...]:
    """The earlier operations that must be dry: on the same area, or beside it in another pass."""

    def binds(index: int) -> bool:
        op, before = operations[index], laid[index]
        if op.part != part:
            return False
        if before & areas:
            return True
        return op.pass_no != one.no and any(frozenset((a, b)) in touching for a in before for b in areas)

    return tuple(i for i in range(len(operations)) if binds(i))


def _parts_after(scheme: Scheme, operations: list[Operation]) -> list[Operation]:
    """A part that is painted after others waits for all their coats; the list is put in an order that fits."""
    waits = {p.name: set(p.after) for p in scheme.parts}
    if not any(waits.values()):
        return operations
    ranks = _part_ranks(waits)
    order = sorted(range(len(operations)), key=lambda i: (ranks[operations[i].part], i))
    place = {old: new for new, old in enumerate(order)}
    out = []
    for old in order:
        op = operations[old]
        whole = [i for i, o in enumerate(operations) if o.part in waits[op.part]]
        out.append(replace(op, after=tuple(sorted(place[i] for i in (*op.after, *whole)))))
    return out


def _without_implied(operations: list[Operation]) -> list[Operation]:
    """Drop every wait that follows from another: who waits for b, which waits for a, waits for a."""
    behind: list[frozenset[int]] = []
    out = []
    for op in operations:
        implied = frozenset[int]().union(*(behind[i] for i in op.after))
        behind.append(implied | set(op.after))
        out.append(replace(op, after=tuple(i for i in op.after if i not in implied)))
    return out


def _part_ranks(waits: dict[str, set[str]]) -> dict[str, int]:
    ranks: dict[str, int] = {}
    while len(ranks) < len(waits):
        free = [n for n, w in waits.items() if n not in ranks and w <= ranks.keys()]
        if not free:
            raise InputError(
                f"parts wait for each other: {', '.join(n for n in waits if n not in ranks)}",
                where="[parts] after",
                cure="take one of them out of `after`",
            )
        ranks |= {n: len(set(ranks.values())) for n in free}
    return ranks


def time_of_day(text: str) -> int | None:
    """Minutes after midnight of '9:00' or '09.00', None of ''. Raises InputError for anything else."""
    found = re.fullmatch(r"\s*(\d{1,2})[:.](\d{2})\s*", text)
    if found and int(found[1]) < 24 and int(found[2]) < 60:
        return int(found[1]) * 60 + int(found[2])
    if text.strip():
        raise InputError(
            f"'{text[:40]}' is no time of day", where="[run] start_at", cure='write it as start_at = "09:00"'
        )
    return None


def _hours(settings: RunSettings) -> Hours:
    if settings.session_min is None:
        return Hours()
    starts = tuple(ticks(s) for s in settings.starts) or (0,)
    try:
        return Hours(ticks(settings.session_min), starts, ticks(settings.day_min))
    except ValueError as error:
        where = f"[run] session_min, {'starts' if settings.starts else 'day_min'}"
        raise InputError(str(error), where=where, cure="let every session end before the next starts") from error
