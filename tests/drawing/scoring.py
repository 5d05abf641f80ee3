"""How well a palette and a reading agree with the truth of a generated drawing."""

from dataclasses import dataclass

import numpy as np
from PIL import Image

from finishplan.drawing.model import Drawing

from .generator import Drawn, difference

LONG_BORDER_PX = 12.0


@dataclass(frozen=True)
class Score:
    """colours: true colours of at least 0.5 %; found: those within the limit; listed: colours given; invented: those
    near no true colour, or second to a better one. borders, met, read, false_borders: the same of adjacencies."""

    colours: int = 0
    found: int = 0
    listed: int = 0
    invented: int = 0
    borders: int = 0
    met: int = 0
    read: int = 0
    false_borders: int = 0

    def __add__(self, other: "Score") -> "Score":
        return Score(*(a + b for a, b in zip(vars(self).values(), vars(other).values(), strict=True)))

    def __str__(self) -> str:
        text = f"colours {self.found}/{self.colours}, invented {self.invented}/{self.listed}"
        return text + (
            f", borders {self.met}/{self.borders}, false {self.false_borders}/{self.read}" if self.borders else ""
        )


def score_colours(drawn: Drawn, listed: np.ndarray, limit: float) -> Score:
    """listed: (k, 3) sRGB. A colour counts once: a second entry for the same true colour is invented."""
    wanted, every = drawn.true_colours(), drawn.true_colours(0)
    if len(listed) == 0:
        return Score(colours=len(wanted))
    found = int((difference(wanted, listed).min(1) <= limit).sum())
    gaps = difference(listed, every)
    owner = np.where(gaps.min(1) <= limit, gaps.argmin(1), -1)
    honest = len(np.unique(owner[owner >= 0]))
    return Score(len(wanted), found, len(listed), len(listed) - honest)


def score_reading(drawn: Drawn, drawing: Drawing, limit: float) -> Score:
    """Colours and adjacencies of a reading."""
    listed = np.array([[int(c.hex[i : i + 2], 16) for i in (1, 3, 5)] for c in drawing.palette])
    colours = score_colours(drawn, listed, limit)
    truth = in_window(drawn.regions, drawing)
    n = len(drawn.colours)
    votes = np.bincount((drawing.labels * n + truth).ravel(), minlength=(len(drawing.areas) + 1) * n)
    owner = votes.reshape(-1, n).argmax(1)
    read = [tuple(sorted((int(owner[a]), int(owner[b])))) for a, b in (e.areas for e in drawing.edges)]
    true = drawn.adjacencies()
    long = {pair for pair, length in true.items() if length > LONG_BORDER_PX}
    false = sum(pair not in true for pair in read)
    return colours + Score(0, 0, 0, 0, len(long), len(long & set(read)), len(read), false)


def in_window(regions: np.ndarray, drawing: Drawing) -> np.ndarray:
    """The (h, w) map of the whole sheet, as large as the drawing, at the pixels of the reading's labels."""
    height, width = drawing.labels.shape
    left, top = drawing.origin
    right, bottom = left + width / drawing.scale, top + height / drawing.scale
    box = (left, top, min(right, drawing.size[0]), min(bottom, drawing.size[1]))
    map_ = Image.fromarray(regions.astype(np.int32))
    return np.asarray(map_.resize((width, height), Image.Resampling.NEAREST, box))


def area_at(drawing: Drawing, x: float, y: float) -> int:
    """The id of the area at a place of the sheet, in the drawing's pixels; 0 outside the figure."""
    column, row = ((v - o) * drawing.scale for v, o in zip((x, y), drawing.origin, strict=True))
    return int(drawing.labels[int(row), int(column)])
