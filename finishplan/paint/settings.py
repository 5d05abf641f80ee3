"""How mixes are searched: what the maker may set."""

from dataclasses import dataclass
from pathlib import Path

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.film import surface

LEAST_PREMIXED_ML = 0.3
"""For less of a mix no pre-mix is made where one without it comes near enough (our rule: six drops)."""
UNMIXED_WITHIN = 3.0
"""How near that is, in CIEDE2000 (our rule)."""
FAR_MEMBER = 5.0
"""A colour farther than this (CIEDE2000) from the mix that serves it is warned of (our rule)."""
DARK = ("exact", "keep contrast")
"""What to do with the dark colours of a drawing: hit those that paint reaches, or keep them apart from each other."""
DRAWN_ALIKE = 2.0
"""Neighbours drawn nearer to each other than this (CIEDE2000) may come to one pot (our rule: on a small figure nobody
sees the border)."""
WHITE_PRIMER, BLACK_PRIMER = 0.85, 0.045
"""Reflectance of matt primers (common practice; L* about 94 and 25)."""
DROP_ML = 0.05
"""A drop from a dropper, 20 to the millilitre; bottles with a fine tip drop down to 0.03 ml (common practice)."""
NEXT_TO_NOTHING_ML = DROP_ML / 5
"""A mix of which one casting takes less is of specks only: even thirty castings take a few drops (our choice)."""


@dataclass(frozen=True)
class MixSettings:
    """max_paints: ingredients of one mix; max_parts: whole parts of one mix; within: how far (CIEDE2000) a pot that
    several colours share may lie from each, 0: none are shared; step: a just-visible difference; reach: up to this a
    colour counts as reached; plain: a white or a black as it comes is taken within this of the aim; finish: matt,
    satin or gloss; dark: one of DARK, see aim.aims; volume_ml: the pot for which a drop too many is judged; drop_ml:
    one drop; premixes: whether strong paints may be let down first; few_drops: of the recipes within a step the one of
    the fewest drops, pre-mixes counted, is taken, for pots of next to nothing; castings: for which a pot is mixed;
    cache, cache_folder: the store of searched boxes. Raises InputError.
    """

    max_paints: int = 4
    max_parts: int = 12
    within: float = 3.0
    step: float = 1.0
    reach: float = 2.0
    finish: str = "satin"
    dark: str = "exact"
    volume_ml: float = 2.0
    drop_ml: float = DROP_ML
    plain: float = 2.5
    premixes: bool = True
    few_drops: bool = False
    castings: int = 1
    cache: bool = True
    cache_folder: Path | None = None

    def __post_init__(self) -> None:
        # Only for its error: an unknown finish is refused here, not in the midst of a search.
        surface(self.finish, 0.0, 0.0)
        if self.dark not in DARK:
            raise InputError(f"unknown way '{self.dark}' with dark colours", cure=nearest(self.dark, DARK))
        for name, low, high in (
            ("max_paints", 1, 6),
            ("max_parts", 1, 40),
            ("within", 0, 20),
            ("step", 0, 10),
            ("reach", 0, 20),
            ("plain", 0, 20),
            ("volume_ml", 0.05, 10_000),
            ("drop_ml", 0.01, 0.2),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(f"{name} is {value}", cure=f"give a number from {low} to {high}")
