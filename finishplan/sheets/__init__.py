"""Printed sheets from a finished plan: they lay out and compute nothing."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishplan.plan import Plan
    from finishplan.sheets.look import Paper

KINDS = ("order", "mixes", "run")


def write_sheets(
    plan: "Plan",
    out: Path,
    *,
    sheets: Sequence[str] = KINDS,
    paper: "Paper" = "a4",
    grey: bool = False,
    part: str | None = None,
) -> Path:
    """Write the PDF of a plan and return its path."""
    from finishplan.files import write_whole
    from finishplan.sheets.book import pdf_bytes

    write_whole(out, pdf_bytes(plan, sheets=sheets, paper=paper, grey=grey, part=part))
    return out
