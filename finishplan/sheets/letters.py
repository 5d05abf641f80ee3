"""The typeface, and what stands in for letters that it lacks: an open face for other scripts, else Latin letters."""

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from typing import Literal

Face = Literal["body", "strong", "heavy"]

FACES: dict[Face, str] = {
    "body": "SourceSansPro-Regular",
    "strong": "SourceSansPro-Semibold",
    "heavy": "SourceSansPro-Bold",
}
OTHER = "WenQuanYiMicroHei"
"""For other scripts, above all Chinese, Japanese and Korean; where its package (the extra 'scripts') is installed."""
_OTHER_FILE = ("paperang_p2_fonts_cjk", "fonts/wqy-microhei.ttc")
_UNIT = re.compile(r"(?<=\d) (?=(?:mm|cm²|µm|ml|min|°C|%|×)(?!\w))")
"""The space between a figure and its unit, where no line may end."""


def font_file(face: Face = "strong") -> Path:
    """The TrueType file of a face."""
    import font_source_sans_pro  # type: ignore[import-untyped]

    return Path(font_source_sans_pro.__file__).parent / "files" / f"{FACES[face]}.ttf"


@cache
def register() -> None:
    """Make the faces known to reportlab; a PDF holds of each only the letters that are used."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for face, name in FACES.items():
        pdfmetrics.registerFont(TTFont(name, str(font_file(face))))
    body, strong = FACES["body"], FACES["strong"]
    pdfmetrics.registerFontFamily(body, normal=body, bold=strong, italic=body, boldItalic=strong)


@cache
def _letters(face: Face) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    register()
    return frozenset(pdfmetrics.getFont(FACES[face]).face.charToGlyph)


@cache
def _other_letters() -> frozenset[int]:
    """What the face for other scripts has; loaded once a letter asks for it."""
    found = find_spec(_OTHER_FILE[0])
    if found is None or not found.submodule_search_locations:
        return frozenset()
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    file = Path(found.submodule_search_locations[0]) / _OTHER_FILE[1]
    pdfmetrics.registerFont(TTFont(OTHER, str(file), subfontIndex=0))
    return frozenset(pdfmetrics.getFont(OTHER).face.charToGlyph)


def printable(text: str, face: Face = "body") -> str:
    """`text` on one line, every letter one that can be printed: in the face, in that for other scripts, as its base
    letter, or spelt in Latin letters."""
    if text.isascii() and text.isprintable():  # every face has these
        return _UNIT.sub("\u00a0", text)
    # Composed first: where the face has a letter with its accent, that is one glyph.
    return "".join(_printed(c, face) for c in _UNIT.sub("\u00a0", unicodedata.normalize("NFC", text)))


@cache
def _printed(c: str, face: Face) -> str:
    if c.isspace():
        return "\u00a0" if c == "\u00a0" else " "
    letters = _letters(face)
    if ord(c) in letters:
        return c
    # Control and format characters, and an accent that no letter took up: nothing that could be seen.
    if unicodedata.category(c) in ("Cc", "Cf", "Mn"):
        return ""
    if base := "".join(d for d in unicodedata.normalize("NFKD", c) if ord(d) in letters):
        return base
    if ord(c) in _other_letters():
        return c
    from anyascii import anyascii

    # What cannot be spelt either is named by its code point: a question mark would say nothing.
    return anyascii(c) or f"U+{ord(c):04X}"


def runs(text: str, face: Face) -> Iterator[tuple[str, str]]:
    """(font, letters) of printable text, neighbours of one font together."""
    if text.isascii():
        yield FACES[face], text
        return
    letters = _letters(face)
    for own, run in groupby(text, key=lambda c: ord(c) in letters or c.isspace()):
        yield FACES[face] if own else OTHER, "".join(run)


def width(text: str, face: Face, size: float) -> float:
    """Width of printable text."""
    from reportlab.pdfbase import pdfmetrics

    return sum(float(pdfmetrics.stringWidth(run, font, size)) for font, run in runs(text, face))
