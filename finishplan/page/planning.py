"""One worker that plans what is on the desk: a newer edit overtakes an older one, each stage is told when there."""

import re
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishplan.basics.errors import InputError
from finishplan.basics.files import inside
from finishplan.basics.progress import listening
from finishplan.job.job import Job
from finishplan.page.desk import Desk, State, job_of
from finishplan.page.exchange import exchange
from finishplan.page.reading import Look, Looked
from finishplan.page.views import STAGES, painting_view, reading_view, run_view
from finishplan.paint.model import Box
from finishplan.plan.inputs import BOOK
from finishplan.plan.keeping import keep_in_book
from finishplan.plan.plan import Painting, Plan
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


ELSEWHERE = (
    (r",? or raise (the limit with )?--max-megapixels( \d+)?", ""),
    (r"give another folder with --out, or start over with --fresh", "lay it on the bench as another figure"),
    (r" with --out", ""),
    (r"give --start as", "write the beginning as"),
)
"""What only the command line has, and what the page says in its place."""


def told(error: InputError) -> dict[str, str]:
    """An error as the page shows it."""
    cure = error.cure
    for pattern, said in ELSEWHERE:
        cure = re.sub(pattern, said, cure)
    return {"what": error.what, "where": error.where, "cure": cure}


def of_ours(error: Exception) -> InputError:
    """A fault of the program as an error to show: the maker cannot mend it."""
    what = f"internal error: {type(error).__name__}: {error}"
    return InputError(what, cure="undo your last change, and report it; the terminal says more")


class Planning:
    """The results of every stage, and the thread that computes them. `heard` is called with the stage's name, from that
    thread, whenever one is new, and with 'doing ...' as the steps of a reading begin."""

    def __init__(self, desk: Desk, heard: Tell, *, max_megapixels: int = 100) -> None:
        self.desk, self._heard = desk, heard
        self.results: dict[str, Result] = {}
        self.plan: tuple[int, Plan] | None = None
        self.painted: tuple[Job, Painting] | None = None
        self._look = Look(desk, max_megapixels)
        self._planner: Planner | None = None
        self._wanted = threading.Condition()
        self._state: State | None = None
        self._newest = 0
        self._ended = False
        self._weighing = threading.Lock()
        self._exchange: tuple[Any, list[dict[str, Any]]] = (None, [])
        # The desk knows nothing of drawings: what the next reading would refuse is judged here.
        desk.check, desk.check_box = self._look.check, self._look.check_box
        self._thread = threading.Thread(target=self._work, name="planning", daemon=True)
        self._thread.start()

    @property
    def box(self) -> Box | None:
        """The paints, once they were read."""
        return None if self._look.last is None else self._look.last.materials.box

    @property
    def looked(self) -> Looked | None:
        """What was seen when the picture was last read."""
        return self._look.last

    def ask(self, state: State) -> None:
        """Plan this state next, unless it was asked for; whatever was asked before and has not begun is forgotten."""
        with self._wanted:
            if state.revision > self._newest:
                self._state, self._newest = state, state.revision
                self._wanted.notify()

    def exchange(self, text: str) -> list[dict[str, Any]]:
        """What fewer pots would cost in this job, computed once for each. Raises InputError."""
        # Two windows may ask at once, and each choice takes a search for mixes.
        with self._weighing:
            job, looked = job_of(text, self.desk.folder), self.looked
            if looked is None:
                raise InputError("the drawing is not read yet", cure="wait a moment and try again")
            key = text, looked.materials
            if self._exchange[0] != key:
                self._exchange = key, exchange(looked.materials, job)
            return self._exchange[1]

    def keep(self, letter: str, beside: Path) -> str:
        """Put a mix of the painting as it stands into the mix book, that which is there, else one in the folder
        `beside`; its name there. Raises InputError."""
        result, looked = self.painted, self.looked
        if result is None or looked is None:
            raise InputError("the mixes are not chosen yet", cure="wait a moment and try again")
        job, painting = result
        mix = next((m for m in painting.mixes if m.id == letter), None)
        if mix is None:
            raise InputError(f"there is no mix {letter[:10]}", where="mix", cure="load the page again")
        book = looked.book or beside / BOOK
        return keep_in_book(inside(book.parent, book.name, where=str(book)), painting, job, mix)

    def end(self) -> None:
        """Stop after the step that is being computed."""
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
            with listening(self._goes_on):
                job, looked = self._look.at(state.text)
            self._publish(stage, Result(state.revision, self._reading(job, looked)))
            for stage, compute in zip(STAGES[1:], (self._painting, self._quick, self._searched), strict=True):
                self._publish(stage, Result(state.revision, compute(job, state.revision)))
        except Overtaken:
            return
        except InputError as error:
            self._publish(stage, Result(state.revision, problem=told(error)), final=True)
        except Exception as error:  # a fault of ours must not end the worker: it is shown, and the next edit is planned
            traceback.print_exc()
            self._publish(stage, Result(state.revision, problem=told(of_ours(error))), final=True)

    def _goes_on(self, step: str) -> None:
        """A step of the reading begins; it ends here once the figure is put away."""
        if self._ended:
            raise Overtaken
        self._heard(f"doing {step}")

    def _need(self) -> Planner:
        assert self._planner is not None
        return self._planner

    def _publish(self, stage: str, result: Result, *, final: bool = False) -> None:
        with self._wanted:
            ended, newer = self._ended, self._newest > result.revision
            if not ended:
                self.results[stage] = result
        if not ended:
            self._heard(stage)
        # An overtaken result was published all the same: better one of before in sight than none.
        if (newer or ended) and not final:
            raise Overtaken

    def _reading(self, job: Job, looked: Looked) -> dict[str, Any]:
        if self._planner is None:
            self._planner = Planner(looked.materials)
        # The planner stays: what does not hang on the changed materials is not computed again.
        self._planner.materials = looked.materials
        return reading_view(looked, self._planner.scheme(job), job)

    def _painting(self, job: Job, revision: int) -> dict[str, Any]:
        painting = self._need().painting(job)
        self.painted = job, painting
        return painting_view(painting)

    def _quick(self, job: Job, revision: int) -> dict[str, Any]:
        return run_view(self._need().plan(job, quick=True), searched=False)

    def _searched(self, job: Job, revision: int) -> dict[str, Any]:
        plan = self._need().plan(job)
        self.plan = revision, plan
        return run_view(plan, searched=True)
