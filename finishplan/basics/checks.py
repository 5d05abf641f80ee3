"""Checkers for values of a TOML file: each takes (value, where) and returns the value to keep, or raises InputError."""

import datetime
import math
import re
from collections.abc import Callable, Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import Any

from finishplan.basics.errors import InputError, nearest

Check = Callable[[Any, str], Any]
HEX = r"#?[0-9a-fA-F]{6}"
"""A colour as users write it, the hash sign or not."""
_MOMENTS = (datetime.date, datetime.time)


def number(low: float, high: float, unit: str = "") -> Check:
    """A finite number from low to high; unit: of both, as the message names it."""

    def check(value: Any, where: str) -> float:
        # To Python true is a number, 1; to a maker it is not.
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{shown(value)} is not a number", where=where, cure=f"write {span}")
        if not math.isfinite(value) or not low <= value <= high:
            raise InputError(f"{shown(value)} is out of range", where=where, cure=f"write {span}")
        return float(value)

    span = f"a number from {low:g} to {high:g}" + (f" ({unit})" if unit else "")
    return check


def whole(low: int, high: int) -> Check:
    """A whole number from low to high."""

    def check(value: Any, where: str) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise InputError(
                f"{shown(value)} will not do", where=where, cure=f"write a whole number from {low} to {high}"
            )
        return value

    return check


def text(longest: int = 200, *, empty: bool = True) -> Check:
    """One line of text without control characters."""

    def check(value: Any, where: str) -> str:
        if not isinstance(value, str):
            raise InputError(f"{shown(value)} is not text", where=where, cure='write it in quotes: "..."')
        # Control characters would reach terminal and sheets; plan/area_marks.py takes its marks from what is refused
        # here.
        if len(value) > longest or any(not c.isprintable() for c in value) or not (empty or value.strip()):
            raise InputError(
                f"{shown(value)} will not do",
                where=where,
                cure=f"write one line of {'1' if not empty else '0'} to {longest} printable characters",
            )
        return value

    return check


def dated(check: Check) -> Check:
    """`check`, to which a date or a time of TOML's own is given as text: 2026-03-14, 09:00."""

    def as_text(value: Any, where: str) -> Any:
        # As it is written on a clock, and as `start_at` takes it: 09:00, not 09:00:00.
        if isinstance(value, datetime.time) and not value.second:
            value = f"{value:%H:%M}"
        return check(str(value) if isinstance(value, _MOMENTS) else value, where)

    return as_text


def choice(*options: str) -> Check:
    """One of the given words."""

    def check(value: Any, where: str) -> str:
        if not isinstance(value, str) or value not in options:
            raise InputError(f"{shown(value)} is not known", where=where, cure=nearest(str(value), list(options)))
        return value

    return check


def yes_no(value: Any, where: str) -> bool:
    """true or false; raises InputError for anything else."""
    if not isinstance(value, bool):
        raise InputError(f"{shown(value)} is neither true nor false", where=where, cure="write true or false")
    return value


def colour(value: Any, where: str) -> str:
    """'#rrggbb' in lower case, of 'rrggbb' too; raises InputError for anything else."""
    if not isinstance(value, str) or not re.fullmatch(HEX, value.strip()):
        raise InputError(f"{shown(value)} is not a colour", where=where, cure='write it as "#rrggbb"')
    return "#" + value.strip().lower().removeprefix("#")


def list_of(item: Check, *, longest: int = 1000) -> Check:
    """A list whose every item passes `item`; no item twice."""

    def check(value: Any, where: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise InputError(
                f"{shown(value)} is not a list", where=where, cure=f"write {as_list(where.rpartition('.')[2], value)}"
            )
        if len(value) > longest:
            raise InputError(f"{len(value)} are too many", where=where, cure=f"name at most {longest}")
        # Counted from 1, as a maker counts; so in every message.
        items = tuple(item(v, f"{where}[{i}]") for i, v in enumerate(value, 1))
        if len(set(items)) < len(items):
            raise InputError(f"{shown(value)} names something twice", where=where, cure="name each once")
        return items

    return check


def as_list(key: str, value: Any) -> str:
    """'own = ["PW6", "PY43"]' for the value "PW6, PY43" of own; dots where it is not one of words or numbers."""
    # The cure repeats what was written, as it should be written: to be copied.
    short = isinstance(value, str | int | float) and not isinstance(value, bool) and len(str(value)) <= 60
    items = [v.strip() for v in str(value).split(",") if v.strip()] if short else []
    written = [v if re.fullmatch(r"[0-9.]+", v) else f'"{v}"' for v in items]
    return f"{key} = [{', '.join(written or ['...', '...'])}]"


def pair(item: Check) -> Check:
    """Two values, as [a, b]."""

    def check(value: Any, where: str) -> tuple[Any, Any]:
        if not isinstance(value, list) or len(value) != 2:
            raise InputError(f"{shown(value)} is not a pair", where=where, cure="write it as [1, 1]")
        return item(value[0], f"{where}[1]"), item(value[1], f"{where}[2]")

    return check


def section(data: Any, spec: Mapping[str, Check], where: str) -> dict[str, Any]:
    """Check every key of one table against `spec`. Raises InputError; an unknown key is told with the nearest known."""
    if not isinstance(data, dict):
        raise InputError(f"{shown(data)} is not a table", where=where, cure=f"write it as [{where.split(': ')[-1]}]")
    for key in data:
        if key not in spec:
            raise InputError(
                f"unknown key '{key}'" if len(key) < 60 else "unknown key",
                where=where,
                cure=nearest(key, list(spec)),
            )
    return {key: spec[key](value, f"{where}.{key}") for key, value in data.items()}


def shown(value: Any) -> str:
    """A value as an error message shows it: short, on one line, as TOML writes it."""
    words = (
        str(value).lower() if isinstance(value, bool) else str(value) if isinstance(value, _MOMENTS) else repr(value)
    )
    return words if len(words) <= 60 else words[:57] + "..."


def check_no_circle(section: str, key: str, after: Mapping[str, Iterable[str]], file: str = "") -> None:
    """Raises InputError where things of a section, each told after which others it comes, wait for each other in a
    circle."""
    try:
        TopologicalSorter(after).prepare()
    except CycleError as error:
        circle = error.args[1]
        what = f"{section} wait for each other in a circle: {', '.join(circle)}"
        at = f"{section}.{circle[0]}.{key}"
        raise InputError(what, where=f"{file}: {at}" if file else "", key=at, cure="take one of them out") from error
