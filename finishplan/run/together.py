"""Tasks on several parts told together."""

from collections.abc import Iterable

from finishplan.run.model import Task


def parts_together(tasks: Iterable[Task]) -> tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]:
    """(parts, castings) of tasks on one coat, castings in the order given; parts are together where theirs are the
    same."""
    castings: dict[str, dict[int, None]] = {}
    for t in tasks:
        castings.setdefault(t.part, {})[t.casting] = None
    parts: dict[tuple[int, ...], list[str]] = {}
    for part, done in castings.items():
        parts.setdefault(tuple(done), []).append(part)
    return tuple((tuple(names), done) for done, names in parts.items())
