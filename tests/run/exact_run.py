"""The run as a constraint model for OR-tools' CP-SAT, written from the rules and not from the schedule's own
code.

One painter, no sessions, rack or stale mixes. A mix change lies right before the first coat with the mix:
with one painter nothing is won by making it earlier, since whatever else lies between could as well come
first. Without the dryer the castings may change names between operations, so that each operation meets them
in the same order: the n-th start of what waits is no sooner than the n-th end, with drying, of what it waits for.
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
    """The best makespan CP-SAT finds from `warm` on within `seconds` of its own deterministic count, about those of a
    quiet machine: the answer does not depend on the clock."""
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
    for o in range(len(ops)) if not problem.dryer else range(problem.ready[-1] == problem.ready[0]):
        for a, b in pairwise(castings):
            model.add(start[b, o] >= start[a, o] + ops[o].work // unit)
    _hint(model, problem, warm, nodes, start, changed, dried, force, makespan, arcs, unit)
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = seconds
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
            if not problem.dryer and _between(m, n, behind):
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


def _between(m, n, behind):
    """Whether n cannot come right after m when castings are met in order: it comes before, or another in between."""
    if m[1] == n[1]:
        return n[0] != m[0] + 1
    if n[1] in behind[m[1]]:
        return n[0] <= m[0]
    return m[1] in behind[n[1]] and n[0] > m[0]


def _all_behind(problem):
    behind = []
    for op in problem.operations:
        behind.append(set(op.after).union(*(behind[i] for i in op.after)))
    return behind


def _same(task, op):
    return (task.pass_no, task.coat, task.part) == (op.pass_no, op.coat, op.part)


def _hint(model, problem, warm, nodes, start, changed, dried, force, makespan, arcs, unit):
    key = {(op.pass_no, op.coat, op.part): i for i, op in enumerate(problem.operations)}
    begun, hand, ordered, fresh = {}, {}, [], False
    names = {}
    for o, op in enumerate(problem.operations):
        named = problem.operations[0] if problem.dryer else op
        laid = [t.casting for t in warm.tasks if t.kind in ("prime", "coat") and _same(t, named)]
        if problem.dryer and problem.ready[-1] > problem.ready[0]:
            laid.sort()
        names |= {(casting, o): j for j, casting in enumerate(laid)}
    for task in warm.tasks:
        o = key.get((task.pass_no, task.coat, task.part))
        n = (names.get((task.casting, o)), o)
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
