"""Options that several commands share: the same name means the same everywhere."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from finishplan.basics.errors import InputError


def whole(option: str, example: int, most: int | None = None) -> Callable[[str], int]:
    """Reads a whole number, from 1 to `most` where that is told; the job's own keys are checked with the job's."""
    cure = f"write a whole number from 1 to {most}" if most else f"write the digits alone, as {option} {example}"

    def parse(value: str | int) -> int:
        said = str(value).strip()
        if not re.fullmatch(r"[+-]?\d+", said):
            raise InputError(f"{said[:40]!r} is not a whole number", where=option, cure=cure)
        # Python refuses to read thousands of digits, with words of its own.
        if len(said) > 20:
            raise InputError("a number of too many digits", where=option, cure="write a smaller one")
        if most is not None and not 1 <= int(said) <= most:
            raise InputError(f"{said} will not do", where=option, cure=cure)
        return int(said)

    return parse


def number(option: str, unit: str, example: int) -> Callable[[str], float]:
    """Reads a number without its unit."""

    def parse(value: str) -> float:
        said = value.strip()
        # A whole number stays one, so that a message says 0 and not 0.0.
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


def path(option: str, example: str) -> Callable[[str], Path]:
    """Reads the name of a file or folder."""

    def parse(value: str) -> Path:
        # An empty name would be the folder where one is.
        if not str(value).strip():
            cure = f"write one, as {option} {example}, or leave {option} away"
            raise InputError("a name is missing", where=option, cure=cure)
        return Path(value)

    return parse


Json = Annotated[bool, typer.Option("--json", help="Print the figures as JSON and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but warnings.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of an error.")]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="PATH", parser=path("--out", "plan"), help="Folder to write into.")
]
Temperature = Annotated[
    float | None,
    typer.Option(metavar="NUMBER", parser=number("--temperature", "degrees C", 21), help="Of the room, degrees C."),
]
Humidity = Annotated[
    float | None, typer.Option(metavar="NUMBER", parser=number("--humidity", "per cent", 50), help="Of the room, %.")
]
Dryer = Annotated[bool, typer.Option("--dryer", help="A hair dryer may be used.")]
Took = Annotated[
    list[str] | None,
    typer.Option(
        "--took",
        metavar="TIME",
        help="What each evening really took at the bench, from the first on, as 2h50,3h05; a run in one stretch as "
        "3h20. Fits your own pace to it and writes that into the job.",
    ),
]
Painters = Annotated[
    int | None, typer.Option(metavar="NUMBER", parser=whole("--painters", 2), help="How many people paint.")
]
Source = Annotated[Path, typer.Argument(metavar="DRAWING|JOB", help="A drawing, a job file, or the folder with one.")]
Castings = Annotated[
    int | None,
    typer.Option(
        "--castings", metavar="NUMBER", parser=whole("--castings", 6), help="How many identical castings are painted."
    ),
]


def _castings_each(value: str | int) -> list[int]:
    return [whole("--castings", 6)(said) for said in str(value).split(",")]


CastingsEach = Annotated[
    str | None,
    typer.Option(
        "--castings",
        metavar="NUMBER",
        parser=_castings_each,
        help="How many identical castings are painted; of several figures 6,4.",
    ),
]
Paints = Annotated[
    Path | None,
    typer.Option(
        "--paints", metavar="PATH", parser=path("--paints", "box.toml"), help="Box file (TOML): the paints you own."
    ),
]
Table = Annotated[
    Path | None,
    typer.Option("--table", metavar="PATH", parser=path("--table", "own.csv"), help="Another colour table (CSV)."),
]
Colours = Annotated[
    int | None,
    typer.Option(
        "--colours",
        metavar="NUMBER",
        parser=whole("--colours", 12),
        help="Read so many colours instead of finding the number.",
    ),
]
PaperWhite = Annotated[str | None, typer.Option("--paper-white", help="auto or off.")]


def _line_width(value: str) -> str | float:
    # The job's key takes words and numbers alike; typer knows one type.
    said = value.strip().lower()
    return said if said in ("auto", "none") else number("--lines", "pixels", 4)(said)


Lines = Annotated[
    str | None,
    typer.Option("--lines", metavar="TEXT", parser=_line_width, help="auto, none, or the outlines' width in pixels."),
]
Kind = Annotated[str | None, typer.Option("--kind", help="What the picture is: auto, flat, scan, photo.")]
Shading = Annotated[
    str | None, typer.Option("--shading", help="base: shades belong to the colour they shade; own mix: painted apart.")
]
PartsMap = Annotated[
    Path | None,
    typer.Option(
        "--parts-map",
        metavar="PATH",
        parser=path("--parts-map", "parts.png"),
        help="Picture with one flat colour a part.",
    ),
]
Height = Annotated[
    float | None,
    typer.Option(
        "--height-mm",
        metavar="NUMBER",
        parser=number("--height-mm", "millimetres", 80),
        help="Height of the figure in mm; 80 where neither this nor the job tells it.",
    ),
]
Megapixels = Annotated[
    int,
    typer.Option(
        "--max-megapixels",
        metavar="NUMBER",
        parser=whole("--max-megapixels", 300, most=10_000),
        help="Refuse larger pictures.",
    ),
]
Cache = Annotated[
    bool, typer.Option("--cache/--no-cache", help="Keep the computed recipes of a box for the next time.")
]
Primer = Annotated[str | None, typer.Option(help="auto, white, light grey, mid grey, black or #rrggbb.")]
Airbrush = Annotated[bool, typer.Option("--airbrush", help="Spray the broad passes.")]
Finish = Annotated[str | None, typer.Option(help="Varnish: matt, satin or gloss.")]
MaxPaints = Annotated[
    int | None,
    typer.Option(metavar="NUMBER", parser=whole("--max-paints", 3, most=4), help="At most so many paints in a mix."),
]
MaxParts = Annotated[
    int | None,
    typer.Option(metavar="NUMBER", parser=whole("--max-parts", 8, most=16), help="At most so many parts in a mix."),
]
Full = Annotated[bool, typer.Option("--full", help="Write every key into the job file, with what it means.")]
Fresh = Annotated[
    bool, typer.Option("--fresh", help="Start over: a job file that you edited in the folder is put aside.")
]
Within = Annotated[
    float | None,
    typer.Option(
        metavar="NUMBER",
        parser=number("--within", "CIEDE2000", 3),
        help="How far a pot may lie from its colours that several share; 0: none is shared.",
    ),
]
Book = Annotated[
    Path | None,
    typer.Option(
        "--book",
        metavar="PATH",
        parser=path("--book", "mixes.toml"),
        help="Mix book; mixes.toml beside the job if there.",
    ),
]
CardPaper = Annotated[str, typer.Option("--paper", help="a4, letter or a5, to print it on.")]
PrintedPaper = Annotated[
    str | None, typer.Option("--paper", help="a4, letter or a5, as it was printed; not needed, its marks tell.")
]


def castings_of(said: object, figures: int) -> list[int | None]:
    """How many castings of each figure: one number for all or one each. Raises InputError."""
    if not isinstance(said, list):
        return [None] * figures
    if len(said) not in (1, figures):
        cure = "write one for all, or one each: " + ",".join("6" * figures)
        raise InputError(f"{len(said)} numbers for {figures} figures", where="--castings", cure=cure)
    return said * figures if len(said) == 1 else said
