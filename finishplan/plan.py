"""The whole plan: everything a sheet prints, complete, and the pipeline that makes it, top to bottom."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from finishplan.build import build_scheme
from finishplan.drawing.model import Drawing
from finishplan.finish.model import Labour, Method, PaintingOrder
from finishplan.finish.order import paint_order
from finishplan.job import Job
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Box, Mix
from finishplan.run.advice import advised
from finishplan.run.drying import dry_times, room_warnings
from finishplan.run.model import Assumption, DryTimes, Quantity, Room, Run, RunSettings, Step
from finishplan.run.quantities import quantities
from finishplan.run.safety import plan_cautions
from finishplan.run.schedule import schedule
from finishplan.run.steps import finishing_steps
from finishplan.run.tasks import run_problem
from finishplan.scheme import Scheme
from finishplan.trace import assumptions, plan_notes

PLAN_VERSION = 1
Tell = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Plan:
    """A finished plan. mix_of: (area id, index into mixes) pairs; bare areas have none. date: as the maker wrote it, '' if
    not. dry: primer first, then the paint, then the varnish. warnings: what the maker should mend before painting."""

    date: str
    finish: str
    drawing: Drawing
    scheme: Scheme
    box: Box
    method: Method
    labour: Labour
    room: Room
    run_settings: RunSettings
    mixes: tuple[Mix, ...]
    mix_of: tuple[tuple[int, int], ...]
    order: PaintingOrder
    dry: tuple[DryTimes, ...]
    steps: tuple[Step, ...]
    run: Run
    quantities: tuple[Quantity, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...] = ()
