"""Short plain words: times, ranges, amounts. No layout here."""

import re
from collections.abc import Iterable, Sequence
from math import ceil

from finishplan.basics.words import duration
from finishplan.plan.well import PotMade, Well
from finishplan.run.model import Session

PLAIN_UNITS = {"CIEDE2000": "of colour error (CIEDE2000)", "L*": "of lightness (0 black, 100 white)"}


def clock(value_min: float, session: Session | None = None) -> str:
    """A time of day where that of the session's start is known, else hours and minutes from its start; rounded up, as
    in the calendar: nothing begins before what it waits for, and a session ends with its last task."""
    start = session.start_min if session else 0.0
    named = session.at_min if session else None
    # 1e-6: a sum of minutes may lie a hair above the whole one.
    total = (named or 0) + ceil(value_min - start - 1e-6)
    hours = (total // 60) % 24 if named is not None else total // 60
    return f"{hours}:{total % 60:02d}"


def session_end(last_min: float, session: Session) -> str:
    """When the last task of a session ends, as its start is told: '22:00', 'day 3, 01:30' where that is another day
    than its start's; 'after 1 h 33 min' where no time of day is known."""
    if session.at_min is None:
        return f"after {duration(last_min - session.start_min, days=False, up=True)}"
    day = (session.at_min + ceil(last_min - session.start_min - 1e-6)) // 1440
    return (f"day {day + 1}, " if day > session.at_min // 1440 else "") + f"{clock(last_min, session):0>5}"


def ml(value: float) -> str:
    """'0.21 ml', '3.4 ml', '120 ml'; never rounded down to nothing."""
    if value <= 0:
        return "0 ml"
    if value < 0.01:
        return "under 0.01 ml"
    return f"{value:.2f} ml" if value < 1 else f"{value:.1f} ml" if value < 20 else f"{value:.0f} ml"


def weighed(well: Well, pot: PotMade) -> str:
    """'18 ml: 13.8 g of titanium white + 4.7 g of ochre', of a pot that is weighed."""
    paints = (f"{grams} of {name}" for grams, (name, _) in zip(pot.amounts, well.ingredients, strict=True))
    return f"{ml(pot.ml)}: {' + '.join(paints)}"


def number(value: float) -> str:
    """A number without idle zeros, one decimal at most."""
    return f"{value:.1f}".removesuffix(".0")


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) or not text else ".")


def amount(value: str, unit: str) -> str:
    """'12 castings', '1 casting', '0.1 m/s': a unit that is a word in the plural loses its s after 1, one of colour
    science has its plain word."""
    unit = PLAIN_UNITS.get(unit, unit)
    one = re.sub(r"^([a-z]{3,})s$", r"\1", unit) if value == "1" else unit
    return f"{value} {one}".strip()


def ranges(numbers: Iterable[int]) -> str:
    """'1–12, 15' or 'odd 1–11, 15': runs of numbers, which ascend."""
    left, said = list(numbers), []
    while left:
        ones, twos = (_run(left, step) for step in (1, 2))
        # 'odd 1–5' is no shorter than '1, 3, 5': only from four numbers on.
        by_two = twos > max(ones, 3)
        count = twos if by_two else ones
        kind = ("odd " if left[0] % 2 else "even ") if by_two else ""
        said.append(f"{kind}{left[0]}–{left[count - 1]}" if count > 1 else str(left[0]))
        left = left[count:]
    return ", ".join(said)


def _run(numbers: Sequence[int], step: int) -> int:
    """How many numbers from the first on go up by `step`."""
    count = 1
    while count < len(numbers) and numbers[count] == numbers[count - 1] + step:
        count += 1
    return count
