"""Resin for the run and silicone for its moulds: by mass, shot by shot."""

import math

from finishplan.amounts.model import Quantity
from finishplan.job.settings import RESIN_G_PER_CM3, Resin, RunSettings


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
    # Nobody has weighed a casting before the first shot, so that has the wide margin; later ones go by its weight.
    first, later = (shot_g(resin, settings.per_shot, first=f) for f in (True, False))
    total, one = first + (count - 1) * later, later / settings.per_shot
    a, b = resin.ratio
    then = f" for the first, weigh it, then about {math.ceil(later)} g each" if count > 1 else ""
    note = f"{_shots(count)}, A and B together: {math.ceil(first)} g{then}"
    moulds = math.ceil(count / resin.mould_life)
    life = f"{_shots(count)}, {resin.mould_life} to a mould"
    out = [
        _grams("resin-a", "resin part A", (one * a / (a + b), total * a / (a + b)), density, note),
        _grams("resin-b", "resin part B", (one * b / (a + b), total * b / (a + b)), density, note),
    ]
    if resin.pigment_pct:
        share = resin.pigment_pct / 100
        # Some to spare, since a second batch would not have the colour of the first.
        made = total * share * (1 + resin.pigment_excess)
        why = "stir the whole amount into the resin of all shots at once"
        out.append(_grams("pigment", "resin pigment", (one * share, made), 1.0, why))
    if resin.silicone_g is not None:
        whole = moulds * resin.silicone_g
        # Hardener is told in percent of the silicone, not of both together.
        base = whole / (1 + resin.hardener_pct / 100)
        text = f"{moulds} mould{'s' if moulds > 1 else ''} ({life})"
        for id, grams in (("silicone", base), ("silicone hardener", whole - base)):
            each = (grams / settings.castings, grams)
            out.append(_grams(id.replace(" ", "-"), id, each, resin.silicone_density, text))
    return tuple(out)


def _shots(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"


def _grams(id: str, name: str, each_g: tuple[float, float], density: float, note: str) -> Quantity:
    """By mass, rounded up to the gram; ml by density. each_g: of one casting, of the run."""
    # Rounded up: a shot that is short does not fill its mould.
    one_g, grams = each_g[0], math.ceil(each_g[1] - 1e-9)
    return Quantity("resin", id, name, one_g / density, grams / density, grams=float(grams), note=note)
