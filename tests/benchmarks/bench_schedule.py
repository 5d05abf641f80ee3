"""The schedule beside its bounds and OR-tools' CP-SAT; the example's hours.

python tests/benchmarks/bench_schedule.py [exact evenings bound example speed] [--seconds 10] [--runs 20]

CP-SAT starts from the schedule's own solution; one worker, its time counted in its own steps.
"""

import argparse
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "run"))

from exact_run import SESSION, exact_end, exact_evenings, exact_turns
from random_runs import chain_run, parts_run, small_run
from run_checker import violations

from finishplan.run.hours import Hours
from finishplan.run.problem import RunProblem
from finishplan.run.schedule import as_run
from finishplan.run.solve import SPARE, Solution, solve

EXAMPLE = Path(__file__).parents[2] / "examples" / "newt.toml"


def timed(problem: RunProblem) -> tuple[Solution, float]:
    """The solution, judged, and its processor seconds."""
    begin = time.process_time()
    solution = solve(problem)
    took = time.process_time() - begin
    assert violations(problem, as_run(solution)) == []
    return solution, took


def exact(args: argparse.Namespace) -> None:
    """Ends and turns beside CP-SAT's."""
    kinds: dict[str, Callable[[int], RunProblem]] = {
        "small, 1-2 castings": small_run,
        "small, with the dryer": lambda s: small_run(s, dryer=True),
        "chains of 4 passes, 1-3 castings": lambda s: chain_run(s, 1 + s % 3, passes=4),
        "3 parts, 4 passes, 1-2 castings": lambda s: parts_run(s, 1 + s % 2, passes=4),
        "3 parts, 3 passes, dryer": lambda s: parts_run(s, 1, passes=3, dryer=True),
    }
    print("| runs | proven | end within 3 % | mean | worst | turns as few, of | over the bound, mean |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, make in kinds.items():
        ratios, gaps, proven, fewest, told = [], [], 0, 0, 0
        for problem in (replace(make(seed), effort=0.2) for seed in range(args.runs)):
            solution, _ = timed(problem)
            run = as_run(solution)
            found = exact_end(problem, run, args.seconds)
            assert found.answered and solution.bounds.makespan <= found.least
            ratios.append(solution.timed.score.makespan / found.least)
            gaps.append(found.least / solution.bounds.makespan)
            proven += found.proven
            within = max(run.makespan_min, found.least * (1 + SPARE) / 100)
            turns = exact_turns(problem, run, within, args.seconds)
            if turns.answered and turns.proven:
                told += 1
                fewest += run.mix_changes <= turns.least
        near = sum(r <= 1 + SPARE for r in ratios)
        print(
            f"| {name} | {proven} of {args.runs} | {near} | {statistics.mean(ratios):.3f} | {max(ratios):.3f} "
            f"| {fewest} of {told} | {100 * (statistics.mean(gaps) - 1):.0f} % |",
            flush=True,
        )


def evenings(args: argparse.Namespace) -> None:
    """Sessions and attendance beside CP-SAT's."""
    proven = fewest = 0
    ratios = []
    for seed in range(args.runs):
        problem = replace(small_run(seed), hours=Hours(1600, (0,), 4000, 200), effort=0.1)
        score = timed(problem)[0].timed.score
        found = exact_evenings(problem, as_run(solve(problem)), args.seconds)
        if found.proven:
            sessions, attendance = divmod(found.least, SESSION)
            proven, fewest = proven + 1, fewest + (score.sessions == sessions)
            ratios.append(score.attendance / attendance)
    print(
        f"evenings: {proven} of {args.runs} proven; sessions as few in {fewest}; attendance {max(ratios):.3f} at worst"
    )


def bound(args: argparse.Namespace) -> None:
    """Larger runs over their bounds."""
    print("| runs | end over bound, mean | worst | turns over bound | processor s |")
    print("| --- | --- | --- | --- | --- |")
    for name, make in (("chains of 8 passes", chain_run), ("3 parts, 6 passes", parts_run)):
        for castings in (1, 4, 12, 30):
            solutions = [timed(replace(make(seed, castings), effort=0.3)) for seed in range(args.runs)]
            gaps = [s.timed.score.makespan / s.bounds.makespan - 1 for s, _ in solutions]
            turns = [s.timed.score.turns - s.bounds.turns for s, _ in solutions]
            took = statistics.mean(t for _, t in solutions)
            print(
                f"| {name}, {castings} castings | {100 * statistics.mean(gaps):.1f} % | {100 * max(gaps):.1f} % "
                f"| {statistics.mean(turns):.1f} | {took:.2f} |",
                flush=True,
            )


def example(args: argparse.Namespace) -> None:
    """The newt's hours, by castings, dryer and evenings."""
    from finishplan import Materials, Planner, find_sources, read_sources
    from finishplan.plan.stages import problem_of

    sources = find_sources(EXAMPLE)
    planner, job = Planner(Materials(*read_sources(sources))), sources.job
    print("| castings | dryer | evenings of | evenings | hours | least | turns | pots | goes | processor s |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for castings, dryer, session in _cases():
        run = replace(job.run, castings=castings, session_min=session)
        problem = problem_of(planner.painting(replace(job, run=run, room=replace(job.room, dryer=dryer))))
        solution, took = timed(problem)
        score, least = solution.timed.score, solution.bounds
        kinds = [one.kind for one in solution.timed.done]
        print(
            f"| {castings} | {'yes' if dryer else 'no'} | {f'{session:.0f} min' if session else 'one stretch'} "
            f"| {score.sessions} | {score.attendance / 6000:.1f} | {least.sessions}, {least.attendance / 6000:.1f} "
            f"| {score.turns} | {kinds.count('mix')} | {kinds.count('dryer')} | {took:.2f} |",
            flush=True,
        )


def _cases() -> Iterable[tuple[int, bool, float | None]]:
    yield from ((1, dryer, session) for session in (None, 180.0, 210.0) for dryer in (False, True))
    yield from ((castings, dryer, 180.0) for castings in (4, 12, 30) for dryer in (False, True))
    yield 30, False, None


def speed(args: argparse.Namespace) -> None:
    """Processor seconds of growing runs."""
    for castings in (25, 100, 400):
        solution, took = timed(replace(parts_run(4, castings), effort=0.3))
        print(f"3 parts, {castings} castings, {solution.problem.base[-1]} coats: {took:.2f} s")


PARTS = {"exact": exact, "evenings": evenings, "bound": bound, "example": example, "speed": speed}

if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("what", nargs="*")
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--runs", type=int, default=20)
    arguments = parser.parse_args()
    for part in arguments.what or PARTS:
        PARTS[part](arguments)
