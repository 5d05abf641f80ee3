"""The output folder: every file whole or not at all, the maker's edits never overwritten, one writer at a time."""

import hashlib
import io
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.errors import InputError
from finishplan.files import printable
from finishplan.inputs import Sources
from finishplan.job import Job, PartJob, parse_job
from finishplan.job_text import edited

if TYPE_CHECKING:
    from PIL import Image


def packed_job(sources: Sources, folder: Path) -> tuple[Job, dict[str, Path]]:
    """The job with every path renamed to a copy beside it in `folder`, and the copies to make: name -> source.

    A file there of that name with other bytes may be the maker's, edited: it stays, and the copy gets a number.
    Raises InputError where such a file has a name that the box file gives.
    """
    copies: dict[str, Path] = {}

    def copy(stem: str, path: Path | None) -> str:
        if path is None:
            return ""
        kind = printable(path.suffix.lower()).replace("?", "")
        names = (f"{stem}{'' if no == 1 else f'-{no}'}{kind}" for no in range(1, 10_000))
        name = next(n for n in names if _free_for(folder / n, path))
        copies[name] = path
        return name

    job = sources.job
    table = copy("colour-table", sources.table)
    if sources.table is not None and sources.table.with_suffix(".toml").is_file():
        copies["colour-table.toml"] = sources.table.with_suffix(".toml")
    for name, path in _named_in_box(sources.paints).items() if sources.paints is not None else ():
        if not _free_for(folder / name, path):
            raise InputError(
                "a file of the box is there with other bytes", where=str(folder / name), cure="choose --out"
            )
        copies[name] = path
    parts = dict(job.parts)
    for no, (name, path) in enumerate(sources.meshes.items(), 1):
        parts[name] = replace(parts.get(name, PartJob()), mesh=copy(f"mesh-{no}", path))
    figure = replace(
        job.figure, drawing=copy("drawing", sources.drawing), parts_map=copy("parts-map", sources.parts_map)
    )
    paints = replace(job.paints, file=copy("paints", sources.paints), table=table)
    return replace(job, figure=figure, paints=paints, parts=parts), copies


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
    if not target.exists() or target.samefile(source):
        return True
    return target.is_file() and target.read_bytes() == source.read_bytes()


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Make the folder and hold it against a second run. Raises InputError when it cannot be had."""
    from filelock import FileLock, Timeout

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"cannot make the folder: {error.strerror}", where=str(folder), cure="choose another with --out"
        ) from error
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
    except PermissionError as error:
        where = str(error.filename or folder)
        raise InputError(f"cannot use it: {error.strerror}", where=where, cure="choose another with --out") from error
    finally:
        lock.release()


def copied(folder: Path, copies: dict[str, Path]) -> dict[Path, bytes]:
    """The inputs to write beside the job file, their folders made; what is there already has the same bytes."""
    missing = {folder / name: source for name, source in copies.items() if not (folder / name).exists()}
    files = {target: source.read_bytes() for target, source in missing.items()}
    for target in files:
        target.parent.mkdir(parents=True, exist_ok=True)
    return files


def png(picture: "Image.Image") -> bytes:
    """The picture as PNG."""
    data = io.BytesIO()
    picture.save(data, "PNG", compress_level=3)  # half the time of the usual 6, a fifth larger
    return data.getvalue()


def place_of_job(folder: Path, text: str, running: Path | None) -> tuple[Path | None, str]:
    """Where to write the job file: job.toml, or, where the maker edited it, a file beside it; and what to say.

    None where the maker's own says the same. running: the job file that the plan is made from.
    """
    target = folder / "job.toml"
    for no in range(1, 1000):
        if not target.is_file():  # what else may stand there is refused where all is written
            break
        try:
            there = target.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            there = ""
        if there == text or not edited(there):
            break
        own = running is not None and running.exists() and running.samefile(target)
        if own and _same_job(there, text):
            return None, f"{target.name} is yours, edited, and already asks for this very plan: it is left as it is."
        target = folder / f"job-new{'' if no == 1 else f'-{no}'}.toml"
    said = (
        "" if target.name == "job.toml" else f"job.toml was edited and is left as it is; the new one is {target.name}."
    )
    return target, said


def _same_job(one: str, other: str) -> bool:
    """Whether two job files ask for the same, as far as both speak."""
    try:
        return parse_job(one) == parse_job(other)
    except InputError:
        return False
