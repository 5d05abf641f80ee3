"""One maker's folder: the drawing, the job file and its history. The job file is the only state that lasts.

Every edit is checked, written whole or not at all, and gives a new revision. A job file that was changed by hand
between two requests is taken as it is, as an edit of its own.
"""

import os
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from finishplan.basics.errors import InputError
from finishplan.basics.files import drop, inside, new_beside, write_together, write_whole
from finishplan.basics.text_files import text_of, toml_of
from finishplan.job.edit import edit_job
from finishplan.job.job import Job
from finishplan.job.read import LONGEST_JOB, parse_job

JOB_NAME = "job.toml"


def new_job(drawing: str, name: str = "") -> str:
    """The job of a figure of which only the picture is known, and what its maker calls it."""
    return edit_job("[figure]\n", {"figure.drawing": drawing} | ({"figure.name": name} if name else {}))


@lru_cache(maxsize=8)
def job_of(text: str, folder: Path) -> Job:
    """The job of a text, as `parse_job`; those of the last few texts are kept. Raises InputError."""
    return parse_job(text, folder, JOB_NAME)


class Files(NamedTuple):
    """The texts that an edit may change. box: name and text of the box file that the job names."""

    job: str
    box: tuple[str, str] | None = None


class Behind(Exception):
    """An edit that was made on an older revision: nothing was written."""


@dataclass(frozen=True)
class State:
    """What is on the desk. revision: counts up with every change of the job; can_undo, can_redo: whether there is a
    step."""

    revision: int
    text: str
    can_undo: bool
    can_redo: bool


class Desk:
    """The job file of one folder, with undo and redo. Safe to call from several threads."""

    def __init__(self, folder: Path, drawing: str) -> None:
        """folder: where all is read and written; drawing: the picture's file name in it. Raises InputError."""
        self.folder, self._drawing = folder, drawing
        self.check: Callable[[Job], None] = lambda job: None
        self.check_box: Callable[[Job, Path], None] = lambda job, box: None
        # Reentrant: an edit asks for the state, which takes the lock too.
        self._lock = threading.RLock()
        self._revision = 1
        self._undo: list[Files] = []
        self._redo: list[Files] = []
        self._named: tuple[str, str] = ("", "")
        if not self.file.exists():
            write_whole(self.file, new_job(drawing))
        self._files = self._read()

    def place(self, name: str) -> Path:
        """Where a file of the folder lies. Raises InputError for one that a link leads out of it."""
        inside(self.folder, name, where=str(self.folder / name))
        return self.folder / name

    @property
    def file(self) -> Path:
        """The job file. Raises InputError for one that a link leads out of the folder."""
        return self.place(JOB_NAME)

    @property
    def picture(self) -> Path:
        """The drawing that the job names. Raises InputError for one that is not in the folder."""
        try:
            name = job_of(self._files.job, self.folder).figure.drawing or self._drawing
        except InputError:  # the job was spoilt by hand: the picture of before is shown beside what is wrong
            name = self._drawing
        found = inside(self.folder, name, where=f"{JOB_NAME}: figure.drawing")
        self._drawing = name
        return found

    def state(self) -> State:
        """The job as it stands, changes by hand taken in. Raises InputError where the file no longer can be read."""
        with self._lock:
            found = self._read()
            if found != self._files:
                self._push(found)
            return State(self._revision, self._files.job, bool(self._undo), bool(self._redo))

    def edit(self, edits: Mapping[str, Any], revision: int) -> State:
        """Set these keys, as `finishplan set` does. Raises Behind where `revision` is not the newest, and InputError,
        with nothing written, for what will not do."""
        return self._changed(revision, lambda files: self._with_box(edit_job(files.job, edits, file=JOB_NAME)))

    def edit_files(self, change: Callable[[Files], Files], revision: int) -> State:
        """Change job and box file together. Raises as `edit`."""
        return self._changed(revision, change)

    def replace(self, text: str, revision: int) -> State:
        """Put another text in the file's place. Raises Behind and InputError."""
        return self._changed(revision, lambda _: self._with_box(text))

    def bring_up_to_date(self, old: str, new: str) -> None:
        """Put what a reading found of the areas into the file: it says the same as before, so it is no step to undo.
        Nothing is done where the job is another by now."""
        with self._lock:
            # The file is looked at again: between reading and now a hand or another edit may have changed it.
            if new != old and self._read() == self._files and self._files.job == old:
                write_whole(self.file, new)
                self._files = self._files._replace(job=new)

    def renewed(self) -> State:
        """The state under a new revision: what the plan hangs on beside job and box has changed."""
        with self._lock:
            self._revision = self.state().revision + 1
            return self.state()

    def undo(self, revision: int) -> State:
        """Take the last change back. Raises Behind; InputError where there is none."""
        with self._lock:
            self._check(revision)
            return self._step(self._undo, self._redo, "nothing to undo")

    def redo(self, revision: int) -> State:
        """Make the last change again. Raises Behind; InputError where there is none."""
        with self._lock:
            self._check(revision)
            return self._step(self._redo, self._undo, "nothing to redo")

    def _changed(self, revision: int, change: Callable[[Files], Files]) -> State:
        with self._lock:
            self._check(revision)
            files = change(self._files)
            job = job_of(files.job, self.folder)
            # A box file that changes is judged from a trial copy, one that stays together with the job.
            if files.box is not None and files.box != self._files.box:
                self._try_box(job, *files.box)
            else:
                self.check(job)
            if files != self._files:
                self._write(files)
                self._push(files)
            return self.state()

    def _try_box(self, job: Job, name: str, text: str) -> None:
        """Read a box file before it takes its place. Raises InputError, which names it as it will be called."""
        # Beside its place: the table and the measurements that it names are looked for from there.
        handle, new = new_beside(inside(self.folder, name, where=f"{JOB_NAME}: paints.file"))
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                out.write(text)
            self.check_box(job, Path(new))
        except InputError as error:
            what, where, cure = (part.replace(new, name) for part in (error.what, error.where, error.cure))
            raise InputError(what, where=where, cure=cure) from error
        finally:
            drop(new)

    def _write(self, files: Files) -> None:
        """What differs from what lies there, whole or not at all."""
        wanted: dict[Path, bytes | str] = {self.file: files.job}
        if files.box is not None and files.box != self._files.box:
            wanted[inside(self.folder, files.box[0], where=f"{JOB_NAME}: paints.file")] = files.box[1]
        write_together(wanted)

    def _check(self, revision: int) -> None:
        if revision != self.state().revision:
            raise Behind

    def _step(self, source: list[Files], target: list[Files], none: str) -> State:
        if not source:
            raise InputError(none, where=JOB_NAME)
        # Taken off the list only once it is written: a full disk must not cost the step.
        files = source[-1]
        self._write(files)
        target.append(self._files)
        source.pop()
        self._files, self._revision = self._with_box(files.job), self._revision + 1
        return self.state()

    def _push(self, files: Files) -> None:
        self._undo.append(self._files)
        self._redo.clear()
        self._files, self._revision = files, self._revision + 1

    def _read(self) -> Files:
        return self._with_box(text_of(self.file, LONGEST_JOB, "a job file (TOML)"))

    def _with_box(self, job: str) -> Files:
        """A job's text with the box file that it names, as it lies there."""
        # Parsing takes longer than all else of looking at a file, and most looks find the same text.
        if self._named[0] != job:
            self._named = job, _box_name(job)
        name = self._named[1]
        try:
            path = inside(self.folder, name, where=f"{JOB_NAME}: paints.file") if name else None
            said = text_of(path, LONGEST_JOB, "a box file (TOML)") if path is not None else ""
        except InputError:  # told where the paints are read
            return Files(job)
        return Files(job, (name, said) if name else None)


def _box_name(job: str) -> str:
    """The box file that a job names, '' for none and for a text that is no job."""
    try:
        name = toml_of(job, JOB_NAME).get("paints", {}).get("file", "")
    except (InputError, AttributeError):
        return ""
    return name if isinstance(name, str) else ""
