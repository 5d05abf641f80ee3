"""What a reading says of a job's areas: what goes into the job file, and what is told of a changed drawing."""

from finishplan.basics.words import counted
from finishplan.drawing.details import place_of
from finishplan.drawing.model import Mark
from finishplan.job.job import Job, area_name
from finishplan.job.parts import grouped, parts_of_areas
from finishplan.job.written import Found
from finishplan.plan.inputs import Reading

MOST_NAMED = 8
"""Areas named in one message; more are counted (our layout)."""
MOST_STROKES = 2
"""Strokes told beside an area in the job file (our layout)."""


def found_of(reading: Reading, job: Job) -> Found:
    """What the reading says of the job's areas."""
    drawing, marked = reading.drawing, {m.id for m in reading.drawing.marks}
    gone = tuple(
        Mark(id, a.at, a.colour, a.size or 0.0) for id, a in job.areas.items() if a.at is not None and id not in marked
    )
    strokes = {
        a.id: [place_of(d, drawing.size) for d in drawing.details if d.alone and d.area == a.id] for a in drawing.areas
    }
    hints = {
        a.id: ", ".join(
            [*(f"{h.flag}?" for h in a.hints), *(f"stroke at {at}?" for at in strokes[a.id][:MOST_STROKES])]
        )
        for a in drawing.areas
    }
    return Found(drawing.marks, grouped(parts_of_areas(drawing, job)), gone, hints, reading.cuts)


def changes_told(reading: Reading, job: Job) -> tuple[str, ...]:
    """'drawing has changed: 41 areas as before, 2 new (numbers 59, 60), 1 gone (wart)', and what is doubtful."""
    changes = reading.changes
    if changes is None:
        return ()
    # Without sizes no reading has written this job: there is no drawing before, of which this one could be a change.
    if all(area.size is None for area in job.areas.values()):
        return _written_by_hand(reading, job)
    told = [f"{counted(len(changes.kept), 'area')} as before"]
    if changes.new:
        numbers = ", ".join(map(str, changes.new[:MOST_NAMED])) + (" ..." if len(changes.new) > MOST_NAMED else "")
        told.append(f"{len(changes.new)} new (number{'s' if len(changes.new) > 1 else ''} {numbers})")
    if changes.gone:
        told.append(f"{len(changes.gone)} gone ({_named(changes.gone, job)})")
    # New corrections move areas in one and the same picture: the drawing is not to blame.
    same = reading.picture_before == reading.kept.picture
    what = "read with your corrections" if same else "the drawing has changed"
    said = [f"{reading.drawing.source}: {what}: {', '.join(told)}."]
    if changes.doubtful:
        said.append(f"Found again, but not surely: {_named(changes.doubtful, job)}; see areas.png.")
    return (*said, *changes.lost)


def _written_by_hand(reading: Reading, job: Job) -> tuple[str, ...]:
    """A job whose areas no reading has measured yet: which of its names found an area, nothing of a change."""
    changes = reading.changes
    if changes is None or not changes.gone:
        return ()
    return (f"{reading.drawing.source}: no area where the job has {_named(changes.gone, job)}; see areas.png.",)


def _named(ids: tuple[int, ...], job: Job) -> str:
    names = [f"{id} {name}" if (name := area_name(job, id)) != str(id) else name for id in ids[:MOST_NAMED]]
    return ", ".join(names) + (f" and {len(ids) - MOST_NAMED} more" if len(ids) > MOST_NAMED else "")
