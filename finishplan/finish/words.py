"""How areas are named in reasons: by number and name, at most a few of them."""

from collections.abc import Iterable

from finishplan import words
from finishplan.scheme import SchemeArea

LISTED = 4
"""More areas than this are counted, not listed."""


def label(area: SchemeArea) -> str:
    """'4 hood', or '4' where the area has no name."""
    return f"{area.id} {area.name}".strip()


def listed(items: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b, c and d'; beyond LISTED 'a, b, c and 5 more'."""
    return words.listed(items, LISTED)
