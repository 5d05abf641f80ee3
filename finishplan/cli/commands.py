"""The command line: parse, call, print. Everything heavy is imported inside the command that needs it."""

import gc
import io
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from finishplan import __version__
from finishplan.basics.errors import InputError
from finishplan.cli import bench_command, correct_command, swatch_commands
from finishplan.cli.options import (
    Airbrush,
    Book,
    Cache,
    Castings,
    CastingsEach,
    Colours,
    Debug,
    Dryer,
    Finish,
    Fresh,
    Full,
    Height,
    Humidity,
    Json,
    Kind,
    Lines,
    MaxPaints,
    MaxParts,
    Megapixels,
    Out,
    Painters,
    Paints,
    PaperWhite,
    PartsMap,
    Primer,
    Quiet,
    Shading,
    Source,
    Table,
    Temperature,
    Took,
    Within,
    castings_of,
    path,
)

if TYPE_CHECKING:
    from finishplan.cli.wishes import Paper

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
def plan(
    source: Annotated[
        list[Path],
        typer.Argument(metavar="DRAWING|JOB...", help="A drawing, or a job file (.toml); several share their mixes."),
    ],
    castings: CastingsEach = None,
    paints: Paints = None,
    table: Table = None,
    max_paints: MaxPaints = None,
    max_parts: MaxParts = None,
    within: Within = None,
    book: Book = None,
    primer: Primer = None,
    airbrush: Airbrush = False,
    finish: Finish = None,
    temperature: Temperature = None,
    humidity: Humidity = None,
    dryer: Dryer = False,
    painters: Painters = None,
    height_mm: Height = None,
    colours: Colours = None,
    paper_white: PaperWhite = None,
    lines: Lines = None,
    kind: Kind = None,
    shading: Shading = None,
    parts_map: PartsMap = None,
    out: Out = None,
    full: Full = False,
    fresh: Fresh = False,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    detail: Annotated[
        str, typer.Option(help="How much is printed: wall (one page), bench, or full with cards, reasons, cautions.")
    ] = "bench",
    sheets: Annotated[
        str | None,
        typer.Option(
            help="Sheets by name, with commas: wall, parts, palette, steps, run, amounts, cards, reasons, cautions."
        ),
    ] = None,
    part: Annotated[str | None, typer.Option(help="The page of this part only, in a PDF of its own.")] = None,
    grey: Annotated[bool, typer.Option("--grey", help="Sheets in true grey.")] = False,
    png: Annotated[bool, typer.Option("--png", help="Every page as a PNG too, in a tablet's proportions.")] = False,
    why: Annotated[bool, typer.Option("--why", help="Say why each pass stands where it stands.")] = False,
    max_megapixels: Megapixels = 100,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The whole job: painting order, mixes and run of a drawing, written into a folder."""
    given = locals()
    from finishplan.cli.job_file import Wishes
    from finishplan.cli.plan_command import plan_folder
    from finishplan.cli.sources import before, sources_of
    from finishplan.cli.wishes import Manner, SheetWishes, sheets_of

    each = castings_of(castings, len(source))
    told = [given | {"castings": count} for count in each]
    wishes = SheetWishes(sheets_of(detail, sheets), cast("Paper", paper.lower()), grey, part, png, why)
    manner, files = Manner(max_megapixels, cache, json, quiet), Wishes(full, fresh)
    if len(source) > 1:
        from finishplan.cli.family_command import plan_family

        plan_family([sources_of(s, None, g) for s, g in zip(source, told, strict=True)], out, wishes, manner, files)
        return
    sources = sources_of(source[0], before(source[0], out), told[0], fresh=fresh)
    plan_folder(sources, out, wishes, manner, files)


@app.command()
def areas(
    source: Source,
    accept: Annotated[
        str | None, typer.Option(help="Take what the reading offers: dots, recesses, shades, gaps, with commas.")
    ] = None,
    colours: Colours = None,
    paper_white: PaperWhite = None,
    lines: Lines = None,
    kind: Kind = None,
    shading: Shading = None,
    parts_map: PartsMap = None,
    height_mm: Height = None,
    book: Book = None,
    out: Out = None,
    full: Full = False,
    fresh: Fresh = False,
    max_megapixels: Megapixels = 100,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The reading alone: numbered picture, table of areas, palette, and a job file to edit."""
    given = locals()
    from finishplan.cli.areas_command import areas_folder
    from finishplan.cli.job_file import Wishes
    from finishplan.cli.sources import before, sources_of
    from finishplan.cli.wishes import Manner
    from finishplan.job.offers import accepted

    sources = sources_of(source, before(source, out, "areas"), given, fresh=fresh)
    wishes = Wishes(full, fresh, accepted(accept or ""))
    areas_folder(sources, out, Manner(max_megapixels, as_json=json, quiet=quiet), wishes)


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
def mix(
    colour: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="COLOUR...", help="'#rrggbb', in quotes, 'lab(L a b)', or a GIMP palette (.gpl) with its colours."
        ),
    ] = None,
    volume: Annotated[str, typer.Option(help="How much to make, as '4ml'.")] = "2ml",
    paints: Paints = None,
    table: Table = None,
    max_paints: MaxPaints = None,
    max_parts: MaxParts = None,
    finish: Finish = None,
    book: Book = None,
    as_drawn: Annotated[
        bool,
        typer.Option("--as-drawn", help="Treat the colours as a drawing's: its white and black land on the paints'."),
    ] = False,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Recipes for colours, from the paints you own; with --book alone the mixes that it holds."""
    given = locals()
    from finishplan.cli.paint_commands import MixWishes, mix_colours
    from finishplan.cli.wishes import Manner
    from finishplan.job.job import Job
    from finishplan.job.options import overlaid, sections_of

    wishes = MixWishes(volume, overlaid(Job(), sections_of(given)), as_drawn, book)
    mix_colours(colour or [], wishes, paints, table, Manner(cache=cache, as_json=json, quiet=quiet))


@app.command()
def box(
    paints: Paints = None,
    table: Table = None,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Your paints: swatches, hiding, tinting strength, cautions. With --table it checks a colour table."""
    from finishplan.cli.paint_commands import show_box
    from finishplan.cli.wishes import Manner

    show_box(paints, table, Manner(as_json=json, quiet=quiet))


@app.command()
def keep(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="A job file (.toml), the folder with it, or a drawing.")],
    mix: Annotated[
        list[str] | None, typer.Argument(metavar="MIX...", help="Mixes by letter or name; all if none is given.")
    ] = None,
    book: Book = None,
    gpl: Annotated[
        Path | None, typer.Option("--gpl", metavar="PATH", help="Write the book as a GIMP palette too.")
    ] = None,
    paints: Paints = None,
    table: Table = None,
    max_megapixels: Megapixels = 100,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Put mixes of a plan into your mix book, those corrected at the bench as they came out."""
    given = locals()
    from finishplan.cli.book_commands import keep_mixes
    from finishplan.cli.sources import before, sources_of
    from finishplan.cli.wishes import Manner

    source = job / "job.toml" if (job / "job.toml").is_file() else job
    sources = sources_of(source, before(source, None), given | {"book": None})
    keep_mixes(sources, mix or [], book, gpl, Manner(max_megapixels, cache, json, quiet))


@app.command()
def run(
    source: Source,
    castings: Castings = None,
    painters: Painters = None,
    temperature: Temperature = None,
    humidity: Humidity = None,
    dryer: Dryer = False,
    paints: Paints = None,
    table: Table = None,
    max_paints: MaxPaints = None,
    max_parts: MaxParts = None,
    within: Within = None,
    book: Book = None,
    primer: Primer = None,
    airbrush: Airbrush = False,
    finish: Finish = None,
    height_mm: Height = None,
    colours: Colours = None,
    paper_white: PaperWhite = None,
    lines: Lines = None,
    kind: Kind = None,
    shading: Shading = None,
    parts_map: PartsMap = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="PATH", parser=path("--out", "run"), help="Folder for run.ics and run.csv."),
    ] = None,
    start: Annotated[str | None, typer.Option(help="Start for the calendar, as 2026-03-14T09:00.")] = None,
    took: Took = None,
    fresh: Fresh = False,
    max_megapixels: Megapixels = 100,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The run of identical castings: schedule, sessions, quantities."""
    given = locals()
    from finishplan.cli.run_command import run_schedule
    from finishplan.cli.sources import before, sources_of
    from finishplan.cli.wishes import Manner

    sources = sources_of(source, before(source, None), given, fresh=fresh)
    manner = Manner(max_megapixels, cache, json, quiet)
    if took:
        from finishplan.cli.took_command import fit_pace

        fit_pace(sources, took, manner)
        return
    run_schedule(sources, out, start, manner)


def main() -> None:
    """Run the command line; leave with 0, 2 on input that cannot be used, 130 on Ctrl-C."""
    gc.set_threshold(
        100_000, 20, 20
    )  # a plan is kept to the end: seeking garbage oftener takes a twentieth of the time
    _ready_streams()
    code = run_command(sys.argv[1:])
    if sys.stderr is not None:
        with suppress(OSError):
            sys.stderr.flush()
    os._exit(code)  # everything is written: taking libraries and memory apart piece by piece takes 0.15 s


def _ready_streams() -> None:
    """A stream that was closed is the null device, lest a file of ours takes its place; any letter can be printed."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding=None if sys.stdout.isatty() else "utf-8", errors="replace")


def run_command(arguments: list[str]) -> int:
    """Run one command line and return its exit code; errors are told on one line of standard error."""
    try:
        code = int(app(arguments or ["--help"], standalone_mode=False, prog_name="finishplan") or 0)
        print(end="", flush=True)
        return code
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        return _reader_left()
    except SystemExit as leaving:  # what typer makes of a broken pipe
        if isinstance(leaving.__context__, BrokenPipeError):
            return _reader_left()
        raise
    except Exception as error:
        if "--debug" in arguments:
            raise
        return _told(error, arguments)


def _reader_left() -> int:
    """Nothing more can be said to it: what still waits to be printed goes nowhere, quietly."""
    sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  open to the end
    return 0


def _told(error: Exception, arguments: list[str]) -> int:
    from finishplan.cli.terminal import warn

    format_message = getattr(error, "format_message", None)
    dashed = [a for a in arguments if a[:1] in tuple("\u2010\u2011\u2012\u2013\u2014\u2015\u2212")]
    if dashed and (format_message is not None or (dashed[0] in str(error) and not Path(dashed[0]).exists())):
        warn(f"'{dashed[0][:40]}' begins with a long dash; write two plain hyphens: --{dashed[0][1:40]}")
        return 2
    if isinstance(error, InputError):
        warn(str(error))
        return 2
    if format_message is not None:
        said = " ".join(format_message().split()).rstrip(".")
        warn(said + (" See --help" if said.endswith("?") else "; see --help"))
        return 2
    if isinstance(error, OSError):
        told = error.strerror or error
        if error.filename is None and not _is_somewhere():
            warn("the folder where you are is gone; change into another")
        elif error.filename is None:
            warn(f"cannot write to standard output: {told}; send it elsewhere")
        else:
            warn(f"{error.filename}: cannot be used: {told}; check the file and its permissions")
        return 2
    if isinstance(error, MemoryError) or "failed to map segment" in str(error):
        warn("out of memory; give a smaller drawing or fewer castings")
        return 2
    warn(f"internal error: {type(error).__name__}: {error}; run again with --debug and report it")
    return 1


def _is_somewhere() -> bool:
    try:
        return bool(os.getcwd())  # noqa: PTH109  what fails where the folder was removed
    except OSError:
        return False
