"""The run as a constraint model for OR-tools' CP-SAT, written from the rules and not from the schedule's own
code.

One painter, no sessions, rack or stale mixes. A mix change lies right before the first coat with the mix:
with one painter nothing is won by making it earlier, since whatever else lies between could as well come
first.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from finishplan.run.model import Run
from finishplan.run.tasks import RunProblem


@dataclass(frozen=True)
class Exact:
    """Makespan and proven bound in ticks; answered: it got as far as a solution in time."""

    makespan: int
    bound: int
    answered: bool = True

    @property
    def proven(self) -> bool:
        return self.makespan == self.bound


def exact(problem: RunProblem, warm: Run, seconds: float, workers: int = 1) -> Exact:
    """The best makespan CP-SAT finds from `warm` on within `seconds`."""
    assert problem.painters == 1 and problem.rack is None and problem.hours.length is None
    unit = _unit(problem)
    model, ops, castings = cp_model.CpModel(), problem.operations, range(problem.castings)
    nodes = [(j, o) for j in castings for o in range(len(ops))]
    top = round(warm.makespan_min * 100) // unit
    change = [c // unit for c in problem.changes]
    start = {n: model.new_int_var(0, top, f"s{n}") for n in nodes}
    changed = {n: model.new_bool_var(f"c{n}") for n in nodes}
    dried = {n: model.new_bool_var(f"x{n}") for n in nodes if problem.dryer and ops[n[1]].hand is not None}
    force = {n: model.new_int_var(0, top, f"f{n}") for n in dried}
    makespan = model.new_int_var(0, top, "makespan")
    model.minimize(makespan)
    busy = []
    for n in nodes:
        op = ops[n[1]]
        work, turn = op.work // unit, change[op.mix]
        end = start[n] + work
        busy.append(model.new_interval_var(start[n], work, end, f"i{n}"))
        busy.append(model.new_optional_interval_var(start[n] - turn, turn, start[n], changed[n], f"t{n}"))
        model.add(start[n] >= turn).only_enforce_if(changed[n])
        model.add(makespan >= end)
        model.add(start[n] >= problem.ready[n[0]] // unit)
        if n in dried:
            hand = op.hand // unit
            busy.append(model.new_optional_fixed_size_interval_var(force[n], hand, dried[n], f"d{n}"))
            model.add(force[n] >= end)
        for before in op.after:
            m, earlier = (n[0], before), ops[before]
            natural = start[m] + (earlier.work + earlier.dry) // unit
            if m in dried:
                model.add(start[n] >= natural).only_enforce_if(dried[m].Not())
                model.add(start[n] >= force[m] + (earlier.hand + earlier.rest) // unit).only_enforce_if(dried[m])
            else:
                model.add(start[n] >= natural)
    model.add_no_overlap(busy)
    arcs = _order(model, problem, nodes, start, changed, unit)
    first = [start[(j, 0)] for j in castings]
    if problem.ready[-1] == problem.ready[0]:
        for a, b in pairwise(first):
            model.add(a < b)
    _hint(model, problem, warm, nodes, start, changed, dried, force, makespan, arcs, unit)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    status = solver.solve(model)
    if status == cp_model.UNKNOWN:
        return Exact(round(warm.makespan_min * 100), 0, answered=False)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    return Exact(round(solver.objective_value) * unit, math.ceil(solver.best_objective_bound - 1e-6) * unit)


def _unit(problem: RunProblem) -> int:
    times = [*problem.changes, *problem.ready]
    for op in problem.operations:
        times += [op.work, op.dry, op.hand or 0, op.rest]
    return math.gcd(*times)


def _order(model, problem, nodes, start, changed, unit):
    """The order of all coats as a circuit through a depot, so that it is known which coat needs a change."""
    arcs, into = {}, {n: [] for n in nodes}
    behind = _all_behind(problem)
    for b, n in enumerate(nodes, 1):
        arcs[0, b] = model.new_bool_var("")
        arcs[b, 0] = model.new_bool_var("")
        into[n].append(arcs[0, b])
        for a, m in enumerate(nodes, 1):
            if a == b or (m[0] == n[0] and n[1] in behind[m[1]]):
                continue
            arcs[a, b] = model.new_bool_var("")
            one, two = problem.operations[m[1]], problem.operations[n[1]]
            turn = problem.changes[two.mix] if one.mix != two.mix else 0
            model.add(start[n] >= start[m] + (one.work + turn) // unit).only_enforce_if(arcs[a, b])
            if turn:
                into[n].append(arcs[a, b])
    model.add_circuit([(a, b, literal) for (a, b), literal in arcs.items()])
    for n in nodes:
        model.add(sum(into[n]) == changed[n])
    return arcs


def _all_behind(problem):
    behind = []
    for op in problem.operations:
        behind.append(set(op.after).union(*(behind[i] for i in op.after)))
    return behind


def _hint(model, problem, warm, nodes, start, changed, dried, force, makespan, arcs, unit):
    key = {(op.pass_no, op.coat, op.part): i for i, op in enumerate(problem.operations)}
    begun, hand, ordered, fresh = {}, {}, [], False
    first = problem.operations[0]
    turn = [
        t.casting
        for t in warm.tasks
        if t.kind in ("prime", "coat") and (t.pass_no, t.coat, t.part) == (first.pass_no, first.coat, first.part)
    ]
    if problem.ready[-1] > problem.ready[0]:
        turn.sort()
    name = {0: -1, **{casting: j for j, casting in enumerate(turn)}}
    for task in warm.tasks:
        n = (name[task.casting], key.get((task.pass_no, task.coat, task.part)))
        time = round(task.start_min * 100) // unit
        if task.kind == "change":
            fresh = True
        elif task.kind == "dryer":
            hand[n] = time
        else:
            begun[n] = (time, fresh)
            ordered.append(n)
            fresh = False
    number = {n: i for i, n in enumerate(nodes, 1)}
    path = [0, *(number[n] for n in ordered), 0]
    used = set(pairwise(path))
    for pair, literal in arcs.items():
        model.add_hint(literal, pair in used)
    for n in nodes:
        model.add_hint(start[n], begun[n][0])
        model.add_hint(changed[n], begun[n][1])
    for n in dried:
        model.add_hint(dried[n], n in hand)
        model.add_hint(force[n], hand.get(n, 0))
    model.add_hint(makespan, round(warm.makespan_min * 100) // unit)
