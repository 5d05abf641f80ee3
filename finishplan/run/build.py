"""From the painting order to the run's problem: what is laid when on one casting, how long it takes, what it waits
for."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from graphlib import TopologicalSorter

from finishplan.basics.errors import InputError
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.drying.times import dry_times
from finishplan.job.settings import Labour, Room, RunSettings
from finishplan.order.minutes import COATING_BRUSH_MM, cover_per_cm2, mixing_minutes
from finishplan.order.model import PaintingOrder, Pass
from finishplan.paint.model import Mix
from finishplan.run.hours import Hours
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem, Stream, ticks
from finishplan.scheme.model import Scheme, SchemePart

HARDER = 1.5
"""How much longer is searched where a sequence takes long to time, or many must be tried."""
EASY_COATS = 100


@dataclass(frozen=True, eq=False)
class Painted:
    """One figure as it is to be painted. dry: primer first, then the paint, then the varnish where that counts."""

    scheme: Scheme
    order: PaintingOrder
    mixes: Sequence[Mix]
    dry: Sequence[DryTimes]
    primer_coats: int = 1


def run_problem(figure: Painted, labour: Labour, room: Room, settings: RunSettings) -> RunProblem:
    """The problem of painting `settings.castings` castings by the painting order, its coats of primer included.

    An operation is a coat of a pass on a part. It is laid over every earlier coat on one of its areas, recoat dry by
    then, and beside those on areas that touch one of its own, touch dry by then; where neither holds the order is free.
    In sessions, priming from a can comes before the first.
    labour: the maker's own minutes, pace applied. Raises InputError when a session or the life of a pot is too short
    for one coat.
    """
    priming = (0, 0)
    if _primed_before(figure, settings):
        priming = _priming_before(figure, labour, settings)
        # The wait and the work are told as `priming`; as operations they would take up the first evening.
        figure = replace(figure, primer_coats=0)
    operations, names = _operations(figure, labour, room)
    return RunProblem(
        figures=(Figure(tuple(_without_implied(_parts_after(figure.scheme, operations))), figure.scheme.name),),
        castings=Castings((0,) * settings.castings, _arrivals(settings), settings.rack),
        mixes=tuple(_mix_work(figure, name, labour, settings) for name in names),
        turn=ticks(labour.turn_min),
        wells=settings.wells,
        painters=settings.painters,
        hours=_hours(settings, labour),
        priming=priming,
        slack=ticks(settings.slack_min),
        stream=_stream(room, figure.dry[1]),
        dryer=room.dryer,
        fewest_turns=settings.fewest_changes,
        start_at=time_of_day(settings.start_at),
        effort=settings.search_s * (HARDER if settings.castings * len(operations) > EASY_COATS else 1.0),
    )


def _operations(figure: Painted, labour: Labour, room: Room) -> tuple[list[Operation], list[str]]:
    """Of one casting, in the order of the passes, and the names of their mixes, the primer first."""
    scheme, order, coats = figure.scheme, figure.order, figure.primer_coats
    used = (m for one in order.passes for m in (one.mix, *one.also_open))
    names = list(dict.fromkeys([*([_primer_name(order)] if coats else []), *used]))
    operations = _priming(figure, labour)
    # Primer lies over every area of its part, so whatever is painted waits for it.
    laid = [frozenset(part.areas) for _ in range(coats) for part in scheme.parts]
    touching = {frozenset(e.areas) for e in order.edges} | {frozenset(e.areas) for e in scheme.edges}
    for one in order.passes:
        film = _film_of(one, figure.dry[1], room)
        for coat in range(1, one.coats + 1):
            for part in (p for p in scheme.parts if any(w.part == p.name for w in one.work)):
                # Areas that need fewer coats than the pass has drop out of its last coats.
                areas = frozenset(w.area for w in one.work if w.part == part.name and w.coats >= coat)
                if areas:
                    waits = _waits_for(operations, laid, (part.name, one.no, coat), areas, touching)
                    operations.append(_drying(_coat(one, coat, part, names, labour), film, waits))
                    laid.append(areas)
    return operations, names


def _primer_name(order: PaintingOrder) -> str:
    return f"primer {order.primer.name}"


def _mix_work(figure: Painted, name: str, labour: Labour, settings: RunSettings) -> MixWork:
    """A mix's minutes on the palette; a can's primer has none, one by brush is poured out as it is."""
    if name == _primer_name(figure.order):
        if paint_kind(figure.dry[0].kind).sprayed:
            return MixWork(name, 0)
        return MixWork(name, ticks(labour.mix_min), ticks(settings.pot_life))
    mixes: Mapping[str, Mix] = {m.id: m for m in (*figure.mixes, *figure.order.extra_mixes)}
    return MixWork(name, ticks(mixing_minutes(labour, mixes[name])), ticks(settings.pot_life))


def _priming(figure: Painted, labour: Labour) -> list[Operation]:
    """Each coat of primer on each part; the primer is the first mix."""
    primer, parts = figure.dry[0], figure.scheme.parts
    sprayed = paint_kind(primer.kind).sprayed
    rate = labour.spray_per_cm2_min if sprayed else cover_per_cm2(labour, COATING_BRUSH_MM)
    return [
        Operation(
            0,
            coat + 1,
            part.name,
            0,
            # Each copy of the part is taken up once, however small its surface.
            ticks(labour.handle_min * part.copies + part.surface_cm2 * rate),
            # Primer is recoated sooner than a brush may go over it: only the last coat waits the longer time.
            ticks(primer.recoat_min if coat + 1 < figure.primer_coats else primer.brushed_over_min),
            ticks(primer.touch_dry_min),
            over=(number + (coat - 1) * len(parts),) if coat else (),
            forced=paint_kind(primer.kind).medium == "water",
            kind="prime",
        )
        for coat in range(figure.primer_coats)
        for number, part in enumerate(parts)
    ]


def _primed_before(figure: Painted, settings: RunSettings) -> bool:
    """Whether the castings are primed before the first evening: from a can, not at the table, and all there by then.
    The primer's wait of an hour or two before it is brushed over would else take up the evening (common practice)."""
    sprayed = figure.primer_coats > 0 and paint_kind(figure.dry[0].kind).sprayed
    together = not settings.first_ready_min and not settings.cadence_min and settings.rack is None
    return settings.session_min is not None and sprayed and together


def _priming_before(figure: Painted, labour: Labour, settings: RunSettings) -> tuple[int, int]:
    """Ticks of priming all castings, and from the last coat of primer to the first of paint."""
    # One figure's primer on all castings is one turn: the can is taken up once.
    work = sum(op.work for op in _priming(figure, labour))
    return settings.castings * work + ticks(labour.turn_min), ticks(figure.dry[0].brushed_over_min)


def _arrivals(settings: RunSettings) -> tuple[int, ...]:
    """When each casting is there."""
    shots = (j // max(1, settings.per_shot) for j in range(settings.castings))
    return tuple(ticks(settings.first_ready_min + settings.cadence_min * shot) for shot in shots)


def _film_of(one: Pass, paint: DryTimes, room: Room) -> DryTimes:
    """The times of the pass's own film: a sprayed one is thinner, and leaner in water, than the brushed paint's."""
    if one.tool == "airbrush" and one.wet_um:
        row = paint_kind("airbrush")
        paint = dry_times(row.key, one.wet_um * row.volume_solids, room, dryer=False)
    return replace(
        paint,
        touch_dry_min=one.touch_dry_min or paint.touch_dry_min,
        recoat_min=one.recoat_min or paint.recoat_min,
    )


def _stream(room: Room, paint: DryTimes) -> Stream:
    """The hair dryer's minutes: as set, but never less than the paint's film takes in its warm air by the model."""
    # A film with solvent has no forced time; its operations are kept from the stream anyway.
    forced = dry_times(paint.kind, paint.dry_um, room, dryer=True).dryer_hand_min or 0.0
    goes = (room.go_min(n) for n in range(1, room.dryer_castings + 1))
    return Stream(tuple(ticks(max(go, forced)) for go in goes), ticks(room.dryer_rest_min))


def _coat(one: Pass, coat: int, part: SchemePart, names: Sequence[str], labour: Labour) -> Operation:
    work = [w for w in one.work if w.part == part.name and w.coats >= coat]
    took = labour.handle_min * part.copies + sum(w.minutes for w in work)
    return Operation(
        one.no,
        coat,
        part.name,
        names.index(one.mix),
        ticks(took),
        0,
        also=tuple(dict.fromkeys(names.index(w.mix) for w in work if w.mix and w.mix != one.mix)),
    )


def _drying(op: Operation, film: DryTimes, waits: tuple[tuple[int, ...], tuple[int, ...]]) -> Operation:
    """The operation with the times of its film and what it waits for: what it lies over, what it is cut beside."""
    return replace(
        op,
        recoat=ticks(film.recoat_min),
        touch=ticks(film.touch_dry_min),
        forced=paint_kind(film.kind).medium == "water",
        over=waits[0],
        beside=waits[1],
    )


def _waits_for(
    operations: Sequence[Operation],
    laid: Sequence[frozenset[int]],
    what: tuple[str, int, int],
    areas: frozenset[int],
    touching: set[frozenset[int]],
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The earlier operations that it lies over, and those of other passes that it is cut beside. what: part, pass,
    coat."""
    over, beside = list[int](), list[int]()
    for index, (op, before) in enumerate(zip(operations, laid, strict=True)):
        if op.part != what[0]:
            continue
        # Over an area painted before it must be recoat dry, which includes touch dry: no `beside` needed.
        if before & areas:
            over.append(index)
        # Coats of one pass are in one colour: touching each other wet does no harm.
        elif op.pass_no != what[1] and any(frozenset((a, b)) in touching for a in before for b in areas):
            beside.append(index)
    return tuple(over), tuple(beside)


def _parts_after(scheme: Scheme, operations: list[Operation]) -> list[Operation]:
    """A part that is painted after others waits for all their coats; the list is put in an order that fits."""
    waits = {p.name: set(p.after) for p in scheme.parts}
    if not any(waits.values()):
        return operations
    ranks = _part_ranks(waits)
    # Sorted by rank, then as they came: parts of one rank keep the order of the passes.
    order = sorted(range(len(operations)), key=lambda i: (ranks[operations[i].part], i))
    place = {old: new for new, old in enumerate(order)}
    out = []
    for old in order:
        op = operations[old]
        whole = [i for i, o in enumerate(operations) if o.part in waits[op.part]]
        over = tuple(sorted({place[i] for i in (*op.over, *whole)}))
        # A wait that is `over` already is the stricter one.
        out.append(replace(op, over=over, beside=tuple(sorted({place[i] for i in op.beside} - set(over)))))
    return out


def _without_implied(operations: list[Operation]) -> list[Operation]:
    """Drop every wait that follows from another: who waits for b, which was laid once a was dry, waits for a."""
    recoated: list[frozenset[int]] = []
    touched: list[frozenset[int]] = []
    out = []
    # Only what was waited for recoat dry hands its own waits on: touch dry says less.
    for op in operations:
        dry = frozenset[int]().union(*(recoated[i] for i in op.after))
        over = tuple(i for i in op.over if i not in dry)
        recoated.append(dry | set(op.over))
        touching = recoated[-1].union(*(touched[i] for i in op.after))
        touched.append(touching | set(op.beside))
        out.append(replace(op, over=over, beside=tuple(i for i in op.beside if i not in touching)))
    return out


def _part_ranks(waits: dict[str, set[str]]) -> dict[str, int]:
    """How many parts, one after another, each waits for at the most."""
    sorter, ranks, rank = TopologicalSorter(waits), dict[str, int](), 0
    sorter.prepare()
    while sorter.is_active():
        free = sorter.get_ready()
        ranks |= dict.fromkeys(free, rank)
        sorter.done(*free)
        rank += 1
    return ranks


def time_of_day(text: str) -> int | None:
    """Minutes after midnight of '9:00' or '09.00', None of ''. Raises InputError for anything else."""
    found = re.fullmatch(r"\s*(\d{1,2})[:.](\d{2})\s*", text)
    if found and int(found[1]) < 24 and int(found[2]) < 60:
        return int(found[1]) * 60 + int(found[2])
    if text.strip():
        raise InputError(f"'{text[:40]}' is not a time of day", key="run.start_at", cure='write start_at = "09:00"')
    return None


def _hours(settings: RunSettings, labour: Labour) -> Hours:
    if settings.session_min is None:
        return Hours()
    starts = tuple(ticks(s) for s in settings.starts) or (0,)
    setup = ticks(labour.setup_min)
    if setup >= ticks(settings.session_min):
        raise InputError(
            f"setting up and clearing away take {labour.setup_min:g} min, an evening {settings.session_min:g}",
            key="run.session_min",
            cure="make the evenings longer",
        )
    try:
        # `over` stays 0: whether sessions run over is the search's to decide, up to the slack.
        return Hours(ticks(settings.session_min), starts, ticks(settings.day_min), setup)
    except ValueError as error:
        key = f"run.session_min, {'starts' if settings.starts else 'day_min'}"
        raise InputError(str(error), key=key, cure="let every evening end before the next starts") from error
