"""A mix as it lies on the palette."""

from dataclasses import dataclass

from finishplan.paint.measuring import MOST_DROPS
from finishplan.paint.settings import DROP_ML


@dataclass(frozen=True)
class PotMade:
    """One making of a mix. session: the evening, from 1; drops, grams: of each ingredient, in the recipe's order."""

    session: int
    start_min: float
    drops: tuple[int, ...]
    grams: tuple[float, ...]
    drop_ml: float = DROP_ML
    unit: str = "drops"
    """What is counted: drops, or of next to nothing toothpick tips or brush loads."""

    @property
    def ml(self) -> float:
        """Volume of the pot."""
        return sum(self.drops) * self.drop_ml

    @property
    def weighed(self) -> bool:
        """Too many drops to count."""
        return sum(self.drops) > MOST_DROPS

    @property
    def amounts(self) -> tuple[str, ...]:
        """What to print for each ingredient: drops, or grams where the pot is weighed."""
        return tuple(f"{g:.1f} g" for g in self.grams) if self.weighed else tuple(map(str, self.drops))


@dataclass(frozen=True)
class Well:
    """A mix on the palette. no: its place, in the order of use; areas, undercoats: that take it as their colour, as an
    undercoat; ingredients: (name as printed, '#rrggbb' alone); over_white, over_black: '#rrggbb' of one and of two thin
    coats over a drawdown card; one: the pot of one casting; pots: of the run; premixes, cautions: sentences;
    holds: the metals, and the unknown pigments, for which it is neither sprayed nor sanded; last_pot: what was
    in the pot made before and the colour of its dab, '' where none was photographed."""

    no: int
    mix: str
    passes: tuple[int, ...]
    areas: tuple[int, ...]
    undercoats: tuple[int, ...]
    ingredients: tuple[tuple[str, str], ...]
    over_white: tuple[str, str]
    over_black: tuple[str, str]
    one: PotMade
    pots: tuple[PotMade, ...]
    premixes: tuple[str, ...]
    cautions: tuple[str, ...]
    holds: tuple[str, ...] = ()
    last_pot: str = ""

    @property
    def largest(self) -> PotMade:
        """The largest pot of the run."""
        # Of pots alike the first that is made.
        return max((*self.pots, self.one), key=lambda p: (sum(p.drops), -p.start_min)) if self.pots else self.one
