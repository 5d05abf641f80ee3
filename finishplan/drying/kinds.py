"""Kinds of paint, primer and varnish: the rows of data/kinds.toml."""

from dataclasses import dataclass
from functools import cache
from typing import Literal

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.text_files import shipped_toml


@dataclass(frozen=True)
class PaintKind:
    """One kind. can: a spray can. dry_um: one thin coat; volume_solids, flight_loss: 0-1; density: g/ml as poured;
    overspray: times a brush's loss. Solvent kinds dry in touch_min and recoat_min at 20 C; for waterborne ones recoat
    and handling are multiples of the touch-dry time. over_min: at 20 C until another paint is brushed over it; label:
    what the labels of such products say."""

    key: str
    name: str
    use: Literal["paint", "primer", "varnish"]
    medium: Literal["water", "solvent"]
    dry_um: float
    volume_solids: float
    density: float
    cured_h: float
    handling: float
    source: str
    touch_min: float = 0.0
    recoat_min: float = 0.0
    recoat: float = 0.0
    flight_loss: float = 0.0
    overspray: float = 1.0
    measure_ml: float = 0.05
    over_min: float = 0.0
    label: str = ""
    can: bool = False

    @property
    def sprayed(self) -> bool:
        """Whether it reaches the piece as a spray."""
        # Only a mist goes past the piece, so nothing that is brushed loses more than a brush does.
        return self.overspray > 1.0

    def wet_um(self, dry_um: float) -> float:
        """Film as poured, um, for `dry_um` of dry film: theoretical spreading of ISO 23811, dry / volume solids."""
        return dry_um / self.volume_solids


@cache
def paint_kinds() -> dict[str, PaintKind]:
    """Every kind by its key, in the file's order."""
    return {key: PaintKind(key=key, **row) for key, row in shipped_toml("drying/data/kinds.toml").items()}


def paint_kind(key: str) -> PaintKind:
    """The kind of that key. Raises InputError naming the nearest one."""
    kinds = paint_kinds()
    if key not in kinds:
        raise InputError(
            f"no kind of paint is called '{key}'",
            where="kind, primer_kind or varnish_kind",
            cure=nearest(key, tuple(kinds)),
        )
    return kinds[key]
