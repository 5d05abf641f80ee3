"""What the maker may say of a figure, every key with its default. Areas go by the numbers printed on the drawing."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import gcd
from pathlib import Path
from typing import Literal

from finishplan.basics.files import inside
from finishplan.job.settings import (
    Flag,
    Gloss,
    Labour,
    Method,
    OwnTiming,
    Resin,
    Room,
    RunSettings,
    StepSettings,
    Treat,
)
from finishplan.paint.settings import DROP_ML, MixSettings

Point = tuple[float, float]
"""A place in the picture, as shares of its width and height from the top left corner."""


@dataclass(frozen=True)
class FigureJob:
    """The figure and how its drawing is read. height_mm None: taken as USUAL_HEIGHT_MM, and said. scale: one for the
    sheet, or one for each part that has a height of its own."""

    name: str = ""
    date: str = ""
    drawing: str = ""
    height_mm: float | None = None
    scale: Literal["sheet", "part"] = "sheet"
    finish: Gloss = "satin"
    colours: int | None = None
    paper_white: Literal["auto", "off"] = "auto"
    parts_map: str = ""
    lines: Literal["auto", "none"] | float = "auto"
    kind: Literal["auto", "flat", "scan", "photo"] = "auto"
    shading: Literal["base", "own mix"] = "base"
    details: tuple[Point, ...] = ()


@dataclass(frozen=True)
class PartJob:
    """One part. areas None: those of the drawn piece of that name; within: also every area that lies in one of these
    rectangles (two opposite corners) or outlines. Its surface is surface_cm2, else the mesh's, else the drawing's times
    the form factor surface_factor; mass_g only sets a floor. height_mm: of this piece as drawn, fixes the scale."""

    areas: tuple[int, ...] | None = None
    within: tuple[tuple[Point, ...], ...] = ()
    height_mm: float | None = None
    surface_factor: float = 1.0
    surface_cm2: float | None = None
    mesh: str = ""
    mass_g: float | None = None
    copies: int = 1
    glue_faces: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class AreaJob:
    """One area: where it is drawn, what the maker calls it, the colour wanted, how it is treated, what was misread.

    at, colour, size: by which it is found again in a changed drawing: a place well inside, the colour as drawn
    ('#rrggbb'), its share of the figure (0-1). swallow: the area that takes its pixels; join: the area with which it is
    one; paper: it is no figure; line: it is a drawn line, no paint. before: areas to be laid after it, where the rules
    leave that free.
    """

    name: str = ""
    at: Point | None = None
    colour: str = ""
    size: float | None = None
    part: str = ""
    target: str = ""
    mix: str = ""
    flags: tuple[Flag, ...] = ()
    blend_into: int | None = None
    before: tuple[int, ...] = ()
    swallow: int | None = None
    join: int | None = None
    paper: bool = False
    line: bool = False


@dataclass(frozen=True)
class EdgeJob:
    """One edge: the treatment and the side to be laid first, where the maker wishes it otherwise."""

    treat: Treat | None = None
    first: int | None = None


@dataclass(frozen=True)
class MixJob:
    """One mix of several areas. target: '#rrggbb', '' as drawn. leads: the area whose colour it takes, None: that
    of the most paint. recipe: the maker's own, paint -> drops.

    Kept by `finishplan correct`: poured: the drops in the last pot; came_out: the colour of its dab as 'lab(L a b)';
    aim: the colour aimed at, likewise; add: drops advised on top; corrected: how often drops were added."""

    areas: tuple[int, ...] = ()
    target: str = ""
    leads: int | None = None
    recipe: tuple[tuple[str, int], ...] = ()
    poured: tuple[tuple[str, float], ...] = ()
    came_out: str = ""
    aim: str = ""
    add: tuple[tuple[str, float], ...] = ()
    corrected: int = 0

    @property
    def proven(self) -> tuple[tuple[str, int], ...]:
        """The recipe that the next pot starts from, in whole parts: the maker's own, else what was poured and added."""
        if self.recipe or not self.poured:
            return self.recipe
        drops = dict(self.poured)
        for paint, more in self.add:
            drops[paint] = drops.get(paint, 0.0) + more
        # A drop let down 1 : 9 holds a tenth of a drop of its paint; what was poured at all stays in the recipe.
        tenths = {paint: max(1, round(10 * amount)) for paint, amount in drops.items()}
        common = gcd(*tenths.values())
        return tuple((paint, amount // common) for paint, amount in tenths.items())


@dataclass(frozen=True)
class Cut:
    """A stroke that parts an area read as one; its ends run on to the nearest borders. area: None, every area that it
    crosses."""

    points: tuple[Point, ...]
    area: int | None = None


@dataclass(frozen=True)
class PaintsJob:
    """The paints owned and how recipes are chosen. kind: the row of the drying table. within: CIEDE2000 within
    which a shared mix lies of each drawn colour; merge: an older name of it. book: the mix book, '' the one beside
    the job. drop_ml: one drop of your dropper or bottle. dark: dark colours are hit as drawn, or
    kept apart from each other."""

    table: str = ""
    own: tuple[str, ...] | None = None
    file: str = ""
    kind: str = ""
    max_paints: int = MixSettings.max_paints
    max_parts: int = MixSettings.max_parts
    within: float = MixSettings.within
    merge: float | None = None
    book: str = ""
    drop_ml: float = DROP_ML
    dark: str = "exact"
    dry: OwnTiming | None = None


@dataclass(frozen=True)
class Job:
    """Everything the maker may say, with every default. folder: where relative paths start; file: for messages."""

    figure: FigureJob = FigureJob()
    parts: Mapping[str, PartJob] = field(default_factory=dict)
    areas: Mapping[int, AreaJob] = field(default_factory=dict)
    mixes: Mapping[str, MixJob] = field(default_factory=dict)
    edges: Mapping[tuple[int, int], EdgeJob] = field(default_factory=dict)
    cuts: tuple[Cut, ...] = ()
    paints: PaintsJob = PaintsJob()
    method: Method = Method()
    labour: Labour = Labour()
    room: Room = Room()
    run: RunSettings = RunSettings()
    steps: StepSettings = StepSettings()
    resin: Resin | None = None
    folder: Path = Path()
    file: str = "job"


def job_path(job: Job, name: str, key: str) -> Path | None:
    """Where a path of the job file leads, None for ''. Raises InputError when it leaves the job's folder."""
    return inside(job.folder, name, where=f"{job.file}: {key}") if name else None


def area_name(job: Job, id: int) -> str:
    """What to call an area in the job file: its name, else its number."""
    return job.areas.get(id, AreaJob()).name or str(id)
