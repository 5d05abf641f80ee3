"""The sheets as they will print, as pictures, and the files to save."""

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
        self._pdf = b""
        self._pages: list[bytes] = []

    def make(self, wishes: dict[str, Any]) -> dict[str, Any]:
        """Print the searched plan: paper, grey, detail, part; writes the PDF into the folder. Raises InputError."""
        from finishplan.sheets import pages_as_png
        from finishplan.sheets.book import pdf_bytes

        plan, desk = self._plan(), self._bench.desk
        assert desk is not None
        detail = str(wishes.get("detail", "bench"))
        if detail not in DETAILS:
            raise InputError(f"no detail is called '{detail}'", where="detail", cure=nearest(detail, tuple(DETAILS)))
        part = wishes.get("part") or None
        self._pdf = pdf_bytes(
            plan,
            sheets=DETAILS[detail],
            paper=str(wishes.get("paper", "a4")),
            grey=wishes.get("grey") is True,
            part=None if part is None else str(part),
        )
        write_together({desk.folder / "painting-order.pdf": self._pdf})
        self._pages = [*pages_as_png(self._pdf, SCREEN_DPI).values()]
        return {"pages": len(self._pages), "file": str(desk.folder / "painting-order.pdf")}

    def page(self, number: int) -> bytes:
        """The picture of a page, from 1. Raises InputError."""
        if not 1 <= number <= len(self._pages):
            raise InputError(f"there is no page {number}", where="sheets", cure="make the sheets again")
        return self._pages[number - 1]

    def file(self, name: str) -> Saved:
        """A file to save by its name. Raises InputError for any other name."""
        from finishplan.plan.plan_json import plan_json_text
        from finishplan.run.calendar import run_csv, run_ics

        if name not in FILES:
            raise InputError("no such file", where=name[:60], cure=nearest(name[:60], tuple(FILES)))
        assert self._bench.desk is not None
        if name == "job.toml":
            data = self._bench.desk.state().text.encode()
        elif name == "painting-order.pdf":
            if not self._pdf:
                self.make({})
            data = self._pdf
        else:
            plan = self._plan()
            made = {
                "plan.json": lambda: plan_json_text(plan),
                "run.csv": lambda: run_csv(plan.run),
                "run.ics": lambda: run_ics(plan.run, plan.date or "2026-01-01", plan.scheme.name),
            }
            data = made[name]().encode()
        return Saved(data, FILES[name], name)

    def _plan(self) -> "Plan":
        planning = self._bench.planning
        if planning is None or planning.last_plan is None:
            raise InputError("the plan is not ready", cure="wait a moment and try again")
        return planning.last_plan
