"""The whole plan: everything a sheet prints, complete, so that sheets compute nothing."""

from dataclasses import dataclass

from finishplan.drawing.model import Drawing
from finishplan.finish.model import Labour, Method, PaintingOrder
from finishplan.paint.model import Box, Mix
from finishplan.run.model import Assumption, DryTimes, Quantity, Room, Run, RunSettings, Step
from finishplan.scheme import Scheme

PLAN_VERSION = 1


@dataclass(frozen=True, eq=False)
class Plan:
    """A finished plan. mix_of: (area id, index into mixes) pairs; bare areas have none. date: as the maker wrote it, '' if not."""

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
    """Primer first, then the paint, then the varnish."""
    steps: tuple[Step, ...]
    run: Run
    quantities: tuple[Quantity, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
