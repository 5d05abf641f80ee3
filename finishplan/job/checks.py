"""Checks of what only a job file holds: areas by name or number, places in the picture, recipes."""

import math
import re
from typing import Any

from finishplan.basics.checks import list_of, number, shown, whole
from finishplan.basics.errors import InputError

NUMBER = r"[1-9][0-9]{0,5}"
"""An area's number as text."""
_drops = whole(1, 1000)
_some = number(0.01, 10_000)


def area_ref(value: Any, where: str) -> int | str:
    """An area by its number or its name. Raises InputError for anything else."""
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 100_000:
        return value
    if isinstance(value, str) and value.strip() and len(value) <= 80 and value.isprintable():
        # The command line and the headers of edges have numbers as text.
        return int(value) if re.fullmatch(NUMBER, value.strip()) else value
    raise InputError(f"{shown(value)} is no area", where=where, cure="write its name in quotes, or its number")


def _ref_or_shape(value: Any, where: str) -> int | str | tuple[tuple[float, float], ...]:
    return places(value, where) if isinstance(value, list) else area_ref(value, where)


area_refs = list_of(_ref_or_shape)
"""Areas by number or name, rectangles and outlines."""


def place(value: Any, where: str) -> tuple[float, float]:
    """[x, y] as shares of the picture. Raises InputError for anything else."""
    fits = isinstance(value, list) and len(value) == 2 and all(_is_share(v) for v in value)
    if not fits:
        cure = "write [x, y], from [0, 0] at the top left to [1, 1] at the bottom right"
        raise InputError(f"{shown(value)} is no place in the picture", where=where, cure=cure)
    return float(value[0]), float(value[1])


def places(value: Any, where: str) -> tuple[tuple[float, float], ...]:
    """Two places or more. Raises InputError for anything else."""
    if not isinstance(value, list) or not 2 <= len(value) <= 1000:
        cure = "write [[0.1, 0.2], [0.3, 0.4]]: two places or more"
        raise InputError(f"{shown(value)} is no list of places", where=where, cure=cure)
    return tuple(place(v, f"{where}[{i}]") for i, v in enumerate(value, 1))


def some_places(value: Any, where: str) -> tuple[tuple[float, float], ...]:
    """Any number of places. Raises InputError for anything else."""
    if not isinstance(value, list) or len(value) > 1000:
        raise InputError(f"{shown(value)} is no list of places", where=where, cure="write [[0.1, 0.2], [0.3, 0.4]]")
    return tuple(place(v, f"{where}[{i}]") for i, v in enumerate(value, 1))


def line_width(value: Any, where: str) -> str | float:
    """'auto', 'none', or pixels. Raises InputError for anything else."""
    if value in ("auto", "none"):
        return str(value)
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 1e4:
        return float(value)
    cure = 'write "auto", "none", or the usual width of the outlines in pixels, as 4'
    raise InputError(f"{shown(value)} is no width of lines", where=where, cure=cure)


def recipe(value: Any, where: str) -> tuple[tuple[str, int], ...]:
    """Paints and their drops. Raises InputError for anything else."""
    if not isinstance(value, dict) or not 1 <= len(value) <= 8:
        cure = 'write the drops of each paint, as { "PW6" = 6, "PY43" = 1 }'
        raise InputError(f"{shown(value)} is no recipe", where=where, cure=cure)
    return tuple((paint, _drops(drops, f"{where}.{paint[:40]}")) for paint, drops in value.items())


def poured(value: Any, where: str) -> tuple[tuple[str, float], ...]:
    """Paints and their drops, parts of drops too. Raises InputError for anything else."""
    if not isinstance(value, dict) or not 1 <= len(value) <= 12:
        cure = 'write the drops of each paint, as { "PW6" = 6, "PY43" = 0.5 }'
        raise InputError(f"{shown(value)} are no drops", where=where, cure=cure)
    return tuple((paint, _some(drops, f"{where}.{paint[:40]}")) for paint, drops in value.items())


def lab_text(value: Any, where: str) -> str:
    """'lab(61.2 14.0 20.1)'. Raises InputError for anything else."""
    found = re.fullmatch(r"lab\(\s*" + r"\s+".join([r"(-?\d{1,3}(?:\.\d{1,6})?)"] * 3) + r"\s*\)", str(value).strip())
    if not isinstance(value, str) or not found:
        raise InputError(f"{shown(value)} is no colour here", where=where, cure="write it as lab(61.2 14.0 20.1)")
    return value.strip()


def _is_share(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and 0 <= value <= 1
