"""The command line: parse, call, print. Everything heavy is imported inside the command that needs it."""

import gc
import io
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from finishplan import __version__
from finishplan.basics.errors import InputError
from finishplan.cli import bench_command, swatch_commands
from finishplan.cli.options import (
    Cache,
    Castings,
    Colours,
    Debug,
    Dryer,
    Height,
    Humidity,
    Json,
    Megapixels,
    Out,
    Painters,
    Paints,
    PaperWhite,
    PartsMap,
    Quiet,
    Source,
    Table,
    Temperature,
    path,
    whole,
)

if TYPE_CHECKING:
    from finishplan.cli.actions import Paper
    from finishplan.plan.inputs import Sources

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a coloured drawing of a small cast figure to a painting order: mixes, passes, coats, drying, the run.",
)


app.add_typer(swatch_commands.app, name="swatches")
app.command()(bench_command.bench)


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
    source: Source,
    castings: Castings = None,
    paints: Paints = None,
    table: Table = None,
    primer: Annotated[str | None, typer.Option(help="auto, white, light grey, mid grey, black or #rrggbb.")] = None,
    airbrush: Annotated[bool, typer.Option("--airbrush", help="Spray the broad passes.")] = False,
    finish: Annotated[str | None, typer.Option(help="Varnish: matt, satin or gloss.")] = None,
    temperature: Temperature = None,
    humidity: Humidity = None,
    dryer: Dryer = False,
    painters: Painters = None,
    height_mm: Height = None,
    colours: Colours = None,
    paper_white: PaperWhite = None,
    parts_map: PartsMap = None,
    out: Out = None,
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
    from finishplan.cli.actions import SheetWishes, plan_folder, sheets_of

    sources = _sources(
        source,
        paints=paints,
        table=table,
        parts_map=parts_map,
        figure={
            "height_mm": height_mm,
            "colours": colours,
            "paper_white": paper_white,
            "finish": finish and finish.lower(),
        },
        method={"primer": primer, "tool": "airbrush" if airbrush else None},
        room={"temperature_c": temperature, "humidity_pct": humidity, "dryer": dryer or None},
        run={"castings": castings, "painters": painters},
    )
    wishes = SheetWishes(sheets_of(detail, sheets), cast("Paper", paper.lower()), grey, part, png, why)
    plan_folder(sources, out, wishes, max_megapixels=max_megapixels, cache=cache, as_json=json, quiet=quiet)


@app.command()
def areas(
    drawing: Annotated[Path, typer.Argument(metavar="DRAWING", help="The coloured drawing.")],
    colours: Colours = None,
    paper_white: PaperWhite = None,
    parts_map: PartsMap = None,
    height_mm: Height = None,
    out: Out = None,
    max_megapixels: Megapixels = 100,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The reading alone: numbered picture, palette, and a job file to edit."""
    from finishplan.cli.actions import areas_folder

    sources = _sources(
        drawing,
        parts_map=parts_map,
        figure={"height_mm": height_mm, "colours": colours, "paper_white": paper_white},
    )
    areas_folder(sources, out, max_megapixels=max_megapixels, as_json=json, quiet=quiet)


@app.command()
def mix(
    colour: Annotated[list[str], typer.Argument(metavar="COLOUR...", help="'#rrggbb', in quotes, or 'lab(L a b)'.")],
    volume: Annotated[str, typer.Option(help="How much to make, as '4ml'.")] = "2ml",
    paints: Paints = None,
    table: Table = None,
    max_paints: Annotated[
        int,
        typer.Option(
            metavar="NUMBER", parser=whole("--max-paints", 3, most=4), help="At most so many paints in a mix."
        ),
    ] = 4,
    max_parts: Annotated[
        int,
        typer.Option(metavar="NUMBER", parser=whole("--max-parts", 8, most=16), help="At most so many parts in a mix."),
    ] = 12,
    finish: Annotated[str, typer.Option(help="Varnish: matt, satin or gloss.")] = "satin",
    as_drawn: Annotated[
        bool,
        typer.Option("--as-drawn", help="Treat the colours as a drawing's: its white and black land on the paints'."),
    ] = False,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Recipes for colours, from the paints you own."""
    from finishplan.cli.actions import mix_colours

    mix_colours(
        colour,
        volume,
        paints,
        table,
        max_paints=max_paints,
        max_parts=max_parts,
        finish=finish.lower(),
        screen=as_drawn,
        cache=cache,
        as_json=json,
        quiet=quiet,
    )


@app.command()
def box(
    paints: Paints = None,
    table: Table = None,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Your paints: swatches, hiding, tinting strength, cautions. With --table it checks a colour table."""
    from finishplan.cli.actions import show_box

    show_box(paints, table, as_json=json, quiet=quiet)


@app.command()
def run(
    source: Source,
    castings: Castings = None,
    painters: Painters = None,
    temperature: Temperature = None,
    humidity: Humidity = None,
    dryer: Dryer = False,
    paints: Paints = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="PATH", parser=path("--out", "run"), help="Folder for run.ics and run.csv."),
    ] = None,
    start: Annotated[str | None, typer.Option(help="Start for the calendar, as 2026-03-14T09:00.")] = None,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The run of identical castings: schedule, sessions, quantities."""
    from finishplan.cli.actions import run_schedule

    sources = _sources(
        source,
        paints=paints,
        room={"temperature_c": temperature, "humidity_pct": humidity, "dryer": dryer or None},
        run={"castings": castings, "painters": painters},
    )
    run_schedule(sources, out, start, cache=cache, as_json=json, quiet=quiet)


def _sources(
    path: Path,
    *,
    paints: Path | None = None,
    table: Path | None = None,
    parts_map: Path | None = None,
    **sections: dict[str, Any],
) -> "Sources":
    """The sources with the options that were given laid over the job file."""
    from dataclasses import replace

    from finishplan.job.options import option_of, overlaid
    from finishplan.plan.inputs import find_sources, with_box

    found = find_sources(path)
    files = {"paints.file": paints, "paints.table": table, "figure.parts_map": parts_map}
    options = {f"{name}.{key}": option_of(key) for name, keys in sections.items() for key in keys}
    options |= dict(zip(files, ("--paints", "--table", "--parts-map"), strict=True))
    values = files | {f"{name}.{key}": value for name, keys in sections.items() for key, value in keys.items()}
    given = replace(
        found,
        job=overlaid(found.job, sections),
        table=table or found.table,
        parts_map=parts_map or found.parts_map,
        options={**found.options, **{key: options[key] for key, value in values.items() if value is not None}},
    )
    return given if paints is None else with_box(given, paints)


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

    if isinstance(error, InputError):
        warn(str(error))
        return 2
    format_message = getattr(error, "format_message", None)
    if format_message is not None:
        said = " ".join(format_message().split()).rstrip(".")
        if dashed := [a for a in arguments if a[:1] in tuple("\u2010\u2011\u2012\u2013\u2014\u2015\u2212")]:
            warn(f"'{dashed[0][:40]}' begins with a long dash; write two plain hyphens: --{dashed[0][1:40]}")
            return 2
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
    warn(f"a fault of finishplan itself: {type(error).__name__}: {error}; run again with --debug and report it")
    return 1


def _is_somewhere() -> bool:
    try:
        return bool(os.getcwd())  # noqa: PTH109  what fails where the folder was removed
    except OSError:
        return False
