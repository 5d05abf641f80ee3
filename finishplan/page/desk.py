"""One maker's folder: the drawing, the job file and its history. The job file is the only state that lasts.

Every edit is checked, written whole or not at all, and gives a new revision. A job file that was changed by hand
between two requests is taken as it is, as an edit of its own.
"""

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishplan.basics.errors import InputError
from finishplan.basics.files import inside, write_whole
from finishplan.basics.text_files import text_of
from finishplan.job.edit import edit_job
from finishplan.job.job import Job
from finishplan.job.read import LONGEST_JOB, parse_job

JOB_NAME = "job.toml"


def new_job(drawing: str, name: str = "") -> str:
    """The job of a figure of which only the picture is known, and what its maker calls it."""
    return edit_job("[figure]\n", {"figure.drawing": drawing} | ({"figure.name": name} if name else {}))


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
        self._lock = threading.RLock()
        self._revision = 1
        self._undo: list[str] = []
        self._redo: list[str] = []
        if not self.file.exists():
            write_whole(self.file, new_job(drawing))
        self._text = self._read()

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
            name = parse_job(self._text, self.folder, JOB_NAME).figure.drawing or self._drawing
        except InputError:  # the job was spoilt by hand: the picture of before is shown beside what is wrong
            name = self._drawing
        found = inside(self.folder, name, where=f"{JOB_NAME}: figure.drawing")
        self._drawing = name
        return found

    def state(self) -> State:
        """The job as it stands, changes by hand taken in. Raises InputError where the file no longer can be read."""
        with self._lock:
            found = self._read()
            if found != self._text:
                self._push(found)
            return State(self._revision, self._text, bool(self._undo), bool(self._redo))

    def edit(self, edits: Mapping[str, Any], revision: int) -> State:
        """Set these keys, as `finishplan set` does. Raises Behind where `revision` is not the newest, and InputError,
        with nothing written, for what will not do."""
        return self._changed(revision, lambda text: edit_job(text, edits, file=JOB_NAME))

    def replace(self, text: str, revision: int) -> State:
        """Put another text in the file's place. Raises Behind and InputError."""
        return self._changed(revision, lambda _: text)

    def bring_up_to_date(self, old: str, new: str) -> None:
        """Put what a reading found of the areas into the file: it says the same as before, so it is no step to undo.
        Nothing is done where the job is another by now."""
        with self._lock:
            if new != old and self._read() == self._text == old:
                write_whole(self.file, new)
                self._text = new

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

    def _changed(self, revision: int, change: Any) -> State:
        with self._lock:
            self._check(revision)
            text = change(self._text)
            job = parse_job(text, self.folder, JOB_NAME)
            self.check(job)
            if text != self._text:
                write_whole(self.file, text)
                self._push(text)
            return self.state()

    def _check(self, revision: int) -> None:
        if revision != self.state().revision:
            raise Behind

    def _step(self, source: list[str], target: list[str], none: str) -> State:
        if not source:
            raise InputError(none, where=JOB_NAME)
        text = source[-1]
        write_whole(self.file, text)
        target.append(self._text)
        source.pop()
        self._text, self._revision = text, self._revision + 1
        return self.state()

    def _push(self, text: str) -> None:
        self._undo.append(self._text)
        self._redo.clear()
        self._text, self._revision = text, self._revision + 1

    def _read(self) -> str:
        return text_of(self.file, LONGEST_JOB, "a job file (TOML)")
