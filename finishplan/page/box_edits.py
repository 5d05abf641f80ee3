"""What the page says of the paints: what is owned, what is left, bottles of the maker's own. It ends in the job where
that lists what is owned, else in the box file beside it; the first bottle or stock begins a box file."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishplan.basics.checks import number, shown, text
from finishplan.basics.errors import InputError
from finishplan.job.edit import edit_job
from finishplan.job.job import Job
from finishplan.page.desk import JOB_NAME, Files, job_of
from finishplan.paint.box_edit import NEW_BOX, owning, with_bottle, with_owned, with_stock, without_bottle
from finishplan.paint.finding import find_paint
from finishplan.paint.model import Box

BOX_NAME = "paints{}.toml"
BOTTLE = ("name", "ci", "colour", "tint", "opacity", "ml_left")
_WORDS, _ML = text(80), number(0, 1e5, "ml")
"""As the job's names and the box file's stock are bounded (our rule)."""


@dataclass(frozen=True)
class BoxEdit:
    """One thing said of the paints. what: own, stock, add or remove; value: of it, None for no stock told."""

    what: str
    paint: str
    value: Any = None


def box_edit(said: dict[str, Any]) -> BoxEdit:
    """The edit that was sent: {"own": {id: true}}, {"stock": {id: 12.5}}, {"add": {"name": ...}} or {"remove": id}.
    Raises InputError."""
    if len(said) == 1:
        ((what, value),) = said.items()
        if what == "remove" and isinstance(value, str):
            return BoxEdit(what, value)
        if what == "add" and isinstance(value, dict):
            return BoxEdit(what, "", _bottle(value))
        if what in ("own", "stock") and isinstance(value, dict) and len(value) == 1:
            ((paint, to),) = value.items()
            if what == "stock":
                return BoxEdit(what, paint, None if to is None else _ML(to, "what is left"))
            # true and false alone: 1 and 0 are no ticks.
            if isinstance(to, bool):
                return BoxEdit(what, paint, to)
    raise InputError(f"{shown(said)} says nothing of the paints", where="request", cure="load the page again")


def _bottle(said: dict[str, Any]) -> dict[str, Any]:
    if unknown := said.keys() - set(BOTTLE):
        raise InputError(f"unknown key '{min(unknown)[:40]}'", where="bottle", cure=f"use {', '.join(BOTTLE)}")
    words = {key: _WORDS(said.get(key) or "", key).strip() for key in BOTTLE[:-1]}
    for key, cure in (("name", "write what it says on the bottle"), ("colour", "give it one, as #a0452e")):
        if not words[key]:
            raise InputError(f"the bottle has no {key}", where=f"bottle: {key}", cure=cure)
    left = said.get("ml_left")
    return words | ({} if left is None else {"ml_left": _ML(left, "what is left")})


def edited(files: Files, edit: BoxEdit, box: Box, folder: Path) -> Files:
    """The job and the box file with it. Raises InputError."""
    job = job_of(files.job, folder)
    # Without a box file the job's own list is where ticks go: no file is begun for them.
    if edit.what == "own" and files.box is None:
        return files._replace(job=_owned_in_job(files.job, job, edit, box))
    name, said = files.box or (_free_name(folder), NEW_BOX)
    job_text = files.job if files.box else edit_job(files.job, {"paints.file": name}, JOB_NAME)
    if edit.what == "own":
        # The job's list goes before the file's, and would else contradict the tick.
        if job.paints.own is not None:
            job_text = _owned_in_job(job_text, job, edit, box)
        said = with_owned(said, box.table, edit.paint, edit.value)
    elif job.paints.own is None:
        # A box file that is begun lists what was owned so far, so that nothing else changes by it.
        said = owning(said, _owned(box)) if files.box is None else said
    if edit.what == "stock":
        said = with_stock(said, box.table, edit.paint, edit.value)
    elif edit.what == "add":
        said = with_bottle(said, edit.value)
    elif edit.what == "remove":
        said = without_bottle(said, box.table, edit.paint)
    return Files(job_text, (name, said))


def _owned(box: Box) -> tuple[str, ...]:
    """The ids of the table's paints in a box."""
    table = {p.id for p in box.table.paints}
    return tuple(p.id for p in box.paints if p.id in table)


def _owned_in_job(job_text: str, job: Job, edit: BoxEdit, box: Box) -> str:
    """The job's text with a paint in its list of those owned, or not; what is listed keeps its spelling."""
    listed = _owned(box) if job.paints.own is None else job.paints.own
    # What is listed may be spelt by name or by id: compared by which paint that is.
    left = tuple(name for name in listed if find_paint(box.table, name).id != edit.paint)
    return edit_job(job_text, {"paints.own": [*left, edit.paint] if edit.value else left}, JOB_NAME)


def _free_name(folder: Path) -> str:
    names = (BOX_NAME.format(f"-{k}" if k else "") for k in range(1000))
    return next(name for name in names if not (folder / name).exists())
