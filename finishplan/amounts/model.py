"""How much of a material is used."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """How much of one material. what: 'mix', 'premix', 'paint', 'primer', 'varnish', 'resin', 'pass' (id: its
    number, mix: one of the mixes it lays); short_ml: what the box lacks of a paint; cost: in the money of
    price_per_ml, None: not told; pot_drops, least_drops: of a mix, the largest and the
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
