"""What the reading offers to say of areas, until the maker has said something."""

from collections.abc import Iterable, Mapping

from finishplan.basics.errors import InputError, nearest
from finishplan.drawing.model import Drawing
from finishplan.job.job import AreaJob, Job

OFFERS = {"dots": "dot", "recesses": "recess", "shades": "blend", "gaps": "paper"}
"""What is offered, as a maker asks for it, and the flag that it is; gaps are told by a key of their own."""


def accepted(said: str) -> tuple[str, ...]:
    """The words of 'dots, recesses'. Raises InputError for what is never offered."""
    wanted = tuple(w.strip().lower() for w in said.split(",") if w.strip())
    for word in wanted:
        if word not in OFFERS:
            raise InputError(f"'{word[:40]}' is not offered", where="--accept", cure=nearest(word, list(OFFERS)))
    return wanted


def accepting(words: Iterable[str], offered: Mapping[str, Iterable[int]]) -> dict[str, object]:
    """The edits of the job by which what is offered is taken, word by word; an area takes the first that it is offered.
    offered: as `offers` gives it."""
    edits: dict[int, tuple[str, object]] = {}
    for word in words:
        for id in offered.get(word, ()):
            edits.setdefault(id, ("paper", True) if word == "gaps" else ("flags", (OFFERS[word],)))
    return {f"{id}.{key}": value for id, (key, value) in edits.items()}


def offers(drawing: Drawing, job: Job) -> dict[str, tuple[int, ...]]:
    """Word -> the areas for which the reading offers it and that have no flag yet."""
    said = {a.id: job.areas.get(a.id, AreaJob()) for a in drawing.areas}
    # What the maker said of an area is not talked over.
    free = [a for a in drawing.areas if not said[a.id].flags and not said[a.id].paper]
    found = {word: tuple(a.id for a in free if any(h.flag == flag for h in a.hints)) for word, flag in OFFERS.items()}
    return {word: ids for word, ids in found.items() if ids}
