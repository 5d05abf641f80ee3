"""Printed sheets from a finished plan. A plan is complete: sheets lay it out and decide nothing."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

if TYPE_CHECKING:
    from finishplan.plan.plan import Plan

KINDS = ("wall", "parts", "palette", "steps", "run", "amounts", "cards", "reasons", "cautions")
"""Every sheet, in the order in which they are printed."""
BENCH = KINDS[:6]
DETAILS = {"wall": KINDS[:1], "bench": BENCH, "full": KINDS}
"""How much is printed: the sheet for the wall, what lies on the bench, everything."""
SOFTWARE = ("Software", "finishplan")
"""What a page as a picture says of who made it: keyword and text (PNG 1.2, 4.2.3.1)."""
OF_PART = ("parts", "palette", "cards")
"""Sheets that can be printed for one part."""


class Printing(TypedDict, total=False):
    """What is printed. sheets: which of KINDS, BENCH unless told; paper: 'a4' unless told; grey: every colour as the
    grey of its luminance; part: only that part's page and the mixes it takes."""

    sheets: Sequence[str]
    paper: str
    grey: bool
    part: str | None


def write_sheets(plan: "Plan", out: Path, **printing: Unpack[Printing]) -> Path:
    """Write the PDF of a plan to `out` and return its path; the same plan gives the same bytes. Raises InputError for
    an unknown sheet, paper or part, or where `out` cannot be written."""
    # Imported here: commands that print nothing ask only for the names above.
    from finishplan.basics.files import write_whole
    from finishplan.sheets.book import pdf_bytes

    write_whole(out, pdf_bytes(plan, **printing))
    return out


def pages_as_png(pdf: bytes, dpi: float = 110.0) -> dict[str, bytes]:
    """Each page of a PDF as a PNG under its file name ('page-01.png' ...), in order. dpi: pixels to the inch of paper,
    20-600; raises InputError when it is no size."""
    from io import BytesIO

    import pypdfium2 as pdfium
    from PIL.PngImagePlugin import PngInfo

    from finishplan.basics.errors import InputError

    if not 20 <= dpi <= 600:
        raise InputError(f"{dpi:g} dpi is no size for a picture", where="dpi", cure="give 20 to 600")
    document, said = pdfium.PdfDocument(pdf), PngInfo()
    said.add_text(*SOFTWARE)
    try:
        # As many digits for all, so that files sort as the pages do.
        digits = max(2, len(str(len(document))))
        pages = {}
        for number in range(len(document)):
            data = BytesIO()
            document[number].render(scale=dpi / 72).to_pil().save(data, "PNG", dpi=(dpi, dpi), pnginfo=said)
            pages[f"page-{number + 1:0{digits}d}.png"] = data.getvalue()
        return pages
    finally:
        document.close()
