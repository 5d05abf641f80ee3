"""Planning again: each stage is computed anew only where what it is made from has changed."""

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from typing import Generic, ParamSpec, TypeVar

from finishplan.drawing.model import Drawing
from finishplan.job.job import Job, job_path
from finishplan.order.model import PaintingOrder
from finishplan.order.order import order_of
from finishplan.paint.book import BookMix
from finishplan.paint.box import load_box
from finishplan.paint.model import Box
from finishplan.paint.settings import MixSettings
from finishplan.plan.area_marks import named_order, with_marks
from finishplan.plan.plan import Materials, Mixes, Painting, Plan
from finishplan.plan.settings import brush_coat_um, coats_dry, mix_settings, order_settings
from finishplan.plan.stages import (
    choose_mixes,
    known_orders,
    plan_amounts,
    plan_painting,
    plan_run,
    problem_of,
    whole_plan,
    with_names,
)
from finishplan.run.model import Run
from finishplan.run.problem import RunProblem
from finishplan.run.schedule import quick_schedule, start_schedule
from finishplan.scheme.build import build_scheme
from finishplan.scheme.model import Scheme

P = ParamSpec("P")
R = TypeVar("R")


class Kept(Generic[P, R]):
    """A function that remembers its last inputs and their result, and is not called again for equal ones."""

    def __init__(self, function: Callable[P, R]) -> None:
        self._function = function
        self._last: tuple[object, R] | None = None

    def __call__(self, *given: P.args, **named: P.kwargs) -> R:
        """The result, as the function gives it; what it raises is raised and not remembered."""
        inputs = (given, named)
        if self._last is None or self._last[0] != inputs:
            self._last = None
            self._last = (inputs, self._function(*given, **named))
        return self._last[1]


class KeptMixes:
    """`choose_mixes` for the last inputs, whatever the number of castings: between two of its turns the mixes are the
    same."""

    def __init__(self) -> None:
        self._inputs: object = None
        self._found: dict[int, Mixes] = {}
        self._turns: tuple[int, ...] = ()

    def __call__(
        self, scheme: Scheme, box: Box, settings: MixSettings, wet_um: float, book: tuple[BookMix, ...]
    ) -> Mixes:
        """The mixes; what is raised is not remembered."""
        # The number of castings apart: mixes turn only where it passes one of their turns.
        inputs = (scheme, box, replace(settings, castings=1), wet_um, book)
        if self._inputs != inputs:
            self._inputs, self._found = None, {}
        # How many turns lie below it: between two of them it is all one.
        turned = sum(turn <= settings.castings for turn in self._turns) if self._found else 0
        if turned not in self._found or self._inputs is None:
            mixes = choose_mixes(scheme, box, settings, wet_um, book)
            self._inputs, self._turns = inputs, mixes.turns
            turned = sum(turn <= settings.castings for turn in mixes.turns)
            self._found[turned] = mixes
        return self._found[turned]


class Planner:
    """The plan of one figure for a job that changes, stage by stage: ask for any, and those before it are made, if
    what they hang on has changed. Drawing and box count as changed where they are others, whatever they hold.

    materials may be replaced at any time. cache: keep the box's computed recipes on disk. pool: where runs are
    searched, None: in this process. share: the mixes that it is given of several figures' (plan/family.py), None: it
    chooses its own.
    Every method raises InputError where the job does not fit the drawing, or no plan is possible.
    """

    def __init__(self, materials: Materials, *, cache: bool = True, pool: Executor | None = None) -> None:
        self.materials = materials
        self.cache = cache
        self.share: Mixes | None = None
        self._scheme, self._marked, self._mixes = Kept(build_scheme), Kept(with_marks), KeptMixes()
        self._named, self._with_names = Kept(named_order), Kept(with_names)
        self._known, self._order, self._painting = Kept(known_orders), Kept(order_of), Kept(plan_painting)
        self._runs, self._quick = Kept(partial(start_schedule, pool=pool)), Kept(quick_schedule)

    def scheme(self, job: Job) -> Scheme:
        """Areas, edges and parts in millimetres; those that the maker gave no name have none."""
        return self._scheme(self.materials.drawing, job, self.materials.meshes)

    def mixes(self, job: Job) -> Mixes:
        """The mixes and which area takes which."""
        if self.share is not None:
            return self.share
        wet_um = coats_dry(job)[1].wet_um
        # Under marks, so that a new name of an area is not a new scheme to the search.
        settings, scheme = mix_settings(job, self.cache), self._marked(self.scheme(job))
        return self._mixes(scheme, self.materials.box, settings, wet_um, self.materials.book)

    def order(self, job: Job) -> PaintingOrder:
        """Primer, passes, coats and edges."""
        scheme, mixes = self.scheme(job), self.mixes(job)
        settings = order_settings(job)
        # Orders over each primer stay known while castings, labour and room only weigh them anew.
        known = self._known(self._marked(scheme), mixes, self.materials.box, settings.method, settings.finish)
        return self._named(self._order(known, settings), self._with_names(scheme, mixes))

    def painting(self, job: Job) -> Painting:
        """All but the run."""
        mixes = self.mixes(job)
        scheme = self._with_names(self.scheme(job), mixes)
        return self._painting(self.materials, scheme, mixes, self.order(job), job)

    def start_run(self, job: Job) -> None:
        """Have the pool search the run; what is asked for next need not wait for it before it needs it."""
        self._runs(problem_of(self.painting(job)))

    def run(self, job: Job, *, quick: bool = False) -> Run:
        """The run. quick: the best that is found without a search, and no advice."""
        return self._run_of(self.painting(job), quick)

    def plan(self, job: Job, *, quick: bool = False) -> Plan:
        """The whole plan. quick: as `run`."""
        painting = self.painting(job)
        run = self._run_of(painting, quick)
        return whole_plan(painting, run, plan_amounts(painting, run, job))

    def _run_of(self, painting: Painting, quick: bool) -> Run:
        def scheduled(problem: RunProblem) -> Run:
            # Apart, so that a quick run in between does not throw away the searched one.
            return self._quick(problem) if quick else self._runs(problem)()

        return plan_run(painting, scheduled)


def make_plan(
    drawing: Drawing,
    job: Job | None = None,
    box: Box | None = None,
    *,
    meshes: Mapping[str, float] | None = None,
    cache: bool = True,
) -> Plan:
    """The plan of a drawing from scratch, top to bottom.

    job: what the maker says, None: all defaults. box: the paints owned, None: those the job names, or the starter
    box. meshes: surface in cm2 of the parts whose job names one. cache: keep the box's computed recipes on disk.
    Raises InputError when job and drawing do not fit, or no plan is possible.
    """
    job = job or Job()
    return Planner(Materials(drawing, box or box_of(job), meshes or {}), cache=cache).plan(job)


def box_of(job: Job) -> Box:
    """The paints that the job names, or the starter box. Raises InputError."""
    table = job_path(job, job.paints.table, "paints.table")
    file = job_path(job, job.paints.file, "paints.file")
    return load_box(table, job.paints.own, file, coat_um=brush_coat_um(job))
