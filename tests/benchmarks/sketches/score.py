"""How well a reading agrees with the truth of a sketch, area by area."""

from dataclasses import astuple, dataclass

import cv2
import numpy as np
from drawing.generator import border_lengths, difference
from drawing.scoring import LONG_BORDER_PX

from finishplan.drawing.model import Drawing

from .truth import Sketch

OVERLAP = 0.7
"""Intersection over union from which an area counts as found."""
SPECK_MOST = 4.0
"""An area this many times as large as a speck is not that speck."""
NEAR_PX = 4.0
"""Beyond the width of a line, by which regions may lie apart and seem to touch."""
COLOUR_SHARE = 0.003
"""Of the figure, from which a colour must be found."""


@dataclass(frozen=True)
class Tally:
    """Shares 0-1 but extra, which counts the palette's entries over the true colours they stand for. nan: none to
    find."""

    recall: float
    precision: float
    extra: float
    pairs_found: float
    pairs_true: float
    areas: float
    specks: float


def score(sketch: Sketch, drawing: Drawing) -> Tally:
    """The figures of one reading. A palette entry near ink or paper alone is wrong; a pair is right where the true
    regions behind its two areas touch; regions that only a line keeps apart may touch or not; a second pair of the
    same regions is not counted, nor are the edges of specks, which the truth does not hold. Areas are compared
    where no line lies."""
    labels, truth = in_truth(sketch, drawing), sketch.regions
    n, areas = len(sketch.colours), len(drawing.areas)
    votes = np.bincount((labels * n + truth).ravel(), minlength=(areas + 1) * n).reshape(areas + 1, n)
    true = border_lengths(truth)
    doubtful = {pair for pair in _near(truth, sketch.ink_px + NEAR_PX) if pair not in true}
    long = {pair for pair, length in true.items() if length > LONG_BORDER_PX}
    owner = votes.argmax(1)
    spots = _spots(sketch, labels)
    met = [edge.areas for edge in drawing.edges if not spots.intersection(edge.areas)]
    read = {tuple(sorted((int(owner[a]), int(owner[b])))) for a, b in met} - doubtful
    bare = ~sketch.inked
    seen = np.bincount((labels * n + truth)[bare], minlength=(areas + 1) * n).reshape(areas + 1, n)
    overlap = seen / np.maximum(seen.sum(1, keepdims=True) + seen.sum(0) - seen, 1)
    found = overlap[1:, 1:].max(0, initial=0) >= OVERLAP
    return Tally(
        *_colours(sketch, drawing),
        _share(len(long & read), len(long)),
        _share(sum(pair in true for pair in read), len(read)),
        float(found.mean()),
        _specks(sketch, drawing, labels),
    )


def failed() -> Tally:
    """What a reading that gave nothing is worth."""
    return Tally(0, 0, 0, 0, 0, 0, 0)


def mean(tallies: list[Tally]) -> Tally:
    """Of each figure, over those drawings that have it."""
    table = np.array([astuple(tally) for tally in tallies])
    return Tally(*(float(np.nanmean(c)) if np.isfinite(c).any() else float("nan") for c in table.T))


def in_truth(sketch: Sketch, drawing: Drawing) -> np.ndarray:
    """(h, w) the area at every pixel of the true regions, 0 outside all areas."""
    height, width = sketch.regions.shape
    to_file = np.array(
        [[1 / drawing.scale, 0, drawing.origin[0]], [0, 1 / drawing.scale, drawing.origin[1]], [0, 0, 1]]
    )
    sheet = getattr(drawing, "sheet", None)
    if sheet is not None:  # the labels are of the straightened sheet, whose corners in the file's picture these are
        across, down = drawing.size
        flat = np.float32([(0, 0), (across, 0), (across, down), (0, down)])
        to_file = cv2.getPerspectiveTransform(flat, np.float32(sheet)) @ to_file
    if sketch.to_photo is not None:
        to_file = np.linalg.inv(sketch.to_photo) @ to_file
    warped = cv2.warpPerspective(drawing.labels.astype(np.float32), to_file, (width, height), flags=cv2.INTER_NEAREST)
    return warped.astype(int)


def _near(regions: np.ndarray, reach: float) -> set[tuple[int, int]]:
    """Pairs of regions at most `reach` pixels apart."""
    side = 2 * round(reach) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    most = cv2.dilate(regions.astype(np.float32), disc).astype(int)
    least = cv2.erode(np.where(regions > 0, regions, regions.max() + 1).astype(np.float32), disc).astype(int)
    every = np.concatenate(
        [
            np.stack([regions[m], other[m]], 1)
            for other, m in ((o, (regions > 0) & (o > 0) & (o != regions)) for o in (most, least))
        ]
    )
    return {(min(a, b), max(a, b)) for a, b in np.unique(every, axis=0).tolist()}


def _colours(sketch: Sketch, drawing: Drawing) -> tuple[float, float, float]:
    wanted, every = sketch.true_colours(COLOUR_SHARE), sketch.true_colours(0)
    every = np.vstack([every, sketch.specks])
    listed = np.array([_rgb(entry.hex) for entry in drawing.palette])
    gaps = difference(listed, every)
    right = gaps.min(1) <= sketch.limit
    stands_for = np.unique(gaps.argmin(1)[right])
    recall = float((difference(wanted, listed).min(1) <= sketch.limit).mean())
    return recall, float(right.mean()), float(len(listed) - len(stands_for))


def _specks(sketch: Sketch, drawing: Drawing, labels: np.ndarray) -> float:
    small, hits = _spots(sketch, labels), 0
    for (x, y, _), colour in zip(sketch.specks_at, sketch.specks, strict=True):
        at = int(labels[int(y), int(x)])
        near = at in small and difference(colour[None], _rgb(drawing.areas[at - 1].hex)[None])[0, 0] <= 2 * sketch.limit
        hits += bool(near)
    return _share(hits, len(sketch.specks))


def _spots(sketch: Sketch, labels: np.ndarray) -> set[int]:
    """The areas that are a speck of the drawing."""
    sizes = np.bincount(labels.ravel())
    at = [(int(labels[int(y), int(x)]), across) for x, y, across in sketch.specks_at]
    return {area for area, across in at if area > 0 and sizes[area] <= SPECK_MOST * np.pi / 4 * across**2}


def _rgb(code: str) -> np.ndarray:
    return np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)], float)


def _share(part: int, whole: int) -> float:
    return part / whole if whole else float("nan")
