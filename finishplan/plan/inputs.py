"""What a plan is made from: the drawing, the job, the box and the meshes, found and read before any computing."""

import os
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.errors import InputError, naming
from finishplan.basics.files import is_file, printable
from finishplan.basics.text_files import check_file, text_of
from finishplan.drawing.model import Drawing
from finishplan.drawing.settings import ReadSettings
from finishplan.drawing.stored import NAME, Kept, digest, load_kept, reading_key
from finishplan.job.job import AreaJob, Cut, Job, PartJob, job_path
from finishplan.job.read import LONGEST_JOB, job_in, load_job
from finishplan.job.written import is_edited
from finishplan.paint.model import Box
from finishplan.plan.settings import brush_coat_um
from finishplan.scheme.reread import Changes, reread

if TYPE_CHECKING:
    from finishplan.paint.book import BookMix

BOOK = "mixes.toml"
"""What a mix book is called where no other name is told."""


@dataclass(frozen=True)
class Sources:
    """The job and where its files are: those of a job file in its folder, those of the command line anywhere.

    options: 'section.key' of what the command line gave, and the option that gave it ('' for the argument). kept: where
    the reading before may be kept. book: the mix book, None where there is none. said: what to tell of the
    choice of a job file.
    """

    job: Job
    drawing: Path
    paints: Path | None = None
    table: Path | None = None
    parts_map: Path | None = None
    meshes: Mapping[str, Path] = field(default_factory=dict)
    job_file: Path | None = None
    book: Path | None = None
    options: Mapping[str, str] = field(default_factory=dict)
    kept: Path | None = None
    said: tuple[str, ...] = ()

    def naming(self) -> AbstractContextManager[None]:
        """Within it, errors about a key name the option that gave it, else the job file; those about a file that is
        read, what named that file."""
        file = self.job.file if self.job_file is not None else ""
        named = {
            "figure.drawing": self.drawing,
            "figure.parts_map": self.parts_map,
            "paints.file": self.paints,
            "paints.table": self.table,
            "paints.book": self.book,
            **{f"parts.{name}.mesh": path for name, path in self.meshes.items()},
        }
        named_by = {key: self.options.get(key, f"{file}: {key}:" if file else "") for key in named}
        paths = {
            wording: where
            for key, path in named.items()
            for wording, where in file_wordings(path, named_by[key], table=key == "paints.table").items()
        }
        # Keys that fail by an option not named after them: `own` by another table, hours by another height.
        options = dict(self.options)
        if "paints.table" in options and self.job.paints.own is not None:
            options["paints.own"] = f"{options['paints.table']} with {file}: paints.own"
        if "figure.height_mm" in options:  # how large the figure is decides how long a coat takes
            keys = ("run.pot_life_min", "run.session_min")
            place = f"{file}: " if file else ""
            options |= {key: f"{options['figure.height_mm']} with {place}{key}" for key in keys}
        numbers = [
            options[key] for key in ("figure.colours", "figure.paper_white", "figure.parts_map") if key in options
        ]
        return naming(file, options, paths, ", ".join(numbers))


def file_wordings(path: Path | None, named: str, *, table: bool = False) -> dict[str, str]:
    """How errors are to call a file that an option or a key named, by how they call it; a colour table has two."""
    if path is None:
        return {}
    halves = (path, path.with_suffix(".csv"), path.with_suffix(".toml")) if table and path.name else (path,)
    return {str(half): f"{named} {half}".strip() for half in halves}


def find_sources(path: Path, folder: Path | None = None, *, fresh: bool = False) -> Sources:
    """From a job file, or the folder with one; or from a drawing with its job: that of the folder it was planned into
    before, else that of its name beside it (newt.toml), if any. fresh: not that of the folder. Raises InputError for a
    job file that cannot be used or names no drawing."""
    path = job_in(path)
    if path.suffix.lower() == ".toml":
        return _from_job(path)
    beside = path.with_suffix(".toml") if path.name else path
    book = book_beside(path.parent)
    if _leads_nowhere(beside):
        raise InputError(
            "is a link to nothing", where=str(beside), cure="mend or remove it: it is read as the job file"
        )
    of_folder = None if folder is None or fresh else folder / "job.toml"
    # Edited, the job of the folder is the maker's last word; as written, it only says where the areas were.
    there = _from_job(of_folder, drawing=path) if of_folder is not None and is_file(of_folder) else None
    if there is not None and of_folder is not None and is_edited(text_of(of_folder, LONGEST_JOB, "a job file (TOML)")):
        other = f"; {beside} is not read" if is_file(beside) else ""
        said = f"{of_folder} is used as you edited it{other}; --fresh starts over."
        # The drawing named now is read, whatever copy that job names.
        return replace(there, drawing=path, options={"figure.drawing": ""}, said=(said,), book=there.book or book)
    found = _from_job(beside, drawing=path) if is_file(beside) else Sources(Job(), path, book=book)
    found = replace(found, drawing=path, options={"figure.drawing": ""})
    return found if there is None else replace(found, job=_with_places(found.job, there.job), kept=there.kept)


def _leads_nowhere(path: Path) -> bool:
    try:
        return path.is_symlink() and not path.exists()
    except OSError:
        return False


def _with_places(job: Job, written: Job) -> Job:
    """A job with the places of the areas, and the areas of the parts, that were written at its last plan: by these
    numbers and parts are found again."""
    areas = dict(job.areas)
    for id, old in written.areas.items():
        said = areas.get(id, AreaJob())
        # Only where the maker tells none: what is written by hand is never overruled by what was found.
        if said.at is None and old.at is not None:
            areas[id] = replace(said, at=old.at, colour=old.colour, size=old.size)
    parts = {name: PartJob(areas=part.areas) for name, part in written.parts.items()} if not job.parts else job.parts
    return replace(job, areas=areas, parts=parts)


def with_box(sources: Sources, paints: Path) -> Sources:
    """The sources with another box file; what it names as owned stands for what the job names. Raises InputError."""
    from finishplan.paint.box import names_own

    sources = replace(sources, paints=paints)
    with sources.naming():
        # A list of what is owned, made for another box, says nothing of a box that has its own.
        own = None if names_own(paints) else sources.job.paints.own
    return replace(sources, job=replace(sources.job, paints=replace(sources.job.paints, own=own)))


def _from_job(path: Path, drawing: Path | None = None) -> Sources:
    return sources_of(load_job(path), path, drawing)


def sources_of(job: Job, path: Path, drawing: Path | None = None) -> Sources:
    """Where the files of a job lie, read from that path, all in its folder. drawing: where the job names none. Raises
    InputError."""
    found = job_path(job, job.figure.drawing, "figure.drawing") or drawing
    if found is None:
        raise InputError(
            "names no drawing",
            where=f"{path}: figure.drawing",
            cure='write drawing = "my-drawing.png", beside this file',
        )
    meshes = {
        name: p for name, part in job.parts.items() if (p := job_path(job, part.mesh, f"parts.{name}.mesh")) is not None
    }
    return Sources(
        job=job,
        drawing=found,
        paints=job_path(job, job.paints.file, "paints.file"),
        table=job_path(job, job.paints.table, "paints.table"),
        parts_map=job_path(job, job.figure.parts_map, "figure.parts_map"),
        meshes=meshes,
        job_file=path,
        # Beside the job, else a folder up, where a maker keeps one book for all figures.
        book=job_path(job, job.paints.book, "paints.book") or book_beside(path.parent, path.parent.parent),
        kept=path.parent / NAME,
    )


def book_beside(*folders: Path) -> Path | None:
    """The first mix book that lies in one of these folders."""
    return next((f / BOOK for f in folders if is_file(f / BOOK)), None)


def book_of(sources: Sources, box: Box) -> "tuple[BookMix, ...]":
    """The maker's proven mixes, none where there is no book. Raises InputError."""
    if sources.book is None:
        return ()
    from finishplan.paint.book import load_book

    with sources.naming():
        return load_book(sources.book, box.table)


@dataclass(frozen=True, eq=False)
class Reading:
    """A drawing read, as its job has it. changes: None where nothing had to be found again. kept: what to keep of it
    for the next time. cuts: the job's strokes as they now lie."""

    drawing: Drawing
    changes: Changes | None
    kept: Kept
    cuts: tuple[Cut, ...]
    picture_before: str = ""
    """Digest of the drawing that was read before."""


def read_sources(sources: Sources, *, max_megapixels: int = 100) -> tuple[Drawing, Box, dict[str, float]]:
    """The drawing, the box, and the surface in cm2 of each part that has a mesh. Raises InputError."""
    reading, box, meshes = read_all(sources, max_megapixels)
    return reading.drawing, box, meshes


def read_all(sources: Sources, max_megapixels: int = 100) -> tuple[Reading, Box, dict[str, float]]:
    """As `read_sources`, with all that is known of the reading."""
    box, meshes = read_box(sources)
    return reading_of(sources, max_megapixels), box, meshes


def read_box(sources: Sources) -> tuple[Box, dict[str, float]]:
    """The box, and the surface in cm2 of each part that has a mesh. Raises InputError."""
    from finishplan.paint.box import load_box

    for path in sources.meshes.values():
        check_file(path)
    with sources.naming():
        box = load_box(sources.table, sources.job.paints.own, sources.paints, coat_um=brush_coat_um(sources.job))
    meshes: dict[str, float] = {}
    if sources.meshes:
        from finishplan.scheme.surfaces import mesh_surface_cm2

        meshes = {name: mesh_surface_cm2(path) for name, path in sources.meshes.items()}
    return box, meshes


def reading_of(sources: Sources, max_megapixels: int = 100) -> Reading:
    """The drawing, read or kept from before, its areas found again and corrected. Raises InputError."""
    before = load_kept(sources.kept) if sources.kept is not None else None
    # Hashing pictures takes time, and without a reading kept there is nothing to compare.
    key = _key(sources) if before is not None else ""
    same_picture = before is not None and key == before.key
    if before is not None and same_picture:
        read = replace(before.drawing, source=printable(sources.drawing.name))
    else:
        read = _read(sources, max_megapixels)
    small = before.small if before is not None else None
    found = reread(read, sources.job, small, same_picture=same_picture)
    same = replace(read, source="")  # whatever the file is called
    kept = Kept(key or _key(sources), digest(sources.drawing), same, found.small)
    return Reading(found.drawing, found.changes, kept, found.cuts, before.picture if before is not None else "")


def _key(sources: Sources) -> str:
    """What the reading hangs on, '' where a file cannot be read."""
    pictures = [sources.drawing, *([sources.parts_map] if sources.parts_map is not None else [])]
    try:
        for picture in pictures:
            check_file(picture)
        # The map counts by its bytes, among the pictures; where it lies changes nothing.
        settings = replace(reading_settings(sources), parts_map=None)
        return reading_key(pictures, settings)
    except (OSError, InputError):
        return ""


def reading_settings(sources: Sources, max_megapixels: int = 100) -> ReadSettings:
    """How the job wants its drawing read."""
    figure = sources.job.figure
    return ReadSettings(
        colours=figure.colours,
        paper_white=figure.paper_white,
        parts_map=sources.parts_map,
        max_megapixels=max_megapixels,
        lines=figure.lines,
        kind=figure.kind,
        shading=figure.shading,
        details=figure.details,
        height_mm=figure.height_mm,
    )


def _read(sources: Sources, max_megapixels: int) -> Drawing:
    from finishplan.drawing import read_drawing

    parts_map = sources.parts_map
    # Asked before the drawing is read, which may take seconds.
    if parts_map is not None and not os.path.lexists(parts_map):
        raise InputError("no such file", where=str(parts_map), cure="check its name")
    return read_drawing(sources.drawing, reading_settings(sources, max_megapixels))
