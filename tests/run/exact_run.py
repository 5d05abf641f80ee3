"""The run as a constraint model for OR-tools' CP-SAT, written from the rules and not from the schedule's own code.

One painter, in one stretch or in sessions, pots that keep and wells enough. A turn lies right before the first coat
with a mix; a pot of each is mixed any time before that. With the dryer there are a few goes, each over all castings.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from finishplan.run.model import Run
from finishplan.run.problem import RunProblem


@dataclass(frozen=True)
class Exact:
    """The least found and its proven bound, in ticks; turns: of the schedule found."""

    least: int
    bound: int
    turns: int
    answered: bool = True

    @property
    def proven(self) -> bool:
        return self.least == self.bound


class Model:
    """What is to be decided: starts, turns, goes, order, sessions. top: no time lies beyond."""

    def __init__(self, problem: RunProblem, top: int, goes: int = 2) -> None:
        assert problem.painters == 1 and problem.castings.rack is None
        assert all(not op.also for _, op in problem.coats) and len(problem.mixes) <= problem.wells
        self.problem, self.top, self.model = problem, top, cp_model.CpModel()
        self.coats = [op for _, op in problem.coats]
        new = self.model.new_int_var
        self.start = [new(0, top, f"s{n}") for n in range(len(self.coats))]
        self.turned = [self.model.new_bool_var(f"c{n}") for n in range(len(self.coats))]
        used = sorted({op.mix for op in self.coats})
        self.mixed = {m: new(0, top, f"m{m}") for m in used if problem.mixes[m].mixing}
        self.goes = [new(0, top, f"g{k}") for k in range(goes)] if problem.dryer else []
        self.made = [self.model.new_bool_var(f"u{k}") for k in range(len(self.goes))]
        self.end = new(0, top, "end")
        self.session = self._sessions()
        self._hands()
        self._dry()
        self.arcs = self._order()

    def _go(self) -> int:
        return self.problem.stream.go[self.problem.count - 1]

    def _hands(self) -> None:
        model, turn, busy = self.model, self.problem.turn, []
        for n, op in enumerate(self.coats):
            end = self.start[n] + op.work
            busy.append(model.new_fixed_size_interval_var(self.start[n], op.work, f"i{n}"))
            busy.append(model.new_optional_fixed_size_interval_var(self.start[n] - turn, turn, self.turned[n], f"t{n}"))
            model.add(self.start[n] >= turn).only_enforce_if(self.turned[n])
            model.add(self.end >= end)
            casting = self.problem.coats[n][0]
            model.add(self.start[n] >= self.problem.castings.ready[casting])
            if op.mix in self.mixed:
                work = self.problem.mixes[op.mix].mixing
                model.add(self.mixed[op.mix] + work <= self.start[n])
                model.add(self.mixed[op.mix] + work + turn <= self.start[n]).only_enforce_if(self.turned[n])
        for m, at in self.mixed.items():
            busy.append(model.new_fixed_size_interval_var(at, self.problem.mixes[m].mixing, f"p{m}"))
        for k, at in enumerate(self.goes):
            busy.append(model.new_optional_fixed_size_interval_var(at, self._go(), self.made[k], f"d{k}"))
        model.add_no_overlap(busy)

    def _dry(self) -> None:
        """What is laid over waits to be recoat dry, what is cut beside to be touch dry, or for a go and its rest."""
        for n, (over, beside) in enumerate(self.problem.waits):
            for before, natural in [(b, self.coats[b].recoat) for b in over] + [
                (b, self.coats[b].touch) for b in beside
            ]:
                end = self.start[before] + self.coats[before].work
                itself = self.model.new_bool_var("")
                self.model.add(self.start[n] >= end + natural).only_enforce_if(itself)
                ways = [itself]
                for k, go in enumerate(self.goes):
                    way = self.model.new_bool_var("")
                    self.model.add_implication(way, self.made[k])
                    self.model.add(go >= end).only_enforce_if(way)
                    self.model.add(self.start[n] >= go + self._go() + self.problem.stream.rest).only_enforce_if(way)
                    ways.append(way)
                self.model.add(self.start[n] >= end)
                self.model.add_bool_or(ways)

    def _order(self):
        """The order of all coats as a circuit through a depot, so that it is known which coat needs a turn; the first
        of a session does."""
        arcs, model = {}, self.model
        for n, op in enumerate(self.coats):
            into = [arcs.setdefault((0, n + 1), model.new_bool_var(""))]
            arcs[n + 1, 0] = model.new_bool_var("")
            for b, before in enumerate(self.coats):
                if b == n or n in (*self.problem.waits[b][0], *self.problem.waits[b][1]):
                    continue
                arc = arcs[b + 1, n + 1] = model.new_bool_var("")
                model.add(self.start[n] >= self.start[b] + before.work).only_enforce_if(arc)
                if before.mix != op.mix:
                    into.append(arc)
                elif self.session:
                    same = model.new_bool_var("")
                    model.add(self.session[b] == self.session[n]).only_enforce_if(same)
                    model.add_bool_or([same, self.turned[n]]).only_enforce_if(arc)
            for arc in into:
                model.add_implication(arc, self.turned[n])
        model.add_circuit([(a, b, literal) for (a, b), literal in arcs.items()])
        return arcs

    def _sessions(self) -> list:
        """The session of each coat, with its turn inside the session's hours; pots and goes too."""
        hours = self.problem.hours
        if hours.length is None:
            return []
        count = next(n for n in range(1000) if hours.window(n)[0] > self.top)
        windows = [hours.window(n) for n in range(count)]
        chosen, model = [], self.model

        def inside(first, last, always=None):
            which = [model.new_bool_var("") for _ in windows]
            model.add_exactly_one(which)
            for literal, (a, b) in zip(which, windows, strict=True):
                model.add(first >= a).only_enforce_if([literal, *([always] if always is not None else [])])
                model.add(last <= b).only_enforce_if([literal, *([always] if always is not None else [])])
            return which

        firsts = [model.new_int_var(0, self.top, "") for _ in windows]
        lasts = [model.new_int_var(0, self.top, "") for _ in windows]
        self.used = [model.new_bool_var("") for _ in windows]
        for n, op in enumerate(self.coats):
            which = inside(self.start[n], self.start[n] + op.work)
            model.add(
                self.start[n] - self.problem.turn >= sum(w * a for w, (a, _) in zip(which, windows, strict=True))
            ).only_enforce_if(self.turned[n])
            for s, literal in enumerate(which):
                model.add_implication(literal, self.used[s])
                model.add(firsts[s] <= self.start[n]).only_enforce_if(literal)
                model.add(firsts[s] <= self.start[n] - self.problem.turn).only_enforce_if([literal, self.turned[n]])
                model.add(lasts[s] >= self.start[n] + op.work).only_enforce_if(literal)
            number = model.new_int_var(0, count, "")
            model.add(number == sum(s * w for s, w in enumerate(which)))
            chosen.append(number)
        for m, at in self.mixed.items():
            work = self.problem.mixes[m].mixing
            for s, literal in enumerate(inside(at, at + work)):
                model.add_implication(literal, self.used[s])
                model.add(firsts[s] <= at).only_enforce_if(literal)
                model.add(lasts[s] >= at + work).only_enforce_if(literal)
        for k, at in enumerate(self.goes):
            for s, literal in enumerate(inside(at, at + self._go(), self.made[k])):
                model.add(firsts[s] <= at).only_enforce_if([literal, self.made[k]])
                model.add(lasts[s] >= at + self._go()).only_enforce_if([literal, self.made[k]])
                model.add_implication(literal, self.used[s]).only_enforce_if(self.made[k])
        for first, last in zip(firsts, lasts, strict=True):
            model.add(last >= first)
        self.attendance = sum(lasts) - sum(firsts) + hours.setup * sum(self.used)
        return chosen

    def solve(self, goal, seconds: float) -> Exact:
        """The least of a goal within `seconds` of CP-SAT's own deterministic count, about those of a quiet machine: the
        answer does not depend on the clock."""
        self.model.minimize(goal)
        solver = cp_model.CpSolver()
        solver.parameters.max_deterministic_time = seconds
        solver.parameters.num_workers = 1
        status = solver.solve(self.model)
        if status == cp_model.UNKNOWN:
            return Exact(0, 0, 0, answered=False)
        assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
        turns = sum(solver.value(t) for t in self.turned)
        return Exact(round(solver.objective_value), math.ceil(solver.best_objective_bound - 1e-6), turns)


def exact_end(problem: RunProblem, run: Run, seconds: float) -> Exact:
    """The soonest end of a run in one stretch."""
    model = Model(problem, round(run.makespan_min * 100), _goes(run))
    _hint(model, run)
    return model.solve(model.end, seconds)


def exact_turns(problem: RunProblem, run: Run, within: float, seconds: float) -> Exact:
    """The fewest turns of runs that end within so many minutes."""
    model = Model(problem, round(within * 100), _goes(run))
    _hint(model, run)
    return model.solve(sum(model.turned), seconds)


def exact_evenings(problem: RunProblem, run: Run, seconds: float) -> Exact:
    """The fewest sessions, then the least attendance, in one figure: sessions x SESSION + ticks."""
    model = Model(problem, round(run.makespan_min * 100) + problem.hours.every, _goes(run))
    return model.solve(SESSION * sum(model.used) + model.attendance, seconds)


SESSION = 10_000_000


def _goes(run: Run) -> int:
    return max(2, sum(t.kind == "dryer" for t in run.tasks))


def _hint(model: Model, run: Run) -> None:
    key = {}
    for n, (casting, op) in enumerate(model.problem.coats):
        key[casting + 1, op.pass_no, op.coat, op.part] = n
    laid = [t for t in run.tasks if t.kind in ("coat", "prime")]
    path = [0]
    for task in laid:
        n = key[task.casting, task.pass_no, task.coat, task.part]
        model.model.add_hint(model.start[n], round(task.start_min * 100))
        path.append(n + 1)
    used = set(pairwise([*path, 0]))
    for pair, literal in model.arcs.items():
        model.model.add_hint(literal, pair in used)
