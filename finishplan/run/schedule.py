"""The schedule of a run of identical castings: what each painter does in which minute."""

import json
from collections.abc import Callable
from dataclasses import replace

from finishplan.basics.aside import PATIENCE_S, aside
from finishplan.run.advice import WhatIfs, advise, dried, sentences, short, what_ifs
from finishplan.run.model import Run, Session, Task, TaskKind
from finishplan.run.replay import Placed, Timed
from finishplan.run.solve import Solution, solve
from finishplan.run.tasks import RunProblem, minutes


def schedule(problem: RunProblem, meanwhile: Callable[[], object] = lambda: None) -> Run:
    """The run: the best schedule found, the proven lower bound, and advice.

    Best by the problem's goal: least makespan first, or fewest mix changes. `proven` means that no schedule is shorter.
    The same problem gives the same run on any machine. The makespan ends with the last coat laid, not with
    its drying. meanwhile: called while copies of this process work on it.
    """
    patience_s = PATIENCE_S + 10 * problem.effort  # a slow machine takes its time over a long search
    found = aside(lambda: _solved(problem), patience_s)
    others = aside(lambda: json.dumps(what_ifs(problem)).encode(), patience_s)
    with found as solved, others as wondered:
        meanwhile()
        wonders = WhatIfs(*json.loads(wondered()))
        solution, by_hand = _read(solved())
        wonders = wonders if problem.dryer else wonders._replace(dryer=by_hand)
        solution = _undried(problem, solution, wonders)
        figures = advise(problem, solution, wonders)
    return replace(as_run(problem, solution), advice=sentences(problem, figures), advice_figures=figures)


def _undried(problem: RunProblem, solution: Solution, others: WhatIfs) -> Solution:
    """The run without the dryer where that was found to be no worse: then nothing is dried by hand in vain."""
    if not any(p.dryer for p in solution.timed.placed) or others.dryer[0] > solution.timed.score[0]:
        return solution
    other = solve(replace(problem, dryer=False), short(problem))
    if problem.goal(other.timed.score) >= problem.goal(solution.timed.score):
        return solution
    return replace(other, bound=solution.bound)


def _solved(problem: RunProblem) -> bytes:
    """The solution, and what the dryer would make of it where there is none."""
    solution = solve(problem)
    timed, by_hand = solution.timed, (0, 0) if problem.dryer else dried(problem, solution)
    return json.dumps([timed.score, timed.placed, timed.finish, solution.bound, solution.method, by_hand]).encode()


def _read(written: bytes) -> tuple[Solution, tuple[int, int]]:
    score, placed, finish, bound, method, by_hand = json.loads(written)
    timed = Timed(tuple(score), tuple(Placed(*p) for p in placed), tuple(finish))
    return Solution(timed, bound, method), tuple(by_hand)


def as_run(problem: RunProblem, solution: Solution) -> Run:
    """The solution in minutes: tasks by start time, waiting within the sessions, sessions used."""
    timed = solution.timed
    makespan, hand, changes = timed.score
    return Run(
        castings=problem.castings,
        painters=problem.painters,
        makespan_min=minutes(makespan),
        painter_min=minutes(hand),
        waiting_min=minutes(_waiting(problem, timed)),
        lower_bound_min=minutes(solution.bound),
        proven=solution.proven,
        tasks=_tasks(problem, timed),
        finish_min=tuple(minutes(f) for f in timed.finish),
        sessions=_sessions(problem, makespan),
        method=solution.method,
        mix_changes=changes,
    )


def _tasks(problem: RunProblem, timed: Timed) -> tuple[Task, ...]:
    tasks = []
    for one in timed.placed:
        op = problem.operations[one.operation]
        mix, who = problem.mixes[op.mix], one.painter + 1
        start, end = minutes(one.start), minutes(one.end)
        if one.change is not None:
            tasks.append(Task(minutes(one.change), start, who, 0, "change", op.pass_no, 0, mix))
        kind: TaskKind = "dryer" if one.dryer else op.kind
        tasks.append(Task(start, end, who, one.casting + 1, kind, op.pass_no, op.coat, mix, op.part))
    return tuple(sorted(tasks, key=lambda t: (t.start_min, t.painter, t.end_min)))


def _waiting(problem: RunProblem, timed: Timed) -> int:
    """Session time in which a painter waits between the first and the last thing they do."""
    total = 0
    for painter in range(problem.painters):
        own = [(p.start if p.change is None else p.change, p.end) for p in timed.placed if p.painter == painter]
        if own:
            total += problem.hours.open_between(own[0][0], own[-1][1]) - sum(end - start for start, end in own)
    return total


def _sessions(problem: RunProblem, makespan: int) -> tuple[Session, ...]:
    windows = problem.hours.until(makespan) if problem.hours.length is not None else [(0, makespan)]
    return tuple(
        Session(number, minutes(start), minutes(end), *_clocks(problem.start_at, minutes(start), minutes(end)))
        for number, (start, end) in enumerate(windows, 1)
    )


def _clocks(start_at: int | None, start_min: float, end_min: float) -> tuple[str, str]:
    """Start and end of a session; the day of the end only where it is another."""
    start, end = _clock(start_at, start_min), _clock(start_at, end_min)
    same = start.rpartition(", ")[0] == end.rpartition(", ")[0]
    return start, end.rpartition(", ")[2] if same else end


def _clock(start_at: int | None, start_min: float) -> str:
    """'09:00', on later days 'day 2, 09:00'."""
    if start_at is None:
        return ""
    day, time = divmod(start_at + int(start_min), 24 * 60)
    return f"{f'day {day + 1}, ' if day else ''}{time // 60:02d}:{time % 60:02d}"
