"""The same plain words wherever the plan speaks: durations, counts, lists."""

import math
from collections.abc import Iterable


def duration(minutes: float, days: bool = True, up: bool = False) -> str:
    """'18 min', '2 h 05 min', from a day on '3 d 4 h' (hours only, where `days` is false); never '0 min' for more than
    nothing. up: a wait, of which less would be too little, so it is rounded up."""

    def rounded(value: float) -> int:
        # A sum of fractions that should be whole is not a minute more.
        return math.ceil(value - 1e-6) if up else round(value)

    # Rounded before it is split, so that 59.6 is '1 h' and never '60 min'.
    whole = rounded(minutes)
    if whole < 1:
        return "under 1 min" if minutes > 0 else "0 min"
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    if hours < 24 or not days:
        return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
    # From a day on minutes tell nothing: rounded again, to hours, and split after that.
    whole_days, hours = divmod(rounded(minutes / 60), 24)
    return f"{whole_days} d {hours} h" if hours else f"{whole_days} d"


def counted(number: int, noun: str, nouns: str = "") -> str:
    """'1 coat', '2 coats', '3 passes'; nouns: a plural of its own."""
    return f"{number} {noun if number == 1 else nouns or noun + ('es' if noun.endswith('s') else 's')}"


def listed(items: Iterable[object], most: int | None = None) -> str:
    """'a', 'a and b', 'a, b and c'; of more than `most`: 'a, b and 5 more', `most` things said in all."""
    words = [str(i) for i in items]
    if most is not None and len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
