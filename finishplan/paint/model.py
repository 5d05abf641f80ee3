"""Paints, colour tables, the maker's box, and mixes of them."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from finishplan.colour.lab import Lab

Opacity = Literal["opaque", "semi-opaque", "semi-transparent", "transparent"]


# eq=False here and below: arrays have no single truth value, so paints are told apart by their id.
@dataclass(frozen=True, eq=False)
class Paint:
    """One paint. id: slug; ci: Colour Index generic name, '' if unknown; K, S: (31,) per mm of dry film, 400-700 nm
    step 10; density: g/ml of the wet paint. estimate: K and S were reconstructed, not measured.
    ml_left, price_per_ml: what the maker said, else None. swatch_off: CIEDE2000, one sigma, of a paint learned from a
    photographed swatch card, else None.
    taken_as: of a tube that nobody measured, the measured paint whose K and S it is given."""

    id: str
    name: str
    ci: str
    K: np.ndarray
    S: np.ndarray
    density: float
    hazards: tuple[str, ...] = ()
    source: str = ""
    estimate: bool = False
    taken_as: str = ""
    ml_left: float | None = None
    price_per_ml: float | None = None
    swatch_off: float | None = None


@dataclass(frozen=True)
class Scale:
    """How opaque a table's paints are, which relative measurements leave open. per_mm: mean S of the paint `of` (id) in
    1/mm of dry film; low, high: believable range of it; times: what the numbers of the file were multiplied by."""

    of: str
    per_mm: float
    low: float
    high: float
    times: float
    source: str


@dataclass(frozen=True)
class StandIn:
    """A common tube that nobody measured: its Colour Index name, the id of the paint of the table that is taken for it,
    and what the tube is called."""

    ci: str
    paint: str
    name: str


@dataclass(frozen=True, eq=False)
class ColourTable:
    """An open table of paints measured with one pair of Saunderson constants k1, k2 (0-1, see colour.film.saunderson).
    historical: for study only. scale: None where the file itself gives K and S in 1/mm.
    stand_ins: for common tubes that nobody measured."""

    name: str
    paints: tuple[Paint, ...]
    k1: float
    k2: float
    binder: str
    sources: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    historical: bool = False
    stand_ins: tuple[StandIn, ...] = ()
    scale: Scale | None = None


@dataclass(frozen=True, eq=False)
class Box:
    """The paints the maker owns, in the table's order; white is the id of its strongest white, or None."""

    table: ColourTable
    paints: tuple[Paint, ...]
    white: str | None
    black: str | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Premix:
    """A strong paint let down first: `parts` of `paint` into `of` parts of `into` (ids); into_name: common name."""

    paint: str
    parts: int
    into: str
    of: int
    into_name: str = ""


@dataclass(frozen=True)
class Ingredient:
    """Whole parts of one paint, or of one pre-mix (then `paint` is the id of its strong paint)."""

    paint: str
    name: str
    ci: str
    parts: int
    premix: Premix | None = None


@dataclass(frozen=True)
class Missed:
    """A drawn colour out of reach: what its nearest mix should look like, L*a*b*, and how far off it is, CIEDE2000."""

    hex: str
    aim: Lab
    delta_e: float


@dataclass(frozen=True)
class Advice:
    """What to do about the colours out of reach. missed: those colours; tubes: the paints, by name, that each takes,
    none where no paint of the table helps; larger: which of these more paints in a mix would reach; first: white and
    black where the box lacks them; max_paints, reach: of the settings it was found by."""

    missed: tuple[Missed, ...]
    tubes: tuple[tuple[str, ...], ...]
    larger: tuple[bool, ...]
    first: tuple[str, ...]
    max_paints: int
    reach: float


@dataclass(frozen=True, eq=False)
class Mix:
    """A recipe and what it is predicted to look like, opaque, under the chosen finish.

    id: 'A', 'B', ... in the order of the palette. drawn: the drawing's colour; aim: the colour aimed at, which
    differs where paint is neither as dark nor as light as a screen; lab, hex: predicted; delta_e, delta_e_a: CIEDE2000
    from aim under D65 and, the aim adapted to it, under illuminant A; delta_e_drawn: from the drawing's colour, D65.
    K, S: (31,) per mm of dry film. expect_within: CIEDE2000 that a real pot keeps in nineteen cases of twenty.
    drop_paint, drop_delta_e: the paint of which one drop too many moves the mix the furthest, and how far.
    add_paint, add_name: id and common name of the table's paint that would bring an unreachable colour within 2, if
    one does.
    """

    id: str
    name: str
    drawn: Lab
    drawn_hex: str
    aim: Lab
    recipe: tuple[Ingredient, ...]
    lab: Lab
    hex: str
    delta_e: float
    delta_e_a: float
    reachable: bool
    expect_within: float
    K: np.ndarray
    S: np.ndarray
    drop_paint: str = ""
    drop_delta_e: float = 0.0
    estimate: bool = False
    add_paint: str | None = None
    add_name: str = ""
    delta_e_drawn: float = 0.0
    merged_hex: tuple[str, ...] = ()
    """Other drawn colours that share this mix."""
    merged_off: tuple[float, ...] = ()
    """How far the mix lies from what each of them is aimed at, CIEDE2000."""
    missed: tuple[Missed, ...] = ()
    """Where the mix is out of reach: the drawn colours that it serves and comes no nearer to than reach."""
    from_book: str = ""
    """Its name in the maker's mix book, whose recipe and colour it has; '' for a new one."""
    few_drops: bool = False
    """So little of it is needed that a simpler recipe was taken than the nearest."""
    best_delta_e: float = 0.0
    """CIEDE2000 from the aim of the nearest recipe of all."""

    @property
    def drawing_is_elsewhere(self) -> bool:
        """Whether paint cannot follow the drawing, so that drawing and aim are told as two figures."""
        return abs(self.delta_e_drawn - self.delta_e) >= 0.1
