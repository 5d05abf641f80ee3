"""How much of a material is used."""

import math
from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Quantity:
    """How much of one material. what: 'mix', 'premix', 'paint', 'primer', 'varnish', 'resin', 'pass' (id: its
    number, mix: one of the mixes it lays); short_ml: what the box lacks of a paint; cost: of what the run uses of it,
    in the money of price_per_ml, None: not told; pot_drops, least_drops: of a mix, the largest and the
    smallest pot; mixes: that a pre-mix is for; let_down: of a pre-mix, drops in and drops of what they go into, step by
    step."""

    what: str
    id: str
    name: str
    ml_per_casting: float
    ml_run: float
    drops: int = 0
    grams: float = 0.0
    times_mixed: int = 0
    ml_left: float | None = None
    short_ml: float = 0.0
    cost: float | None = None
    note: str = ""
    pot_drops: int = 0
    least_drops: int = 0
    mix: str = ""
    mixes: tuple[str, ...] = ()
    let_down: tuple[tuple[int, int], ...] = ()
    price_per_ml: float | None = None

    @property
    def buy_ml(self) -> float:
        """What to buy of a paint: what is short, rounded up to a tenth of a millilitre."""
        # 1e-6: 2.1 ml must not become 2.2 by the last digit of a sum.
        return math.ceil(self.short_ml * 10 - 1e-6) / 10

    @property
    def buy_cost(self) -> float:
        """What that costs, 0 where the price is not told."""
        return self.buy_ml * (self.price_per_ml or 0.0)

    def in_all(self, ml_run: float) -> "Quantity":
        """The paint where a run uses so much of it: what is short of it, what it costs, what to buy."""
        # Where nobody said what is left, nothing is called short.
        short = 0.0 if self.ml_left is None else max(0.0, ml_run - self.ml_left)
        cost = None if self.price_per_ml is None else ml_run * self.price_per_ml
        told = replace(self, ml_run=ml_run, short_ml=short, cost=cost)
        return replace(told, note=f"buy {told.buy_ml:g} ml" if short else "")
