"""The bench: the folder that the page works in, the figure that lies on it, and those that may be opened again."""

import os
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.basics.files import inside, printable, write_whole
from finishplan.basics.text_files import text_of
from finishplan.job.read import LONGEST_JOB, load_job
from finishplan.page.desk import JOB_NAME, Desk, State, new_job
from finishplan.page.planning import Planning

MOST_RECENT = 30
TYPES = {"PNG": ".png", "JPEG": ".jpg", "TIFF": ".tif", "WEBP": ".webp", "GIF": ".gif", "BMP": ".bmp"}


class Bench:
    """A folder with figures, each in a folder of its own or in this one, and the one that is worked on.

    heard: called with a stage's name when a result of it is new, from another thread.
    """

    def __init__(self, folder: Path, heard: Callable[[str], None], *, max_megapixels: int = 100) -> None:
        self.folder, self.max_megapixels = folder.resolve(), max_megapixels
        self._heard = heard
        self._lock = threading.Lock()
        self.desk: Desk | None = None
        self.planning: Planning | None = None

    @property
    def laid(self) -> Desk:
        """The desk of the figure on the bench. Raises InputError where there is none."""
        if self.desk is None:
            raise InputError("no figure is open", cure="choose a drawing first")
        return self.desk

    @property
    def planned(self) -> Planning:
        """The planning of the figure on the bench. Raises InputError where there is none."""
        if self.planning is None:
            raise InputError("no figure is open", cure="choose a drawing first")
        return self.planning

    def taken_in(self) -> State:
        """The state, and planning asked for where the job was changed by hand. Raises InputError."""
        found = self.laid.state()
        newest = max((r.revision for r in self.planned.results.values()), default=0)
        # Who edits the job file by hand tells nobody: it is noticed when the page next asks for the state.
        if found.revision > newest:
            self.planned.ask(found)
        return found

    def open_folder(self, folder: Path) -> None:
        """Lay the figure of that folder, which has a job file, on the bench. Raises InputError."""
        job = load_job(folder / JOB_NAME)
        if not job.figure.drawing:
            raise InputError(
                "names no drawing",
                where=f"{folder / JOB_NAME}: figure.drawing",
                cure='write drawing = "my-drawing.png", beside this file',
            )
        # A job from elsewhere may name any file: only what lies in the figure's own folder is read and served.
        inside(folder, job.figure.drawing, where=f"{folder / JOB_NAME}: figure.drawing")
        self._lay(Desk(folder, job.figure.drawing))

    def open_drawing(self, drawing: Path, folder: Path) -> None:
        """Work on a drawing in `folder`, where a copy of it is kept; a job that lies there is taken. Raises
        InputError."""
        if (folder / JOB_NAME).exists():
            self.open_folder(folder)
            return
        # Decoded before a folder is made: what is no drawing leaves nothing behind.
        _ending(drawing, self.max_megapixels)
        folder.mkdir(parents=True, exist_ok=True)
        kept = folder / f"drawing{drawing.suffix.lower()}"
        for name in (JOB_NAME, kept.name):
            inside(folder, name, where=str(folder / name))
        # A file cannot be copied onto itself.
        if drawing.resolve() != kept.resolve():
            shutil.copyfile(drawing, kept)
        beside = drawing.with_suffix(".toml")
        # A job that lies beside the drawing, of the same name, goes with it, as on the command line.
        if beside.is_file():
            from finishplan.job.edit import edit_job

            text = edit_job(
                text_of(beside, LONGEST_JOB, "a job file (TOML)"), {"figure.drawing": kept.name}, str(beside)
            )
        else:
            text = new_job(kept.name, printable(drawing.stem)[:80])
        write_whole(folder / JOB_NAME, text)
        self._lay(Desk(folder, kept.name))

    def take_in(self, picture: Path, name: str = "") -> None:
        """Begin a new figure with a picture that was sent: it gets a folder of its own. name: what its maker calls it.
        Raises InputError."""
        drawing = f"drawing{_ending(picture, self.max_megapixels)}"
        text = new_job(drawing, name)
        number = 1
        while (folder := self.folder / f"figure-{number}").exists():
            number += 1
        folder.mkdir(parents=True)
        try:
            os.replace(picture, folder / drawing)  # noqa: PTH105  in one step
            write_whole(folder / JOB_NAME, text)
        except (InputError, OSError):
            shutil.rmtree(folder, ignore_errors=True)
            raise
        self._lay(Desk(folder, drawing))

    def redraw(self, picture: Path) -> None:
        """Put another drawing in the place of the figure's: the job and its corrections stay. Raises InputError."""
        desk = self.laid
        ending = _ending(picture, self.max_megapixels)
        number = 2
        while (target := desk.folder / f"drawing-{number}{ending}").exists():
            number += 1
        os.replace(picture, target)  # noqa: PTH105  in one step
        try:
            # The picture lies there first, so that the job never names one that is missing.
            state = desk.edit({"figure.drawing": target.name}, desk.state().revision)
        except (InputError, OSError):
            # Refused: the drawing of before is still the job's, and this one nobody's.
            target.unlink(missing_ok=True)
            raise
        if self.planning is not None:
            self.planning.ask(state)

    def put_away(self) -> None:
        """Take the figure off the bench: its folder stays, and what is being computed of it is dropped."""
        with self._lock:
            self.close()
            self.desk = self.planning = None

    def recent(self) -> list[dict[str, str]]:
        """Figures that may be opened: name and folder's name, newest first. What a link leads elsewhere is none."""
        there = (p for p in self.folder.glob(f"*/{JOB_NAME}") if p.is_file())
        found = [p.parent for p in there if p.resolve().is_relative_to(self.folder)]
        found.sort(key=lambda p: (p / JOB_NAME).stat().st_mtime, reverse=True)
        return [{"id": p.name, "name": _name(p)} for p in found[:MOST_RECENT]]

    def open_recent(self, id: str) -> None:
        """Open one of `recent` by its id. Raises InputError for any other name."""
        if id not in [one["id"] for one in self.recent()]:
            raise InputError("no such figure", where="recent", cure="choose one of the list")
        self.open_folder(self.folder / id)

    def close(self) -> None:
        """Stop planning."""
        if self.planning is not None:
            self.planning.end()

    def _lay(self, desk: Desk) -> None:
        with self._lock:
            self.close()
            self.desk = desk
            self.planning = Planning(desk, self._heard, max_megapixels=self.max_megapixels)
            self.planning.ask(desk.state())


def _name(folder: Path) -> str:
    try:
        return load_job(folder / JOB_NAME).figure.name or folder.name
    except InputError:
        return folder.name


def _ending(picture: Path, max_megapixels: int) -> str:
    """The ending for what a picture really is, whatever it was called. Raises InputError for what is no drawing."""
    from PIL import Image

    from finishplan.drawing.load import decoding, load

    load(picture, max_megapixels)
    with picture.open("rb") as file:
        # By its content, as all others: an OpenRaster file is a ZIP archive.
        if file.read(2) == b"PK":
            return ".ora"
    with decoding(picture, max_megapixels), Image.open(picture, formats=tuple(TYPES)) as image:
        return TYPES[str(image.format)]
