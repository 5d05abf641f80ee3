"""`finishplan plan`: the whole job, written into a folder."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.files import write_together
from finishplan.basics.words import listed
from finishplan.cli import outputs, terminal
from finishplan.cli.job_file import Laid, Wishes, laid
from finishplan.cli.planning import Progress, begun_reading, painting_of, planner_once_read
from finishplan.cli.pool import in_pool, pool
from finishplan.cli.wishes import Manner, SheetWishes
from finishplan.drawing.stored import NAME
from finishplan.plan.inputs import Reading, Sources

if TYPE_CHECKING:
    from finishplan.plan.plan import Plan
    from finishplan.plan.planner import Planner
    from finishplan.sheets.figure import Pictures
    from finishplan.sheets.look import Look

SCREEN_DPI = 145.0
"""A page for the screen is 1200 pixels wide."""


def plan_folder(sources: Sources, out: Path | None, wishes: SheetWishes, manner: Manner, files: Wishes) -> None:
    """Make the plan and write its folder: PDF, plan.json, numbered drawing, job file.

    Raises InputError for what cannot be read, planned or written; then the files that were there are as they were.
    """
    folder = outputs.folder_for(sources, out, "plan")
    with sources.naming(), terminal.progress(manner.silent) as progress, pool() as processes:
        read = begun_reading(sources, manner, progress, processes)

        # Called when the reading is wanted: what prints is imported while the pool still reads.
        def meanwhile() -> Reading:
            _ready_sheets()
            return read()

        planner, reading = planner_once_read(sources, manner, meanwhile, processes)
        drawn = Drawn(planner, reading, sources)
        plan, written, remarks, figures = write_figure(drawn, folder, wishes, files, (progress, processes))
    for line in (*plan.warnings, *remarks):
        terminal.warn(line)
    if manner.as_json:
        print(figures.decode(), end="")
    elif not manner.quiet:
        from finishplan.cli.summary import show_plan

        show_plan(plan, written, why=wishes.why)


def _ready_sheets() -> None:
    """Import what the files of a plan are made with, and load the typefaces."""
    for name in ("finishplan.sheets.book", "finishplan.sheets.text", "finishplan.plan.plan_json", "filelock"):
        import_module(name)
    from finishplan.sheets.letters import register

    register()


@dataclass(frozen=True, eq=False)
class Drawn:
    """A drawing that is read, with its job."""

    planner: "Planner"
    reading: Reading
    sources: Sources


def write_figure(
    drawn: Drawn, folder: Path, wishes: SheetWishes, files: Wishes, work: tuple[Progress, Executor | None]
) -> tuple["Plan", list[Path], Sequence[str], bytes]:
    """Plan a figure and write its folder: the plan, the files written, what to say of others there, plan.json's text.
    work: the progress bar, and the processes that help. Raises InputError."""
    from finishplan.sheets.figure import Pictures
    from finishplan.sheets.look import Look

    (progress, processes), sources, planner = work, drawn.sources, drawn.planner
    # Begun as early as there is a scheme: the other core makes it while mixes and order are chosen here.
    numbered = in_pool(processes, partial(outputs.numbered_png, planner.materials.drawing, planner.scheme(sources.job)))
    painting = painting_of(planner, sources.job, progress)
    wishes.check(painting)
    # The search has the other core, while the pictures of the sheets are made on this one.
    planner.start_run(sources.job)
    pictures = Pictures(painting, Look(wishes.paper, wishes.grey)).prepare()
    plan = planner.plan(sources.job)
    with outputs.writing(folder):
        progress("drawing the sheets", 0.75)
        made = _Made(plan, wishes, pictures, numbered, laid(sources, drawn.reading, folder, files))
        written, figures, remarks = made.write(folder, sources)
    return plan, written, remarks, figures


@dataclass(frozen=True, eq=False)
class _Made:
    """What the files of a plan are made from. numbered: gives the numbered drawing as PNG."""

    plan: "Plan"
    wishes: SheetWishes
    pictures: "Pictures"
    numbered: Callable[[], bytes]
    job: Laid

    @property
    def suffix(self) -> str:
        """Of the names of PDF and pages."""
        return os.fsdecode(self.wishes.suffix([p.name for p in self.plan.scheme.parts]).encode("utf-8"))

    def write(self, folder: Path, sources: Sources) -> tuple[list[Path], bytes, Sequence[str]]:
        """Write the files, plan.json last. Returns all of them, that one's text, and what to say of others there."""
        from finishplan.plan.plan_json import plan_json_text

        pdf, figures = folder / f"painting-order{self.suffix}.pdf", folder / "plan.json"
        text = plan_json_text(self.plan).encode()
        # The text first: the PDF carries its hash, by which sheets of another plan are known.
        sheets = outputs.of_plan(self._printed(self.pictures.look), text)
        files: dict[Path, bytes | str] = {pdf: sheets, folder / "areas.png": self.numbered(), **self.job.files}
        pages = self._pages(folder) if self.wishes.png else {}
        # plan.json last: whoever finds it finds all that it tells of.
        written = files | pages | {figures: text}
        outputs.spare_inputs(written, sources)
        stale = outputs.other_plans_sheets(folder, text, pdf, sources)
        write_together(written)
        if self.wishes.png:
            # Pages of a longer plan before would be read as pages of this one.
            for old in set(outputs.old_pages(folder, f"page{self.suffix}", sources)) - set(pages):
                old.unlink()
        remarks = list(self.job.said)
        if stale:
            which = listed(stale)
            remarks.append(f"Of an earlier plan, not of this one: {which}. Plan again for those sheets too.")
        return [pdf, figures, *(f for f in files if f != pdf and f.name != NAME), *pages], text, remarks

    def _printed(self, look: "Look") -> bytes:
        from finishplan.sheets.book import printed
        from finishplan.sheets.given import given

        return printed(given(self.plan, look, self.pictures), self.wishes.sheets, self.wishes.part)

    def _pages(self, folder: Path) -> dict[Path, bytes | str]:
        from finishplan.sheets import pages_as_png
        from finishplan.sheets.look import Look

        pages = pages_as_png(self._printed(Look("screen", self.wishes.grey)), SCREEN_DPI)
        stem = f"page{self.suffix}"
        return {folder / name.replace("page", stem, 1): page for name, page in pages.items()}
