"""The look: paper, grid, type scale, typeface and the few colours. All lengths here are in points (1/72 inch)."""

from dataclasses import dataclass
from functools import cache
from html import escape
from typing import Any

from finishplan.basics.errors import InputError, nearest
from finishplan.sheets.letters import FACES, Face, printable, register, runs, width

MM = 72 / 25.4
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (8.5 * 72, 11 * 72), "screen": (8.25 * 72, 11 * 72)}
"""Width and height; the screen is that of a tablet held upright, 3 to 4."""
# The grid: margins of 12 mm, twelve columns with gutters of 4 mm, text on lines 3.5 points apart.
MARGIN = 12 * MM
HEAD = 7 * MM
FOOT = 14 * MM
GUTTER = 4 * MM
COLUMNS = 12
LINE = 3.5

# Type scale in points: 9 for notes, 11 for what is read with a brush in the hand, 14 and more for numbers.
NOTE, READ, NUMBER, SIGN, TITLE = 9.0, 11.0, 14.0, 18.0, 24.0
LEADING = {NOTE: 3 * LINE, READ: 4 * LINE, NUMBER: 5 * LINE, SIGN: 6 * LINE, TITLE: 8 * LINE}

INK, QUIET, RULE, PAPER_WHITE = "#1b1a18", "#5d5a54", "#c9c4ba", "#ffffff"
ACCENT = "#a2401c"
"""The one accent, a fired-earth red: where you are on the sheet (pass numbers, the running head)."""


def grey_of(hex_colour: str) -> int:
    """The sRGB grey level, 0-255, of the same relative luminance as '#rrggbb' (IEC 61966-2-1)."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(hex_colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    ]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return round(255 * (12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055))


@cache
def _colour(red: float, green: float, blue: float) -> Any:
    from reportlab.lib.colors import Color

    return Color(red, green, blue)


@dataclass(frozen=True)
class Lettering:
    """How one line is set. align: 0 begins at its place, 0.5 is centred on it, 1 ends there."""

    size: float = READ
    face: Face = "body"
    colour: str = INK
    align: float = 0.0


@dataclass(frozen=True)
class Look:
    """How the sheets of one file are set: paper, colour or grey. closer: that all of a page is drawn so much smaller,
    which leaves the more room for it."""

    paper: str = "a4"
    grey: bool = False
    closer: float = 1.0

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise InputError(f"no paper '{self.paper}'", where="paper", cure=nearest(self.paper, tuple(PAPERS)))
        # Widths are asked for before a page is drawn, and need the faces.
        register()

    @property
    def size(self) -> tuple[float, float]:
        """Page width and height."""
        return PAPERS[self.paper]

    @property
    def measure(self) -> float:
        """Width between the side margins."""
        # Laid out as for larger paper, then all of it drawn smaller.
        return (self.size[0] - 2 * MARGIN) / self.closer

    @property
    def top(self) -> float:
        """Height on the page of the upper edge of what stands under the running head."""
        return FOOT + (self.size[1] - MARGIN - HEAD - FOOT) / self.closer

    @property
    def bottom(self) -> float:
        """Height on the page of the lower edge of what stands over the foot."""
        return FOOT

    @property
    def depth(self) -> float:
        """Height between running head and foot."""
        return self.top - self.bottom

    def span(self, columns: float, of: float = COLUMNS) -> float:
        """Width of so many columns of the grid with the gutters between them, where the measure has `of`."""
        return columns * (self.measure + GUTTER) / of - GUTTER

    def colour(self, hex_colour: str) -> Any:
        """The reportlab colour of '#rrggbb', grey of the same luminance on grey sheets."""
        return _colour(*self._rgb(hex_colour))

    def _rgb(self, hex_colour: str) -> tuple[float, float, float]:
        if self.grey:
            level = grey_of(hex_colour) / 255
            return level, level, level
        red, green, blue = bytes.fromhex(hex_colour[1:])
        return red / 255, green / 255, blue / 255

    def plain(self, text: str, face: Face = "body") -> str:
        """`text` on one line, every letter one that can be printed."""
        return printable(text, face)

    def mark(self, text: str, face: Face = "body") -> str:
        """`text` as paragraph markup in `face`, letters of other scripts in theirs."""
        return "".join(f'<font name="{font}">{escape(run)}</font>' for font, run in runs(printable(text, face), face))

    def write(self, canvas: Any, text: str, at: tuple[float, float], how: "Lettering") -> None:
        """One line of plain text, its baseline at height at[1]."""
        text = printable(text, how.face)
        canvas.setFillColor(self.colour(how.colour))
        x = at[0] - (how.align * self.width(text, how.face, how.size) if how.align else 0.0)
        for font, run in runs(text, how.face):
            canvas.setFont(font, how.size)
            canvas.drawString(x, at[1], run)
            x += canvas.stringWidth(run, font, how.size)

    def width(self, text: str, face: Face, size: float) -> float:
        """Width of printable text."""
        return width(text, face, size)

    def fit(self, text: str, face: Face, size: float, width: float) -> str:
        """Plain text cut with an ellipsis to `width`: only where the whole text stands elsewhere on the sheets."""
        text = self.plain(text, face)
        if self.width(text, face, size) <= width:
            return text
        while text and self.width(text + "…", face, size) > width:
            text = text[:-1]
        return text.rstrip() + "…"

    def _style(self, size: float, colour: str, face: Face, more: dict[str, Any]) -> Any:
        """A paragraph style of the type scale."""
        from finishplan.sheets import text

        return text.style(FACES[face], size, self._rgb(colour), **{"leading": LEADING[size]} | more)

    def para(self, text: str, size: float = READ, colour: str = INK, face: Face = "body", **more: Any) -> Any:
        """A paragraph of one face."""
        from finishplan.sheets.text import plain

        text = self.plain(text, face)
        # Only text of two fonts needs markup, which takes far longer to set.
        if not text.isascii() and len(list(runs(text, face))) > 1:
            return self.rich(self.mark(text, face), size, colour, **more)
        return plain(text, self._style(size, colour, face, more))

    def rich(self, markup: str, size: float = READ, colour: str = INK, **more: Any) -> Any:
        """A paragraph of markup already made by `mark`."""
        from finishplan.sheets.text import rich

        return rich(markup, self._style(size, colour, "body", more))
