"""What each command does once its options are parsed: read, compute, write, show."""

import json
import os
import re
import unicodedata
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from finishplan.basics.errors import InputError, naming, nearest
from finishplan.basics.files import write_together
from finishplan.basics.words import listed
from finishplan.cli import outputs, terminal
from finishplan.cli import tables as shown
from finishplan.cli.job_file import AS_USUAL, Laid, Wishes, laid
from finishplan.cli.pool import in_pool, pool
from finishplan.drawing.stored import NAME
from finishplan.job.job import Job
from finishplan.plan.inputs import Reading, Sources, file_wordings, read_all, reading_of
from finishplan.sheets import BENCH, DETAILS, KINDS, OF_PART

if TYPE_CHECKING:
    from finishplan.plan.plan import Painting, Plan
    from finishplan.plan.planner import Planner
    from finishplan.sheets.figure import Pictures

PAPERS = ("a4", "letter")
SCREEN_DPI = 145.0
"""A page for the screen is 1200 pixels wide."""
Paper = Literal["a4", "letter"]


@dataclass(frozen=True)
class SheetWishes:
    """Which sheets, on which paper, for whose eyes. why: the terminal gives the reasons too."""

    sheets: tuple[str, ...] = BENCH
    paper: Paper = "a4"
    grey: bool = False
    part: str | None = None
    png: bool = False
    why: bool = False

    def __post_init__(self) -> None:
        for sheet in self.sheets:
            if sheet not in KINDS:
                raise InputError(f"no sheet is called '{sheet}'", where="--sheets", cure=nearest(sheet, KINDS))
        if self.part is not None and not set(OF_PART) & set(self.sheets):
            cure = f"add one of {', '.join(OF_PART)} to --sheets"
            raise InputError("none of these sheets is printed for one part", where="--part", cure=cure)
        if self.paper not in PAPERS:
            raise InputError(f"no paper is called '{self.paper}'", where="--paper", cure=nearest(self.paper, PAPERS))

    def suffix(self, parts: Sequence[str]) -> str:
        """What the name of a PDF says of the sheets it lacks: '-part-head', '-sheets-run-cards', '' for the usual ones.

        parts: the names of all; two that would be written alike in a file's name are told apart by a number.
        """
        only = tuple(s for s in KINDS if s in self.sheets)
        of_part = f"-part-{file_words(parts)[parts.index(self.part)]}" if self.part is not None else ""
        named = {sheets: f"-{detail}" for detail, sheets in DETAILS.items()} | {BENCH: ""}
        return of_part + named.get(only, f"-sheets-{'-'.join(only)}")

    def check(self, painting: "Painting") -> None:
        """Raises InputError where the part wished for is not the figure's."""
        parts = tuple(p.name for p in painting.scheme.parts)
        if self.part is not None and self.part not in parts:
            raise InputError(f"no part is called '{self.part}'", where="--part", cure=nearest(self.part, parts))


def sheets_of(detail: str, sheets: str | None) -> tuple[str, ...]:
    """The sheets asked for by name, with commas, else those of the detail. Raises InputError for an unknown detail."""
    if detail.lower() not in DETAILS:
        raise InputError(f"no detail is called '{detail}'", where="--detail", cure=nearest(detail, tuple(DETAILS)))
    return DETAILS[detail.lower()] if sheets is None else tuple(s.strip() for s in sheets.lower().split(","))


def file_words(names: Sequence[str]) -> list[str]:
    """Each name as it can stand after 'part-' in a file's name: 'Left arm/hand' becomes 'left-arm-hand', 'part A'
    'a'; no two alike."""
    words: list[str] = []
    for number, name in enumerate(names, 1):
        word = re.sub(r"[\W_]+", "-", unicodedata.normalize("NFC", name.lower()))[:40].strip("-").removeprefix("part-")
        while not word or word in words:
            word = f"{word}-{number}".strip("-")
        words.append(word)
    return words


def plan_folder(
    sources: Sources,
    out: Path | None,
    wishes: SheetWishes,
    *,
    max_megapixels: int,
    cache: bool,
    as_json: bool,
    quiet: bool,
    files: Wishes = AS_USUAL,
) -> None:
    """Make the plan and write its folder: PDF, plan.json, numbered drawing, job file.

    Raises InputError for what cannot be read, planned or written; then the files that were there are as they were.
    """
    from finishplan.cli.summary import show_plan
    from finishplan.sheets.figure import Pictures
    from finishplan.sheets.look import Look

    folder = _folder(sources, out)
    with sources.naming(), terminal.progress(quiet or as_json) as tell, pool() as processes:
        planner, reading = _planner(sources, tell, processes, max_megapixels=max_megapixels, cache=cache)
        painting = _painted(planner, sources.job, tell)
        wishes.check(painting)
        planner.start_run(sources.job)
        numbered = in_pool(processes, partial(outputs.numbered_png, painting.drawing, painting.scheme))
        pictures = Pictures(painting, Look(wishes.paper, wishes.grey)).prepare()
        plan = planner.plan(sources.job)
        with outputs.writing(folder):
            tell("drawing the sheets", 0.75)
            job = laid(sources, reading, folder, files)
            made, told, said = _write_plan(plan, folder, sources, wishes, pictures, numbered, job)
    for line in (*plan.warnings, *said):
        terminal.warn(line)
    if as_json:
        print(told.decode(), end="")
    elif not quiet:
        show_plan(plan, made, why=wishes.why)


def _planner(
    sources: Sources,
    tell: Callable[[str, float], None],
    processes: Executor | None,
    *,
    max_megapixels: int = 100,
    cache: bool = True,
) -> tuple["Planner", Reading]:
    from finishplan.plan.plan import Materials
    from finishplan.plan.planner import Planner

    tell("reading the drawing", 0.05)
    reading, box, meshes = read_all(sources, max_megapixels)
    return Planner(Materials(reading.drawing, box, meshes), cache=cache, pool=processes), reading


def _painted(planner: "Planner", job: Job, tell: Callable[[str, float], None]) -> "Painting":
    """All but the run, each stage announced before it begins."""
    tell("choosing the mixes", 0.2)
    planner.mixes(job)
    tell("ordering the passes", 0.4)
    painting = planner.painting(job)
    tell("planning the run", 0.55)
    return painting


def _write_plan(
    plan: "Plan",
    folder: Path,
    sources: Sources,
    wishes: SheetWishes,
    pictures: "Pictures",
    numbered: Callable[[], bytes],
    job: Laid,
) -> tuple[list[Path], bytes, list[str]]:
    """Write the files of a plan, plan.json last. Returns all of them, that one's text, and what is to say of others
    there."""
    from finishplan.plan.plan_json import plan_json_text
    from finishplan.sheets import pages_as_png
    from finishplan.sheets.book import printed
    from finishplan.sheets.given import given
    from finishplan.sheets.look import Look

    suffix = os.fsdecode(wishes.suffix([p.name for p in plan.scheme.parts]).encode("utf-8"))
    pdf, figures, areas = folder / f"painting-order{suffix}.pdf", folder / "plan.json", folder / "areas.png"
    told = plan_json_text(plan).encode()
    sheets = printed(given(plan, pictures.look, pictures), wishes.sheets, wishes.part)
    files: dict[Path, bytes | str] = {pdf: outputs.of_plan(sheets, told), areas: numbered(), **job.files}
    stem, pages = f"page{suffix}", dict[Path, bytes | str]()
    if wishes.png:
        laid = given(plan, Look("screen", wishes.grey), pictures)
        shown = printed(laid, wishes.sheets, wishes.part)
        named = {name.replace("page", stem, 1): page for name, page in pages_as_png(shown, SCREEN_DPI).items()}
        pages = {folder / name: outputs.marked(page) for name, page in named.items()}
    written = files | pages | {figures: told}
    outputs.spare_inputs(written, sources)
    stale = outputs.other_plans_sheets(folder, told, pdf, sources)
    write_together(written)
    if wishes.png:
        for old in set(outputs.old_pages(folder, stem, sources)) - set(pages):
            old.unlink()
    warnings = list(job.said)
    if stale:
        which = listed(stale)
        warnings.append(f"Of an earlier plan, not of this one: {which}. Plan again for those sheets too.")
    return [pdf, figures, *(f for f in files if f != pdf and f.name != NAME), *pages], told, warnings


def areas_folder(
    sources: Sources,
    out: Path | None,
    *,
    max_megapixels: int,
    as_json: bool,
    quiet: bool,
    files: Wishes = AS_USUAL,
) -> None:
    """Read a drawing and write the numbered picture, the palette in open formats and a job file to edit.

    Raises InputError.
    """
    from finishplan.drawing.export import drawing_json, palette_css, palette_csv, palette_gpl
    from finishplan.scheme.scale import told_scale
    from finishplan.sheets.pictures import palette_picture

    with sources.naming(), terminal.progress(quiet or as_json) as tell:
        tell("reading the drawing", 0.1)
        reading = reading_of(sources, max_megapixels)
        drawing, folder = reading.drawing, _folder(sources, out, "areas")
        made: dict[Path, bytes | str] = {
            folder / "areas.png": outputs.numbered_png(drawing),
            folder / "palette.png": outputs.png(palette_picture(drawing)),
            folder / "palette.gpl": palette_gpl(drawing),
            folder / "palette.css": palette_css(drawing),
            folder / "palette.csv": palette_csv(drawing),
        }
        with outputs.writing(folder):
            job = laid(sources, reading, folder, files)
            made |= job.files
            outputs.spare_inputs(made, sources)
            write_together(made)
    scale = told_scale(drawing, sources.job)
    for said in job.said:
        terminal.warn(said)
    if as_json:
        print(json.dumps(drawing_json(drawing, scale), indent=1, ensure_ascii=False))
    elif not quiet:
        shown.show_drawing(drawing, [file for file in made if file.name != NAME], scale)


def mix_colours(
    colours: Sequence[str],
    volume: str,
    paints: Path | None,
    table: Path | None,
    *,
    max_paints: int,
    max_parts: int,
    finish: str,
    screen: bool,
    cache: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Print a recipe for each colour. Raises InputError for what is no colour, volume, finish or box."""
    from finishplan.colour.light import parse_colour
    from finishplan.job.keys import GLOSSES
    from finishplan.paint.additions import additions_note
    from finishplan.paint.box import box_warnings, load_box
    from finishplan.paint.mixing import MixSettings, find_mixes, recipe_json
    from finishplan.plan.assumptions import plan_warnings

    if finish not in GLOSSES:
        raise InputError(f"no finish is called '{finish}'", where="--finish", cure=nearest(finish, GLOSSES))
    targets = [parse_colour(c)[0] for c in colours]
    ml = parse_volume(volume)
    settings = MixSettings(max_paints=max_paints, max_parts=max_parts, merge=0.0, finish=finish, cache=cache)
    with _naming(paints, table):
        box = load_box(table, None, paints)
        mixes, which = find_mixes(targets, box, settings, None, screen=screen)
    if as_json:
        print(json.dumps([recipe_json(mixes[i], ml, box) for i in which], indent=1, ensure_ascii=False))
    elif not quiet:
        shown.show_mixes([mixes[i] for i in which], list(colours), ml, box)
    asked = {mixes[i].drawn_hex: colour for i, colour in zip(which, colours, strict=True)}
    missed = plan_warnings(mixes, box, additions_note(mixes, box, settings, asked), asked)
    for line in (*box_warnings(box), *missed):
        terminal.warn(line)


def show_box(paints: Path | None, table: Path | None, *, as_json: bool, quiet: bool) -> None:
    """Print the paints of the box, or check and show a colour table. Raises InputError."""
    from finishplan.paint.box import load_box
    from finishplan.paint.report import OPACITY_LEGEND, box_json, paint_facts

    with _naming(paints, table):
        box = load_box(table, None, paints)
    if as_json:
        print(json.dumps(box_json(box), indent=1, ensure_ascii=False))
    elif not quiet:
        shown.show_box(box, paint_facts(box))
        terminal.say(f"- {OPACITY_LEGEND}")


def _naming(paints: Path | None, table: Path | None) -> AbstractContextManager[None]:
    """Within it, errors about these files name their options."""
    options = {"paints.max_paints, max_parts": "--max-paints, --max-parts"}
    return naming("", options, {**file_wordings(paints, "--paints"), **file_wordings(table, "--table", table=True)})


def run_schedule(
    sources: Sources, out: Path | None, start: str | None, *, cache: bool, as_json: bool, quiet: bool
) -> None:
    """Print the run; with a folder also write its calendar and its tasks. Raises InputError."""
    if start is not None and out is None:
        raise InputError("a calendar needs a folder", where="--start", cure="add --out FOLDER")
    if start is not None:
        start, sources = _starting(start, sources)
    from finishplan.plan.plan_json import plan_json

    with sources.naming(), terminal.progress(quiet or as_json) as tell, pool() as processes:
        planner, _ = _planner(sources, tell, processes, cache=cache)
        _painted(planner, sources.job, tell)
        plan = planner.plan(sources.job)
    if out is not None:
        _write_calendar(plan, out, start, sources)
    for line in plan.warnings:
        terminal.warn(line)
    if as_json:
        data = plan_json(plan)
        print(
            json.dumps({key: data[key] for key in ("run", "quantities", "assumptions")}, indent=1, ensure_ascii=False)
        )
    elif not quiet:
        shown.show_run(plan)


def _starting(start: str, sources: Sources) -> tuple[str, Sources]:
    """The calendar's start, and the sources whose run begins at that time of day; says what it overrules."""
    from finishplan.run.calendar import agreed_start

    run = sources.job.run
    with sources.naming():
        start, time, said = agreed_start(start, run.start_at)
    if said:
        terminal.warn(said)
    return start, replace(sources, job=replace(sources.job, run=replace(run, start_at=time)))


def parse_volume(text: str) -> float:
    """Millilitres of '4ml'. Raises InputError for what is no volume."""
    found = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?)\s*(?:ml)?\s*", text.lower())
    if not found or not 0.05 <= float(found[1]) <= 10_000:
        raise InputError(f"'{text[:40]}' is not a volume", where="--volume", cure="write it as 4ml (0.05 to 10000)")
    return float(found[1])


def _write_calendar(plan: "Plan", out: Path, start: str | None, sources: Sources) -> None:
    from finishplan.run.calendar import run_csv, run_ics

    files: dict[Path, bytes | str] = {out / "run.csv": run_csv(plan.run)}
    if start is not None:
        files[out / "run.ics"] = run_ics(plan.run, start, plan.scheme.name)
    with outputs.writing(out):
        outputs.spare_inputs(files, sources)
        write_together(files)


def _folder(sources: Sources, out: Path | None, what: str = "plan") -> Path:
    """Where to write: --out, else the folder of a job.toml, else one named after the drawing."""
    if out is not None:
        return out
    if what == "plan" and sources.job_file is not None and sources.job_file.name.startswith("job"):
        return sources.job_file.parent
    return Path(f"{sources.drawing.stem}-{what}")
