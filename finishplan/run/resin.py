"""Resin for the run and silicone for its moulds: by mass, shot by shot."""

import math
from dataclasses import dataclass

from finishplan.errors import InputError
from finishplan.run.model import Quantity, RunSettings
from finishplan.run.surfaces import RESIN_G_PER_CM3


@dataclass(frozen=True)
class Resin:
    """What one casting weighs and how the maker pours. Every default is common practice.

    part_g: one cleaned casting, all its pieces; waste_g: its vents and sprues. ratio: A to B by mass. margin: excess of
    a shot left in the cup; the first shot gets first_margin, then the casting is weighed. pigment_pct of the resin's
    mass, made up at once with pigment_excess, so that the last casting has the colour of the first. mould_life: pulls
    before the mould tears or dulls. silicone_g: one mould, None: not asked for; hardener_pct of the silicone's mass;
    silicone_density: g/cm3. Margins and pigment_excess: shares, 0.05 is 5 %.
    """

    part_g: float
    waste_g: float = 0.0
    ratio: tuple[float, float] = (1.0, 1.0)
    margin: float = 0.05
    first_margin: float = 0.25
    pigment_pct: float = 0.0
    pigment_excess: float = 0.1
    mould_life: int = 40
    silicone_g: float | None = None
    hardener_pct: float = 10.0
    silicone_density: float = 1.1

    def __post_init__(self) -> None:
        """Raises InputError for a mass, ratio or percentage that cannot be poured."""
        positive = {"part_g": self.part_g, "silicone_density": self.silicone_density}
        shares = {
            "waste_g": self.waste_g,
            "margin": self.margin,
            "first_margin": self.first_margin,
            "pigment_pct": self.pigment_pct,
            "pigment_excess": self.pigment_excess,
            "hardener_pct": self.hardener_pct,
        }
        _refuse("[resin]", {k: v for k, v in positive.items() if not 0 < v < 1e6}, "give a number above 0")
        _refuse("[resin]", {k: v for k, v in shares.items() if not 0 <= v < 1e6}, "give 0 or more")
        if not all(0 < r < 1e3 for r in self.ratio):
            raise InputError(
                f"ratio = {self.ratio[0]:g} : {self.ratio[1]:g} cannot be weighed",
                where="[resin]",
                cure="give A and B by mass, as [100, 90]",
            )
        if self.mould_life < 1:
            raise InputError("mould_life is less than one pull", where="[resin]", cure="give the number of pulls")
        if self.silicone_g is not None and not 0 < self.silicone_g < 1e6:
            raise InputError("silicone_g is no mass", where="[resin]", cure="give the grams of one mould")


def _refuse(where: str, wrong: dict[str, float], cure: str) -> None:
    for key, value in wrong.items():
        raise InputError(f"{key} = {value:g} cannot be right", where=where, cure=cure)


def pulls(settings: RunSettings) -> int:
    """Shots that fill the run when one shot yields per_shot castings."""
    return math.ceil(settings.castings / settings.per_shot)


def shot_g(resin: Resin, per_shot: int, *, first: bool = False) -> float:
    """Grams of mixed resin in one shot: castings, vents and sprues, and what stays in the cup."""
    filled = per_shot * (resin.part_g + resin.waste_g)
    return filled * (1 + (resin.first_margin if first else resin.margin))


def resin_quantities(resin: Resin, settings: RunSettings, density: float = RESIN_G_PER_CM3) -> tuple[Quantity, ...]:
    """Parts A and B, pigment, and silicone with its hardener. Every shot fills the whole mould, the last one too.
    density: of the casting, g/cm3."""
    count = pulls(settings)
    first, later = (shot_g(resin, settings.per_shot, first=f) for f in (True, False))
    total, one = first + (count - 1) * later, later / settings.per_shot
    a, b = resin.ratio
    then = f" for the first, weigh it, then about {math.ceil(later)} g each" if count > 1 else ""
    note = f"{_shots(count)}, A and B together: {math.ceil(first)} g{then}"
    moulds = math.ceil(count / resin.mould_life)
    life = f"{_shots(count)}, {resin.mould_life} to a mould"
    out = [
        _grams("resin", "resin-a", "resin part A", one * a / (a + b), total * a / (a + b), density, note),
        _grams("resin", "resin-b", "resin part B", one * b / (a + b), total * b / (a + b), density, note),
    ]
    if resin.pigment_pct:
        share = resin.pigment_pct / 100
        made = total * share * (1 + resin.pigment_excess)
        why = "stir the whole amount into the resin of all shots at once"
        out.append(_grams("resin", "pigment", "resin pigment", one * share, made, 1.0, why))
    if resin.silicone_g is not None:
        whole = moulds * resin.silicone_g
        base = whole / (1 + resin.hardener_pct / 100)
        text = f"{moulds} mould{'s' if moulds > 1 else ''} ({life})"
        for id, grams in (("silicone", base), ("silicone hardener", whole - base)):
            one = grams / settings.castings
            out.append(_grams("resin", id.replace(" ", "-"), id, one, grams, resin.silicone_density, text))
    return tuple(out)


def _shots(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"


def _grams(what: str, id: str, name: str, one_g: float, run_g: float, density: float, note: str) -> Quantity:
    """By mass, rounded up to the gram; ml by density."""
    grams = math.ceil(run_g - 1e-9)
    return Quantity(what, id, name, one_g / density, grams / density, grams=float(grams), note=note)
