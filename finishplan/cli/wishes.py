"""What the options of the commands ask for, one object for what belongs together."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from finishplan.basics.errors import InputError, nearest
from finishplan.sheets import BENCH, DETAILS, KINDS, OF_PART

if TYPE_CHECKING:
    from finishplan.plan.plan import Painting

PAPERS = ("a4", "letter")
Paper = Literal["a4", "letter"]


@dataclass(frozen=True)
class Manner:
    """How a command works, whatever it makes. max_megapixels: of a drawing; cache: recipes of a box are kept on disk;
    as_json: figures are printed as JSON and nothing else; quiet: nothing but warnings."""

    max_megapixels: int = 100
    cache: bool = True
    as_json: bool = False
    quiet: bool = False

    @property
    def silent(self) -> bool:
        """Whether a progress bar would be in the way."""
        return self.quiet or self.as_json


@dataclass(frozen=True)
class SheetWishes:
    """Which sheets, on which paper, for whose eyes. why: the terminal gives the reasons too."""

    sheets: tuple[str, ...] = BENCH
    paper: Paper = "a4"
    grey: bool = False
    part: str | None = None
    png: bool = False
    why: bool = False

    def __post_init__(self) -> None:
        for sheet in self.sheets:
            if sheet not in KINDS:
                raise InputError(f"no sheet is called '{sheet}'", where="--sheets", cure=nearest(sheet, KINDS))
        # Checked on construction, before a drawing is read for nothing.
        if self.part is not None and not set(OF_PART) & set(self.sheets):
            cure = f"add one of {', '.join(OF_PART)} to --sheets"
            raise InputError("none of these sheets is printed for one part", where="--part", cure=cure)
        if self.paper not in PAPERS:
            raise InputError(f"no paper is called '{self.paper}'", where="--paper", cure=nearest(self.paper, PAPERS))

    def suffix(self, parts: Sequence[str]) -> str:
        """What the name of a PDF says of the sheets it lacks: '-part-head', '-sheets-run-cards', '' for the usual ones.

        parts: the names of all; two that would be written alike in a file's name are told apart by a number.
        """
        # In the order of KINDS: the same sheets have the same name, however they were listed.
        only = tuple(s for s in KINDS if s in self.sheets)
        of_part = f"-part-{file_words(parts)[parts.index(self.part)]}" if self.part is not None else ""
        named = {sheets: f"-{detail}" for detail, sheets in DETAILS.items()} | {BENCH: ""}
        return of_part + named.get(only, f"-sheets-{'-'.join(only)}")

    def check(self, painting: "Painting") -> None:
        """Raises InputError where the part wished for is not the figure's."""
        parts = tuple(p.name for p in painting.scheme.parts)
        if self.part is not None and self.part not in parts:
            raise InputError(f"no part is called '{self.part}'", where="--part", cure=nearest(self.part, parts))


def sheets_of(detail: str, sheets: str | None) -> tuple[str, ...]:
    """The sheets asked for by name, with commas, else those of the detail. Raises InputError for an unknown detail."""
    if detail.lower() not in DETAILS:
        raise InputError(f"no detail is called '{detail}'", where="--detail", cure=nearest(detail, tuple(DETAILS)))
    return DETAILS[detail.lower()] if sheets is None else tuple(s.strip() for s in sheets.lower().split(","))


def file_words(names: Sequence[str]) -> list[str]:
    """Each name as it can stand after 'part-' in a file's name: 'Left arm/hand' becomes 'left-arm-hand', 'part A'
    'a'; no two alike."""
    words: list[str] = []
    for number, name in enumerate(names, 1):
        word = re.sub(r"[\W_]+", "-", unicodedata.normalize("NFC", name.lower()))[:40].strip("-").removeprefix("part-")
        # A name without a letter that a file may have still gets a file of its own.
        while not word or word in words:
            word = f"{word}-{number}".strip("-")
        words.append(word)
    return words
