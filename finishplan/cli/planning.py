"""Reading and planning with a progress bar, for the commands that plan."""

from collections.abc import Callable
from concurrent.futures import Executor
from functools import partial
from typing import TYPE_CHECKING

from finishplan.cli.pool import in_pool
from finishplan.cli.wishes import Manner
from finishplan.job.job import Job
from finishplan.plan.inputs import Reading, Sources, book_of, read_box, reading_of

if TYPE_CHECKING:
    from finishplan.plan.plan import Painting
    from finishplan.plan.planner import Planner

Progress = Callable[[str, float], None]
"""Takes the stage that begins and the share of the work done."""


def begun_reading(
    sources: Sources, manner: Manner, progress: Progress, processes: Executor | None
) -> Callable[[], Reading]:
    """Begin to read the drawing; the call gives it, or raises InputError where it cannot be read."""
    progress("reading the drawing", 0.05)
    return in_pool(processes, partial(reading_of, sources, manner.max_megapixels))


def planner_of(sources: Sources, manner: Manner, progress: Progress) -> "Planner":
    """A planner of what the sources hold, read in this process. Raises InputError for what cannot be read."""
    return planner_once_read(sources, manner, begun_reading(sources, manner, progress, None), None)[0]


def planner_once_read(
    sources: Sources, manner: Manner, read: Callable[[], Reading], processes: Executor | None
) -> tuple["Planner", Reading]:
    """A planner of what the sources hold. read: gives the drawing. Raises InputError for what cannot be read."""
    from finishplan.paint.ahead import is_new, keep_recipes
    from finishplan.plan.plan import Materials
    from finishplan.plan.planner import Planner
    from finishplan.plan.settings import mix_settings

    box, meshes = read_box(sources)
    settings = mix_settings(sources.job, manner.cache)
    ahead = None
    if processes is not None and is_new(box, settings):
        # A new box takes seconds to work out, which the other core has while the drawing is read.
        ahead = in_pool(processes, partial(keep_recipes, box, settings))
    reading = read()
    # Waited for, as the mixes begin by what it leaves on disk.
    if ahead is not None:
        ahead()
    materials = Materials(reading.drawing, box, meshes, book_of(sources, box))
    return Planner(materials, cache=manner.cache, pool=processes), reading


def painting_of(planner: "Planner", job: Job, progress: Progress) -> "Painting":
    """All but the run, each stage announced before it begins. Raises InputError."""
    progress("choosing the mixes", 0.2)
    planner.mixes(job)
    progress("ordering the passes", 0.4)
    painting = planner.painting(job)
    progress("planning the run", 0.55)
    return painting
