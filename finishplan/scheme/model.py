"""The scheme: the drawing and the maker's job brought together, in millimetres, before any paint is chosen."""

from dataclasses import dataclass

from finishplan.basics.checks import check_no_circle
from finishplan.colour.lab import Lab
from finishplan.job.settings import Flag, Treat


@dataclass(frozen=True)
class SchemeArea:
    """An area to paint. target: the drawn colour (aimed at paint later). share: 0-1 of the figure; cm2: painted
    surface. mix: a mix the maker named for it, shared by every area of the same name. blend_into: the area whose colour
    it is shaded into, for flag 'blend'."""

    id: int
    part: str
    name: str
    target: Lab
    hex: str
    share: float
    cm2: float
    narrow_mm: float
    wide_mm: float
    flags: frozenset[Flag] = frozenset()
    mix: str | None = None
    enclosed_by: int | None = None
    blend_into: int | None = None
    extent_mm: float = 0.0
    """The longer side of its bounding box; 0 where it is not known."""
    before: tuple[int, ...] = ()
    """Areas that the maker wishes to be laid after it."""


def label(area: SchemeArea) -> str:
    """'4 hood', or '4' where the area has no name."""
    return f"{area.id} {area.name}".strip()


@dataclass(frozen=True)
class SchemeEdge:
    """Where two areas meet, ascending ids. straightness: 0-1; soft: shaded, not drawn. treat and first: the maker's own
    wish, else None."""

    areas: tuple[int, int]
    length_mm: float
    straightness: float
    soft: bool
    treat: Treat | None = None
    first: int | None = None


@dataclass(frozen=True)
class SchemePart:
    """A piece painted by itself. silhouette_cm2: as drawn; surface_cm2: what is painted of one casting, all
    `copies` of the piece together; after: parts painted before it."""

    name: str
    areas: tuple[int, ...]
    silhouette_cm2: float
    surface_cm2: float
    surface_source: str
    glue_faces: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    copies: int = 1
    height_mm: float = 0.0
    width_mm: float = 0.0


@dataclass(frozen=True)
class LastPot:
    """A pot that was made of a named mix, and its dab. poured: paint -> drops; lab: of the dab; off: CIEDE2000
    of it from the colour aimed at; added: drops were added afterwards."""

    mix: str
    poured: tuple[tuple[str, float], ...]
    lab: Lab
    off: float
    added: bool


@dataclass(frozen=True)
class Scheme:
    """Parts, areas and edges of one figure; cm2 and mm are of one casting. warnings: what the maker told of sizes that
    cannot be. guessed: what is said before all else where no height was told that fixes the scale, else ''. Raises
    InputError where parts wait for each other in a circle."""

    name: str
    height_mm: float
    mm_per_px: float
    parts: tuple[SchemePart, ...]
    areas: tuple[SchemeArea, ...]
    edges: tuple[SchemeEdge, ...]
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    guessed: str = ""
    recipes: tuple[tuple[str, tuple[tuple[str, int], ...]], ...] = ()
    """The maker's own of named mixes: mix -> (paint, drops)."""
    leads: tuple[tuple[str, int], ...] = ()
    """Of named mixes the area whose colour it is to have, where the maker said so."""
    last_pots: tuple[LastPot, ...] = ()
    height_told: bool = True
    """Whether the maker said how high the figure is, or a part of it."""

    def __post_init__(self) -> None:
        check_no_circle("parts", "after", {p.name: p.after for p in self.parts})

    def area(self, id: int) -> SchemeArea:
        """The area of that number; KeyError when there is none."""
        return {a.id: a for a in self.areas}[id]
