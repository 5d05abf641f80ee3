"""One worker that plans what is on the desk: a newer edit overtakes an older one, each stage is told when there."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from finishplan.basics.errors import InputError
from finishplan.job.job import Job
from finishplan.job.read import parse_job
from finishplan.page.borders import area_paths
from finishplan.page.desk import JOB_NAME, Desk, State
from finishplan.page.views import STAGES, painting_view, reading_view, run_view
from finishplan.paint.model import Box
from finishplan.plan.inputs import Sources, find_sources, read_sources
from finishplan.plan.plan import Materials, Plan
from finishplan.plan.planner import Planner

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Result:
    """A stage's answer for a revision; problem: the error in its place, as what, where, cure."""

    revision: int
    data: Any = None
    problem: dict[str, str] | None = None


class Overtaken(Exception):
    """A newer revision waits: what is left of this one need not be computed."""


def told(error: InputError) -> dict[str, str]:
    """An error as the page shows it."""
    return {"what": error.what, "where": error.where, "cure": error.cure}


class Planning:
    """The results of every stage, and the thread that computes them. `heard` is called with the stage's name, from that
    thread, whenever one is new."""

    def __init__(self, desk: Desk, heard: Tell, *, max_megapixels: int = 100) -> None:
        self.desk, self._heard, self._most = desk, heard, max_megapixels
        self.results: dict[str, Result] = {}
        self.box: Box | None = None
        self.last_plan: Plan | None = None
        self._planner: Planner | None = None
        self._read_from: Any = None
        self._paths: dict[int, str] = {}
        self._wanted = threading.Condition()
        self._state: State | None = None
        self._ended = False
        self._thread = threading.Thread(target=self._work, name="planning", daemon=True)
        self._thread.start()

    def ask(self, state: State) -> None:
        """Plan this state next; whatever was asked before and has not begun is forgotten."""
        with self._wanted:
            self._state = state
            self._wanted.notify()

    def end(self) -> None:
        """Stop after the stage that is being computed."""
        with self._wanted:
            self._ended = True
            self._wanted.notify()

    def _work(self) -> None:
        while True:
            with self._wanted:
                self._wanted.wait_for(lambda: self._state is not None or self._ended)
                if self._ended:
                    return
                state, self._state = self._state, None
            if state is not None:
                self._plan(state)

    def _plan(self, state: State) -> None:
        stage = STAGES[0]
        try:
            for stage, compute in (
                ("reading", self._reading),
                ("painting", lambda job: painting_view(self._need().painting(job))),
                ("run", lambda job: run_view(self._need().plan(job, quick=True), searched=False)),
                ("plan", self._whole),
            ):
                self._publish(stage, Result(state.revision, compute(self._job(state))))
        except Overtaken:
            return
        except InputError as error:
            self._publish(stage, Result(state.revision, problem=told(error)), final=True)
        except Exception as error:  # a fault of ours must not end the worker: it is shown, and the next edit is planned
            what = f"internal error: {type(error).__name__}: {error}"
            problem = {"what": what, "where": "", "cure": "undo the last change"}
            self._publish(stage, Result(state.revision, problem=problem), final=True)

    def _job(self, state: State) -> Job:
        return parse_job(state.text, self.desk.folder, JOB_NAME)

    def _need(self) -> Planner:
        assert self._planner is not None
        return self._planner

    def _publish(self, stage: str, result: Result, *, final: bool = False) -> None:
        with self._wanted:
            self.results[stage] = result
            newer = self._state is not None and self._state.revision > result.revision
        self._heard(stage)
        if (newer or self._ended) and not final:
            raise Overtaken

    def _reading(self, job: Job) -> dict[str, Any]:
        sources = replace(find_sources(self.desk.file), job=job)
        self._read(sources)
        scheme = self._need().scheme(job)
        return reading_view(self._need().materials.drawing, self._paths, scheme)

    def _read(self, sources: Sources) -> None:
        """Look at the picture, the paints and the meshes again where what they are read from has changed."""
        key = _reading_key(sources)
        if self._planner is not None and key == self._read_from:
            return
        drawing, box, meshes = read_sources(sources, max_megapixels=self._most)
        if self._planner is None:
            self._planner = Planner(Materials(drawing, box, meshes))
        else:
            self._planner.materials = Materials(drawing, box, meshes)
        self._paths, self.box, self._read_from = area_paths(drawing), box, key

    def _whole(self, job: Job) -> dict[str, Any]:
        self.last_plan = self._need().plan(job)
        return run_view(self.last_plan, searched=True)


def _reading_key(sources: Sources) -> Any:
    """All that the materials hang on: the files as they lie there, and the keys that steer their reading."""
    paths = (sources.drawing, sources.paints, sources.table, sources.parts_map, *sources.meshes.values())
    files = tuple((str(p), (s := p.stat()).st_mtime_ns, s.st_size) for p in paths if p is not None and p.exists())
    job = sources.job
    return files, job.figure, job.paints, job.method.coat_um, tuple(job.parts.items()), _corrections(job)


def _corrections(job: Job) -> Any:
    """What the maker mended in the reading."""
    keys = ("swallow", "join", "paper", "line", "at")
    areas = tuple((name, tuple(getattr(area, key, None) for key in keys)) for name, area in job.areas.items())
    return areas, getattr(job, "cuts", ())
