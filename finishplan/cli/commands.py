"""The command line: parse, call, print. Everything heavy is imported inside the command that needs it."""

import gc
import io
import os
import re
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from finishplan import __version__
from finishplan.basics.errors import InputError

if TYPE_CHECKING:
    from finishplan.cli.actions import Paper
    from finishplan.plan.inputs import Sources

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a coloured drawing of a small cast figure to a painting order: mixes, passes, coats, drying, the run.",
)


def _whole(option: str, example: int, most: int | None = None) -> Callable[[str], int]:
    """Reads a whole number, from 1 to `most` where that is told; the job's own keys are checked with the job's."""
    cure = f"write a whole number from 1 to {most}" if most else f"write the digits alone, as {option} {example}"

    def parse(value: str | int) -> int:
        said = str(value).strip()
        if not re.fullmatch(r"[+-]?\d+", said):
            raise InputError(f"{said[:40]!r} is not a whole number", where=option, cure=cure)
        if len(said) > 20:
            raise InputError("a number of too many digits", where=option, cure="write a smaller one")
        if most is not None and not 1 <= int(said) <= most:
            raise InputError(f"{said} will not do", where=option, cure=cure)
        return int(said)

    return parse


def _number(option: str, unit: str, example: int) -> Callable[[str], float]:
    """Reads a number without its unit."""

    def parse(value: str) -> float:
        said = value.strip()
        if re.fullmatch(r"[+-]?\d{1,20}", said):
            return int(said)
        try:
            return float(said.replace("_", " "))  # Python's own 1_000 is more likely a slip
        except ValueError:
            cure = f"write it in {unit}, without the unit, as {option} {example}"
            if re.fullmatch(r"[+-]?\d{1,20},\d{1,20}", said):
                cure = f"write {said.replace(',', '.')}"
            raise InputError(f"{said[:40]!r} is not a number", where=option, cure=cure) from None

    return parse


def _path(option: str, example: str) -> Callable[[str], Path]:
    """Reads the name of a file or folder."""

    def parse(value: str) -> Path:
        if not str(value).strip():
            cure = f"write one, as {option} {example}, or leave {option} away"
            raise InputError("a name is missing", where=option, cure=cure)
        return Path(value)

    return parse


Json = Annotated[bool, typer.Option("--json", help="Print the figures as JSON and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but warnings.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of an error.")]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="PATH", parser=_path("--out", "plan"), help="Folder to write into.")
]
Temperature = Annotated[
    float | None,
    typer.Option(metavar="NUMBER", parser=_number("--temperature", "degrees C", 21), help="Of the room, degrees C."),
]
Humidity = Annotated[
    float | None, typer.Option(metavar="NUMBER", parser=_number("--humidity", "per cent", 50), help="Of the room, %.")
]
Dryer = Annotated[bool, typer.Option("--dryer", help="A hair dryer may be used.")]
Painters = Annotated[
    int | None, typer.Option(metavar="NUMBER", parser=_whole("--painters", 2), help="How many people paint.")
]
Source = Annotated[Path, typer.Argument(metavar="DRAWING|JOB", help="A drawing, or a job file (.toml).")]
Castings = Annotated[
    int | None,
    typer.Option(
        "--castings", metavar="NUMBER", parser=_whole("--castings", 6), help="How many identical castings are painted."
    ),
]
Paints = Annotated[
    Path | None,
    typer.Option(
        "--paints", metavar="PATH", parser=_path("--paints", "box.toml"), help="Box file (TOML): the paints you own."
    ),
]
Table = Annotated[
    Path | None,
    typer.Option("--table", metavar="PATH", parser=_path("--table", "own.csv"), help="Another colour table (CSV)."),
]
Colours = Annotated[
    int | None,
    typer.Option(
        "--colours",
        metavar="NUMBER",
        parser=_whole("--colours", 12),
        help="Read so many colours instead of finding the number.",
    ),
]
PaperWhite = Annotated[str | None, typer.Option("--paper-white", help="auto or off.")]
PartsMap = Annotated[
    Path | None,
    typer.Option(
        "--parts-map",
        metavar="PATH",
        parser=_path("--parts-map", "parts.png"),
        help="Picture with one flat colour a part.",
    ),
]
Height = Annotated[
    float | None,
    typer.Option(
        "--height-mm",
        metavar="NUMBER",
        parser=_number("--height-mm", "millimetres", 80),
        help="Height of the figure in mm; 80 where neither this nor the job tells it.",
    ),
]
Megapixels = Annotated[
    int,
    typer.Option(
        "--max-megapixels",
        metavar="NUMBER",
        parser=_whole("--max-megapixels", 300, most=10_000),
        help="Refuse larger pictures.",
    ),
]
Cache = Annotated[
    bool, typer.Option("--cache/--no-cache", help="Keep the computed recipes of a box for the next time.")
]


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
    sheets: Annotated[
        str, typer.Option(help="Which: order, mixes, run, with commas. Fewer than all go into a PDF of their own.")
    ] = "order,mixes,run",
    part: Annotated[str | None, typer.Option(help="The painting order of this part only, in a PDF of its own.")] = None,
    grey: Annotated[bool, typer.Option("--grey", help="Sheets in true grey.")] = False,
    png: Annotated[bool, typer.Option("--png", help="Every page as a PNG too.")] = False,
    max_megapixels: Megapixels = 100,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The whole job: painting order, mixes and run of a drawing, written into a folder."""
    from finishplan.drawing.ahead import decode_ahead

    decode_ahead(source, max_megapixels)
    from finishplan.cli.actions import SheetWishes, plan_folder

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
    kinds = tuple(s.strip() for s in sheets.lower().split(","))
    wishes = SheetWishes(kinds, cast("Paper", paper.lower()), grey, part, png)
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
    from finishplan.drawing.ahead import decode_ahead

    decode_ahead(drawing, max_megapixels)
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
            metavar="NUMBER", parser=_whole("--max-paints", 3, most=4), help="At most so many paints in a mix."
        ),
    ] = 4,
    max_parts: Annotated[
        int,
        typer.Option(
            metavar="NUMBER", parser=_whole("--max-parts", 8, most=16), help="At most so many parts in a mix."
        ),
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
        typer.Option("--out", metavar="PATH", parser=_path("--out", "run"), help="Folder for run.ics and run.csv."),
    ] = None,
    start: Annotated[str | None, typer.Option(help="Start for the calendar, as 2026-03-14T09:00.")] = None,
    cache: Cache = True,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """The run of identical castings: schedule, sessions, quantities."""
    from finishplan.drawing.ahead import decode_ahead

    decode_ahead(source)
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

    from finishplan.job.job import option_of, overlaid
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
    finally:
        if (ahead := sys.modules.get("finishplan.drawing.ahead")) is not None:
            ahead.forget()


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
