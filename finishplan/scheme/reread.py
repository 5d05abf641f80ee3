"""The job's areas found again in a reading: numbers kept, corrections made, what changed told."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.drawing.corrections import Corrections, corrected
from finishplan.drawing.matching import Matching, match
from finishplan.drawing.model import Area, Drawing, Mark, marks_of
from finishplan.drawing.parts import letter_name
from finishplan.drawing.registration import SmallMap, carried, complex_of, looked_up_at, small_map
from finishplan.drawing.remeasure import renumbered
from finishplan.drawing.strokes import Stroke, parted
from finishplan.job.job import AreaJob, Cut, Job, area_name
from finishplan.job.parts import parts_told

OTHER_DRAWING = 0.34
"""A drawing that shows fewer of the areas of a job, and has that few of its own among them, is of something else."""


@dataclass(frozen=True)
class Changes:
    """What a changed drawing did to the areas of a job, by number. doubtful: found, but not surely."""

    kept: tuple[int, ...]
    new: tuple[int, ...] = ()
    gone: tuple[int, ...] = ()
    doubtful: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Reread:
    """drawing: numbered as the job has it, and corrected. small: the map of all its areas. changes: None where nothing
    was to be found again, or all is as it was. cuts: the job's strokes, carried to where they now lie."""

    drawing: Drawing
    small: SmallMap
    changes: Changes | None
    cuts: tuple[Cut, ...]


def reread(read: Drawing, job: Job, small: SmallMap | None = None) -> Reread:
    """A reading as the job sees it. small: the map of the reading before, for surer finding.

    Raises InputError for corrections that cannot be made, and for the drawing of another figure.
    """
    marks = _marks(job, read)
    cuts, moved = job.cuts, False
    if job.cuts and marks and not _same(marks, read, _cut(read, job.cuts, job.file, strict=False)):
        cuts, moved = _carried(job.cuts, marks, small, read), True
    cut = _cut(read, cuts, job.file, strict=not moved)
    changes, number = _numbers(marks, cut, job, small)
    whole = renumbered(cut, number)
    drawing = replace(corrected(whole, corrections_of(job)), marks=marks_of(whole))
    return Reread(_with_part_names(drawing, job), small_map(whole), changes, cuts)


def corrections_of(job: Job) -> Corrections:
    """What the job says of the reading."""
    areas = job.areas.items()
    return Corrections(
        into=tuple((id, a.swallow) for id, a in areas if a.swallow is not None),
        joined=tuple((id, a.join) for id, a in areas if a.join is not None),
        paper=tuple(id for id, a in areas if a.paper),
        lines=tuple(id for id, a in areas if a.line),
        bare=tuple(id for id, a in areas if "bare" in a.flags),
        file=job.file,
    )


def _marks(job: Job, read: Drawing) -> tuple[Mark, ...]:
    """The areas that the job tells the place of; colour and size, where it does not, are those read there."""
    by_id = {a.id: a for a in read.areas}
    marks = []
    for id, said in job.areas.items():
        if said.at is None:
            continue
        there = by_id.get(looked_up_at(read, said.at)) or _nearest(said.at, read)
        marks.append(Mark(id, said.at, said.colour or there.hex, said.size or there.share))
    return tuple(marks)


def _nearest(at: tuple[float, float], read: Drawing) -> Area:
    x, y = at[0] * read.size[0], at[1] * read.size[1]
    return min(read.areas, key=lambda a: (a.label_xy[0] - x) ** 2 + (a.label_xy[1] - y) ** 2)


def _same(marks: Iterable[Mark], *readings: Drawing) -> bool:
    """Whether every mark is that of an area of one of the readings."""
    known = {(m.at, m.hex, m.size) for read in readings for m in marks_of(read)}
    return {(m.at, m.hex, m.size) for m in marks} <= known


def _cut(read: Drawing, cuts: Iterable[Cut], file: str, *, strict: bool = True) -> Drawing:
    """The reading with its strokes; one that parts nothing is an error, or, not strict, nothing."""
    for no, cut in enumerate(cuts, 1):
        try:
            read = parted(read, [Stroke(cut.points, cut.area is not None, f"{file}: cuts[{no}]")])
        except InputError:
            if strict:
                raise
    return read


def _carried(cuts: Iterable[Cut], marks: tuple[Mark, ...], small: SmallMap | None, read: Drawing) -> tuple[Cut, ...]:
    """The strokes where the areas around them now lie."""
    before = small.size if small is not None else read.size
    at = {m.id: complex_of(m.at, before) for m in marks}
    (width, height), longer = read.size, max(read.size)
    now = {a.id: complex(*a.label_xy) / longer for a in read.areas}
    found = match(marks, small, read).found
    if not found:
        return tuple(cuts)
    pairs = np.array([at[old] for old, _ in found]), np.array([now[new] for _, new in found])

    def moved(cut: Cut) -> Cut:
        places = carried(np.array([complex_of(p, before) for p in cut.points]), *pairs) * longer
        x, y = np.clip(places.real / width, 0, 1), np.clip(places.imag / height, 0, 1)
        return replace(cut, points=tuple(zip(np.round(x, 4).tolist(), np.round(y, 4).tolist(), strict=True)))

    return tuple(moved(cut) for cut in cuts)


def _numbers(
    marks: tuple[Mark, ...], read: Drawing, job: Job, small: SmallMap | None
) -> tuple[Changes | None, dict[int, int]]:
    """What changed, and the number of each area read. Raises InputError for another figure's drawing."""
    if not marks:
        return None, {a.id: a.id for a in read.areas}
    exact = {(m.at, m.hex, m.size): m.id for m in marks}
    there = {(m.at, m.hex, m.size): m.id for m in marks_of(read)}
    if len(exact) == len(marks) and exact.keys() <= there.keys():
        found = Matching(tuple((id, there[key]) for key, id in exact.items()))
    else:
        found = match(marks, small, read)
    if len(found.found) < OTHER_DRAWING * min(len(marks), len(read.areas)):
        seen = f"hardly any of the areas of {job.file} is in it ({len(found.found)} of {len(marks)})"
        cure = "give another folder with --out, or start over with --fresh"
        raise InputError(seen, where=read.source, cure=cure)
    number = {new: old for old, new in found.found}
    free = max((*job.areas, *number.values())) + 1
    new = [a.id for a in read.areas if a.id not in number]
    number |= {id: free + k for k, id in enumerate(new)}
    kept = tuple(sorted(old for old, _ in found.found))
    gone = tuple(sorted({m.id for m in marks} - set(kept)))
    same = len(exact) == len(marks) and exact.keys() == there.keys()
    return None if same else Changes(kept, tuple(number[i] for i in new), gone, found.doubtful), number


def _with_part_names(drawing: Drawing, job: Job) -> Drawing:
    """The pieces by the names of the parts whose areas they hold; others by letters that are free."""
    claims: dict[int, dict[str, float]] = {}
    part_of = parts_told(drawing, job)
    for area in drawing.areas:
        if part_of.get(area.id) in job.parts:
            of_piece = claims.setdefault(area.part, {})
            of_piece[part_of[area.id]] = of_piece.get(part_of[area.id], 0.0) + area.pixels
    names: dict[int, str] = {}
    for piece, told in claims.items():
        names[piece] = max(told, key=lambda name: told[name])
    twice = {name for name in names.values() if list(names.values()).count(name) > 1}
    names = {piece: name for piece, name in names.items() if name not in twice}
    taken = {*names.values(), *job.parts}
    free = (name for k in range(10_000) if (name := letter_name(k)) not in taken)
    parts = []
    for k, part in enumerate(drawing.parts):
        own = part.name if part.name not in taken or not job.areas else next(free)
        parts.append(replace(part, name=names.get(k, own)))
    return replace(drawing, parts=tuple(parts))


def present(job: Job, drawing: Drawing) -> tuple[Job, tuple[str, ...]]:
    """The job without the areas that it knows the place of and that are not in the drawing now, gone or made part of
    another; and what is to be said of edges and shades that such a drawing has no longer."""
    ids = {a.id for a in drawing.areas}
    out = {id for id, a in job.areas.items() if id not in ids and _is_known(id, a, drawing)}
    apart = _apart(job, drawing, out)
    if not out and not apart:
        return job, ()
    areas = {id: a for id, a in job.areas.items() if id not in out}
    for id, area in areas.items():
        if area.blend_into in out or (id, area.blend_into) in apart:
            area = areas[id] = replace(area, blend_into=None)
        if out & set(area.before):
            areas[id] = replace(area, before=tuple(i for i in area.before if i not in out))
    parts = {}
    for name, part in job.parts.items():
        left = None if part.areas is None else tuple(i for i in part.areas if i not in out)
        if left or part.within or not part.areas:
            parts[name] = replace(part, areas=left)
    lost = job.parts.keys() - parts.keys()
    parts = {name: replace(p, after=tuple(n for n in p.after if n not in lost)) for name, p in parts.items()}
    edges = {pair: edge for pair, edge in job.edges.items() if not out & set(pair) and pair not in apart}
    mixes = {
        name: replace(m, areas=tuple(i for i in m.areas if i not in out), leads=None if m.leads in out else m.leads)
        for name, m in job.mixes.items()
    }
    said = (f"{job.file}: {where}: they do not touch in this drawing: left out." for where in apart.values())
    return replace(job, areas=areas, parts=parts, edges=edges, mixes=mixes), tuple(said)


def _is_known(id: int, area: AreaJob, drawing: Drawing) -> bool:
    corrected_away = area.swallow is not None or area.join is not None or area.paper or area.line
    return area.at is not None or (corrected_away and any(m.id == id for m in drawing.marks))


def _apart(job: Job, drawing: Drawing, out: set[int]) -> dict[tuple[int, int], str]:
    """Pairs that the job wants treated at their edge and that have none now, where both are areas whose place it knows:
    a redraw parted them."""
    touching = {e.areas for e in drawing.edges}
    told = {(a, b): f"edges.{area_name(job, a)} - {area_name(job, b)}" for a, b in job.edges}
    told |= {
        (id, a.blend_into): f"areas.{area_name(job, id)}.blend_into"
        for id, a in job.areas.items()
        if a.blend_into is not None
    }
    known = {id for id, a in job.areas.items() if a.at is not None}
    return {
        pair: where
        for pair, where in told.items()
        if pair[0] != pair[1] and set(pair) <= known - out and (min(pair), max(pair)) not in touching
    }
