"""The sheets as they will print, as pictures, and the files to save."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import write_together
from finishplan.page.bench import Bench
from finishplan.sheets import DETAILS

if TYPE_CHECKING:
    from finishplan.plan.plan import Plan

SCREEN_DPI = 110.0
FILES = {
    "painting-order.pdf": "application/pdf",
    "plan.json": "application/json",
    "job.toml": "application/toml",
    "run.csv": "text/csv",
    "run.ics": "text/calendar",
}


@dataclass(frozen=True)
class Saved:
    """One file to save."""

    data: bytes
    kind: str
    name: str

    @property
    def headers(self) -> dict[str, str]:
        """So that a browser saves it (RFC 6266)."""
        return {"content-disposition": f'attachment; filename="{self.name}"'}


class Printing:
    """The last sheets made for a bench."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._making = threading.RLock()
        self._wishes: dict[str, Any] = {}
        self._printed: tuple[int, Plan] | None = None
        self._pdf = b""
        self._pages: list[bytes] = []

    def make(self, wishes: dict[str, Any]) -> dict[str, Any]:
        """Print the searched plan: paper, grey, detail, part; writes the PDF into the folder. Raises InputError."""
        from finishplan.plan.plan_json import plan_json_text
        from finishplan.sheets import pages_as_png
        from finishplan.sheets.book import pdf_bytes

        with self._making:
            newest, desk = self._plan(), self._bench.laid
            revision, plan = newest
            detail = str(wishes.get("detail", "bench"))
            if detail not in DETAILS:
                raise InputError(f"no detail is called '{detail}'", where="detail", cure=nearest(detail, (*DETAILS,)))
            part = wishes.get("part") or None
            pdf = pdf_bytes(
                plan,
                sheets=DETAILS[detail],
                paper=str(wishes.get("paper", "a4")),
                grey=wishes.get("grey") is True,
                part=None if part is None else str(part),
            )
            target = desk.place("painting-order.pdf")
            write_together({target: pdf, desk.place("plan.json"): plan_json_text(plan)})
            self._pages = [*pages_as_png(pdf, SCREEN_DPI).values()]
            self._pdf, self._wishes, self._printed = pdf, wishes, newest
            return {"pages": len(self._pages), "file": str(target.resolve()), "revision": revision}

    def page(self, number: int) -> bytes:
        """The picture of a page, from 1. Raises InputError."""
        if not 1 <= number <= len(self._pages):
            raise InputError(f"there is no page {number}", where="sheets", cure="make the sheets again")
        return self._pages[number - 1]

    def file(self, name: str, start: str = "") -> Saved:
        """A file to save by its name. start: when the run begins, for the calendar. Raises InputError for any other
        name, and where there is no plan."""
        from finishplan.plan.plan_json import plan_json_text
        from finishplan.run.calendar import run_csv, run_ics

        if name not in FILES:
            raise InputError("no such file", where=name[:60], cure=nearest(name[:60], tuple(FILES)))
        if name == "job.toml" and self._bench.desk is not None:
            # The job is there before there is any plan.
            return Saved(self._bench.desk.file.read_bytes(), FILES[name], name)
        plan = self._plan()[1]
        made: dict[str, Callable[[], bytes]] = {
            "painting-order.pdf": self._sheets,
            "plan.json": lambda: plan_json_text(plan).encode(),
            "run.csv": lambda: run_csv(plan.run).encode(),
            "run.ics": lambda: run_ics(plan.run, start or None, plan.scheme.name).encode(),
        }
        return Saved(made[name](), FILES[name], name)

    def _sheets(self) -> bytes:
        """The PDF of the plan that is there now, printed as was last wished for."""
        with self._making:
            if self._plan() is not self._printed:
                self.make(self._wishes)
            return self._pdf

    def _plan(self) -> "tuple[int, Plan]":
        """The searched plan and its revision. Raises InputError while there is none."""
        planning, desk = self._bench.planning, self._bench.desk
        if planning is None or planning.plan is None or desk is None:
            raise InputError("the plan is not ready", cure="wait a moment and try again")
        if planning.plan[0] != desk.state().revision:
            raise InputError("the plan is not ready for your last change", cure="wait a moment and try again")
        return planning.plan
