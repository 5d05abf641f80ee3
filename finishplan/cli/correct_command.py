"""`finishplan correct`: the drops that bring a pot nearer to its aim, from a photograph of its dab."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from finishplan.basics.errors import InputError
from finishplan.basics.words import counted
from finishplan.cli import groups as g
from finishplan.cli import terminal

if TYPE_CHECKING:
    from finishplan.cli.wishes import Manner
    from finishplan.paint.model import Box
    from finishplan.photo.correct import Correction
    from finishplan.photo.model import DabColour
    from finishplan.plan.correcting import Pot
    from finishplan.plan.inputs import Sources


@g.grouped
def correct(
    source: Annotated[Path, typer.Argument(metavar="JOB", help="The job file whose page of dabs was printed.")],
    mix: Annotated[str, typer.Argument(metavar="MIX", help="The mix, by its letter or its name.")],
    photo: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photographs of the page of dabs.")],
    dab: g.Dab,
    how: g.Printed,
) -> None:
    """What to add to a pot so that its colour comes nearer to the aim, from a photograph of its dab."""
    from finishplan.cli.sources import sources_of
    from finishplan.photo.correct import correct as corrected
    from finishplan.plan.correcting import kept_edits, pot_of

    sources = sources_of(source, None, {"paints": dab.paints, "table": dab.table})
    told = None if dab.poured is None else _told(dab.poured)
    with sources.naming():
        painting, box = planned(sources, how.manner())
        pot = pot_of(painting, sources.job, mix, told, left=dab.left)
        page = dab.paper and dab.paper.lower()
        seen = _on_the_page(painting, pot, photo, page) if dab.dab is None else _beside(box, dab.dab, photo, page)
        found = corrected(box, pot.poured, seen, pot.aim, times=pot.times)
    # A drawing without a job file has nothing to keep the correction in; the advice holds all the same.
    if sources.job_file is not None:
        _keep(sources.job_file, kept_edits(pot, found, box))
    if how.json:
        import json

        print(json.dumps(_figures(pot, found), indent=1, ensure_ascii=False))
    elif not how.quiet:
        _tell(pot, found, box, sources.job_file)


def planned(sources: "Sources", manner: "Manner") -> tuple[Any, "Box"]:
    """The painting of a job as if no pot had been corrected, so that the letters are those of the page of dabs; and its
    box. Raises InputError."""
    from finishplan.cli.planning import painting_of, planner_of

    job = replace(sources.job, mixes={name: replace(m, poured=()) for name, m in sources.job.mixes.items()})
    with terminal.progress(manner.silent) as progress:
        planner = planner_of(replace(sources, job=job), manner, progress)
        painting = painting_of(planner, job, progress)
    return painting, painting.box


def _told(poured: str) -> dict[str, float]:
    from finishplan.job.keys import KEYS
    from finishplan.job.values import value_of

    # Read as `set` reads the key, so that both take the same spellings.
    return dict(value_of(KEYS["mixes"]["poured"], poured, "--poured") or ())


def _on_the_page(painting: Any, pot: "Pot", photos: list[Path], paper: str | None) -> "DabColour":
    from finishplan.photo.dab_page import Dab, dab_pages
    from finishplan.photo.layout import on_papers
    from finishplan.photo.read import read_dabs, read_photo

    mixes = [Dab(m.id, m.name) for m in painting.mixes]
    pages = on_papers(lambda one: dab_pages(painting.box, mixes, one), paper)
    shown = [read_photo(p, pages) for p in photos]
    return read_dabs(shown, pot.mix.id, painting.box)


def _beside(box: "Box", corners: str, photos: list[Path], paper: str | None) -> "DabColour":
    from finishplan.photo.card import card_pages
    from finishplan.photo.chart import corners_of
    from finishplan.photo.layout import on_papers
    from finishplan.photo.read import read_dab_beside, read_photo

    if len(photos) > 1:
        raise InputError("--dab tells of one photograph", where="PHOTO", cure="name the photograph that it belongs to")
    place = corners_of(corners, "--dab", "its top left")
    pages = on_papers(lambda one: card_pages(box, one), paper)
    return read_dab_beside(read_photo(photos[0], pages, dab=place), box)


def _keep(file: Path, edits: dict[str, Any]) -> None:
    from finishplan.basics.files import printable, write_whole
    from finishplan.basics.text_files import text_of
    from finishplan.job.edit import edit_job
    from finishplan.job.read import LONGEST_JOB

    text = text_of(file, LONGEST_JOB, "a job file (TOML)")
    new = edit_job(text, edits, printable(file.name))
    if new != text:
        write_whole(file, new)


def _tell(pot: "Pot", found: "Correction", box: "Box", file: Path | None) -> None:
    names = {p.id: p.name for p in box.paints}
    held = ", ".join(f"{amount:g} {names.get(id, id)}" for id, amount in pot.poured.items())
    terminal.say(f"Mix {pot.mix.id}, {pot.mix.name}: in the pot {held} (drops).")
    terminal.say(
        f"Its dab is {found.before:.1f} from the aim; the photograph tells it to about {found.uncertainty:.1f}."
    )
    if found.worth_it:
        add = " and ".join(_drops(d.drops, names[d.paint], d.thinned) for d in found.add)
        terminal.say(f"Add {add}: from {found.before:.1f} to about {found.after:.1f} of the aim. Or leave it.")
    else:
        terminal.say(f"Leave it: {found.why}.")
    if file is not None:
        terminal.say(f"Kept in {file} under [mixes.{pot.section}]: the next pot starts from there.")


def _drops(count: int, name: str, thinned: bool) -> str:
    of = f"{name} let down 1 : 9 with white" if thinned else name
    return f"{counted(count, 'drop')} of {of}"


def _figures(pot: "Pot", found: "Correction") -> dict[str, Any]:
    return {
        "mix": pot.mix.id,
        "name": pot.mix.name,
        "poured": {id: round(amount, 2) for id, amount in pot.poured.items()},
        "aim_lab": [round(v, 2) for v in pot.aim],
        "dab_lab": [round(v, 2) for v in found.dab],
        "before": round(found.before, 2),
        "after": round(found.after, 2),
        "uncertainty": round(found.uncertainty, 2),
        "worth_it": found.worth_it,
        "why": found.why,
        "add": [{"paint": d.paint, "drops": d.drops, "let_down": d.thinned} for d in found.add],
        "corrected": pot.times,
    }
