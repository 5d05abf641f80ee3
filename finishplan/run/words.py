"""The run as a maker tells it: evenings and hours, never days of the calendar; parts that go alike in one breath."""

from collections.abc import Iterable

from finishplan.basics.words import counted, duration
from finishplan.run.model import Run, Task


def taken(run: Run) -> str:
    """'6 evenings, 17 h 20 min in all'; in one stretch '3 h 05 min'."""
    at_bench = duration(run.attendance_min or run.makespan_min, days=False, up=True)
    if len(run.sessions) <= 1:
        return at_bench
    return f"{counted(len(run.sessions), 'evening')}, {at_bench} in all"


def when(run: Run, minute: float) -> str:
    """How far into the run a moment lies: 'after 2 h 10 min'; of several sessions 'in evening 3, after 1 h 20 min'."""
    if len(run.sessions) <= 1:
        return f"after {duration(minute, days=False)}"
    session = next((s for s in reversed(run.sessions) if s.start_min <= minute), run.sessions[0])
    return f"in evening {session.no}, after {duration(max(0.0, minute - session.start_min), days=False)}"


def least(run: Run) -> str:
    """What no schedule betters, in words: 'no plan takes less', or how far this one is from what none can better."""
    if len(run.sessions) <= 1:
        if run.proven:
            return "no plan is quicker"
        return f"no plan can take less than {duration(run.lower_bound_min, days=False)}"
    fewer = "" if len(run.sessions) == run.sessions_bound else f"{counted(run.sessions_bound, 'evening')} or "
    return f"no plan can take less than {fewer}{duration(run.attendance_bound_min, days=False)} in all"


def parts_together(tasks: Iterable[Task]) -> tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]:
    """(parts, castings) of tasks on one coat, castings in the order given; parts are together where theirs are the
    same."""
    castings: dict[str, dict[int, None]] = {}
    for t in tasks:
        castings.setdefault(t.part, {})[t.casting] = None
    parts: dict[tuple[int, ...], list[str]] = {}
    for part, done in castings.items():
        parts.setdefault(tuple(done), []).append(part)
    return tuple((tuple(names), done) for done, names in parts.items())
