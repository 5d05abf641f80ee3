"""How mixes are searched: what the maker may set."""

from dataclasses import dataclass
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.colour.film import surface

DROP_ML = 0.05
"""A drop from a bottle or a dropper, 20 to the millilitre (common practice)."""
NEXT_TO_NOTHING_ML = DROP_ML / 5
"""A mix of which one casting takes less is of specks only: even thirty castings take a few drops (our choice)."""


@dataclass(frozen=True)
class MixSettings:
    """max_paints: ingredients of one mix; max_parts: whole parts of one mix; merge: drawn colours closer than this
    (CIEDE2000) share a mix; step: a just-visible difference; reach: up to this a colour counts as reached;
    finish: matt, satin or gloss; volume_ml: the pot for which a drop too many is judged; premixes: whether strong
    paints may be let down first; few_drops: of the recipes within a step the one of the fewest drops, pre-mixes
    counted, is taken, for pots of next to nothing; cache, cache_folder: the store of searched boxes. Raises
    InputError."""

    max_paints: int = 4
    max_parts: int = 12
    merge: float = 2.0
    step: float = 1.0
    reach: float = 2.0
    finish: str = "satin"
    volume_ml: float = 2.0
    premixes: bool = True
    few_drops: bool = False
    cache: bool = True
    cache_folder: Path | None = None

    def __post_init__(self) -> None:
        surface(self.finish, 0.0, 0.0)
        for name, low, high in (
            ("max_paints", 1, 6),
            ("max_parts", 1, 40),
            ("merge", 0, 20),
            ("step", 0, 10),
            ("reach", 0, 20),
            ("volume_ml", 0.05, 10_000),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(f"{name} is {value}", cure=f"give a number from {low} to {high}")
