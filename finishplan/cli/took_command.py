"""`finishplan run --took`: the maker's own pace, fitted to what a run took and written into the job."""

from finishplan.basics.errors import InputError
from finishplan.basics.files import printable, write_whole
from finishplan.basics.text_files import text_of
from finishplan.basics.words import duration
from finishplan.cli import terminal
from finishplan.cli.planning import painting_of, planner_of
from finishplan.cli.wishes import Manner
from finishplan.job.edit import edit_job
from finishplan.job.read import LONGEST_JOB
from finishplan.plan.inputs import Sources


def fit_pace(sources: Sources, took: list[str], manner: Manner) -> None:
    """Fit the one factor on the painter's minutes to the time at the bench and write it into the job file. Raises
    InputError."""
    from finishplan.plan.stages import problem_of
    from finishplan.run.took import fitted_pace, told_min

    path = sources.job_file
    if path is None:
        raise InputError("there is no job file to write your pace into", where="--took", cure="give the job file")
    told = told_min(took)
    with sources.naming(), terminal.progress(manner.silent) as progress:
        planner = planner_of(sources, manner, progress)
        problem = problem_of(painting_of(planner, sources.job, progress))
        # The run is planned anew at the pace so far: what was planned for these evenings is in no file that is read.
        fit = fitted_pace(problem, sources.job.labour.pace, told)
    file = printable(path.name)
    text = text_of(path, LONGEST_JOB, "a job file (TOML)")
    write_whole(path, edit_job(text, {"labour.pace": fit.pace}, file))
    if not manner.silent:
        took_words, planned = duration(fit.took_min, days=False), duration(fit.planned_min, days=False)
        which = f" for {_evenings(fit.evenings, fit.planned)}" if fit.planned > 1 else ""
        terminal.say(f"You took {took_words}{which}; {planned} were planned. {file}: labour.pace = {fit.pace:g}")
        terminal.say("The next plan is made with it.")


def _evenings(first: int, planned: int) -> str:
    if first == planned:
        return f"all {planned} evenings"
    return f"the first {f'{first} ' if first > 1 else ''}of {planned} evenings"
