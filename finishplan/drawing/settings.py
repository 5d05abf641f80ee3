"""What the maker may tell of a drawing before it is read."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from finishplan.basics.errors import InputError
from finishplan.drawing.model import Kind

PaperWhite = Literal["auto", "off"]
Shading = Literal["base", "own mix"]
MOST_COLOURS = 64


@dataclass(frozen=True)
class ReadSettings:
    """colours: number of palette colours to force. paper_white: 'auto' brings the paper of scans and photographs to
    white. parts_map: picture of the same proportions with one flat colour per part. lines: 'auto', 'none' (lines are
    areas like others) or the usual width of the outlines in pixels of the drawing. kind: 'auto' or the picture's.
    shading: 'base' folds shadow and highlight tones into the area whose colour they shade, 'own mix' keeps them as
    areas with one colour for all of a base. details: places (x, y from 0 to 1 over the sheet) at which a stroke that
    was read as a line, or white that was read as a gap, is an area. height_mm: the figure's height, for the least size
    of an area. Raises InputError."""

    colours: int | None = None
    paper_white: PaperWhite = "auto"
    parts_map: Path | None = None
    max_megapixels: float = 100
    lines: Literal["auto", "none"] | float = "auto"
    kind: Kind | Literal["auto"] = "auto"
    shading: Shading = "base"
    details: tuple[tuple[float, float], ...] = ()
    height_mm: float | None = None

    def __post_init__(self) -> None:
        if self.colours is not None and not 1 <= self.colours <= MOST_COLOURS:
            raise InputError(f"{self.colours} colours", cure=f"ask for 1 to {MOST_COLOURS}")
        if self.lines not in ("auto", "none") and not (isinstance(self.lines, int | float) and 0 < self.lines <= 1e4):
            cure = "write 'auto', 'none' or the width of the outlines in pixels"
            raise InputError(f"'{self.lines}' is no width of lines", cure=cure)
        if self.kind not in ("auto", "flat", "scan", "photo"):
            raise InputError(f"'{self.kind}' is no kind of picture", cure="write 'auto', 'flat', 'scan' or 'photo'")
        if self.shading not in ("base", "own mix"):
            raise InputError(f"'{self.shading}' is no way to shade", cure="write 'base' or 'own mix'")
        if self.height_mm is not None and not 1 <= self.height_mm <= 5000:
            raise InputError(f"a figure {self.height_mm:g} mm high", cure="give its height in mm, 1 to 5000")

    def check_for(self, drawing: Path) -> None:
        """Raises InputError where the parts map is the drawing itself."""
        parts = self.parts_map
        if parts is not None and all(map(os.path.exists, (drawing, parts))) and drawing.samefile(parts):
            cure = "give a picture of the same size with one flat colour a part"
            raise InputError("the parts map is the drawing itself", where=str(parts), cure=cure)
