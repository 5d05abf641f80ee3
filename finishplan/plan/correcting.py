"""A pot between its plan and its dab: what is in it, what it aims at, and what the job file keeps of its correction."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.lab import Lab
from finishplan.colour.light import parse_colour
from finishplan.job.job import AreaJob, Job, MixJob, area_name
from finishplan.paint.finding import find_paint
from finishplan.paint.model import Box, Mix
from finishplan.photo.correct import Correction, drops_of, with_added
from finishplan.plan.plan import Painting


@dataclass(frozen=True)
class Pot:
    """One pot. section: its [mixes.NAME]; areas: names or numbers of those painted with it; poured: paint id -> drops;
    aim: L*a*b*; times: how often drops were added."""

    mix: Mix
    section: str
    areas: tuple[int | str, ...]
    poured: Mapping[str, float]
    aim: Lab
    times: int


def pot_of(
    painting: Painting, job: Job, said: str, poured: Mapping[str, float] | None = None, *, left: bool = False
) -> Pot:
    """The pot of a mix, told by its letter or name, as the job keeps it; without that, as the recipe has it.

    poured: what went in, where the maker tells it; left: the drops advised the last time were not added. Raises
    InputError for an unknown mix and for paints that the box lacks.
    """
    mix = _mix(painting, said)
    ids = [area for area, index in painting.mix_of if painting.mixes[index].id == mix.id]
    section, kept = _section(job, mix, ids)
    # As the job file tells areas: a name where there is one, so that the section reads well.
    names = (area_name(job, id) for id in ids)
    areas = tuple(int(n) if n.isdigit() else n for n in names)
    aim = parse_colour(kept.aim)[0] if kept.aim else mix.aim
    if poured is not None:
        return Pot(mix, section, areas, _by_id(poured, painting.box), aim, kept.corrected if kept.poured else 0)
    before = _by_id(dict(kept.poured), painting.box) if kept.poured else drops_of(mix)
    if not kept.add or left:
        return Pot(mix, section, areas, before, aim, kept.corrected)
    # A new photograph of a pot with drops advised is taken to be of the pot with these in it: --left says no.
    more = _by_id(dict(kept.add), painting.box)
    both = {id: before.get(id, 0.0) + more.get(id, 0.0) for id in (*before, *more)}
    return Pot(mix, section, areas, both, aim, kept.corrected + 1)


def _mix(painting: Painting, said: str) -> Mix:
    for mix in painting.mixes:
        if said.strip().lower() in (mix.id.lower(), mix.name.lower()):
            return mix
    known = [*(m.name for m in painting.mixes), *(m.id for m in painting.mixes)]
    raise InputError(f"no mix is called '{said[:60]}'", where="MIX", cure=nearest(said, known))


def _section(job: Job, mix: Mix, ids: list[int]) -> tuple[str, MixJob]:
    """The name under which the job holds the mix, and what it says of it."""
    # By its areas: letter and name of a mix may be others since the section was written.
    for name, one in job.mixes.items():
        if set(one.areas) & set(ids):
            return name, one
    told = (job.areas.get(id, AreaJob()).mix for id in ids)
    return next((name for name in told if name), mix.name), MixJob()


def _by_id(drops: Mapping[str, float], box: Box) -> dict[str, float]:
    """The drops with the ids of the box's paints. Raises InputError for a paint that the table lacks."""
    own = {p.id: p.id for p in box.paints} | {p.name.lower(): p.id for p in box.paints}
    found = dict[str, float]()
    for name, amount in drops.items():
        # The box first: a bottle of the maker's own may have the name of a paint of the table.
        id = own.get(name.strip().lower()) or find_paint(box.table, name, "what was poured").id
        found[id] = found.get(id, 0.0) + amount
    return found


def kept_edits(pot: Pot, found: Correction, box: Box) -> dict[str, Any]:
    """The edits of the job file (job.edit.edit_job) that keep what was poured, how it came out and what was advised."""
    more = with_added({}, found.add, box)
    values: dict[str, Any] = {
        "areas": pot.areas,
        "poured": tuple((id, round(amount, 2)) for id, amount in pot.poured.items()),
        "came_out": _lab_text(found.dab),
        "aim": _lab_text(pot.aim),
        "add": tuple(more.items()) or None,
        "corrected": pot.times,
    }
    return {f"mixes.{pot.section}.{key}": value for key, value in values.items()}


def _lab_text(colour: Lab) -> str:
    L, a, b = colour
    return f"lab({L:.1f} {a:.1f} {b:.1f})"
