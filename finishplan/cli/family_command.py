"""`finishplan plan` of several figures: one set of mixes, a folder for each figure, one run, one shopping list."""

import json
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishplan.basics.errors import InputError
from finishplan.basics.files import write_together
from finishplan.basics.words import counted, duration, listed
from finishplan.cli import terminal
from finishplan.cli.job_file import Wishes
from finishplan.cli.plan_command import Drawn, write_figure
from finishplan.cli.planning import Progress, begun_reading, planner_once_read
from finishplan.cli.pool import pool
from finishplan.cli.sources import before, sources_of
from finishplan.cli.wishes import Manner, SheetWishes, file_words
from finishplan.plan.inputs import Sources

if TYPE_CHECKING:
    from finishplan.amounts.model import Quantity
    from finishplan.plan.family import Family
    from finishplan.plan.plan import Plan
    from finishplan.run.model import Run


@dataclass(frozen=True, eq=False)
class _Together:
    """family: the shared mixes; plans: of the figures, each with a run of its own; run: of all castings; shopping."""

    family: "Family"
    plans: Sequence["Plan"]
    run: "Run"
    shopping: Sequence["Quantity"]


Told = tuple[Path, Mapping[str, Any]]
"""A drawing or a job, and the options that were given for it."""


def _placed(figures: Sequence[Told], folder: Path, fresh: bool) -> list[tuple[Sources, str]]:
    """The sources of each figure and the name of its folder, where a drawing's job from an earlier plan is found."""
    # Twice, since a figure's name decides its folder, and its folder which job goes with the drawing.
    alone = [sources_of(path, None, given) for path, given in figures]
    names = file_words([s.job.figure.name or s.drawing.stem for s in alone])
    again = (
        sources_of(path, before(path, folder / n), g, fresh=fresh) for (path, g), n in zip(figures, names, strict=True)
    )
    return list(zip(again, names, strict=True))


def plan_family(figures: Sequence[Told], out: Path | None, sheets: SheetWishes, manner: Manner, files: Wishes) -> None:
    """Plan figures together: a folder for each, and what they share beside. Raises InputError."""
    from finishplan.plan.family import family_mixes, family_problem, shopping, with_pots
    from finishplan.run.schedule import start_schedule

    if sheets.part is not None:
        raise InputError("one part of several figures", where="--part", cure="plan that figure alone for it")
    folder = out or Path("family-plan")
    placed = _placed(figures, folder, files.fresh)
    names = [name for _, name in placed]
    remarks, plans = list[str](), list["Plan"]()
    with terminal.progress(manner.silent) as progress, pool() as processes:
        drawn = _all_read([sources for sources, _ in placed], manner, progress, processes)
        progress("choosing the mixes", 0.2)
        family = family_mixes([(d.planner, d.sources.job) for d in drawn])
        # Searched while the figures are written; each of these has a run of its own.
        run = start_schedule(family_problem([d.planner.painting(d.sources.job) for d in drawn]), processes)
        for one, name in zip(drawn, names, strict=True):
            with one.sources.naming():
                plan, _, said, _ = write_figure(one, folder / name, sheets, files, (progress, processes))
            plans.append(plan)
            remarks += said
        together = _Together(family, plans, with_pots(plans, run()), shopping([p.quantities for p in plans]))
        from finishplan.run.calendar import run_csv

        text = json.dumps(_figures(together), indent=1, ensure_ascii=False) + "\n"
        shared: dict[Path, bytes | str] = {
            folder / "run.csv": run_csv(together.run),
            folder / "family.pdf": _printed(together, sheets),
        }
        # family.json last, as plan.json is in a figure's folder.
        write_together(shared | {folder / "family.json": text})
    # Figures in one folder say much the same of it: once is enough.
    for line in (*_warnings(plans), *dict.fromkeys(remarks)):
        terminal.warn(line)
    if manner.as_json:
        print(text, end="")
    elif not manner.quiet:
        _show(together, folder, names)


def _all_read(
    figures: Sequence[Sources], manner: Manner, progress: Progress, processes: Executor | None
) -> Sequence[Drawn]:
    """The drawings of all figures, each with its planner. Raises InputError."""
    # All begun before the first is waited for: each may take seconds, and there are two cores.
    begun = [begun_reading(sources, manner, progress, processes) for sources in figures]
    drawn = []
    for sources, read in zip(figures, begun, strict=True):
        with sources.naming():
            drawn.append(Drawn(*planner_once_read(sources, manner, read, processes), sources))
    return drawn


def _warnings(plans: Sequence["Plan"]) -> list[str]:
    """What all figures warn of, then what is of some, under their names."""
    every = dict.fromkeys(w for p in plans for w in p.warnings)
    common = [w for w in every if all(w in p.warnings for p in plans)]
    return common + [f"{p.scheme.name}: {w}" for p in plans for w in p.warnings if w not in common]


def _printed(together: _Together, wishes: SheetWishes) -> bytes:
    """The sheets of the family."""
    from finishplan.plan.family import family_plan
    from finishplan.sheets.family import family_pdf
    from finishplan.sheets.given import given
    from finishplan.sheets.look import Look

    look = Look(wishes.paper, wishes.grey)
    whole = family_plan(together.plans, together.family, together.run)
    return family_pdf([given(p, look) for p in together.plans], whole)


def _show(together: _Together, folder: Path, names: Sequence[str]) -> None:
    """The matrix of mixes and figures, the exchange, the run together and apart, what to buy."""
    from finishplan.plan.left_out import left_out
    from finishplan.plan.sharing_words import exchange, unproven
    from finishplan.run.words import least, taken

    family, plans, run = together.family, together.plans, together.run
    figures = [p.scheme.name for p in plans]
    rows: list[list[terminal.Cell]] = []
    for mix in family.mixes:
        used = [" ".join(map(str, _areas(p, mix.id))) for p in plans]
        rows.append([(f"{mix.id} {mix.name}", mix.hex), *used, f"{mix.delta_e:.1f}"])
    terminal.table(["mix", *figures, "colour error"], rows, f"{listed(figures)}: {counted(len(rows), 'mix', 'mixes')}")
    shared = sum(all(row[1:-1]) for row in rows)
    each = "both" if len(plans) == 2 else "all of them"
    terminal.say(f"{counted(shared, 'mix', 'mixes') if shared else 'No mix'} for {each}.")
    for told in (exchange(family.curve, plans[0].mix_settings.within), unproven(len(family.mixes), family.least)):
        if told:
            terminal.say(f"Mixes: {told}")
    apart = duration(sum(p.run.attendance_min for p in plans), days=False, up=True)
    terminal.say(
        f"Together: {counted(run.castings, 'casting')} in {taken(run)}; {least(run)}. "
        f"One figure after the other: {apart}."
    )
    if told := left_out(plans):
        terminal.say(told)
    buy = [f"{q.name} {q.ml_run:.1f} ml" for q in together.shopping if q.what == "paint"]
    terminal.say(f"Paint for all, at most: {listed(buy)}")
    terminal.say(f"Written into {folder}: family.pdf, family.json, run.csv, and a folder each: {listed(names)}")


def _areas(plan: "Plan", mix: str) -> list[int]:
    return [id for id, i in plan.mix_of if plan.mixes[i].id == mix]


def _figures(together: _Together) -> dict[str, Any]:
    from finishplan.paint.mixing import recipe_json
    from finishplan.plan.plan_json import rounded

    first = together.plans[0]
    drop = first.mix_settings.drop_ml
    mixes = [rounded(recipe_json(m, drop, first.box, drop)) for m in together.family.mixes]
    used = [{p.scheme.name: _areas(p, m.id) for p in together.plans} for m in together.family.mixes]
    return {
        "version": 1,
        "figures": [{"name": p.scheme.name, "castings": p.run.castings} for p in together.plans],
        "mixes": [m | {"areas": areas} for m, areas in zip(mixes, used, strict=True)],
        "sharing": {
            "within": first.mix_settings.within,
            "mixes_at_least": together.family.least,
            "mixes_within": [{"within": limit, "mixes": pots} for limit, pots in together.family.curve],
        },
        "run": rounded(asdict(together.run)),
        "shopping": rounded([asdict(q) for q in together.shopping]),
    }
