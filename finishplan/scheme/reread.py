"""The job's areas found again in a reading: numbers kept, corrections made, what changed told."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.basics.words import listed
from finishplan.drawing.corrections import Corrections, corrected
from finishplan.drawing.matching import Matching, match
from finishplan.drawing.model import Area, Drawing, Mark, marks_of
from finishplan.drawing.parts import letter_name
from finishplan.drawing.registration import SmallMap, carried, complex_of, looked_up_at, small_map
from finishplan.drawing.remeasure import renumbered
from finishplan.drawing.strokes import BORDER_TO_BORDER, Point, Stroke, crossed, parted
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
    lost: tuple[str, ...] = ()
    """Strokes that part nothing in the changed drawing, and why."""


@dataclass(frozen=True, eq=False)
class Reread:
    """drawing: numbered as the job has it, and corrected. small: the map of all its areas. changes: None where nothing
    was to be found again, or all is as it was. cuts: the job's strokes, carried to where they now lie."""

    drawing: Drawing
    small: SmallMap
    changes: Changes | None
    cuts: tuple[Cut, ...]


def reread(read: Drawing, job: Job, small: SmallMap | None = None, *, same_picture: bool = False) -> Reread:
    """A reading as the job sees it. small: the map of the reading before, for surer finding. same_picture: the job's
    places are those of this very picture, however its strokes were changed since.

    Raises InputError for corrections that cannot be made, and for the drawing of another figure.
    """
    marks = _marks(job, read)
    cuts, at = job.cuts, {m.id: m.at for m in marks}
    steps, wrong = _cut(read, cuts, at, job)
    # Marks were kept before or after some of the strokes: if they are all there, strokes lie where they were drawn.
    moved = bool(cuts and marks) and not same_picture and not _same(marks, *steps)
    if moved:
        cuts, at = _carried(cuts, marks, small, read)
        steps, wrong = _cut(read, cuts, at, job)
    # In the picture it was drawn on, a stroke that parts nothing is a slip; in another, the redraw's doing, and told.
    elif wrong:
        raise wrong[0]
    changes, number = _numbers(marks, steps[-1], job, small)
    if changes is not None and wrong:
        changes = replace(changes, lost=tuple(f"{error.where}: {error.what}: left out." for error in wrong))
    whole = renumbered(steps[-1], number)
    # Marks of all areas, those corrected away too: by them the corrections find their areas in the next drawing.
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


def _cut(
    read: Drawing, cuts: Iterable[Cut], at: Mapping[int, Point], job: Job
) -> tuple[list[Drawing], list[InputError]]:
    """The reading after none of its strokes, after the first and so on, and what is wrong with those that part nothing.
    at: a place in each area of the job."""
    steps, wrong = [read], list[InputError]()
    for no, cut in enumerate(cuts, 1):
        try:
            area = None if cut.area is None else _area_there(steps[-1], cut.area, at, job)
            if area is not None and area not in crossed(steps[-1], cut.points):
                raise _beside(steps[-1], cut, at, job)
            steps.append(parted(steps[-1], [Stroke(cut.points, area)]))
        except InputError as error:
            wrong.append(InputError(error.what, where=f"{job.file}: cuts[{no}]", cure=error.cure))
    return steps, wrong


def _area_there(read: Drawing, area: int, at: Mapping[int, Point], job: Job) -> int:
    """The number in the reading of an area of the job. Raises InputError where there is none."""
    # A job without any place is of this very reading and has its numbers; with places, a number without one is gone.
    found = 0 if at else area
    if area in at:
        found = looked_up_at(read, at[area]) or _nearest(at[area], read).id
    if found not in {a.id for a in read.areas}:
        cure = "write its name, or its number on the numbered drawing"
        raise InputError(f"area {area_name(job, area)} is not in this drawing", cure=cure)
    return found


def _beside(read: Drawing, cut: Cut, at: Mapping[int, Point], job: Job) -> InputError:
    """The error of a stroke that does not cross its area, with the areas that it lies over instead."""
    own = {looked_up_at(read, place): id for id, place in at.items()}
    over = [_named(job, own.get(id, id)) for id in crossed(read, cut.points)]
    what = f"the stroke does not cross area {_named(job, cut.area or 0)}"
    what += f"; it lies over {listed(over, most=4)}" if over else ""
    return InputError(what, cure=BORDER_TO_BORDER.replace("one area", "that area"))


def _named(job: Job, id: int) -> str:
    name = area_name(job, id)
    return name if name == str(id) else f"{id} {name}"


def _carried(
    cuts: Iterable[Cut], marks: tuple[Mark, ...], small: SmallMap | None, read: Drawing
) -> tuple[tuple[Cut, ...], dict[int, Point]]:
    """The strokes where the areas around them now lie, and a place in each area now."""
    before = small.size if small is not None else read.size
    at = {m.id: complex_of(m.at, before) for m in marks}
    # Places as complex numbers in units of the longer side: to move, turn and scale is one product and one sum.
    (width, height), longer = read.size, max(read.size)
    now = {a.id: complex(*a.label_xy) / longer for a in read.areas}
    found = match(marks, small, read).found
    # Nothing to go by: the strokes stay where they are, and those that part nothing are told.
    if not found:
        return tuple(cuts), {m.id: m.at for m in marks}
    pairs = np.array([at[old] for old, _ in found]), np.array([now[new] for _, new in found])

    def moved(points: Iterable[Point]) -> tuple[Point, ...]:
        places = carried(np.array([complex_of(p, before) for p in points]), *pairs) * longer
        x, y = np.clip(places.real / width, 0, 1), np.clip(places.imag / height, 0, 1)
        return tuple(zip(np.round(x, 4).tolist(), np.round(y, 4).tolist(), strict=True))

    named = {cut.area for cut in cuts}
    there = {m.id: moved([m.at])[0] for m in marks if m.id in named}
    return tuple(replace(cut, points=moved(cut.points)) for cut in cuts), there


def _numbers(
    marks: tuple[Mark, ...], read: Drawing, job: Job, small: SmallMap | None
) -> tuple[Changes | None, dict[int, int]]:
    """What changed, and the number of each area read. Raises InputError for another figure's drawing."""
    if not marks:
        return None, {a.id: a.id for a in read.areas}
    exact = {(m.at, m.hex, m.size): m.id for m in marks}
    there = {(m.at, m.hex, m.size): m.id for m in marks_of(read)}
    # The drawing as it was, but for what strokes parted: nothing has to be searched, and nothing can be mistaken.
    if len(exact) == len(marks) and exact.keys() <= there.keys():
        found = Matching(tuple((id, there[key]) for key, id in exact.items()))
    else:
        found = match(marks, small, read)
    if len(found.found) < OTHER_DRAWING * min(len(marks), len(read.areas)):
        seen = f"hardly any of the areas of {job.file} is in it ({len(found.found)} of {len(marks)})"
        cure = "give another folder with --out, or start over with --fresh"
        raise InputError(seen, where=read.source, cure=cure)
    number = {new: old for old, new in found.found}
    # Numbers are on sheets that hang on a wall: one that is gone is not given to another area.
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
    for piece, shares in claims.items():
        # A piece with areas of several parts goes by the one that has most of it.
        names[piece] = max(shares, key=lambda name: shares[name])
    # A name must mean one piece, so two that claim it go by letters both.
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
        # A part that had areas and lost them all is gone with them; one that never had any is the drawing's own piece.
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
    # Of an area that the file has no place of and the reading no mark, the number is wrong, and that is refused later.
    corrected_away = area.swallow is not None or area.join is not None or area.paper or area.line
    return area.at is not None or (corrected_away and any(m.id == id for m in drawing.marks))


def _apart(job: Job, drawing: Drawing, out: set[int]) -> dict[tuple[int, int], str]:
    """Pairs that the job wants treated at their edge and that have none now, where both are areas whose place it knows:
    a redraw parted them."""
    touching = {e.areas for e in drawing.edges}
    wished = {(a, b): f"edges.{area_name(job, a)} - {area_name(job, b)}" for a, b in job.edges}
    wished |= {
        (id, a.blend_into): f"areas.{area_name(job, id)}.blend_into"
        for id, a in job.areas.items()
        if a.blend_into is not None
    }
    known = {id for id, a in job.areas.items() if a.at is not None}
    return {
        pair: where
        for pair, where in wished.items()
        if pair[0] != pair[1] and set(pair) <= known - out and (min(pair), max(pair)) not in touching
    }
