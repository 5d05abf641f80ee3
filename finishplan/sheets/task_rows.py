"""The rows of an evening: what one painter does in turn, brought together and said in words. No layout here."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from finishplan.basics.words import duration, listed
from finishplan.order.area_names import whole_coats
from finishplan.order.model import PaintingOrder, Pass
from finishplan.plan.plan import Plan
from finishplan.run.model import Session, Task
from finishplan.run.words import parts_together
from finishplan.sheets.words import ranges

_WAIT = 2.0
"""A painter's pause of more minutes is told."""


@dataclass(frozen=True)
class Row:
    """Tasks that one painter does in a row: the same pass and coat, or the same thing for the whole bench. kind: as
    the tasks', or 'wait'."""

    kind: str
    tasks: tuple[Task, ...]
    start_min: float
    end_min: float

    @property
    def first(self) -> Task:
        """The first task."""
        return self.tasks[0]


def sessions_of(plan: Plan) -> tuple[Session, ...]:
    """The evenings in which anybody works; one, where the run is painted in one stretch."""
    sessions = plan.run.sessions or (Session(1, 0.0, plan.run.makespan_min),)
    return tuple(s for s in sessions if tasks_in(plan, s))


def tasks_in(plan: Plan, session: Session) -> list[Task]:
    """The tasks of an evening, in order of time."""
    # Up to the next evening's start, not its own end, which its last task may overrun.
    later = [s.start_min for s in plan.run.sessions if s.start_min > session.start_min]
    end = min(later, default=float("inf")) - 1e-6
    inside = [t for t in plan.run.tasks if session.start_min - 1e-6 <= t.start_min < end]
    return sorted(inside, key=lambda t: (t.start_min, t.painter, t.end_min))


def task_rows(tasks: Sequence[Task]) -> list[Row]:
    """Tasks brought together painter by painter, in order of time, with the painter's pauses between them. Turning to
    a mix is no row of its own: what is laid next tells it."""
    rows: list[Row] = []
    for painter in sorted({t.painter for t in tasks}):
        mine: list[Row] = []
        for t in (t for t in tasks if t.painter == painter):
            last = mine[-1] if mine else None
            if last and t.start_min > last.end_min + _WAIT:
                mine.append(Row("wait", (t,), last.end_min, t.start_min))
            if mine and mine[-1].kind != "wait" and _alike(mine[-1].first, t):
                mine[-1] = replace(mine[-1], tasks=(*mine[-1].tasks, t), end_min=t.end_min)
            else:
                mine.append(Row(t.kind, (t,), t.start_min, t.end_min))
        rows += _without_turns(mine)
    return sorted(rows, key=lambda row: (row.start_min, row.first.painter))


def _alike(one: Task, other: Task) -> bool:
    if one.kind == "dryer" and other.kind == "dryer":
        return True
    keys = [(t.kind, t.figure, t.pass_no, t.coat, t.mix) for t in (one, other)]
    return keys[0] == keys[1]


def _without_turns(rows: Sequence[Row]) -> list[Row]:
    """Turns to a mix go into the row after them."""
    kept: list[Row] = []
    start: float | None = None
    for row in rows:
        if row.kind == "change":
            start = row.start_min if start is None else start
            continue
        begun = start if start is not None and row.kind in ("coat", "prime") else row.start_min
        kept.append(replace(row, start_min=begun))
        start = None
    return kept


def what(plan: Plan, row: Row) -> str:
    """The row in words: 'Pass 3, coat 2: head and body, castings 1–12'."""
    t = row.first
    if row.kind == "wait":
        return f"Wait {duration(row.end_min - row.start_min, up=True)}: the paint dries{_or_dried(plan, row)}"
    if row.kind == "dryer":
        # In order of working, as they are set into its stream.
        castings = castings_of(row.tasks)
        on = f" on {on_castings(castings, min(castings))}" if castings and plan.run.castings > 1 else ""
        return f"Hair dryer{on} for {duration(row.end_min - row.start_min, up=True)}"
    if row.kind == "mix":
        return _mixed(plan, t)
    if row.kind in ("setup", "clear"):
        return "Set up the palette, water and rack" if row.kind == "setup" else "Clear away, wash the brushes"
    if row.kind == "prime":
        return f"Prime: {_where(plan, row)}"
    if row.kind == "coat":
        laid = next(p for p in plan.order.passes if p.no == t.pass_no)
        return f"Pass {t.pass_no}, coat {t.coat}{_line(plan.order, laid, row.tasks)}: {_where(plan, row)}"
    return "See to the bench"


def _or_dried(plan: Plan, row: Row) -> str:
    """', or use the hair dryer' where it is at hand, the coat may be dried so, that is quicker than the wait, and no
    primer from a can is drying."""
    room, paint = plan.room, plan.dry[min(1, len(plan.dry) - 1)]
    spared = row.end_min - row.start_min > room.dryer_min + room.dryer_rest_min
    # Only a wait for a coat: to mix or to clear away nothing need be dry.
    coats = row.first.kind in ("coat", "change") and row.first.pass_no > 0
    use = room.dryer and paint.dryer_hand_min is not None and spared and coats and not _solvent_near(plan, row)
    return ", or use the hair dryer" if use else ""


def _solvent_near(plan: Plan, row: Row) -> bool:
    """Whether a primer that must not meet a hair dryer is laid or dries during the row."""
    primer = plan.dry[0]
    laid = ((t.start_min, t.end_min + primer.brushed_over_min) for t in plan.run.tasks if t.kind == "prime")
    # On whichever casting it lies: its vapour is in the room.
    return primer.dryer_hand_min is None and any(s < row.end_min and e > row.start_min for s, e in laid)


def _mixed(plan: Plan, task: Task) -> str:
    """'Mix dusty teal'; of the primer, that it is poured out."""
    names = {m.id: m.name for m in (*plan.mixes, *plan.order.extra_mixes)}
    return f"Mix {names[task.mix]}" if task.mix in names else "Pour out the primer"


def castings_of(tasks: Iterable[Task]) -> list[int]:
    """The castings of some tasks, each once, in order of working."""
    return list(dict.fromkeys(c for t in tasks for c in (t.castings or ((t.casting,) if t.casting else ()))))


def on_castings(castings: Sequence[int], first: int) -> str:
    """'casting 4', 'castings 1–4, 9'; 'castings 1–12, from 7 on' where the work begins with another than the least."""
    begin = f", from {first} on" if first != min(castings) else ""
    return f"casting{'s' * (len(castings) > 1)} {ranges(sorted(castings))}{begin}"


def _where(plan: Plan, row: Row) -> str:
    """'head and body, castings 1–12'; parts with other castings each with theirs; 'all parts' where it is all."""
    # By casting, whatever order they are worked in: only so are those alike found.
    groups = parts_together(sorted(row.tasks, key=lambda t: t.casting))
    told = []
    for parts, castings in groups:
        named = listed(p for p in parts if p)
        every = len(parts) == len(plan.scheme.parts) > 1
        first = next(t.casting for t in row.tasks if t.part == parts[0])
        on = on_castings(castings, first) if plan.run.castings > 1 else ""
        told.append(", ".join(w for w in ("all parts" if every else named, on) if w))
    return "; ".join(told) or "the figure"


def _line(order: PaintingOrder, laid: Pass, tasks: Sequence[Task]) -> str:
    """' (along the cut edge only)' where none of these parts needs the coat but there."""
    parts = {t.part for t in tasks}
    work = [w for w in laid.work if parts == {""} or w.part in parts]
    only = bool(work) and tasks[0].coat > whole_coats(order, work)
    return " (along the cut edge only)" if only else ""
