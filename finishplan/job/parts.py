"""Which part an area belongs to: the drawn piece, unless the maker says otherwise."""

from collections.abc import Mapping

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
    part_of = {a.id: drawing.parts[a.part].name for a in drawing.areas}
    for name, part in job.parts.items():
        part_of |= dict.fromkeys(part.areas or (), name)
    return part_of | {id: a.part for id, a in job.areas.items() if a.part}
