"""What the maker may set beside the drawing: the method, the minutes, the room, the run, the steps, the resin."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Literal

from finishplan.basics.errors import InputError

Tool = Literal["brush", "airbrush"]
RESIN_G_PER_CM3 = 1.1
"""Cast polyurethane (common practice: 1.03-1.15)."""
Flag = Literal["recess", "dot", "blend", "bare", "first", "last"]
Treat = Literal["lap", "cut", "dot", "blend", "recut"]
Gloss = Literal["matt", "satin", "gloss"]


@dataclass(frozen=True)
class Method:
    """How the maker paints. coat_um, spray_um: dry film of one brushed, one sprayed coat, None: usual. primer: auto,
    white, light grey, mid grey, black or '#rrggbb'. tool: airbrush sprays the broad passes and brushes the fine ones.
    least_coats: on areas of 1 cm2 and more. max_coats: beyond that many an undercoat is sought.
    lap_mm: how far a first colour runs over the line. primer_kind, varnish_kind: keys of kinds.toml.
    primer_wait_min: by the primer's own label, before it is brushed over."""

    tool: Tool = "brush"
    coat_um: float | None = None
    spray_um: float | None = None
    primer: str = "auto"
    least_coats: int = 2
    max_coats: int = 5
    undercoat: bool = True
    lap_mm: float = 1.0
    primer_kind: str = "aerosol-primer"
    primer_wait_min: float | None = None
    varnish_kind: str = "varnish-water"


@dataclass(frozen=True)
class Labour:
    """The painter's minutes, all settings. pace: the maker's own over all of these (`finishplan run --took` fits it).

    Common practice: to mix a pot, for each of its paints and of those that are pre-mixed; to turn to a mix that lies
    open (rinse, dry, load); to handle a piece; to set a dot; to mask before spraying; to set up and clear away, a
    session. Steering law (Accot and Zhai, CHI 1997): to follow 10 mm of edge with the coat that makes the line, with
    those before it. Derived: stroke_mm_s, the fastest stroke of a broad brush; a cm2 by airbrush or can, a cone of
    10 mm going 80 mm/s, half of it overlapping, on the piece 40 % of the time.
    """

    mix_min: float = 1.5
    mix_paint_min: float = 0.6
    mix_premix_min: float = 1.0
    turn_min: float = 0.75
    handle_min: float = 0.25
    line_10mm_min: float = 0.12
    edge_10mm_min: float = 0.04
    per_dot_min: float = 0.1
    stroke_mm_s: float = 25.0
    spray_per_cm2_min: float = 0.01
    mask_min: float = 2.0
    setup_min: float = 10.0
    pace: float = 1.0

    @property
    def paced(self) -> "Labour":
        """These minutes at the maker's pace, which is then 1."""
        # Whoever is twice as slow takes twice the minutes, and strokes half as fast.
        own = {f.name: getattr(self, f.name) * self.pace for f in fields(self) if f.name.endswith("_min")}
        return replace(self, **own, stroke_mm_s=self.stroke_mm_s / self.pace, pace=1.0)


@dataclass(frozen=True)
class Room:
    """The room today: air 0-45 °C, relative humidity 1-100 %, air speed over the work 0-20 m/s (a still room 0.1).
    dryer_castings: as many stand in the hair dryer's stream; dryer_min: one go of it over one or two, half as much more
    for each further two; dryer_rest_min: until the next coat (common practice)."""

    temperature_c: float = 21.0
    humidity_pct: float = 50.0
    air_speed_m_s: float = 0.1
    dryer: bool = False
    dryer_castings: int = 4
    dryer_min: float = 2.0
    dryer_rest_min: float = 1.0

    def go_min(self, castings: int) -> float:
        """Minutes of one go of the hair dryer over so many castings."""
        return self.dryer_min * (1 + 0.5 * ((castings - 1) // 2))


Palette = Literal["wet", "dish"]
POT_LIFE_MIN = {"wet": 7 * 1440.0, "dish": 240.0}
"""How long a pot stays workable on a lidded wet palette, in an open dish (common practice)."""


@dataclass(frozen=True)
class RunSettings:
    """The run. A mould yields per_shot castings every cadence_min from first_ready_min on (0, 0: all at once).
    session_min None: one stretch; starts: session starts as minutes from the first, empty: every day_min; slack_min: a
    session may run over by so much where that spares one. rack: how many castings the rack holds, None: all. palette:
    wet (lidded, kept over sessions) or dish; wells: pots it holds; pot_life_min: None: as the palette keeps them.
    least_drops: of a pot; brush_ml: lost to the brush at each turn. loss: ml taken for each ml that stays on the piece.
    search_s: effort of the search, in seconds of an ordinary machine, half as much more for large runs. fewest_changes:
    rather wait than turn to another mix; else the run is to end as soon as can be. start_at: time of day at which the
    run begins, '09:00'; '': times count from the start."""

    castings: int = 1
    first_ready_min: float = 0.0
    cadence_min: float = 0.0
    per_shot: int = 1
    painters: int = 1
    session_min: float | None = None
    starts: tuple[float, ...] = ()
    day_min: float = 1440.0
    slack_min: float = 15.0
    rack: int | None = None
    palette: Palette = "wet"
    wells: int = 12
    pot_life_min: float | None = None
    least_drops: int = 3
    brush_ml: float = 0.03
    loss: float = 1.6
    search_s: float = 0.3
    fewest_changes: bool = False
    start_at: str = ""

    @property
    def pot_life(self) -> float:
        """Minutes that a pot stays workable."""
        return POT_LIFE_MIN[self.palette] if self.pot_life_min is None else self.pot_life_min


@dataclass(frozen=True)
class OwnTiming:
    """What the maker saw: a coat of `dry_um` (None: the kind's thin coat) touch dry after touch_min in still air."""

    touch_min: float
    temperature_c: float = 20.0
    humidity_pct: float = 50.0
    dry_um: float | None = None


@dataclass(frozen=True)
class StepChange:
    """What the maker changes about one step; None leaves a figure as it is. minutes: for one casting."""

    skip: bool = False
    text: str | None = None
    minutes: float | None = None
    wait_min: float | None = None


@dataclass(frozen=True)
class StepSettings:
    """changes: by step key (those of data/steps.toml, and 'pass-1', 'pass-2' ...). spray_m_s: air speed of a spray
    where it meets the piece (common practice). density: of the casting, g/cm3."""

    changes: Mapping[str, StepChange] = field(default_factory=dict)
    primer_coats: int = 1
    varnish_coats: int = 2
    spray_m_s: float = 8.0
    density: float = RESIN_G_PER_CM3


@dataclass(frozen=True)
class Resin:
    """What one casting weighs and how the maker pours. Every default is common practice.

    part_g: one cleaned casting, all its pieces; waste_g: its vents and sprues. ratio: A to B by mass. margin: excess of
    a shot left in the cup; the first shot gets first_margin, then the casting is weighed. pigment_pct of the resin's
    mass, made up at once with pigment_excess, so that the last casting has the colour of the first. mould_life: pulls
    before the mould tears or dulls. silicone_g: one mould, None: not asked for; hardener_pct of the silicone's mass;
    silicone_density: g/cm3. Margins and pigment_excess: shares, 0.05 is 5 %.
    """

    part_g: float
    waste_g: float = 0.0
    ratio: tuple[float, float] = (1.0, 1.0)
    margin: float = 0.05
    first_margin: float = 0.25
    pigment_pct: float = 0.0
    pigment_excess: float = 0.1
    mould_life: int = 40
    silicone_g: float | None = None
    hardener_pct: float = 10.0
    silicone_density: float = 1.1

    def __post_init__(self) -> None:
        """Raises InputError for a mass, ratio or percentage that cannot be poured."""
        positive = {"part_g": self.part_g, "silicone_density": self.silicone_density}
        shares = {
            "waste_g": self.waste_g,
            "margin": self.margin,
            "first_margin": self.first_margin,
            "pigment_pct": self.pigment_pct,
            "pigment_excess": self.pigment_excess,
            "hardener_pct": self.hardener_pct,
        }
        _refuse({k: v for k, v in positive.items() if not 0 < v < 1e6}, "give a number above 0")
        _refuse({k: v for k, v in shares.items() if not 0 <= v < 1e6}, "give 0 or more")
        if not all(0 < r < 1e3 for r in self.ratio):
            raise InputError(
                f"ratio = {self.ratio[0]:g} : {self.ratio[1]:g} cannot be weighed",
                key="resin.ratio",
                cure="give A and B by mass, as [100, 90]",
            )
        if self.mould_life < 1:
            raise InputError(
                "mould_life is less than one pull", key="resin.mould_life", cure="give the number of pulls"
            )
        if self.silicone_g is not None and not 0 < self.silicone_g < 1e6:
            raise InputError("silicone_g is no mass", key="resin.silicone_g", cure="give the grams of one mould")


def _refuse(wrong: dict[str, float], cure: str) -> None:
    for key, value in wrong.items():
        raise InputError(f"{key} = {value:g} cannot be right", key=f"resin.{key}", cure=cure)
