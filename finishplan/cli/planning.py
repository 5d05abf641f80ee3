"""Reading and planning with a progress bar, for the commands that plan."""

from collections.abc import Callable
from concurrent.futures import Executor
from typing import TYPE_CHECKING

from finishplan.cli.wishes import Manner
from finishplan.job.job import Job
from finishplan.plan.inputs import Reading, Sources, book_of, read_all

if TYPE_CHECKING:
    from finishplan.plan.plan import Painting
    from finishplan.plan.planner import Planner

Progress = Callable[[str, float], None]
"""Takes the stage that begins and the share of the work done."""


def planner_of(
    sources: Sources, manner: Manner, progress: Progress, processes: Executor | None
) -> tuple["Planner", Reading]:
    """A planner of what the sources hold. Raises InputError for what cannot be read."""
    from finishplan.plan.plan import Materials
    from finishplan.plan.planner import Planner

    progress("reading the drawing", 0.05)
    reading, box, meshes = read_all(sources, manner.max_megapixels)
    return Planner(
        Materials(reading.drawing, box, meshes, book_of(sources, box)), cache=manner.cache, pool=processes
    ), reading


def painting_of(planner: "Planner", job: Job, progress: Progress) -> "Painting":
    """All but the run, each stage announced before it begins. Raises InputError."""
    progress("choosing the mixes", 0.2)
    planner.mixes(job)
    progress("ordering the passes", 0.4)
    painting = planner.painting(job)
    progress("planning the run", 0.55)
    return painting
