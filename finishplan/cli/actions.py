"""What each command does once its options are parsed: read, compute, write, show."""

import json
import os
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, suppress
from dataclasses import dataclass, replace
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from finishplan.basics.aside import aside
from finishplan.basics.errors import InputError, naming, nearest
from finishplan.basics.files import write_together
from finishplan.basics.words import listed
from finishplan.cli import outputs, terminal
from finishplan.cli import tables as shown
from finishplan.job.job import Job
from finishplan.job.job_text import job_toml
from finishplan.plan.inputs import Sources, read_drawing_of, read_sources, told_of

if TYPE_CHECKING:
    from finishplan.drawing.model import Drawing
    from finishplan.paint.model import Box
    from finishplan.plan.plan import Plan
    from finishplan.sheets.book import Begun

SHEETS = ("order", "mixes", "run")
PAPERS = ("a4", "letter")
Paper = Literal["a4", "letter"]


@dataclass(frozen=True)
class SheetWishes:
    """Which sheets, on which paper, for whose eyes."""

    sheets: tuple[str, ...] = SHEETS
    paper: Paper = "a4"
    grey: bool = False
    part: str | None = None
    png: bool = False

    def __post_init__(self) -> None:
        for sheet in self.sheets:
            if sheet not in SHEETS:
                raise InputError(f"no sheet is called '{sheet}'", where="--sheets", cure=nearest(sheet, SHEETS))
        if self.part is not None and "order" not in self.sheets and "mixes" not in self.sheets:
            raise InputError("a part has no run sheet", where="--part", cure="add order or mixes to --sheets")
        if self.paper not in PAPERS:
            raise InputError(f"no paper is called '{self.paper}'", where="--paper", cure=nearest(self.paper, PAPERS))

    def suffix(self, parts: Sequence[str]) -> str:
        """What the name of a PDF says of the sheets it lacks: '-part-head', '-sheets-mixes-run', '' where it is whole.

        parts: the names of all; two that would be written alike in a file's name are told apart by a number.
        """
        only = [s for s in SHEETS if s in self.sheets]
        of_part = f"-part-{file_words(parts)[parts.index(self.part)]}" if self.part is not None else ""
        return of_part + (f"-sheets-{'-'.join(only)}" if len(only) < len(SHEETS) else "")

    def check(self, plan: "Plan") -> None:
        """Raises InputError where the part wished for is not the plan's."""
        parts = tuple(p.name for p in plan.scheme.parts)
        if self.part is not None and self.part not in parts:
            raise InputError(f"no part is called '{self.part}'", where="--part", cure=nearest(self.part, parts))


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
) -> None:
    """Make the plan and write its folder: PDF, plan.json, numbered drawing, job file.

    Modules are imported while the picture is decoded; the recipes of a box that is new are computed, and the numbered
    drawing is made, aside. Raises InputError for what cannot be read, planned or written; then the files that were
    there are as they were.
    """
    folder = _folder(sources, out)
    with sources.naming(), terminal.progress(quiet or as_json) as tell:
        tell("reading the drawing", 0.05)
        drawing, box, meshes = _read(sources, max_megapixels, cache)
        with aside(partial(_numbered_png, drawing, sources.job, meshes)) as numbered:
            from finishplan.plan.plan import make_plan

            begun = list["Begun"]()
            plan = make_plan(
                drawing,
                sources.job,
                box,
                meshes=meshes,
                cache=cache,
                tell=tell,
                drafted=lambda draft: begun.append(_begun_sheets(draft, wishes)),
            )
            with aside(partial(_json, plan)) as text, outputs.writing(folder):
                tell("drawing the sheets", 0.75)
                files, told, said = _write_plan(plan, text, folder, sources, wishes, begun[0], numbered)
    for line in (*plan.warnings, *said):
        terminal.warn(line)
    if as_json:
        print(told.decode(), end="")
    elif not quiet:
        shown.show_plan(plan, files)


def _read(sources: Sources, max_megapixels: int, cache: bool) -> tuple["Drawing", "Box", dict[str, float]]:
    """Drawing, box and meshes; beside it, with a cache, the recipes of a box that is not in it are computed."""
    with ExitStack() as copies:
        ahead = list[Callable[[], bytes]]()

        def meanwhile(box: "Box") -> None:
            _import_what_plans()
            if cache:
                ahead.append(copies.enter_context(aside(partial(_recipes, sources.job, box))))

        found = read_sources(sources, max_megapixels=max_megapixels, meanwhile=meanwhile)
        from finishplan.plan.plan import keep_recipes

        with suppress(InputError):  # too many for this box: told where they are asked for
            for recipes in ahead:
                keep_recipes(sources.job, recipes())
    return found


def _import_what_plans() -> None:
    """Import what the plan and its sheets are made with, and load the typeface, before any copy is made."""
    for name in ("finishplan.plan.plan", "platformdirs"):
        import_module(name)
    from finishplan.sheets.look import Look

    Look().para("")


def _recipes(job: Job, box: "Box") -> bytes:
    from finishplan.plan.plan import recipes_ahead

    return recipes_ahead(job, box)


def _numbered_png(drawing: "Drawing", job: Job, meshes: Mapping[str, float]) -> bytes:
    from finishplan.scheme.build import build_scheme
    from finishplan.sheets.pictures import numbered_drawing

    return outputs.png(numbered_drawing(drawing, build_scheme(drawing, job, meshes)))


def _json(plan: "Plan") -> bytes:
    from finishplan.plan.plan_json import plan_json_text

    return plan_json_text(plan).encode()


def _begun_sheets(draft: "Plan", wishes: SheetWishes) -> "Begun":
    from finishplan.sheets.book import begin

    wishes.check(draft)
    for name in ("finishplan.plan.plan_json", "filelock"):  # what comes after the run waits for one process alone
        import_module(name)
    return begin(draft, sheets=wishes.sheets, paper=wishes.paper, grey=wishes.grey, part=wishes.part)


def _write_plan(
    plan: "Plan",
    text: Callable[[], bytes],
    folder: Path,
    sources: Sources,
    wishes: SheetWishes,
    begun: "Begun",
    numbered: Callable[[], bytes],
) -> tuple[list[Path], bytes, list[str]]:
    """Write the files of a plan, plan.json last. Returns all of them, that one's text, and what is to say of others
    there."""
    from finishplan.sheets import pages_as_png
    from finishplan.sheets.book import finish

    job, copies = outputs.packed_job(sources, folder)
    suffix = os.fsdecode(wishes.suffix([p.name for p in plan.scheme.parts]).encode("utf-8"))
    pdf, figures, areas = folder / f"painting-order{suffix}.pdf", folder / "plan.json", folder / "areas.png"
    job_text = job_toml(job, plan.drawing, plan.scheme, plan.box)
    file, said = outputs.place_of_job(folder, job_text, sources.job_file)
    printed = finish(plan, begun)
    told = text()
    printed = outputs.of_plan(printed, told)
    files: dict[Path, bytes | str] = {pdf: printed, areas: numbered(), **outputs.copied(folder, copies)}
    if file is not None:
        files[file] = job_text
    stem, pages = f"page{suffix}", dict[Path, bytes | str]()
    if wishes.png:
        named = {name.replace("page", stem, 1): page for name, page in pages_as_png(printed).items()}
        pages = {folder / name: outputs.marked(page) for name, page in named.items()}
    written = files | pages | {figures: told}
    outputs.spare_inputs(written, sources)
    stale = outputs.other_plans_sheets(folder, told, pdf, sources)
    write_together(written)
    if wishes.png:
        for old in set(outputs.old_pages(folder, stem, sources)) - set(pages):
            old.unlink()
    warnings = [said] if said else []
    if stale:
        which = listed(stale)
        warnings.append(f"Of an earlier plan, not of this one: {which}. Plan again for those sheets too.")
    return [pdf, figures, *(f for f in files if f != pdf), *pages], told, warnings


def areas_folder(sources: Sources, out: Path | None, *, max_megapixels: int, as_json: bool, quiet: bool) -> None:
    """Read a drawing and write the numbered picture, the palette in open formats and a job file to edit.

    Raises InputError.
    """
    from finishplan.drawing.export import drawing_json, palette_css, palette_csv, palette_gpl
    from finishplan.scheme.build import told_scale
    from finishplan.sheets.pictures import numbered_drawing, palette_picture

    with sources.naming(), terminal.progress(quiet or as_json) as tell:
        tell("reading the drawing", 0.1)
        drawing = read_drawing_of(sources, max_megapixels)
        folder = _folder(sources, out, "areas")
        job, copies = outputs.packed_job(sources, folder)
        text = job_toml(job, drawing)
        made: dict[Path, bytes | str] = {
            folder / "areas.png": outputs.png(numbered_drawing(drawing)),
            folder / "palette.png": outputs.png(palette_picture(drawing)),
            folder / "palette.gpl": palette_gpl(drawing),
            folder / "palette.css": palette_css(drawing),
            folder / "palette.csv": palette_csv(drawing),
        }
        with outputs.writing(folder):
            file, said = outputs.place_of_job(folder, text, sources.job_file)
            made |= outputs.copied(folder, copies) | ({file: text} if file else {})
            outputs.spare_inputs(made, sources)
            write_together(made)
    scale, _ = told_scale(drawing, job) or (None, "")
    if said:
        terminal.warn(said)
    if as_json:
        print(json.dumps(drawing_json(drawing, scale), indent=1, ensure_ascii=False))
    elif not quiet:
        shown.show_drawing(drawing, list(made), scale)


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
    from finishplan.job.job import GLOSSES
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
    return naming("", options, {**told_of(paints, "--paints"), **told_of(table, "--table", table=True)})


def run_schedule(
    sources: Sources, out: Path | None, start: str | None, *, cache: bool, as_json: bool, quiet: bool
) -> None:
    """Print the run; with a folder also write its calendar and its tasks. Raises InputError."""
    if start is not None and out is None:
        raise InputError("a calendar needs a folder", where="--start", cure="add --out FOLDER")
    if start is not None:
        start, sources = _starting(start, sources)
    from finishplan.plan.plan import make_plan
    from finishplan.plan.plan_json import plan_json

    with sources.naming(), terminal.progress(quiet or as_json) as tell:
        tell("reading the drawing", 0.05)
        drawing, box, meshes = read_sources(sources)
        plan = make_plan(drawing, sources.job, box, meshes=meshes, cache=cache, tell=tell)
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
    from finishplan.cli.calendar import agreed_start

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
    from finishplan.cli.calendar import run_csv, run_ics

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
