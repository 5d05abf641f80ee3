"""How areas and counts are named in reasons: by number and name, at most a few of them."""

from collections.abc import Iterable

from finishplan.scheme import SchemeArea

LISTED = 4
"""More areas than this are counted, not listed."""


def label(area: SchemeArea) -> str:
    """'4 hood', or '4' where the area has no name."""
    return f"{area.id} {area.name}".strip()


def listed(words: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b, c and d'; beyond LISTED 'a, b, c and 5 more'."""
    names = list(words)
    if len(names) > LISTED:
        names = [*names[: LISTED - 1], f"{len(names) - LISTED + 1} more"]
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)


def counted(number: int, noun: str) -> str:
    """'1 coat', '2 coats', '3 passes'."""
    plural = noun + ("es" if noun.endswith("s") else "s")
    return f"{number} {noun if number == 1 else plural}"
