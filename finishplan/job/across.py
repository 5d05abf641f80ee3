"""Rules of a job file that cross its sections; what one section says of another's areas is brought together."""

from dataclasses import replace

from finishplan.basics.checks import check_no_circle
from finishplan.basics.errors import InputError
from finishplan.job.job import AreaJob, Job

AT_ODDS = (("first", "last"), ("dot", "recess"), ("bare", "dot"), ("bare", "blend"))
ONE_OF = "keep it in one of them only"


def check_across(job: Job) -> Job:
    """The job with its groups told to their areas. Raises InputError: an area is claimed once, flags agree, parts and
    corrections run in no circle."""
    _check_parts(job)
    _check_flags(job)
    _check_corrections(job)
    _check_run(job)
    check_no_circle("parts", "after", {name: part.after for name, part in job.parts.items()}, job.file)
    return replace(job, areas=_with_mixes(job))


def _check_parts(job: Job) -> None:
    owner: dict[int, str] = {}
    for name, part in job.parts.items():
        for id in part.areas or ():
            _claim(owner, id, name, f"{job.file}: parts.{name}.areas")
    for id, area in job.areas.items():
        # The same part told in both places is no contradiction.
        if area.part and owner.get(id, area.part) != area.part:
            _claim(owner, id, area.part, f"{job.file}: areas.{id}.part")


def _claim(owner: dict[int, str], id: int, name: str, where: str) -> None:
    if id in owner:
        raise InputError(f"area {id} is claimed by '{owner[id]}' and '{name}'", where=where, cure=ONE_OF)
    owner[id] = name


def _check_flags(job: Job) -> None:
    for id, area in job.areas.items():
        for one, other in AT_ODDS:
            if one in area.flags and other in area.flags:
                what = f"'{one}' and '{other}' contradict each other"
                raise InputError(what, where=f"{job.file}: areas.{id}.flags", cure="keep only one of them")


def _check_corrections(job: Job) -> None:
    for id, area in job.areas.items():
        by_key = {"swallow": area.swallow, "join": area.join, "paper": area.paper, "line": area.line}
        # Each of them takes the area away: which of two is meant nobody can tell.
        given = [key for key, value in by_key.items() if value]
        if len(given) > 1:
            what = f"'{given[0]}' and '{given[1]}' contradict each other"
            raise InputError(what, where=f"{job.file}: areas.{id}", cure="keep only one of them")
    into = {id: area.swallow or area.join for id, area in job.areas.items()}
    check_no_circle("areas", "before", {str(id): tuple(map(str, a.before)) for id, a in job.areas.items()}, job.file)
    # Pixels are handed on from area to area; drawing/corrections.py follows them to their end, so there must be one.
    check_no_circle("areas", "swallow", {str(id): (str(to),) for id, to in into.items() if to}, job.file)


def _check_run(job: Job) -> None:
    # Starts are those of evenings, and without a length there are none.
    if job.run.session_min is None and job.run.starts:
        raise InputError("starts without session_min", where=f"{job.file}: run.starts", cure="write session_min = 120")
    for key, change in job.steps.changes.items():
        if key.startswith("pass-") and (change.skip or change.minutes is not None or change.wait_min is not None):
            raise InputError(
                "a pass takes only a text here",
                where=f"{job.file}: steps.{key[:40]}",
                cure="its minutes follow from [labour], its areas from their flags",
            )


def _with_mixes(job: Job) -> dict[int, AreaJob]:
    """The areas with the mixes of [mixes.NAME] and their targets. Raises InputError for two that differ."""
    areas = dict(job.areas)
    # A mix that has no section is a name that areas share (scheme/build.py), and no section may have those areas.
    owner = {id: area.mix for id, area in areas.items() if area.mix and area.mix not in job.mixes}
    for name, mix in job.mixes.items():
        for id in dict.fromkeys((*mix.areas, *(i for i, a in job.areas.items() if a.mix == name))):
            _claim(owner, id, name, f"{job.file}: mixes.{name}.areas")
            area = areas.get(id, AreaJob())
            # One pot has one colour.
            if area.target and (mix.target or mix.recipe):
                where = f"{job.file}: areas.{id}.target"
                raise InputError(f"its mix '{name}' says what colour it is", where=where, cure="keep only one of them")
            areas[id] = replace(area, mix=name, target=mix.target or area.target)
    return areas
