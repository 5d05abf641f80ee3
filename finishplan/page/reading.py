"""Looking at the picture, the paints and the meshes of a job, again only where what they hang on has changed."""

import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from finishplan.basics.files import write_whole
from finishplan.drawing.stored import NAME, kept_bytes
from finishplan.job.job import Job
from finishplan.job.written import written
from finishplan.page.borders import area_paths, edge_paths
from finishplan.page.desk import Desk, job_of, new_job
from finishplan.paint.box import load_box
from finishplan.plan.found import changes_told, found_of
from finishplan.plan.inputs import Reading, Sources, book_of, reading_of, reading_settings, sources_of
from finishplan.plan.plan import Materials
from finishplan.plan.settings import brush_coat_um
from finishplan.scheme.build import build_scheme
from finishplan.scheme.reread import reread


@dataclass(frozen=True, eq=False)
class Looked:
    """What was seen. paths: of the areas' outlines, edge_paths: of where two meet; said: what changed since the drawing
    before; book: the mix book, where there is one."""

    materials: Materials
    paths: dict[int, str]
    edge_paths: dict[tuple[int, int], str]
    said: tuple[str, ...] = ()
    book: Path | None = None


class Look:
    """The last look at the picture and the paints of one desk."""

    def __init__(self, desk: Desk, max_megapixels: int = 100) -> None:
        self.last: Looked | None = None
        self._desk, self._most = desk, max_megapixels
        self._lock = threading.Lock()
        self._reading: Reading | None = None
        self._keys: tuple[Any, Any] = (None, None)

    def at(self, text: str) -> tuple[Job, Looked]:
        """The job, brought up to date with what was found, and what was seen for it. Raises InputError."""
        job = job_of(text, self._desk.folder)
        sources = _sources(job, self._desk)
        keys = _reading_key(sources), _paints_key(sources)
        last = self.last
        if last is None or keys[0] != self._keys[0]:
            reading = reading_of(sources, self._most)
            with self._lock:
                self._reading = reading
            job = self._up_to_date(text, job, reading)
            said = changes_told(reading, job)
            materials = Materials(reading.drawing, **_paints(sources))
            last = Looked(materials, area_paths(reading.drawing), edge_paths(reading.drawing), said, sources.book)
            # The places just written into the job are in the key too: else the next look would read all again.
            keys = _reading_key(replace(sources, job=job)), keys[1]
        elif keys[1] != self._keys[1]:
            last = replace(last, materials=replace(last.materials, **_paints(sources)), book=sources.book)
        self.last, self._keys = last, keys
        return job, last

    def check(self, job: Job) -> None:
        """Refuse at once what the next reading would refuse. Raises InputError."""
        with self._lock:
            reading, last = self._reading, self.last
        # Nothing is read yet: the first reading itself will say what is wrong.
        if reading is None or last is None:
            return
        sources = _sources(job, self._desk)
        drawing = last.materials.drawing
        if _reading_key(sources) != self._keys[0]:
            # A drawing that is not there is told by the reading, beside the last one that was.
            if job.figure.drawing and not (self._desk.folder / job.figure.drawing).is_file():
                return
            # From what is kept of the picture: corrections are tried without decoding it again.
            drawing = reread(reading.kept.drawing, job, reading.kept.small, same_picture=True).drawing
        build_scheme(drawing, job, last.materials.meshes)
        if _paints_key(sources) != self._keys[1]:
            _paints(sources)

    def check_box(self, job: Job, box: Path) -> None:
        """Refuse a box file that cannot be used, before it takes the place of the job's. Raises InputError."""
        _paints(replace(_sources(job, self._desk), paints=box))

    def _up_to_date(self, text: str, job: Job, reading: Reading) -> Job:
        """The job with the place of every area, for redraws; the file, and what is kept of the reading, are written."""
        # An untouched job is written whole, in order; one that its maker has seen is edited in place.
        first = text == new_job(job.figure.drawing, job.figure.name)
        new = written(job, found_of(reading, job), None if first else text, in_place=not first)
        write_whole(self._desk.place(NAME), kept_bytes(reading.kept))
        self._desk.bring_up_to_date(text, new)
        return job_of(new, self._desk.folder)


def _sources(job: Job, desk: Desk) -> Sources:
    """Where the job's files lie. Raises InputError for one that leads out of its folder."""
    return sources_of(job, desk.file, desk.picture)


def _paints(sources: Sources) -> dict[str, Any]:
    """The box, the surface in cm2 of each part that has a mesh, and the mix book. Raises InputError."""
    from finishplan.scheme.surfaces import mesh_surface_cm2

    with sources.naming():
        box = load_box(sources.table, sources.job.paints.own, sources.paints, coat_um=brush_coat_um(sources.job))
        meshes = {name: mesh_surface_cm2(path) for name, path in sources.meshes.items()}
    return {"box": box, "meshes": meshes, "book": book_of(sources, box)}


def _stamps(*paths: Path | None) -> tuple[Any, ...]:
    """The files as they lie there."""
    # Time and size stand for the content: this is asked with every edit.
    there = (p for p in paths if p is not None and p.exists())
    return tuple((str(p), (s := p.stat()).st_mtime_ns, s.st_size) for p in there)


def _reading_key(sources: Sources) -> Any:
    """All that the drawing hangs on: the pictures, how they are to be read, and the maker's corrections."""
    job = sources.job
    told = tuple(
        (id, a.at, a.colour, a.size, a.swallow, a.join, a.paper, a.line, "bare" in a.flags, a.part)
        for id, a in job.areas.items()
        # Of areas that nobody corrected nothing is in the key: names and colours aimed at must not read the picture
        # anew.
        if (a.at, a.swallow, a.join, a.part) != (None, None, None, "") or a.paper or a.line or "bare" in a.flags
    )
    parts = tuple((name, part.areas, part.within) for name, part in job.parts.items())
    return _stamps(sources.drawing, sources.parts_map), reading_settings(sources), told, parts, job.cuts


def _paints_key(sources: Sources) -> Any:
    """All that the box, the book and the meshes hang on."""
    job = sources.job
    files = _stamps(sources.paints, sources.table, sources.book, *sources.meshes.values())
    return files, tuple(sources.meshes), job.paints.own, job.method.coat_um, job.paints.kind
