"""The look: paper, grid, type scale, typeface and the few colours. All lengths here are in points (1/72 inch)."""

import re
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from html import escape
from pathlib import Path
from typing import Any, Literal

from finishplan.basics.errors import InputError, nearest

Face = Literal["body", "strong", "heavy", "slant"]

MM = 72 / 25.4
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (8.5 * 72, 11 * 72)}
MARGIN = 15 * MM
HEAD = 10 * MM
FOOT = 15 * MM
GUTTER = 4 * MM

# Type scale in points: 9 is the floor, 11 is read with a brush in the hand.
NOTE, READ, NAME, TITLE, BIG = 9.0, 11.0, 14.0, 20.0, 30.0
LEADING = {NOTE: 11.5, READ: 14.0, NAME: 17.0, TITLE: 24.0, BIG: 34.0}

INK, QUIET, RULE, PAPER_WHITE = "#1b1a18", "#5d5a54", "#c9c4ba", "#ffffff"
_UNIT = re.compile(r"(?<=\d) (?=(?:mm|cm²|µm|ml|min|°C|%|×)(?!\w))")
"""The space between a figure and its unit, where no line may end."""

ACCENT = "#a2401c"
"""The one accent, a fired-earth red: where you are on the sheet (pass numbers, the running head)."""

FACES: dict[Face, str] = {
    "body": "SourceSansPro-Regular",
    "strong": "SourceSansPro-Semibold",
    "heavy": "SourceSansPro-Bold",
    "slant": "SourceSansPro-It",
}


@cache
def _registered() -> None:
    import font_source_sans_pro  # type: ignore[import-untyped]
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(font_source_sans_pro.__file__).parent / "files"
    for name in FACES.values():
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    body, strong, slant = FACES["body"], FACES["strong"], FACES["slant"]
    pdfmetrics.registerFontFamily(body, normal=body, bold=strong, italic=slant, boldItalic=strong)


def font_file(face: Face = "strong") -> Path:
    """The TrueType file of a face."""
    import font_source_sans_pro

    return Path(font_source_sans_pro.__file__).parent / "files" / f"{FACES[face]}.ttf"


@cache
def _letters(face: Face) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    _registered()
    return frozenset(pdfmetrics.getFont(FACES[face]).face.charToGlyph)


def grey_of(hex_colour: str) -> int:
    """The sRGB grey level, 0-255, of the same relative luminance as '#rrggbb' (IEC 61966-2-1)."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(hex_colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    ]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return round(255 * (12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055))


@dataclass(frozen=True)
class Look:
    """How the sheets of one file are set: paper, colour or grey.

    missing: characters the typeface lacks, collected.
    """

    paper: str = "a4"
    grey: bool = False
    missing: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise InputError(f"no paper '{self.paper}'", where="paper", cure=nearest(self.paper, tuple(PAPERS)))
        _registered()

    @property
    def size(self) -> tuple[float, float]:
        """Page width and height."""
        return PAPERS[self.paper]

    @property
    def measure(self) -> float:
        """Width between the side margins."""
        return self.size[0] - 2 * MARGIN

    @property
    def depth(self) -> float:
        """Height between running head and foot."""
        return self.size[1] - MARGIN - HEAD - FOOT

    def colour(self, hex_colour: str) -> Any:
        """The reportlab colour of '#rrggbb', grey of the same luminance on grey sheets."""
        from reportlab.lib.colors import Color

        return Color(*self._rgb(hex_colour))

    def _rgb(self, hex_colour: str) -> tuple[float, float, float]:
        if self.grey:
            level = grey_of(hex_colour) / 255
            return level, level, level
        red, green, blue = bytes.fromhex(hex_colour[1:])
        return red / 255, green / 255, blue / 255

    def plain(self, text: str, face: Face = "body") -> str:
        """`text` on one line, with every character the face lacks made its base letter or '?', which is noted."""
        if text.isascii() and text.isprintable():  # every face has these
            return _UNIT.sub("\u00a0", text)
        letters, out = _letters(face), []
        for c in _UNIT.sub("\u00a0", unicodedata.normalize("NFC", text)):
            if c.isspace():
                out.append("\u00a0" if c == "\u00a0" else " ")
            elif ord(c) in letters:
                out.append(c)
            elif unicodedata.category(c) not in ("Cc", "Cf", "Mn"):
                base = "".join(d for d in unicodedata.normalize("NFKD", c) if ord(d) in letters)
                out.append(base or "?")
                if not base:
                    self.missing.add(c)
        return "".join(out)

    def mark(self, text: str, face: Face = "body") -> str:
        """`text` as paragraph markup in `face`; what the slanted face lacks is set upright."""
        from itertools import groupby

        if face != "slant":
            return f'<font name="{FACES[face]}">{escape(self.plain(text, face))}</font>'
        letters = _letters("slant")
        runs = groupby(self.plain(text), key=lambda c: ord(c) in letters)
        return "".join(
            f'<font name="{FACES["slant" if has else "body"]}">{escape("".join(run))}</font>' for has, run in runs
        )

    def width(self, text: str, face: Face, size: float) -> float:
        """Width of plain text."""
        from reportlab.pdfbase import pdfmetrics

        return float(pdfmetrics.stringWidth(text, FACES[face], size))

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

        if face == "slant":
            return self.rich(self.mark(text, face), size, colour, **more)
        return plain(self.plain(text, face), self._style(size, colour, face, more))

    def rich(self, markup: str, size: float = READ, colour: str = INK, **more: Any) -> Any:
        """A paragraph of markup already made by `mark`."""
        from finishplan.sheets.text import rich

        return rich(markup, self._style(size, colour, "body", more))
