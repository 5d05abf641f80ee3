"""What the order of the passes hangs on, beside the scheme, its mixes and the box."""

from dataclasses import dataclass

from finishplan.job.settings import Gloss, Labour, Method


@dataclass(frozen=True)
class Weights:
    """By what primers and undercoats are weighed: the painter's minutes of the run. wait_min: how long a coat dries,
    times the painters, where another mix is taken up meanwhile; 0: it is waited for."""

    labour: Labour
    castings: int
    wait_min: float


@dataclass(frozen=True)
class OrderSettings:
    """What the order of the passes hangs on. primer_coats 0: on the bare casting. wait_min: see `Weights`. sticks: each
    piece has one."""

    method: Method
    labour: Labour
    castings: int = 1
    finish: Gloss = "satin"
    primer_coats: int = 1
    wait_min: float = 0.0
    sticks: bool = True

    @property
    def weights(self) -> Weights:
        """By what primers and undercoats are weighed; they change no order over one primer and its undercoats."""
        return Weights(self.labour, self.castings, self.wait_min)
