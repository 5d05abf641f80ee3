"""The schedule against CP-SAT (OR-tools), its bounds and the clock. By hand:

    python tests/benchmarks/bench_schedule.py [chains dozen dryer thirty parts speed beside] [--seconds 20] [--runs 40]

CP-SAT starts from the schedule's own solution; one worker, so that it does not disturb the clock of others.
"""

import argparse
import math
import statistics
import sys
import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "run"))

from apart import apart
from exact_run import exact
from finishplan.run.rounds import round_by_round
from random_runs import chain_run, parts_run
from run_checker import violations

from finishplan.run.bounds import bounds
from finishplan.run.replay import replay
from finishplan.run.schedule import as_run, schedule
from finishplan.run.solve import solve

GROUPS = 10


def spread(values):
    values = sorted(values)
    p90 = values[math.ceil(0.9 * len(values)) - 1]
    mean, middle = statistics.mean(values), statistics.median(values)
    return f"mean {mean:.4f}, median {middle:.4f}, 9 in 10 below {p90:.4f}, worst {values[-1]:.4f}"


def against_exact(name, problems, seconds):
    equal = proven = own = silent = 0
    ratios, gaps = [], []
    for problem in problems:
        solution = solve(problem)
        run = as_run(problem, solution)
        assert violations(problem, run) == []
        found = exact(problem, run, seconds)
        silent += not found.answered
        equal += found.answered and found.makespan == solution.timed.score[0]
        proven += found.proven
        own += solution.proven
        ratios.append(solution.timed.score[0] / found.makespan)
        gaps.append(solution.timed.score[0] / solution.bound)
        print(".", end="", flush=True)
    print(f"\n{name}: {len(problems)} runs, CP-SAT found none better on {equal} and proved {proven},")
    print(f"  gave no answer on {silent}; the own bound proved {own}")
    print(f"  makespan / CP-SAT's: {spread(ratios)}")
    print(f"  makespan / own bound: {spread(gaps)}")


def chains(args):
    problems = [chain_run(seed, 1 + seed % 6) for seed in range(args.runs)]
    against_exact("chains without dryer, 1-6 castings, 8 passes", problems, args.seconds)


def parts(args):
    problems = [parts_run(seed, 1 + seed % 3) for seed in range(args.runs)]
    against_exact("3 parts, partial orders, 1-3 castings, 6 passes", problems, args.seconds)
    problems = [parts_run(seed, 1 + seed % 2, dryer=True) for seed in range(args.runs // 2)]
    against_exact("the same with the dryer, 1-2 castings", problems, args.seconds)
    for castings in (6, 12, 30):
        gaps = [solve(p).timed.score[0] / bounds(p).best for p in (parts_run(s, castings) for s in range(args.runs))]
        print(f"3 parts, {castings} castings: makespan / bound: {spread(gaps)}")


def dozen(args):
    for per_coat in (True, False):
        window, best, plain = [], [], []
        for seed in range(args.runs):
            problem = chain_run(seed, 12, per_coat=per_coat)
            each, makespan = bounds(problem), solve(problem).timed.score[0]
            window.append(makespan / max(each.work, each.window))
            best.append(makespan / each.best)
            plain.append(replay(problem, round_by_round(problem)).score[0] / makespan)
        print(f"12 castings, minutes drawn {'for every coat' if per_coat else 'once a pass'}")
        print(f"  makespan / LB2: {spread(window)}; within 6 %: {sum(w <= 1.06 for w in window)}")
        print(f"  makespan / best bound: {spread(best)}; within 6 %: {sum(b <= 1.06 for b in best)}")
        print(f"  pass by pass / makespan: {spread(plain)}")


def dryer(args):
    for castings in (1, 2, 4, 12, 30):
        three, one, saved = [], [], []
        for seed in range(args.runs):
            problem = chain_run(seed, castings, dryer=True)
            each, makespan = bounds(problem), solve(problem).timed.score[0]
            plain = replay(replace(problem, dryer=False), round_by_round(problem)).score[0]
            assert makespan <= plain
            three.append(makespan / each.dryer)
            one.append(makespan / each.work)
            saved.append(1 - makespan / plain)
        print(f"dryer (2 min), {castings} castings: makespan / LB3: {spread(three)}")
        print(f"  makespan / LB1: {spread(one)}")
        print(f"  off pass by pass without dryer: {spread(saved)}")


def thirty(args):
    hidden = equal = 0
    gaps = []
    for seed in range(args.runs):
        problem = chain_run(seed, 30)
        makespan, each = solve(problem).timed.score[0], bounds(problem)
        gaps.append(makespan / each.work)
        if all(
            29 * min(a.work, b.work) + (400 if a.mix != b.mix else 0) >= a.dry for a, b in pairwise(problem.operations)
        ):
            hidden += 1
            equal += makespan == each.work
    print(f"30 castings: drying hidden in {hidden} of {args.runs}, equal to LB1 in {equal} of these")
    print(f"  makespan / LB1, all: {spread(gaps)}")


def speed(args):
    for name, make in (("chain", chain_run), ("3 parts", parts_run)):
        for castings in (25, 50, 100, 200, 400, 800, 1600):
            problem = make(4, castings)
            begin = time.perf_counter()
            run = schedule(problem)
            took = time.perf_counter() - begin
            each = 1e6 * took / (castings * math.log2(castings) * len(problem.operations))
            print(f"{name}, {castings} castings, {len(run.tasks)} tasks: {took:.2f} s, {each:.1f} us / (coat log2 n)")


def beside(args):
    """Chains of growing runs: the schedule, then CP-SAT from a schedule on. CP-SAT's model has an arc for any two
    coats: where that would be over a million, it plans the castings in GROUPS groups that stay together."""
    print("castings  schedule s  peak MB  over the bound   CP-SAT s  peak MB  its makespan / the schedule's")
    for castings in (10, 25, 50, 100, 200, 400):
        problem = chain_run(4, castings)
        (took, makespan, bound), peak = apart(lambda: timed_schedule(problem))  # noqa: B023
        print(f"{castings:8} {took:11.2f} {peak:8.0f} {100 * (makespan / bound - 1):13.2f} %", end="", flush=True)
        whole = (castings * len(problem.operations)) ** 2 <= 1e6
        model = problem if whole else grouped(problem, castings // GROUPS)
        (waited, theirs), peak = apart(lambda: timed_exact(model, args.seconds))  # noqa: B023
        how = "" if whole else f", {GROUPS} groups"
        print(f" {waited:10.1f} {peak:8.0f}  {theirs / makespan:.4f}{how}", flush=True)


def grouped(problem, size):
    """A chain with castings that stay together in groups of that size, each planned as one: what the next coat waits
    for is the casting of the group that is dry last."""
    operations = []
    for op, later in zip(problem.operations, [*problem.operations[1:], problem.operations[-1]], strict=True):
        dry = max(0, op.dry - (size - 1) * min(op.work, later.work))
        operations.append(replace(op, work=size * op.work, dry=dry))
    return replace(problem.of(problem.castings // size), operations=tuple(operations))


def timed_schedule(problem):
    begin = time.perf_counter()
    solution = solve(problem)
    return time.perf_counter() - begin, solution.timed.score[0], solution.bound


def timed_exact(problem, seconds):
    solution = solve(problem)
    begin = time.perf_counter()
    found = exact(problem, as_run(problem, solution), seconds)
    return time.perf_counter() - begin, found.makespan


PARTS = {
    "chains": chains,
    "dozen": dozen,
    "dryer": dryer,
    "thirty": thirty,
    "parts": parts,
    "speed": speed,
    "beside": beside,
}

if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("what", nargs="*")
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--runs", type=int, default=40)
    arguments = parser.parse_args()
    for part in arguments.what or PARTS:
        PARTS[part](arguments)
