"""An independent judge of schedules: it reads the tasks of a finished run and shares no code with what made them."""

from collections import defaultdict
from itertools import pairwise

from finishplan.run.model import Run, Task
from finishplan.run.problem import Operation, RunProblem

PAINTING = ("coat", "prime")


def _t(value: float) -> int:
    count = round(value * 100)
    assert abs(count - value * 100) < 1e-6, f"{value} min is not a whole tick"
    return count


def violations(problem: RunProblem, run: Run) -> list[str]:
    """Everything in the run that breaks the problem's rules, in words; empty when all is well."""
    laid = sorted((t.casting - 1, _index(problem, t)) for t in run.tasks if t.kind in PAINTING)
    if laid != [(j, i) for j in range(problem.count) for i in range(len(_operations(problem, j)))]:
        return ["a coat is missing, laid twice or on a casting that is not there"]
    return [
        *_tasks_whole(problem, run),
        *_one_thing_at_a_time(run),
        *_dry_before_next(problem, run),
        *_goes(problem, run),
        *_palettes(problem, run),
        *_rack(problem, run),
        *_evenings(problem, run),
        *_figures(problem, run),
    ]


def _operations(problem: RunProblem, casting: int) -> tuple[Operation, ...]:
    return problem.figures[problem.castings.figure[casting]].operations


def _index(problem: RunProblem, task: Task) -> int:
    key = task.pass_no, task.coat, task.part
    operations = _operations(problem, task.casting - 1) if 0 < task.casting <= problem.count else ()
    found = [i for i, op in enumerate(operations) if (op.pass_no, op.coat, op.part) == key]
    return found[0] if len(found) == 1 else -1


def _operation(problem: RunProblem, task: Task) -> Operation:
    return _operations(problem, task.casting - 1)[_index(problem, task)]


def _tasks_whole(problem: RunProblem, run: Run) -> list[str]:
    bad, number = [], {m.name: m for m in problem.mixes}
    for task in run.tasks:
        span = _t(task.end_min) - _t(task.start_min)
        if not 1 <= task.painter <= problem.painters:
            bad.append(f"{task} by nobody")
        if task.kind in PAINTING:
            op = _operation(problem, task)
            due = op.work
            if task.kind != op.kind or number[task.mix] != problem.mixes[op.mix]:
                bad.append(f"{task} is of another kind or mix")
            if _t(task.start_min) < problem.castings.ready[task.casting - 1]:
                bad.append(f"{task} before the casting is there")
        elif task.kind == "dryer":
            due = problem.stream.go[len(task.castings) - 1]
        else:
            due = {
                "mix": lambda t: number[t.mix].mixing,
                "change": lambda _: problem.turn,
                "setup": lambda _: (problem.hours.setup + 1) // 2,
                "clear": lambda _: problem.hours.setup // 2,
            }[task.kind](task)
        if span != due:
            bad.append(f"{task} takes another time than {due}")
    primed = [t.end_min for t in run.tasks if t.kind == "prime"]
    painted = [t.start_min for t in run.tasks if t.kind == "coat"]
    together = problem.castings.rack is None and not problem.castings.ready[-1]
    if together and primed and painted and max(primed) > min(painted):
        bad.append("painted before all are primed")
    return bad


def _one_thing_at_a_time(run: Run) -> list[str]:
    hands = defaultdict(list)
    for task in run.tasks:
        hands["painter", task.painter].append(task)
        if task.kind in PAINTING:
            hands["piece", task.casting, task.part].append(task)
    bad = []
    for tasks in hands.values():
        tasks.sort(key=lambda t: (t.start_min, t.end_min))
        bad += [f"{b} while {a}" for a, b in pairwise(tasks) if _t(b.start_min) < _t(a.end_min)]
    return bad


def _dried(problem: RunProblem, run: Run, task: Task, natural: int) -> int:
    """When a coat is dry that by itself takes `natural` ticks: or a go later, if that is sooner."""
    end, op = _t(task.end_min), _operation(problem, task)
    goes = (
        _t(go.end_min) + problem.stream.rest
        for go in run.tasks
        if go.kind == "dryer" and task.casting in go.castings and _t(go.start_min) >= end and op.forced
    )
    return min([end + natural, *goes])


def _dry_before_next(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    laid = {(t.casting, _index(problem, t)): t for t in run.tasks if t.kind in PAINTING}
    for (casting, _), task in laid.items():
        op = _operation(problem, task)
        for before, over in [(b, True) for b in op.over] + [(b, False) for b in op.beside]:
            earlier = laid[casting, before]
            wet = _operation(problem, earlier)
            if _t(task.start_min) < _dried(problem, run, earlier, wet.recoat if over else wet.touch):
                bad.append(f"{task} {'over' if over else 'beside'} wet {earlier}")
    return bad


def _goes(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    for go in (t for t in run.tasks if t.kind == "dryer"):
        if not problem.dryer or not 0 < len(go.castings) <= len(problem.stream.go):
            bad.append(f"{go} where there is no such dryer")
        for task in (t for t in run.tasks if t.kind in PAINTING and t.casting in go.castings):
            op = _operation(problem, task)
            if _t(task.start_min) < _t(go.end_min) and _t(task.end_min) > _t(go.start_min):
                bad.append(f"{task} in the stream of {go}")
            laid = _t(task.end_min) <= _t(go.start_min)
            if laid and not op.forced and _t(task.end_min) + op.recoat > _t(go.start_min):
                bad.append(f"{task} is wet with solvent in the stream of {go}")
    return bad


def _palettes(problem: RunProblem, run: Run) -> list[str]:
    bad = []
    for painter in range(1, problem.painters + 1):
        tasks = sorted((t for t in run.tasks if t.painter == painter), key=lambda t: (t.start_min, t.end_min))
        bad += _palette(problem, tasks)
    return bad


def _uses(problem: RunProblem, task: Task) -> list[str]:
    op = _operation(problem, task)
    return [problem.mixes[m].name for m in (op.mix, *op.also) if problem.mixes[m].mixing]


def _palette(problem: RunProblem, tasks: list[Task]) -> list[str]:
    """One painter's pots, well by well, and the brush."""
    bad, brush, evening = [], "", None
    life = {m.name: m.life for m in problem.mixes}
    made: dict[str, int] = {}
    used: dict[str, int] = {}
    for place, task in enumerate(tasks):
        start, end = _t(task.start_min), _t(task.end_min)
        if _evening(problem, start) != evening:
            brush, evening = "", _evening(problem, start)
        following = [t for t in tasks[place:] if t.kind in PAINTING]
        if task.kind == "change":
            if brush == task.mix:
                bad.append(f"{task}: it is at hand")
            brush = task.mix
        elif task.kind == "mix":
            using = next((t for t in following if task.mix in _uses(problem, t)), None)
            fresh = task.mix in made and using is not None
            if using is None or (life[task.mix] is not None and _t(using.end_min) > end + life[task.mix]):
                bad.append(f"{task}: it is thrown away before it is used")
            if fresh and (life[task.mix] is None or _t(using.end_min) <= made[task.mix] + life[task.mix]):
                bad.append(f"{task}: a pot of it lies open")
            made.pop(task.mix, None)
            if len(made) >= problem.wells:
                gone = min((m for m in made if m not in _uses(problem, following[0])), key=lambda m: used[m])
                del made[gone]
            made[task.mix] = used[task.mix] = end
        elif task.kind in PAINTING:
            if brush != task.mix:
                bad.append(f"{task} with {brush or 'nothing'} on the brush")
            for mix in _uses(problem, task):
                if mix not in made or (life[mix] is not None and end > made[mix] + life[mix]):
                    bad.append(f"{task} without a live pot of {mix}")
                used[mix] = end
                if problem.painters == 1 and not any(mix in _uses(problem, t) for t in following[1:]):
                    made.pop(mix, None)  # used up: its well is free
    return bad


def _rack(problem: RunProblem, run: Run) -> list[str]:
    if problem.castings.rack is None:
        return []
    events = []
    for casting in range(1, problem.count + 1):
        coats = [t for t in run.tasks if t.kind in PAINTING and t.casting == casting]
        events.append((min(_t(t.start_min) for t in coats), 1))
        events.append((max(_dried(problem, run, t, _operation(problem, t).recoat) for t in coats), -1))
    held = 0
    for _, step in sorted(events):
        held += step
        if held > problem.castings.rack:
            return ["the rack is too full"]
    return []


def _starts(problem: RunProblem) -> list[int]:
    hours, starts = problem.hours, list(problem.hours.starts)
    while len(starts) < 400:
        starts.append(starts[-1] + hours.every)
    return starts


def _evening(problem: RunProblem, time: int) -> int | None:
    if problem.hours.length is None:
        return 0
    long = problem.hours.length + problem.slack
    return next((n for n, s in enumerate(_starts(problem)) if s <= time < s + long), None)


def _evenings(problem: RunProblem, run: Run) -> list[str]:
    if problem.hours.length is None:
        return ["a session without sessions"] if len(run.sessions) != 1 else []
    bad, found = [], defaultdict(list)
    for task in run.tasks:
        number = _evening(problem, _t(task.start_min))
        if number is None or _evening(problem, max(_t(task.start_min), _t(task.end_min) - 1)) != number:
            bad.append(f"{task} outside the hours")
        found[number].append(task)
    for tasks in found.values() if problem.hours.setup else ():
        tasks.sort(key=lambda t: (t.start_min, t.end_min))
        if tasks[0].kind != "setup" or max(tasks, key=lambda t: (t.end_min, t.start_min)).kind != "clear":
            bad.append(f"a session begins with {tasks[0]} and ends otherwise than cleared away")
    spans = [(min(t.start_min for t in ts), max(t.end_min for t in ts)) for ts in found.values()]
    if sorted(spans) != [(s.start_min, s.end_min) for s in run.sessions]:
        bad.append("the sessions are told otherwise than worked")
    return bad


def _figures(problem: RunProblem, run: Run) -> list[str]:
    coats = [t for t in run.tasks if t.kind in PAINTING]
    ends = tuple(max(t.end_min for t in coats if t.casting == c) for c in range(1, problem.count + 1))
    hand = sum(_t(t.end_min) - _t(t.start_min) for t in run.tasks)
    attendance = sum(_t(s.end_min) - _t(s.start_min) for s in run.sessions)
    if problem.hours.length is None:
        attendance = _t(max(t.end_min for t in run.tasks)) - _t(min(t.start_min for t in run.tasks))
    checks = {
        "finishing times": ends == run.finish_min,
        "makespan": max(ends) == run.makespan_min,
        "painter's minutes": hand == _t(run.painter_min),
        "turns": sum(t.kind == "change" for t in run.tasks) == run.mix_changes >= run.changes_bound,
        "pots": sum(t.kind == "mix" for t in run.tasks) == run.pots_mixed,
        "attendance": attendance == _t(run.attendance_min),
        "lower bound": run.lower_bound_min <= run.makespan_min,
        "least attendance": run.attendance_bound_min <= run.attendance_min,
        "least sessions": run.sessions_bound <= len(run.sessions),
        "proven": run.proven is False or run.makespan_min == run.lower_bound_min,
        "waiting": 0 <= run.waiting_min <= run.painters * run.makespan_min,
    }
    if problem.painters == 1:
        checks["waiting of one"] = _t(run.waiting_min) == attendance - hand
    return [name for name, right in checks.items() if not right]
