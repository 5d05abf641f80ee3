"""A paint as a photograph of the maker's swatch card showed it: its K and S as the box file keeps them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.words import listed
from finishplan.colour.light import WAVELENGTHS_NM
from finishplan.paint.model import Paint
from finishplan.paint.table import LARGEST_PER_MM, number_at, text_at

Array = NDArray[np.float64]

_KEYS = ("date", "uncertainty", "begun", "K", "S")
_BANDS = len(WAVELENGTHS_NM)
SPREAD_LEFT = 0.45
"""Share of a tube's usual spread that a photograph leaves open: root mean square error of the strength and the
scattering learned, by the spread drawn (tests/benchmarks/bench_photo.py)."""


def with_swatch(paint: Paint, said: Any, where: str) -> Paint:
    """The paint with the constants of its [paint.swatch] table: `date`, `uncertainty` (CIEDE2000), `begun` (the
    paint of the table that an unknown tube was begun from), `K` and `S` (31 numbers each, per mm, 400-700 nm). Raises
    InputError."""
    if not isinstance(said, dict):
        raise InputError("'swatch' is not a table", where=where, cure="let finishplan swatches read write it")
    for key in said:
        if key not in _KEYS:
            raise InputError(f"unknown key '{key}'", where=f"{where}, swatch", cure=nearest(key, _KEYS))
    date, begun = (text_at(said, key, where=where, default="") for key in ("date", "begun"))
    return replace(
        paint,
        K=_constants(said, "K", where),
        S=_constants(said, "S", where),
        # Measured, if by photograph: how far it may be off is `swatch_off`.
        estimate=False,
        source=", ".join(filter(None, ("swatch card", date, f"begun from {begun}" if begun else ""))),
        swatch_off=number_at(said, "uncertainty", (0.0, 50.0), where=where),
    )


def _constants(said: dict[str, Any], key: str, where: str) -> Array:
    values = said.get(key)
    good = (
        isinstance(values, list)
        and len(values) == _BANDS
        and all(isinstance(v, int | float) and not isinstance(v, bool) and 0 <= v <= LARGEST_PER_MM for v in values)
    )
    if not good:
        raise InputError(
            f"'{key}' is not a list of {_BANDS} numbers from 0", where=f"{where}, swatch", cure="read the card again"
        )
    return np.array(values, np.float64)


def measured_notes(paints: Sequence[Paint]) -> tuple[str, ...]:
    """Which paints photographs of the maker's swatch card measured, if any."""
    names = [p.name for p in paints if p.swatch_off is not None]
    if not names:
        return ()
    which = "All paints" if len(names) == len(paints) else listed(names)
    return (f"{which}: measured from photographs of your swatch card, and predicted the closer for it.",)


def swatch_entry(paint: Paint, named: bool, date: str, begun: str = "") -> dict[str, Any]:
    """The [[paint]] table of a learned paint. named: it is a paint of the table; else its name stands for it
    and `begun` for the paint that it was begun from."""
    head: dict[str, Any] = {"of": paint.id} if named else {"name": paint.name} | ({"ci": paint.ci} if paint.ci else {})
    stock: dict[str, Any] = {"ml_left": paint.ml_left, "price_per_ml": paint.price_per_ml}
    # Of a paint of the table these stand in the table.
    if not named:
        stock |= {"density": paint.density, "hazards": list(paint.hazards) or None}
    # Five digits are more than a photograph tells.
    swatch = {
        "date": date,
        "uncertainty": round(paint.swatch_off or 0.0, 2),
        **({"begun": begun} if begun else {}),
        "K": [float(f"{v:.5g}") for v in paint.K],
        "S": [float(f"{v:.5g}") for v in paint.S],
    }
    return head | {k: v for k, v in stock.items() if v is not None} | {"swatch": swatch}
