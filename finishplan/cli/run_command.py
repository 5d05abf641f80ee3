"""`finishplan run`: the run of identical castings, its calendar and its tasks."""

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.errors import InputError
from finishplan.basics.files import write_together
from finishplan.cli import outputs, terminal
from finishplan.cli.planning import begun_reading, painting_of, planner_once_read
from finishplan.cli.pool import pool
from finishplan.cli.tables import show_run
from finishplan.cli.wishes import Manner
from finishplan.plan.found import changes_told
from finishplan.plan.inputs import Sources

if TYPE_CHECKING:
    from finishplan.plan.plan import Plan


def run_schedule(sources: Sources, out: Path | None, start: str | None, manner: Manner) -> None:
    """Print the run; with a folder also write its calendar and its tasks. Raises InputError."""
    if start is not None and out is None:
        raise InputError("a calendar needs a folder", where="--start", cure="add --out FOLDER")
    if start is not None:
        start, sources = _starting(start, sources)
    with sources.naming(), terminal.progress(manner.silent) as progress, pool() as processes:
        # What prints is imported by the next line, while the pool reads.
        read = begun_reading(sources, manner, progress, processes)
        from finishplan.plan.plan_json import plan_json

        planner, reading = planner_once_read(sources, manner, read, processes)
        painting_of(planner, sources.job, progress)
        plan = planner.plan(sources.job)
    if out is not None:
        _write_calendar(plan, out, start, sources)
    for line in (*sources.said, *changes_told(reading, sources.job), *plan.warnings):
        terminal.warn(line)
    if manner.as_json:
        data = plan_json(plan)
        print(
            json.dumps({key: data[key] for key in ("run", "quantities", "assumptions")}, indent=1, ensure_ascii=False)
        )
    elif not manner.quiet:
        show_run(plan)


def _starting(start: str, sources: Sources) -> tuple[str, Sources]:
    """The calendar's start, and the sources whose run begins at that time of day; says what it overrules."""
    from finishplan.run.calendar import agreed_start

    run = sources.job.run
    with sources.naming():
        start, time, remark = agreed_start(start, run.start_at)
    if remark:
        terminal.warn(remark)
    return start, replace(sources, job=replace(sources.job, run=replace(run, start_at=time)))


def _write_calendar(plan: "Plan", out: Path, start: str | None, sources: Sources) -> None:
    from finishplan.run.calendar import run_csv, run_ics

    files: dict[Path, bytes | str] = {out / "run.csv": run_csv(plan.run)}
    if start is not None:
        files[out / "run.ics"] = run_ics(plan.run, start, plan.scheme.name)
    with outputs.writing(out):
        outputs.spare_inputs(files, sources)
        write_together(files)
