"""Which part an area belongs to: the drawn piece, unless the maker says otherwise."""

from collections.abc import Mapping

import numpy as np

from finishplan.drawing.model import Drawing
from finishplan.job.job import Job


def grouped(part_of: Mapping[int, str]) -> dict[str, tuple[int, ...]]:
    """Part -> ids of its areas, both in the order in which they come."""
    groups: dict[str, list[int]] = {}
    for id, part in part_of.items():
        groups.setdefault(part, []).append(id)
    return {name: tuple(ids) for name, ids in groups.items()}


def parts_of_areas(drawing: Drawing, job: Job) -> dict[int, str]:
    """Area id -> part: the drawn piece, unless the job's parts or areas say otherwise."""
    return {a.id: drawing.parts[a.part].name for a in drawing.areas} | parts_told(drawing, job)


def parts_told(drawing: Drawing, job: Job) -> dict[int, str]:
    """Area -> part, of the areas that the job puts on one by name, number, rectangle or outline."""
    told = {id: name for name, part in job.parts.items() for id in part.areas or ()}
    # What is said of an area by number or name outranks shapes, which take what is left.
    told |= {id: a.part for id, a in job.areas.items() if a.part}
    for name, part in job.parts.items():
        for shape in part.within:
            for area in drawing.areas:
                # By the place of its number, which is well inside it, and which the maker sees on the numbered drawing.
                at = (area.label_xy[0] / drawing.size[0], area.label_xy[1] / drawing.size[1])
                if area.id not in told and _lies_in(at, shape):
                    told[area.id] = name
    ids = {a.id for a in drawing.areas}
    return {id: name for id, name in told.items() if id in ids}


def _lies_in(at: tuple[float, float], shape: tuple[tuple[float, float], ...]) -> bool:
    """Whether a place lies in a rectangle, told by two opposite corners, or in an outline (even-odd rule)."""
    (x, y), corners = at, np.array(shape)
    if len(corners) == 2:
        low, high = corners.min(0), corners.max(0)
        return bool((low <= at).all() and (at <= high).all())
    one, two = corners, np.roll(corners, -1, axis=0)
    crosses = (one[:, 1] > y) != (two[:, 1] > y)
    # A level side divides by nothing; it crosses no level line, so what comes of it is not looked at.
    with np.errstate(divide="ignore", invalid="ignore"):
        where = one[:, 0] + (y - one[:, 1]) * (two[:, 0] - one[:, 0]) / (two[:, 1] - one[:, 1])
    return bool((crosses & (x < where)).sum() % 2)
