"""The painting order: what is laid when, on which areas, in how many coats, and what happens at every edge."""

from dataclasses import dataclass
from typing import Literal

from finishplan.job.settings import Tool, Treat
from finishplan.paint.model import Mix

PassKind = Literal["undercoat", "colour", "blend", "dot", "recut"]


@dataclass(frozen=True)
class Primer:
    """The primer chosen for the whole run. reflectance: Y / 100, 0-1. minutes: painter's minutes of all passes on all
    castings over it, mixes opened as `effort.openings` counts; priming itself and what changes the schedule adds are
    not in it, so the run's painter_min is more. runner_up likewise, '' where there is none. coats: 0 where the bare
    casting is painted, whose colour stands here then."""

    name: str
    hex: str
    reflectance: float
    minutes: float
    runner_up: str
    runner_up_minutes: float
    why: str
    coats: int


@dataclass(frozen=True)
class AreaCoats:
    """Coats of one area. curve: CIEDE2000 from the mix's opaque colour after 0, 1, 2 ... coats over the primer (or
    undercoat, a dot and a shade over the dry colour they are set on); edge_only: the last coats, edge_coats of
    them, are needed only where the edge laps over a neighbour. saves: coats the undercoat spares, its own counted."""

    area: int
    mix: str
    coats: int
    curve: tuple[float, ...]
    undercoat: str | None = None
    undercoat_coats: int = 0
    saves: int = 0
    edge_only: bool = False
    why: str = ""
    edge_coats: int = 0
    ground: str = ""
    """What the coats are counted over: the primer's name, or the id of a mix."""
    full_coats: int = 0
    """Coats that would bring it within 1.0 of the opaque colour, more than `coats` where the eye gains nothing from
    them."""
    enough_coats: int = 0
    """Coats that would hide the ground, fewer than `coats` where so few would show the marks of the brush."""


@dataclass(frozen=True)
class EdgeOrder:
    """One edge: `first` is laid before `second`. lap_mm: how far the first runs over the line, thinned out."""

    areas: tuple[int, int]
    first: int
    second: int
    treat: Treat
    length_mm: float
    why: str
    lap_mm: float = 0.0
    reversed_rule: bool = False
    """The darker colour goes first here, or the rules contradict each other: `why` gives the reason."""
    rule: str = ""
    """The rule that settled it, a word of order/rules.py: 'wish', 'dot', 'blend', 'recess', 'lighter', 'tie' ..."""
    pass_no: int = 0
    """The pass that makes the line: the second colour's, or that of the recut; 0 where nothing is laid."""
    tie: str = ""
    """By what a tie is settled: 'hiding', 'size' or 'warmth'."""


@dataclass(frozen=True)
class PassWork:
    """What one pass does on one area: `coats` coats of the pass's mix, or of `mix` where a second colour is worked in
    wet.

    minutes: painter's minutes for one coat, the mean of its coats, its share of masking included, handling the piece
    not.
    """

    area: int
    part: str
    coats: int
    minutes: float
    kind: PassKind = "colour"
    mix: str = ""


@dataclass(frozen=True)
class Care:
    """What keeps clear of paint in a pass, or how a piece is held. part: '' where it is of several; usual: so it is in
    every pass on the part."""

    part: str
    text: str
    usual: bool = False

    def __str__(self) -> str:
        return f"{self.part}: {self.text}" if self.part else self.text


@dataclass(frozen=True)
class Pass:
    """Laying one mix on all the areas that are due. minutes: painter's minutes of one casting, all coats, washing not
    counted."""

    no: int
    kind: PassKind
    mix: str
    work: tuple[PassWork, ...]
    coats: int
    brush: str
    tool: Tool
    minutes: float
    edges: tuple[tuple[int, int], ...] = ()
    """The edges settled by this pass: those whose second colour is laid in it."""
    masks: tuple[Care, ...] = ()
    holds: tuple[Care, ...] = ()
    why: tuple[str, ...] = ()
    touch_dry_min: float = 0.0
    recoat_min: float = 0.0
    wet_um: float = 0.0
    """Film of one coat as laid, once the paint is known."""
    also_open: tuple[str, ...] = ()
    """Second mixes on the palette, worked wet in wet into this one."""
    tool_why: tuple[str, ...] = ()
    """Why it is sprayed, or kept from the spray; among `why` too."""

    @property
    def mask(self) -> tuple[str, ...]:
        """What keeps clear of paint, a line each."""
        return tuple(map(str, self.masks))

    @property
    def hold(self) -> str:
        """How each part is held, in one line."""
        return "; ".join(map(str, self.holds))

    @property
    def areas(self) -> tuple[int, ...]:
        """The ids of the areas it lays paint on."""
        return tuple(dict.fromkeys(w.area for w in self.work))


@dataclass(frozen=True)
class WishedOrder:
    """The maker's wish that area `first` be laid before `second`. refused: why it was not granted, '' where it was."""

    first: int
    second: int
    refused: str = ""


@dataclass(frozen=True)
class PaintingOrder:
    """All passes. bound: no order has fewer; proven: the number of passes equals the least possible.
    minutes_per_casting: the painter's.

    extra_mixes: mixes the order adds for undercoats (a white or grey straight from the box), ids 'U1', 'U2'. primers:
    every primer weighed, with the painter's minutes of the run; broken: the edges that are recut.
    """

    passes: tuple[Pass, ...]
    edges: tuple[EdgeOrder, ...]
    coats: tuple[AreaCoats, ...]
    primer: Primer
    bound: int
    proven: bool
    notes: tuple[str, ...] = ()
    extra_mixes: tuple[Mix, ...] = ()
    primers: tuple[tuple[str, float], ...] = ()
    broken: tuple[tuple[int, int], ...] = ()
    minutes_per_casting: float = 0.0
    wished: tuple[WishedOrder, ...] = ()

    def line_coats(self, work: PassWork) -> int:
        """How many of a work's coats, its last, go only along the line where it laps over a neighbour."""
        # An undercoat goes over the whole area, and a recut is nothing but a line.
        if work.kind in ("undercoat", "recut"):
            return 0
        return next((c.edge_coats for c in self.coats if c.area == work.area), 0)
