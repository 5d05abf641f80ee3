"""The job file in the output folder: where it is written, what is said of it, and the files that go with it."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from finishplan.basics.text_files import text_of, toml_of
from finishplan.basics.words import counted
from finishplan.cli import outputs
from finishplan.drawing.stored import NAME, kept_bytes
from finishplan.job.edit import edit_job
from finishplan.job.keys import JOB_VERSION
from finishplan.job.offers import accepting, offers
from finishplan.job.read import LONGEST_JOB
from finishplan.job.written import is_edited, written
from finishplan.plan.found import changes_told, found_of
from finishplan.plan.inputs import Reading, Sources


@dataclass(frozen=True)
class Wishes:
    """full: every key in the job file; fresh: a job of the folder is put aside; accept: words of OFFERS."""

    full: bool = False
    fresh: bool = False
    accept: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Laid:
    """files: to be written together; text: of the job file, which is among them unless it stays as it is; said: what to
    tell of it."""

    files: Mapping[Path, bytes | str]
    text: str
    said: tuple[str, ...]


def laid(sources: Sources, reading: Reading, folder: Path, wishes: Wishes) -> Laid:
    """The job file for a folder, the copies of what it names, and what is kept of the reading. Raises InputError."""
    job, copies = outputs.packed_job(sources, folder, reading.picture_before)
    base = None if sources.job_file is None else text_of(sources.job_file, LONGEST_JOB, "a job file (TOML)")
    target, aside, said = _place(folder, sources.job_file, wishes)
    # The job that was run and the one to be written are one file: edited in place, its own lines kept.
    own = base is not None and sources.job_file is not None and _is_same(sources.job_file, target)
    text = written(job, found_of(reading, job), base, full=wishes.full, in_place=own)
    offered = offers(reading.drawing, job) if wishes.accept else {}
    if taken := accepting(wishes.accept, offered):
        text = edit_job(text, taken, job.file)
    files: dict[Path, bytes | str] = {**outputs.copied(folder, copies), folder / NAME: kept_bytes(reading.kept)}
    if aside is not None:
        # Put aside with the same stroke that writes the new one: at no time is the maker's file nowhere.
        files[aside] = (folder / "job.toml").read_bytes()
    # A file that stays as it is keeps its date.
    if not own or text != base:
        files[target] = text
    told = [*sources.said, *changes_told(reading, job), *said]
    # Flags change no picture; what is paper does, and areas.png was drawn before it was said.
    if "gaps" in wishes.accept and offered.get("gaps"):
        told.append("The gaps are left out from the next command on; this picture still shows them.")
    if own and base is not None and is_edited(base) and text != base:
        told.append(
            f"{target.name}: {counted(_lines(base, text), 'line')} brought up to date; the rest is as you wrote it."
        )
    there = {} if base is None or own else toml_of(base, job.file)
    if there.get("areas") and there.get("version", 1) < JOB_VERSION:
        told.append(
            f"{job.file} tells its areas by number alone; {target.name} has them by name and place, for redraws."
        )
    return Laid(files, text, tuple(told))


def _place(folder: Path, running: Path | None, wishes: Wishes) -> tuple[Path, Path | None, tuple[str, ...]]:
    """Where to write the job file: job.toml, or a file beside the one there that its maker edited; where to put that
    one for a fresh start; what to say."""
    target = folder / "job.toml"
    if not target.is_file() or (running is not None and _is_same(running, target)) or not _is_edited(target):
        return target, None, ()
    if wishes.fresh:
        aside = _free(folder, "job-old")
        return target, aside, (f"job.toml starts over; the one you edited is {aside.name}.",)
    beside = _free(folder, "job-new")
    return beside, None, (f"job.toml was edited and is left as it is; the new one is {beside.name}.",)


def _free(folder: Path, stem: str) -> Path:
    """A name that is free, or of a file that nobody edited."""
    # One that nobody edited may give way; the maker's stay, so that each fresh start keeps the one before.
    names = (folder / f"{stem}{'' if no == 1 else f'-{no}'}.toml" for no in range(1, 10_000))
    return next(p for p in names if not p.is_file() or not _is_edited(p))


def _is_edited(path: Path) -> bool:
    try:
        return is_edited(path.read_text(encoding="utf-8"))
    # What cannot be read as text was not written here: it is the maker's, and is put aside like any other.
    except (OSError, UnicodeDecodeError):
        return True


def _is_same(one: Path, other: Path) -> bool:
    return one.exists() and other.exists() and one.samefile(other)


def _lines(old: str, new: str) -> int:
    return sum(line.startswith("+ ") for line in difflib.ndiff(old.splitlines(), new.splitlines()))
