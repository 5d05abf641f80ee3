"""Options that belong together, once for all commands: a command takes a group as one parameter."""

import inspect
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from finishplan.cli import options as of

if TYPE_CHECKING:
    from finishplan.cli.job_file import Wishes
    from finishplan.cli.wishes import Manner, Paper, SheetWishes


# Nobody compares or prints a group, and whatever a dataclass writes for itself every command waits for at its start.
@dataclass(frozen=True, eq=False, repr=False)
class Printed:
    """What is printed, and how an error is."""

    json: of.Json = False
    quiet: of.Quiet = False
    # Here for --help alone: main.py looks for it itself, since it has to know when a command never came to be.
    debug: of.Debug = False

    def manner(self) -> "Manner":
        """How a command works."""
        from finishplan.cli.wishes import Manner

        return Manner(as_json=self.json, quiet=self.quiet)


@dataclass(frozen=True, eq=False, repr=False)
class Worked(Printed):
    """The same of a command that searches recipes."""

    cache: of.Cache = True

    def manner(self) -> "Manner":
        """How a command works."""
        from finishplan.cli.wishes import Manner

        return Manner(cache=self.cache, as_json=self.json, quiet=self.quiet)


@dataclass(frozen=True, eq=False, repr=False)
class Drawn(Printed):
    """The same of a command that reads a drawing."""

    max_megapixels: of.Megapixels = 100

    def manner(self) -> "Manner":
        """How a command works."""
        from finishplan.cli.wishes import Manner

        return Manner(self.max_megapixels, as_json=self.json, quiet=self.quiet)


@dataclass(frozen=True, eq=False, repr=False)
class Planned(Worked):
    """The same of a command that does both."""

    max_megapixels: of.Megapixels = 100

    def manner(self) -> "Manner":
        """How a command works."""
        from finishplan.cli.wishes import Manner

        return Manner(self.max_megapixels, self.cache, self.json, self.quiet)


@dataclass(frozen=True, eq=False, repr=False)
class Files:
    """What becomes of the job file."""

    full: of.Full = False
    fresh: of.Fresh = False

    def job_wishes(self, accept: tuple[str, ...] = ()) -> "Wishes":
        """The same for what writes it."""
        from finishplan.cli.job_file import Wishes

        return Wishes(self.full, self.fresh, accept)


@dataclass(frozen=True, eq=False, repr=False)
class PaintBox:
    """The paints."""

    paints: of.Paints = None
    table: of.Table = None


@dataclass(frozen=True, eq=False, repr=False)
class Recipes(PaintBox):
    """The paints and how they are mixed."""

    max_paints: of.MaxPaints = None
    max_parts: of.MaxParts = None
    finish: of.Finish = None
    book: of.Book = None


@dataclass(frozen=True, eq=False, repr=False)
class Painting(Recipes):
    """The same, with how the castings are painted."""

    within: of.Within = None
    primer: of.Primer = None
    airbrush: of.Airbrush = False
    temperature: of.Temperature = None
    humidity: of.Humidity = None
    dryer: of.Dryer = False
    painters: of.Painters = None


@dataclass(frozen=True, eq=False, repr=False)
class Reading:
    """How a drawing is read."""

    height_mm: of.Height = None
    colours: of.Colours = None
    paper_white: of.PaperWhite = None
    lines: of.Lines = None
    kind: of.Kind = None
    shading: of.Shading = None
    parts_map: of.PartsMap = None


# Fields of bases come first, the last base's before the first's: so stand the options in --help.
@dataclass(frozen=True, eq=False, repr=False)
class Figure(Reading, Painting):
    """A drawing to be painted: the paints and the painting, then how it is read."""


@dataclass(frozen=True, eq=False, repr=False)
class Sheets:
    """What is printed on paper."""

    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4"
    detail: Annotated[
        str, typer.Option(help="How much is printed: wall (one page), bench, or full with cards, reasons, cautions.")
    ] = "bench"
    sheets: Annotated[
        str | None,
        typer.Option(
            help="Sheets by name, with commas: wall, parts, palette, steps, run, amounts, cards, reasons, cautions."
        ),
    ] = None
    part: Annotated[str | None, typer.Option(help="The page of this part only, in a PDF of its own.")] = None
    grey: Annotated[bool, typer.Option("--grey", help="Sheets in true grey.")] = False
    png: Annotated[bool, typer.Option("--png", help="Every page as a PNG too, in a tablet's proportions.")] = False
    why: Annotated[bool, typer.Option("--why", help="Say why each pass stands where it stands.")] = False

    def sheet_wishes(self) -> "SheetWishes":
        """The same, checked. Raises InputError."""
        from finishplan.cli.wishes import SheetWishes, sheets_of

        sheets = sheets_of(self.detail, self.sheets)
        return SheetWishes(sheets, cast("Paper", self.paper.lower()), self.grey, self.part, self.png, self.why)


@dataclass(frozen=True, eq=False, repr=False)
class Written(Files, Sheets):
    """What a plan is written as: its sheets and its job file."""


@dataclass(frozen=True, eq=False, repr=False)
class Figures:
    """How many castings of each figure, and where their plan goes."""

    castings: of.CastingsEach = None
    out: of.Out = None


@dataclass(frozen=True, eq=False, repr=False)
class Taken:
    """What is taken of what a reading offers, what its colours are held against, and where it goes."""

    accept: Annotated[
        str | None, typer.Option(help="Take what the reading offers: dots, recesses, shades, gaps, with commas.")
    ] = None
    book: of.Book = None
    out: of.Out = None


@dataclass(frozen=True, eq=False, repr=False)
class Books:
    """The mix book, and the palette that is written of it."""

    book: of.Book = None
    gpl: Annotated[Path | None, typer.Option("--gpl", metavar="PATH", help="Write the book as a GIMP palette too.")] = (
        None
    )


@dataclass(frozen=True, eq=False, repr=False)
class Run:
    """A run: its castings, its start, what its evenings took; and where it goes."""

    castings: of.Castings = None
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="PATH", parser=of.path("--out", "run"), help="Folder for run.ics and run.csv."),
    ] = None
    start: Annotated[str | None, typer.Option(help="Start for the calendar, as 2026-03-14T09:00.")] = None
    took: of.Took = None
    fresh: of.Fresh = False


@dataclass(frozen=True, eq=False, repr=False)
class Card(PaintBox):
    """A card to be printed: of which paints, on which paper, for which air."""

    paper: of.CardPaper = "a4"
    mixes: Annotated[
        Path | None,
        typer.Option("--mixes", metavar="JOB", help="Print the page for dabs of this job's mixes instead."),
    ] = None
    temperature: of.Temperature = None
    humidity: of.Humidity = None
    out: Annotated[Path | None, typer.Option("--out", metavar="PATH", help="The PDF to write.")] = None


@dataclass(frozen=True, eq=False, repr=False)
class PaintedCard(PaintBox):
    """A card that was painted and photographed, and the box file that comes of it."""

    paper: of.PrintedPaper = None
    chart: Annotated[
        str | None, typer.Option(help="Corners of a 24-patch chart in the first picture: 'x,y x,y x,y x,y'.")
    ] = None
    date: Annotated[str, typer.Option(help="When it was painted, kept with the paints; today if left out.")] = ""
    out: Annotated[Path | None, typer.Option("--out", metavar="PATH", help="The box file to write.")] = None


@dataclass(frozen=True, eq=False, repr=False)
class Dab:
    """A pot and its dab, on a page or beside a card that was printed of these paints."""

    poured: Annotated[
        str | None, typer.Option(help="What is in the pot, in drops: 'PW6 6, PY43 1'; else as the recipe has it.")
    ] = None
    dab: Annotated[
        str | None,
        typer.Option(help="The dab lies beside the painted swatch card: its corners in pixels, 'x,y x,y x,y x,y'."),
    ] = None
    left: Annotated[bool, typer.Option("--left", help="The drops advised the last time were not added.")] = False
    paints: of.Paints = None
    table: of.Table = None
    paper: of.PrintedPaper = None


def given(*groups: Any, **others: Any) -> dict[str, Any]:
    """Option -> value of some groups, and of options told one by one."""
    return {name: value for group in groups for name, value in asdict(group).items()} | others


def grouped(command: Callable[..., None]) -> Callable[..., None]:
    """The command as typer takes it: its own arguments and options, then those of its groups one by one."""
    taken = inspect.signature(command).parameters
    groups: dict[str, Any] = {name: p.annotation for name, p in taken.items() if is_dataclass(p.annotation)}

    def one_by_one(**said: Any) -> None:
        made = {name: kind(**{f.name: said.pop(f.name) for f in fields(kind)}) for name, kind in groups.items()}
        command(**said, **made)

    # A group is no type that typer knows: it sees the fields, and --help lists them, own ones first.
    own = [one for name, one in taken.items() if name not in groups]
    options = [f for kind in groups.values() for f in fields(kind)]
    flat = [*own, *(inspect.Parameter(f.name, _KIND, default=f.default, annotation=f.type) for f in options)]
    one_by_one.__name__, one_by_one.__doc__ = command.__name__, command.__doc__
    one_by_one.__annotations__ = {one.name: one.annotation for one in flat}
    one_by_one.__signature__ = inspect.Signature(flat)  # type: ignore[attr-defined]  # inspect looks here first (PEP 362)
    return one_by_one


_KIND = inspect.Parameter.POSITIONAL_OR_KEYWORD
