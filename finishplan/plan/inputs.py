"""What a plan is made from: the drawing, the job, the box and the meshes, found and read before any computing."""

import os
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from pathlib import Path

from finishplan.basics.errors import InputError, naming
from finishplan.basics.text_files import check_file
from finishplan.drawing.model import Drawing
from finishplan.job.job import Job, job_path, load_job
from finishplan.paint.model import Box


@dataclass(frozen=True)
class Sources:
    """The job and where its files are: those of a job file in its folder, those of the command line anywhere.

    options: 'section.key' of what the command line gave, and the option that gave it ('' for the argument).
    """

    job: Job
    drawing: Path
    paints: Path | None = None
    table: Path | None = None
    parts_map: Path | None = None
    meshes: Mapping[str, Path] = field(default_factory=dict)
    job_file: Path | None = None
    options: Mapping[str, str] = field(default_factory=dict)

    def naming(self) -> AbstractContextManager[None]:
        """Within it, errors about a key name the option that gave it, else the job file; those about a file that is
        read, what named that file."""
        file = self.job.file if self.job_file is not None else ""
        named = {
            "figure.drawing": self.drawing,
            "figure.parts_map": self.parts_map,
            "paints.file": self.paints,
            "paints.table": self.table,
            **{f"parts.{name}.mesh": path for name, path in self.meshes.items()},
        }
        told = {key: self.options.get(key, f"{file}: {key}:" if file else "") for key in named}
        paths = {
            said: where
            for key, path in named.items()
            for said, where in told_of(path, told[key], table=key == "paints.table").items()
        }
        options = dict(self.options)
        if "paints.table" in options and self.job.paints.own is not None:
            options["paints.own"] = f"{options['paints.table']} with {file}: paints.own"
        if "figure.height_mm" in options:  # how large the figure is decides how long a coat takes
            keys = ("run.mix_life_min", "run.session_min")
            place = f"{file}: " if file else ""
            options |= {key: f"{options['figure.height_mm']} with {place}{key}" for key in keys}
        numbers = [
            options[key] for key in ("figure.colours", "figure.paper_white", "figure.parts_map") if key in options
        ]
        return naming(file, options, paths, ", ".join(numbers))


def told_of(path: Path | None, named: str, *, table: bool = False) -> dict[str, str]:
    """How errors are to call a file that an option or a key named, by how they call it; a colour table has two."""
    if path is None:
        return {}
    halves = (path, path.with_suffix(".csv"), path.with_suffix(".toml")) if table and path.name else (path,)
    return {str(half): f"{named} {half}".strip() for half in halves}


def find_sources(path: Path) -> Sources:
    """From a job file, or from a drawing with the job file of its name beside it (newt.toml), if any. Raises InputError
    for a job file that cannot be used or names no drawing, and for a folder with one."""
    if path.suffix.lower() == ".toml":
        return _from_job(path)
    if (path / "job.toml").is_file():
        raise InputError("this is a folder", where=str(path), cure=f"give the job file in it, {path / 'job.toml'}")
    beside = path.with_suffix(".toml") if path.name else path
    if beside.is_symlink() and not beside.exists():
        raise InputError(
            "is a link to nothing", where=str(beside), cure="mend or remove it: it is read as the job file"
        )
    if not beside.is_file():
        return Sources(Job(), path, options={"figure.drawing": ""})
    found = _from_job(beside, drawing=path)
    return replace(found, drawing=path, options={"figure.drawing": ""})


def with_box(sources: Sources, paints: Path) -> Sources:
    """The sources with another box file; what it names as owned stands for what the job names. Raises InputError."""
    from finishplan.paint.box import names_own

    sources = replace(sources, paints=paints)
    with sources.naming():
        own = None if names_own(paints) else sources.job.paints.own
    return replace(sources, job=replace(sources.job, paints=replace(sources.job.paints, own=own)))


def _from_job(path: Path, drawing: Path | None = None) -> Sources:
    job = load_job(path)
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
        job,
        found,
        job_path(job, job.paints.file, "paints.file"),
        job_path(job, job.paints.table, "paints.table"),
        job_path(job, job.figure.parts_map, "figure.parts_map"),
        meshes,
        path,
    )


def read_sources(
    sources: Sources, *, max_megapixels: int = 100, meanwhile: Callable[[Box], object] = lambda box: None
) -> tuple[Drawing, Box, dict[str, float]]:
    """The drawing, the box, and the surface in cm2 of each part that has a mesh. Raises InputError.

    meanwhile: called with the box while the picture is decoded.
    """
    from finishplan.paint.box import load_box

    for path in sources.meshes.values():
        check_file(path)
    with sources.naming():
        box = load_box(sources.table, sources.job.paints.own, sources.paints)
    meshes: dict[str, float] = {}
    if sources.meshes:
        from finishplan.scheme.surfaces import mesh_surface_cm2

        meshes = {name: mesh_surface_cm2(path) for name, path in sources.meshes.items()}
    return read_drawing_of(sources, max_megapixels, lambda: meanwhile(box)), box, meshes


def read_drawing_of(
    sources: Sources, max_megapixels: int = 100, meanwhile: Callable[[], object] | None = None
) -> Drawing:
    """The reading alone. meanwhile: called while the picture is decoded. Raises InputError."""
    from finishplan.drawing import read_drawing

    figure, parts_map = sources.job.figure, sources.parts_map
    if parts_map is not None and not os.path.lexists(parts_map):
        raise InputError("no such file", where=str(parts_map), cure="check its name")
    return read_drawing(
        sources.drawing,
        colours=figure.colours,
        paper_white=figure.paper_white,
        parts_map=parts_map,
        max_megapixels=max_megapixels,
        height_mm=figure.height_mm,
        meanwhile=meanwhile,
    )
