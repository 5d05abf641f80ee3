"""What a plan is made of: what is given, the mixes, the painting (all that is known before the run), the whole plan."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from finishplan.amounts.model import Quantity
from finishplan.basics.assumption import Assumption
from finishplan.bench.model import Step
from finishplan.drawing.model import Drawing
from finishplan.drying.model import DryTimes
from finishplan.job.settings import Gloss, Labour, Method, Room, RunSettings
from finishplan.order.model import PaintingOrder
from finishplan.paint.book import BookMix
from finishplan.paint.model import Advice, Box, Mix
from finishplan.paint.settings import MixSettings
from finishplan.plan.part_passes import PartPass
from finishplan.plan.well import Well
from finishplan.run.model import Run
from finishplan.scheme.model import Scheme

PLAN_VERSION = 1


@dataclass(frozen=True, eq=False)
class Materials:
    """What is read from files before anything is planned. meshes: surface in cm2 of the parts whose job names one.
    book: the maker's proven mixes."""

    drawing: Drawing
    box: Box
    meshes: Mapping[str, float] = field(default_factory=dict)
    book: tuple[BookMix, ...] = ()


@dataclass(frozen=True)
class Mixes:
    """The mixes of a scheme. mix_of: (area id, index into mixes) pairs by id; bare areas have none. settings: those
    by which they were searched. additions: what to add to the box for colours out of reach,
    None where nothing is amiss. least: so many mixes are needed at any rate, within their tolerance; curve: how many
    other tolerances (CIEDE2000) take."""

    mixes: tuple[Mix, ...]
    mix_of: tuple[tuple[int, int], ...]
    settings: MixSettings
    additions: Advice | None = None
    least: int = 0
    curve: tuple[tuple[float, int], ...] = ()
    shared: bool = False
    """With other figures, so that they keep their letters."""
    turns: tuple[int, ...] = ()
    """Numbers of castings from which the mixes may be others."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Painting:
    """How one casting is painted: everything that is known before the run is.

    date: as the maker wrote it. mix_of: (area id, index into mixes) pairs; bare areas have none. least_mixes,
    pots_within: see `Mixes`. dry: primer first,
    then the paint, then the varnish. part_passes: what each pass does on each part. cautions_short: as short as a step
    carries them. warnings: what the maker should mend before painting.
    """

    date: str
    finish: Gloss
    drawing: Drawing
    scheme: Scheme
    box: Box
    method: Method
    labour: Labour
    room: Room
    run_settings: RunSettings
    mix_settings: MixSettings
    mixes: tuple[Mix, ...]
    mix_of: tuple[tuple[int, int], ...]
    least_mixes: int = 0
    pots_within: tuple[tuple[float, int], ...] = ()
    order: PaintingOrder
    dry: tuple[DryTimes, ...]
    steps: tuple[Step, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    cautions_short: tuple[str, ...] = ()
    part_passes: tuple[PartPass, ...] = ()
    warnings: tuple[str, ...] = ()
    additions: tuple[str, ...] = ()
    """What to add to the box for the areas whose colours it does not reach."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan(Painting):
    """The painting with its run and its amounts: everything that a sheet prints. wells: the mixes in the order of
    use; notes: how the plan came about."""

    run: Run
    quantities: tuple[Quantity, ...]
    wells: tuple[Well, ...] = ()
    notes: tuple[str, ...] = ()
    run_notes: tuple[str, ...] = ()
    """Of the notes, those of the run alone."""
