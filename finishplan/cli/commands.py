"""The command line: parse, call. Everything heavy is imported inside the command that needs it."""

from pathlib import Path
from typing import Annotated

import typer

from finishplan import __version__
from finishplan.cli import bench_command, correct_command, swatch_commands
from finishplan.cli import groups as g
from finishplan.cli.options import Debug, Quiet, Source, castings_of

app = typer.Typer(
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a coloured drawing of a small cast figure to a painting order: mixes, passes, coats, drying, the run.",
)


app.add_typer(swatch_commands.app, name="swatches")
app.command()(bench_command.bench)
app.command()(correct_command.correct)


def _version(wanted: bool) -> None:
    if wanted:
        print(f"finishplan {__version__}")
        raise typer.Exit


@app.callback()
def common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and leave.")
    ] = False,
) -> None:
    """From a coloured drawing of a small cast figure to a painting order: mixes, passes, coats, drying, the run."""


@app.command()
@g.grouped
def plan(
    source: Annotated[
        list[Path],
        typer.Argument(metavar="DRAWING|JOB...", help="A drawing, or a job file (.toml); several share their mixes."),
    ],
    figures: g.Figures,
    figure: g.Figure,
    made: g.Written,
    how: g.Planned,
) -> None:
    """The whole job: painting order, mixes and run of a drawing, written into a folder."""
    from finishplan.cli.plan_command import plan_folder
    from finishplan.cli.sources import before, sources_of

    told = [g.given(figure, castings=count) for count in castings_of(figures.castings, len(source))]
    wishes, manner, kept, out = made.sheet_wishes(), how.manner(), made.job_wishes(), figures.out
    # Several figures share mixes, evenings and a shopping list: another kind of folder.
    if len(source) > 1:
        from finishplan.cli.family_command import plan_family

        plan_family(list(zip(source, told, strict=True)), out, wishes, manner, kept)
        return
    plan_folder(sources_of(source[0], before(source[0], out), told[0], fresh=made.fresh), out, wishes, manner, kept)


@app.command()
@g.grouped
def areas(source: Source, taken: g.Taken, reading: g.Reading, files: g.Files, how: g.Drawn) -> None:
    """The reading alone: numbered picture, table of areas, palette, and a job file to edit."""
    from finishplan.cli.areas_command import areas_folder
    from finishplan.cli.sources import before, sources_of
    from finishplan.job.offers import accepted

    given = g.given(reading, book=taken.book)
    sources = sources_of(source, before(source, taken.out, "areas"), given, fresh=files.fresh)
    areas_folder(sources, taken.out, how.manner(), files.job_wishes(accepted(taken.accept or "")))


def _offered(context: typer.Context, incomplete: str) -> list[str]:
    from finishplan.cli.set_command import offered

    return offered(context.params.get("job"), incomplete)


@app.command("set")
def set_(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job file (.toml), or the folder with it.")],
    told: Annotated[
        list[str],
        typer.Argument(
            metavar="KEY=VALUE...",
            autocompletion=_offered,
            help="hood.flags=recess, 12.name='left eye', glint.swallow=pupil, mixes.maroon.areas=mouth,wart, "
            "run.castings=12; nothing after the sign takes a key out.",
        ),
    ],
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Edits of a job file: names, colours, groups, corrections of the reading, and every other key."""
    from finishplan.cli.set_command import set_keys

    set_keys(job, told, quiet=quiet)


@app.command()
@g.grouped
def mix(
    recipes: g.Recipes,
    how: g.Worked,
    colour: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="COLOUR...", help="'#rrggbb', in quotes, 'lab(L a b)', or a GIMP palette (.gpl) with its colours."
        ),
    ] = None,
    volume: Annotated[str, typer.Option(help="How much to make, as '4ml'.")] = "2ml",
    as_drawn: Annotated[
        bool,
        typer.Option("--as-drawn", help="Treat the colours as a drawing's: its white and black land on the paints'."),
    ] = False,
) -> None:
    """Recipes for colours, from the paints you own; with --book alone the mixes that it holds."""
    from finishplan.cli.paint_commands import MixWishes, mix_colours
    from finishplan.job.job import Job
    from finishplan.job.options import overlaid, sections_of

    job = overlaid(Job(), sections_of(g.given(recipes)))
    wishes = MixWishes(volume, job, as_drawn, recipes.book)
    mix_colours(colour or [], wishes, recipes.paints, recipes.table, how.manner())


@app.command()
@g.grouped
def box(paints: g.PaintBox, how: g.Printed) -> None:
    """Your paints: swatches, hiding, tinting strength, cautions. With --table it checks a colour table."""
    from finishplan.cli.paint_commands import show_box

    show_box(paints.paints, paints.table, how.manner())


@app.command()
@g.grouped
def keep(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job file (.toml), the folder with it, or a drawing.")],
    books: g.Books,
    paints: g.PaintBox,
    how: g.Planned,
    mix: Annotated[
        list[str] | None, typer.Argument(metavar="MIX...", help="Mixes by letter or name; all if none is given.")
    ] = None,
) -> None:
    """Put mixes of a plan into your mix book, those corrected at the bench as they came out."""
    from finishplan.cli.book_commands import keep_mixes
    from finishplan.cli.sources import before, sources_of
    from finishplan.job.read import job_in

    # A folder stands for its job here already: `before` tells a job from a drawing by its name.
    source = job_in(job)
    sources = sources_of(source, before(source, None), g.given(paints))
    keep_mixes(sources, mix or [], books.book, books.gpl, how.manner())


@app.command()
@g.grouped
def run(source: Source, told: g.Run, figure: g.Figure, how: g.Planned) -> None:
    """The run of identical castings: evenings, turns to each mix, amounts."""
    from finishplan.cli.run_command import run_schedule
    from finishplan.cli.sources import before, sources_of

    given = g.given(figure, castings=told.castings)
    sources = sources_of(source, before(source, None), given, fresh=told.fresh)
    if told.took:
        from finishplan.cli.took_command import fit_pace

        fit_pace(sources, told.took, how.manner())
        return
    run_schedule(sources, told.out, told.start, how.manner())
