"""An independent judge of schedules: it reads the tasks of a finished run and shares no code with what made them."""

from collections import defaultdict
from itertools import pairwise

from finishplan.run.model import Run, Task
from finishplan.run.tasks import RunProblem


def _t(value: float) -> int:
    count = round(value * 100)
    assert abs(count - value * 100) < 1e-6, f"{value} min is not a whole tick"
    return count


def violations(problem: RunProblem, run: Run) -> list[str]:
    """Everything in the run that breaks the problem's rules, in words; empty when all is well."""
    coats = [(t.casting, _operation(problem, t)) for t in run.tasks if t.kind in ("coat", "prime")]
    if sorted(coats) != [(j, i) for j in range(1, problem.castings + 1) for i in range(len(problem.operations))]:
        return ["a coat is missing, laid twice or on a casting that is not there"]
    return [
        *_tasks_whole(problem, run),
        *_one_thing_at_a_time(run),
        *_dry_before_next(problem, run),
        *_mix_open(problem, run),
        *_rack(problem, run),
        *_in_hours(problem, run),
        *_figures(problem, run),
    ]


def _operation(problem: RunProblem, task: Task) -> int:
    found = [
        i
        for i, op in enumerate(problem.operations)
        if (op.pass_no, op.coat, op.part) == (task.pass_no, task.coat, task.part)
    ]
    assert len(found) == 1, task
    return found[0]


def _coats(problem: RunProblem, run: Run) -> dict[tuple[int, int], Task]:
    return {(t.casting, _operation(problem, t)): t for t in run.tasks if t.kind in ("coat", "prime")}


def _tasks_whole(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    coats = _coats(problem, run)
    for (casting, index), task in coats.items():
        op = problem.operations[index]
        if _t(task.end_min) - _t(task.start_min) != op.work:
            bad.append(f"{task} takes another time than {op.work}")
        if task.mix != problem.mixes[op.mix]:
            bad.append(f"{task} has the wrong mix")
        if _t(task.start_min) < problem.ready[casting - 1]:
            bad.append(f"{task} before the casting is there")
    for task in run.tasks:
        span = _t(task.end_min) - _t(task.start_min)
        if task.kind == "change" and span != problem.changes[problem.mixes.index(task.mix)]:
            bad.append(f"{task} is no whole change")
        if task.kind == "dryer":
            op = problem.operations[_operation(problem, task)]
            if not problem.dryer or op.hand is None or span != op.hand:
                bad.append(f"{task}: no dryer there, or not long enough")
            if _t(task.start_min) < _t(coats[task.casting, _operation(problem, task)].end_min):
                bad.append(f"{task} before the coat is laid")
        if not 1 <= task.painter <= problem.painters or _t(task.start_min) < 0:
            bad.append(f"{task}: no such painter or time")
    return bad


def _one_thing_at_a_time(run: Run) -> list[str]:
    lanes: dict[object, list[Task]] = defaultdict(list)
    for task in run.tasks:
        lanes["painter", task.painter].append(task)
        if task.casting:
            lanes["piece", task.casting, task.part].append(task)
    bad = []
    for lane in lanes.values():
        lane.sort(key=lambda t: (t.start_min, t.end_min))
        bad += [f"{a} and {b} overlap" for a, b in pairwise(lane) if _t(b.start_min) < _t(a.end_min)]
    return bad


def _dry_at(problem: RunProblem, run: Run) -> dict[tuple[int, int], int]:
    dry = {k: _t(t.end_min) + problem.operations[k[1]].dry for k, t in _coats(problem, run).items()}
    for task in run.tasks:
        if task.kind == "dryer":
            key = (task.casting, _operation(problem, task))
            dry[key] = min(dry[key], _t(task.end_min) + problem.operations[key[1]].rest)
    return dry


def _dry_before_next(problem: RunProblem, run: Run) -> list[str]:
    dry, coats = _dry_at(problem, run), _coats(problem, run)
    return [
        f"{task} on a coat that is wet until {dry[casting, before]}"
        for (casting, index), task in coats.items()
        for before in problem.operations[index].after
        if _t(task.start_min) < dry[casting, before]
    ]


def _session(problem: RunProblem, time: int) -> int | None:
    hours = problem.hours
    if hours.length is None:
        return 0
    starts = list(hours.starts)
    while starts[-1] <= time:
        starts.append(starts[-1] + hours.every)
    inside = [n for n, s in enumerate(starts) if s <= time < s + hours.length]
    return inside[0] if inside else None


def _mix_open(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    for painter in range(1, problem.painters + 1):
        mix, opened, session = "", 0, None
        for task in sorted((t for t in run.tasks if t.painter == painter), key=lambda t: (t.start_min, t.end_min)):
            if task.kind == "change":
                mix, opened, session = task.mix, _t(task.end_min), _session(problem, _t(task.start_min))
            elif task.kind in ("coat", "prime"):
                life = problem.life[problem.mixes.index(task.mix)]
                if task.mix != mix:
                    bad.append(f"{task} while {mix} is open")
                if _session(problem, _t(task.start_min)) != session:
                    bad.append(f"{task} with a mix of another session")
                if life is not None and _t(task.end_min) > opened + life:
                    bad.append(f"{task} with a stale mix")
    return bad


def _rack(problem: RunProblem, run: Run) -> list[str]:
    if problem.rack is None:
        return []
    dry, coats, events = _dry_at(problem, run), _coats(problem, run), []
    for casting in range(1, problem.castings + 1):
        events.append((min(_t(t.start_min) for (j, _), t in coats.items() if j == casting), 1))
        events.append((max(d for (j, _), d in dry.items() if j == casting), -1))
    held = 0
    for _, step in sorted(events):
        held += step
        if held > problem.rack:
            return ["the rack is too full"]
    return []


def _in_hours(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    for task in run.tasks:
        number = _session(problem, _t(task.start_min))
        if number is None or (
            problem.hours.length is not None and _session(problem, max(_t(task.end_min) - 1, 0)) != number
        ):
            bad.append(f"{task} outside the hours")
    return bad


def _figures(problem: RunProblem, run: Run) -> list[str]:
    coats = _coats(problem, run)
    ends = [max(t.end_min for (j, _), t in coats.items() if j == c) for c in range(1, problem.castings + 1)]
    hand = sum(_t(t.end_min) - _t(t.start_min) for t in run.tasks)
    checks = {
        "finishing times": tuple(ends) == run.finish_min,
        "makespan": max(ends) == run.makespan_min,
        "painter's minutes": hand == _t(run.painter_min),
        "mix changes": sum(t.kind == "change" for t in run.tasks) == run.mix_changes,
        "lower bound": run.lower_bound_min <= run.makespan_min,
        "proven": run.proven is False or run.makespan_min == run.lower_bound_min,
        "waiting": 0 <= run.waiting_min <= run.painters * run.makespan_min,
    }
    if problem.hours.length is None and problem.painters == 1:
        first = min(t.start_min for t in run.tasks)
        checks["waiting of one"] = _t(run.waiting_min) == _t(run.makespan_min) - _t(first) - hand
    return [name for name, right in checks.items() if not right]
