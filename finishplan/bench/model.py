"""One step of the finishing job."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Step:
    """One step of the finishing job. minutes: of the painter, for one casting; wait_min: before the next step;
    own_text: it is the maker's; name: in a word or two."""

    no: int
    key: str
    kind: Literal["casting", "preparing", "priming", "painting", "assembling", "finishing"]
    text: str
    minutes: float
    wait_min: float
    why: str = ""
    cautions: tuple[str, ...] = ()
    own_text: bool = False
    name: str = ""
