"""The output folder: every file whole or not at all, the maker's edits never overwritten, one writer at a time."""

import hashlib
import io
import os
import re
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.errors import InputError
from finishplan.basics.files import printable
from finishplan.drawing.stored import digest
from finishplan.job.job import Job, PartJob
from finishplan.plan.inputs import Sources
from finishplan.sheets import SOFTWARE

if TYPE_CHECKING:
    from PIL import Image

    from finishplan.drawing.model import Drawing
    from finishplan.scheme.model import Scheme

_PLAN = re.compile(rb"/Keywords \(plan [0-9a-f]{16}\)")
"""Where sheets say which plan they belong to (PDF 1.7, 14.3.3)."""


def folder_for(sources: Sources, out: Path | None, what: str) -> Path:
    """Where to write: --out, else the folder of a job.toml, else one named after the drawing and what is made."""
    if out is not None:
        return out
    # job.toml, job-new.toml: a folder of ours is planned again into itself.
    if sources.job_file is not None and sources.job_file.name.startswith("job"):
        return sources.job_file.parent
    return Path(f"{sources.drawing.stem}-{what}")


def packed_job(sources: Sources, folder: Path, ours: str = "") -> tuple[Job, dict[str, Path]]:
    """The job with every path renamed to a copy beside it in `folder`, and the copies to make: name -> source.

    A file there of that name with other bytes may be the maker's, edited: it stays, and the copy gets a number. ours:
    hash of the drawing read before, whose copy gives way to the one read now.
    Raises InputError where such a file has a name that the box file gives.
    """
    job, packed = sources.job, _Packed(folder)
    table = packed.copy("colour-table", sources.table)
    if sources.table is not None and sources.table.with_suffix(".toml").is_file():
        packed.copies["colour-table.toml"] = sources.table.with_suffix(".toml")
    # A box names its files by itself, so their copies keep the names, or the copy of the box would lead nowhere.
    packed.keep_names(_named_in_box(sources.paints) if sources.paints is not None else {})
    parts = dict(job.parts)
    for no, (name, path) in enumerate(sources.meshes.items(), 1):
        parts[name] = replace(parts.get(name, PartJob()), mesh=packed.copy(f"mesh-{no}", path))
    drawing = packed.copy("drawing", sources.drawing, ours)
    said = printable(sources.drawing.name)
    named = job.figure.name or said == drawing  # a copy's own name tells nothing of the figure
    name = job.figure.name if named else Path(said).stem.strip()[:120]
    parts_map = packed.copy("parts-map", sources.parts_map)
    figure = replace(job.figure, name=name, drawing=drawing, parts_map=parts_map)
    book = packed.copy("mixes", sources.book) if job.paints.book or "paints.book" in sources.options else ""
    paints = replace(job.paints, file=packed.copy("paints", sources.paints), table=table, book=book)
    return replace(job, figure=figure, paints=paints, parts=parts), packed.copies


@dataclass(frozen=True, eq=False)
class _Packed:
    """The copies to make in a folder: name -> source."""

    folder: Path
    copies: dict[str, Path] = field(default_factory=dict)

    def copy(self, stem: str, path: Path | None, ours: str = "") -> str:
        """The name of the copy, '' of no file: the first that is free for it, or whose file has the hash `ours`."""
        if path is None:
            return ""
        # What a file is, is told by its ending: the copy keeps it.
        kind = printable(path.suffix.lower()).replace("?", "")
        first = self.folder / f"{stem}{kind}"
        names = (f"{stem}{'' if no == 1 else f'-{no}'}{kind}" for no in range(1, 10_000))
        # Our own copy of the drawing before; with other bytes it is one that the maker drew on.
        gives_way = bool(ours) and first.is_file() and digest(first) == ours
        name = first.name if gives_way else next(n for n in names if _free_for(self.folder / n, path))
        self.copies[name] = path
        return name

    def keep_names(self, files: Mapping[str, Path]) -> None:
        """Copies under the files' own names. Raises InputError where one is taken."""
        for name, path in files.items():
            if not _free_for(self.folder / name, path):
                what = "a file of the box is there with other bytes"
                raise InputError(what, where=str(self.folder / name), cure="choose --out")
            self.copies[name] = path


def _named_in_box(box: Path) -> dict[str, Path]:
    """The files that a box file names: a table with its metadata, measured paints. They keep their names."""
    from finishplan.paint.table import read_toml

    data = read_toml(box)
    names = [data.get("table"), *(paint.get("measured") for paint in data.get("paint", []))]
    paths = {name: box.parent / name for name in names if name is not None}
    table = data.get("table")
    if table is not None and (metadata := paths[table].with_suffix(".toml")).is_file():
        paths[str(Path(table).with_suffix(".toml"))] = metadata
    return paths


def _free_for(target: Path, source: Path) -> bool:
    """Whether `target` is not there, or is the same file, or holds the same bytes."""
    return not target.exists() or _same(target, source)


def _same(target: Path, source: Path) -> bool:
    """Whether `target` is the same file, or holds the same bytes."""
    # By the files themselves first: reading a large mesh twice takes time.
    if not target.exists() or target.samefile(source):
        return target.exists()
    return target.is_file() and target.read_bytes() == source.read_bytes()


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Make the folder and hold it against a second run. Raises InputError when it cannot be had."""
    from filelock import FileLock, Timeout

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = str(error.strerror)
        # `exist_ok` lets a folder pass, so what stands there is none.
        if isinstance(error, FileExistsError):
            why = "a link to nothing stands there" if folder.is_symlink() else "a file stands there"
        cure = "choose another with --out"
        raise InputError(f"cannot make the folder: {why}", where=str(folder), cure=cure) from error
    # By the folder's real path, so that a link to it is the same lock; by user, whose lock another may not open.
    key = hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:16]
    user = os.geteuid() if hasattr(os, "geteuid") else 0
    held = Path(tempfile.gettempdir()) / f"finishplan-{user}-{key}.lock"
    lock = FileLock(held)
    try:
        lock.acquire(timeout=0)
    except Timeout as error:
        raise InputError(
            "another finishplan is writing into this folder", where=str(folder), cure="wait for it, or choose --out"
        ) from error
    except OSError as error:
        raise InputError(
            f"cannot hold the folder: {error.strerror}", where=str(held), cure="remove this file"
        ) from error
    try:
        yield
    # Of a read or a folder made inside the block; writing has its own error.
    except PermissionError as error:
        where = str(error.filename or folder)
        raise InputError(f"cannot use it: {error.strerror}", where=where, cure="choose another with --out") from error
    finally:
        lock.release()


def copied(folder: Path, copies: dict[str, Path]) -> dict[Path, bytes]:
    """The inputs to write beside the job file, their folders made; what is there with the same bytes is left."""
    missing = {folder / name: source for name, source in copies.items() if not _same(folder / name, source)}
    files = {target: source.read_bytes() for target, source in missing.items()}
    for target in files:
        target.parent.mkdir(parents=True, exist_ok=True)
    return files


def png(picture: "Image.Image") -> bytes:
    """The picture as PNG."""
    data = io.BytesIO()
    picture.save(data, "PNG", compress_level=3)  # half the time of the usual 6, a fifth larger
    return data.getvalue()


def numbered_png(drawing: "Drawing", scheme: "Scheme | None" = None) -> bytes:
    """The drawing with the numbers of its areas, as PNG. scheme: whose areas a plan paints."""
    from finishplan.sheets.pictures import numbered_drawing

    return png(numbered_drawing(drawing, scheme))


def old_pages(folder: Path, stem: str, sources: Sources) -> list[Path]:
    """The pages 'STEM-NN.png' there that this program made, none of the maker's, none that is read."""
    # Not glob alone: a part's name is in the stem and may hold brackets.
    found = [p for p in folder.glob("*.png") if re.fullmatch(re.escape(stem) + r"-[0-9]{2,}", p.stem) and p.is_file()]
    return [p for p in found if _made_here(p) and not any(p.samefile(i) for i in _inputs(sources))]


def of_plan(pdf: bytes, told: bytes) -> bytes:
    """Sheets that say which plan.json, `told`, they belong to: in their key words, where place was left for it."""
    return _PLAN.sub(_keywords(told), pdf, count=1)


def other_plans_sheets(folder: Path, told: bytes, but: Path, sources: Sources) -> list[str]:
    """The sheets there, but for `but`, that are not of the plan.json `told`, with their pages if there are any."""
    found = []
    # A folder lists its files in any order, and the same folder is to be told in the same words.
    for pdf in sorted(folder.glob("painting-order*.pdf")):
        mark = None
        with suppress(OSError):  # what may not be read is left alone
            mark = _PLAN.search(pdf.read_bytes()) if pdf != but and pdf.is_file() else None
        if mark is not None and mark[0] != _keywords(told):
            pages = old_pages(folder, pdf.stem.replace("painting-order", "page", 1), sources)
            found.append(f"{pdf.name} with its pages" if pages else pdf.name)
    return found


def _keywords(told: bytes) -> bytes:
    return b"/Keywords (plan %s)" % hashlib.sha256(told).hexdigest()[:16].encode()


def _made_here(page: Path) -> bool:
    """Whether a picture says that this program made it: only such pages are ever taken away."""
    from PIL.PngImagePlugin import PngImageFile

    try:
        with PngImageFile(page) as picture:
            return picture.info.get(SOFTWARE[0]) == SOFTWARE[1]
    except (OSError, SyntaxError, ValueError):  # not a PNG, or a broken one
        return False


def _inputs(sources: Sources) -> list[Path]:
    """The files that are there and that a plan is made from, but the job file, which has its own rule."""
    table, box = sources.table, sources.paints
    named = (sources.drawing, sources.parts_map, table, table and table.with_suffix(".toml"), box, sources.book)
    of_box = _named_in_box(box).values() if box is not None else ()
    return [p for p in (*named, *of_box, *sources.meshes.values()) if p is not None and p.exists()]


def spare_inputs(files: Mapping[Path, bytes | str], sources: Sources) -> None:
    """Raises InputError where writing these files would change one that the plan is made from."""
    inputs = _inputs(sources)
    for target, data in files.items():
        raw = data.encode() if isinstance(data, str) else data
        if target.is_file() and any(target.samefile(i) for i in inputs) and target.read_bytes() != raw:
            cure = "choose another folder with --out, or give it another name"
            raise InputError("is read, and would be overwritten by a file of that name", where=str(target), cure=cure)
