"""The schedule of a run: what each painter does in which minute."""

from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor
from dataclasses import replace
from functools import cache
from itertools import groupby
from math import ceil

from finishplan.run.advice import Dried, WhatIfs, advise, hints, sentences, solve_both_ways, what_ifs
from finishplan.run.bench import Done
from finishplan.run.model import Run, Session, Task
from finishplan.run.problem import RunProblem, minutes
from finishplan.run.solve import Solution, solve


def schedule(problem: RunProblem) -> Run:
    """The run: the best schedule found, what none betters, and advice.

    The same problem gives the same run on any machine; with no effort it is quick, found by rules alone. The makespan
    ends with the last coat laid, not with its drying.
    """
    return with_advice(*solve_both_ways(problem), what_ifs(problem))


def start_schedule(problem: RunProblem, pool: Executor | None = None) -> Callable[[], Run]:
    """Begin to schedule in the pool; the call gives the run. Without a pool, or where its processes end untimely, the
    call does the work itself."""
    # Cached: the plan may ask for the run several times, and it is found once.
    here = cache(lambda: schedule(problem))
    if pool is None:
        return here
    try:
        # The other what-ifs do not need the solution, so both cores are busy.
        found, wonders = pool.submit(solve_both_ways, problem), pool.submit(what_ifs, problem)
    except BrokenExecutor:
        return here

    def run() -> Run:
        try:
            return with_advice(*found.result(), wonders.result())
        except BrokenExecutor:
            # The same figures, only later: a pool that died (no memory, say) must not cost the maker the plan.
            return here()

    return cache(run)


def quick_schedule(problem: RunProblem) -> Run:
    """The run found by rules alone, without advice: at once, until the searched one is there."""
    return as_run(solve(problem, effort=0.0))


def with_advice(solution: Solution, other: Dried, wonders: WhatIfs) -> Run:
    """The run of what was found, with advice from the what-ifs."""
    figures = advise(solution, wonders, other)
    return replace(
        as_run(solution),
        advice=sentences(solution, figures),
        advice_figures=figures,
        hints=hints(solution.problem, figures),
    )


def as_run(solution: Solution) -> Run:
    """The solution in minutes: tasks by start time, waiting within the sessions, sessions used."""
    problem, timed, bounds = solution.problem, solution.timed, solution.bounds
    sessions, tasks = _sessions(problem, timed.done), _tasks(problem, timed.done)
    return Run(
        castings=problem.count,
        painters=problem.painters,
        makespan_min=minutes(timed.score.makespan),
        painter_min=sum(t.end_min - t.start_min for t in tasks),
        waiting_min=minutes(_waiting(problem, timed.done)),
        lower_bound_min=minutes(bounds.makespan),
        proven=solution.proven,
        tasks=tasks,
        finish_min=tuple(minutes(f) for f in timed.finish),
        sessions=sessions,
        method=solution.method,
        mix_changes=timed.score.turns,
        attendance_min=minutes(timed.score.attendance),
        attendance_bound_min=minutes(bounds.attendance),
        sessions_bound=bounds.sessions,
        changes_bound=bounds.turns,
        priming_min=minutes(problem.priming[0]),
        priming_wait_min=minutes(problem.priming[1]),
        pots_mixed=sum(one.kind == "mix" for one in timed.done),
    )


def _by_session(problem: RunProblem, done: tuple[Done, ...]) -> Iterator[tuple[int, list[Done]]]:
    """(number, what is done in it) of each session used."""
    # By time: a pot mixed in a wait gone by stands behind what was done since.
    ordered = sorted(done, key=lambda one: (one.start, one.end, one.painter))
    for number, group in groupby(ordered, key=lambda one: problem.hours.index(one.start)):
        yield number, list(group)


def _tasks(problem: RunProblem, done: tuple[Done, ...]) -> tuple[Task, ...]:
    tasks = [_task(problem, one, done) for one in done]
    if problem.hours.before:
        before, behind = minutes(problem.hours.before), minutes(problem.hours.behind)
        for _, group in _by_session(problem, done):
            # Whole hundredths: float differences would print as 12.299999.
            first, last = minutes(group[0].start), minutes(max(one.end for one in group))
            # Setting up is told of the first painter, though all are there from then on.
            tasks.append(Task(round(first - before, 2), first, 1, 0, "setup"))
            tasks.append(Task(last, round(last + behind, 2), 1, 0, "clear"))
    return tuple(sorted(tasks, key=lambda t: (t.start_min, t.painter, t.end_min)))


def _task(problem: RunProblem, one: Done, done: tuple[Done, ...]) -> Task:
    start, end, who = minutes(one.start), minutes(one.end), one.painter + 1
    if one.kind == "dryer":
        return Task(start, end, who, 0, "dryer", castings=tuple(j + 1 for j in one.castings))
    mix = problem.mixes[one.mix].name
    if one.kind != "coat":
        return Task(start, end, who, 0, one.kind, _pass_of(problem, one, done), 0, mix)
    casting, op = problem.coats[one.coat]
    figure = problem.figures[problem.castings.figure[casting]].name if len(problem.figures) > 1 else ""
    return Task(start, end, who, casting + 1, op.kind, op.pass_no, op.coat, mix, op.part, figure=figure)


def _pass_of(problem: RunProblem, one: Done, done: tuple[Done, ...]) -> int:
    """The pass that a turn or a pot is for: that of the painter's next coat with the mix."""
    coats = (d for d in done if d.kind == "coat" and d.painter == one.painter and d.start >= one.end)
    ops = (problem.coats[d.coat][1] for d in sorted(coats, key=lambda d: d.start))
    # 0 where none comes any more: it belongs to no pass.
    return next((op.pass_no for op in ops if one.mix in op.used), 0)


def _waiting(problem: RunProblem, done: tuple[Done, ...]) -> int:
    """Time in which a painter waits between the first and the last thing they do in a session."""
    total = 0
    for _, group in _by_session(problem, done):
        for painter in range(problem.painters):
            own = [one for one in group if one.painter == painter]
            if own:
                total += max(one.end for one in own) - min(one.start for one in own)
                total -= sum(one.end - one.start for one in own)
    return total


def _sessions(problem: RunProblem, done: tuple[Done, ...]) -> tuple[Session, ...]:
    if problem.hours.length is None:
        start, end = 0.0, minutes(max(one.end for one in done))
        return (_session(problem, 1, start, end),)
    # Of each mix the pots so far: two painters have one each, and the older may be the one that still serves.
    out, made, used = list[Session](), dict[str, list[int]](), _uses(problem, done)
    for number, (k, group) in enumerate(_by_session(problem, done), 1):
        start = minutes(group[0].start - problem.hours.before)
        end = minutes(max(one.end for one in group) + problem.hours.behind)
        ends = problem.hours.window(k)[1]
        # A pot counts as open when the session begins only if something is still laid from it.
        kept = tuple(
            m for m, pots in made.items() if any(group[0].start <= t for pot in pots for t in used.get((m, pot), ()))
        )
        out.append(replace(_session(problem, number, start, end), open=kept))
        for one in (one for one in group if one.kind == "mix"):
            made.setdefault(problem.mixes[one.mix].name, []).append(one.end)
        # Cheap, and the one place where a session that runs past its end would show.
        assert all(one.end <= ends for one in group)
    return tuple(out)


def _uses(problem: RunProblem, done: tuple[Done, ...]) -> dict[tuple[str, int], list[int]]:
    """When each pot (mix, end of mixing) is used."""
    pots: dict[tuple[int, int], int] = {}
    uses: dict[tuple[str, int], list[int]] = {}
    for one in sorted(done, key=lambda d: (d.start, d.end)):
        if one.kind == "mix":
            pots[one.painter, one.mix] = one.end
        elif one.kind == "coat":
            op = problem.coats[one.coat][1]
            for mix in op.used:
                if (one.painter, mix) in pots:
                    uses.setdefault((problem.mixes[mix].name, pots[one.painter, mix]), []).append(one.start)
    return uses


def _session(problem: RunProblem, number: int, start_min: float, end_min: float) -> Session:
    """A session, with its times of day where the run's start is told; the day of its end only where it is another."""
    if problem.start_at is None:
        return Session(number, start_min, end_min)
    # Rounded up: nobody should be told that it ends before it does; the small part is rounding again.
    start, end = problem.start_at + int(start_min), problem.start_at + ceil(end_min - 1e-6)
    same = start // 1440 == end // 1440
    return Session(number, start_min, end_min, _clock(start), _clock(end % 1440 if same else end), at_min=start)


def _clock(minute: int) -> str:
    """'09:00', on later days 'day 2, 09:00'. minute: after the midnight before the run."""
    day, time = divmod(minute, 24 * 60)
    return f"{f'day {day + 1}, ' if day else ''}{time // 60:02d}:{time % 60:02d}"
