"""Runs with several painters, sessions or a rack as a constraint model for OR-tools' CP-SAT, written from the rules and
not from the schedule's own code. No dryer, no stale mixes; small runs only."""

import math

from exact_run import Exact
from ortools.sat.python import cp_model

from finishplan.run.model import Run
from finishplan.run.tasks import RunProblem


def exact_crew(problem: RunProblem, warm: Run, seconds: float) -> Exact:
    """The least makespan, up to the one found; seconds: of CP-SAT's own deterministic count."""
    assert not problem.dryer and not any(problem.life)
    model, ops = cp_model.CpModel(), problem.operations
    nodes = [(j, o) for j in range(problem.castings) for o in range(len(ops))]
    top = round(warm.makespan_min * 100)
    start = {n: model.new_int_var(0, top - ops[n[1]].work, "") for n in nodes}
    end = {n: start[n] + ops[n[1]].work for n in nodes}
    changed = {n: model.new_bool_var("") for n in nodes}
    makespan = model.new_int_var(0, top, "")
    model.minimize(makespan)
    for j, o in nodes:
        model.add(makespan >= end[j, o])
        model.add(start[j, o] >= problem.ready[j])
        for before in ops[o].after:
            model.add(start[j, o] >= end[j, before] + ops[before].dry)
    _pieces(model, problem, nodes, start)
    session = _sessions(model, problem, nodes, start, end, changed, top)
    _routes(model, problem, nodes, start, end, changed, session)
    if problem.rack is not None:
        _rack(model, problem, start, end, top)
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.UNKNOWN:
        return Exact(top, 0, answered=False)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    return Exact(round(solver.objective_value), math.ceil(solver.best_objective_bound - 1e-6))


def _pieces(model, problem, nodes, start):
    """A piece is in one hand at a time."""
    pieces = {}
    for j, o in nodes:
        op = problem.operations[o]
        pieces.setdefault((j, op.part), []).append(model.new_fixed_size_interval_var(start[j, o], op.work, ""))
    for intervals in pieces.values():
        model.add_no_overlap(intervals)


def _sessions(model, problem, nodes, start, end, changed, top):
    """For each coat, whether it lies in each session, with the mix change before it."""
    windows = list(problem.hours.until(top))
    inside = {n: [model.new_bool_var("") for _ in windows] for n in nodes}
    for n in nodes:
        model.add_exactly_one(inside[n])
        turn = problem.changes[problem.operations[n[1]].mix]
        for (first, last), here in zip(windows, inside[n], strict=True):
            model.add(start[n] >= first).only_enforce_if(here)
            model.add(start[n] >= first + turn).only_enforce_if(here, changed[n])
            model.add(end[n] <= last).only_enforce_if(here)
    return inside


def _routes(model, problem, nodes, start, end, changed, session):
    """What each painter does one after another: a route from and to the depot."""
    arcs, out = [], []
    for b, n in enumerate(nodes, 1):
        mix = problem.operations[n[1]].mix
        turn = problem.changes[mix]
        first, last = model.new_bool_var(""), model.new_bool_var("")
        arcs += [(0, b, first), (b, 0, last)]
        out.append(first)
        model.add_implication(first, changed[n])
        model.add(start[n] >= turn).only_enforce_if(changed[n])
        for a, m in enumerate(nodes, 1):
            if a == b:
                continue
            arc = model.new_bool_var("")
            arcs.append((a, b, arc))
            model.add(start[n] >= end[m]).only_enforce_if(arc)
            model.add(start[n] >= end[m] + turn).only_enforce_if(arc, changed[n])
            if problem.operations[m[1]].mix != mix:
                model.add_implication(arc, changed[n])
            for one, other in zip(session[m], session[n], strict=True):
                model.add_bool_or(arc.Not(), one.Not(), other, changed[n])
    model.add_multiple_circuit(arcs)
    model.add(sum(out) <= problem.painters)


def _rack(model, problem, start, end, top):
    """A casting takes a place from its first coat until its last is dry."""
    ops, late = problem.operations, top + max(op.dry for op in problem.operations)
    places = []
    for j in range(problem.castings):
        first, dry = model.new_int_var(0, top, ""), model.new_int_var(0, late, "")
        model.add_min_equality(first, [start[j, o] for o in range(len(ops))])
        model.add_max_equality(dry, [end[j, o] + op.dry for o, op in enumerate(ops)])
        size = model.new_int_var(0, late, "")
        places.append(model.new_interval_var(first, size, dry, ""))
    model.add_cumulative(places, [1] * len(places), problem.rack)
