"""How areas are named in reasons: by number and name, at most a few of them."""

from collections.abc import Iterable, Sequence

from finishplan.basics import words
from finishplan.order.model import PaintingOrder, PassWork
from finishplan.scheme.model import label

__all__ = ["LISTED", "label", "line_told", "listed", "whole_coats"]
LISTED = 4
"""More areas than this are counted, not listed."""


def listed(items: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b, c and d'; beyond LISTED 'a, b, c and 5 more'."""
    return words.listed(items, LISTED)


def whole_coats(order: PaintingOrder, work: Sequence[PassWork]) -> int:
    """Coats over the whole of the areas, the most that any of them gets."""
    return max(w.coats - order.line_coats(w) for w in work)


def line_told(order: PaintingOrder, work: Sequence[PassWork]) -> str:
    """', then 1 along the cut edge only (area 2)': the last coats that only edges need, '' where there are none."""
    some: dict[int, list[int]] = {}
    for w in work:
        some.setdefault(order.line_coats(w), []).append(w.area)
    told = []
    for count, areas in sorted(some.items()):
        ids = sorted(set(areas))
        which = f" (area{'s' * (len(ids) > 1)} {words.listed(ids)})" if len(some) > 1 else ""
        told += [f", then {count} along the cut edge only{which}"] if count else []
    return "".join(told)
