"""Reading a PDF back: text boxes, sizes and words, by PDFium."""

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Page:
    """One page. boxes: (text, left, bottom, right, top) of each run of text; sizes: (character, size) of each glyph."""

    size: tuple[float, float]
    text: str
    boxes: tuple[tuple[str, Box], ...]
    sizes: tuple[tuple[str, float], ...]

    @property
    def words(self) -> str:
        """The text in writing order, every gap one space."""
        return re.sub(r"\s+", " ", self.text)

    def written_in(self, size: float) -> str:
        """What is set in that size, in writing order."""
        return "".join(c for c, s in self.sizes if abs(s - size) < 0.01)


@lru_cache(maxsize=4)
def pages(data: bytes) -> list[Page]:
    """Every page of a PDF."""
    document = pdfium.PdfDocument(data)
    found = []
    for page in document:
        text = page.get_textpage()
        rects = [text.get_rect(i) for i in range(text.count_rects())]
        count = text.count_chars()
        sizes = []
        for i in range(count):
            code = raw.FPDFText_GetUnicode(text, i)
            if code > 32 and not raw.FPDFText_IsGenerated(text, i):
                sizes.append((chr(code), raw.FPDFText_GetFontSize(text, i) * scale_of(text, i)))
        boxes = tuple((text.get_text_bounded(*r), r) for r in rects)
        found.append(Page(page.get_size(), text.get_text_range(), boxes, tuple(sizes)))
    return found


def scale_of(text: pdfium.PdfTextPage, index: int) -> float:
    """By how much a glyph is drawn larger than its font says."""
    matrix = raw.FS_MATRIX()
    raw.FPDFText_GetMatrix(text, index, matrix)
    return float(np.hypot(matrix.b, matrix.d))


def clashes(page: Page, slack: float = 0.5) -> list[tuple[str, str]]:
    """Runs of text whose ink overlaps another's by more than `slack` points both ways."""
    if not page.boxes:
        return []
    left, bottom, right, top = np.array([box for _, box in page.boxes]).T
    across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    down = np.minimum(top[:, None], top) - np.maximum(bottom[:, None], bottom)
    pairs = np.argwhere(np.triu((across > slack) & (down > slack), 1))
    return [(page.boxes[a][0], page.boxes[b][0]) for a, b in pairs]


def strays(page: Page, margin: float = 14.0) -> list[str]:
    """Runs of text nearer to the page's edge than `margin` points: 5 mm, what home printers leave white."""
    width, height = page.size
    return [
        text
        for text, (left, bottom, right, top) in page.boxes
        if left < margin or bottom < margin or right > width - margin or top > height - margin
    ]
