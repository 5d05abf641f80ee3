"""From a pile of shapes to the truth of a drawing: its regions and their colours."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
from drawing.generator import Drawn, border_lengths, difference
from skimage.color import lab2rgb, rgb2lab
from skimage.measure import label

from .shapes import Shape

FINE = 2
"""Supersampling along each side."""
FIT = 0.44
"""Of the shorter need: how much of the sheet a half of the figure takes."""


@dataclass(frozen=True, eq=False)
class Sketch(Drawn):
    """inked: (h, w) bool, where lines lie. specks_at: (k, 3) x, y and diameter in pixels of each of `specks`. limit:
    CIEDE2000 within which a colour is right. camera: the file says that a camera took it; quality, turn: of the JPEG
    and its EXIF orientation. to_photo: (3, 3) homography from the pixels of `regions` to those of the picture, where
    they differ. style: how it was drawn and is saved, of those that differ in it."""

    inked: np.ndarray = field(default_factory=lambda: np.zeros((0, 0), bool))
    specks_at: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))
    limit: float = 4.0
    camera: bool = False
    quality: int = 85
    turn: int = 1
    to_photo: np.ndarray | None = None
    style: Any = None


@dataclass(frozen=True, eq=False)
class Layout:
    """fine: (h, w) int32 regions at the supersampled size, 0 the paper; drawn: the same, with the shapes of one colour
    that meet still apart. group: (n + 1,) number of the group of each region; unit: fine pixels of one 1600th of
    the longer side."""

    fine: np.ndarray
    drawn: np.ndarray
    group: np.ndarray
    unit: float

    @property
    def regions(self) -> np.ndarray:
        """(h, w) regions at the size of the drawing."""
        return self.fine[FINE // 2 :: FINE, FINE // 2 :: FINE].astype(int)


def layout(shapes: list[Shape], size: tuple[int, int], line_px: float = 0.0) -> Layout:
    """Regions of the pile on a sheet of (width, height); what a line of that many pixels would leave too thin to see is
    given to its neighbour."""
    width, height = FINE * size[0], FINE * size[1]
    points = np.concatenate([piece for shape in shapes if not shape.inside for piece in shape.pieces])
    middle, reach = (points.min(0) + points.max(0)) / 2, np.ptp(points, axis=0)
    scale = 2 * FIT * min(width / reach[0], height / reach[1])
    names = list(dict.fromkeys(shape.group for shape in shapes))
    pile, masks = np.zeros((height, width), np.int32), []
    for number, shape in enumerate(shapes, 1):
        mask = np.zeros((height, width), np.uint8)
        for piece in shape.pieces:
            at = np.rint(((piece - middle) * scale + [width / 2, height / 2]) * 16).astype(np.int32)
            cv2.fillPoly(mask, [at], 1, shift=4)
        for other in shape.inside:
            mask &= masks[other]
        masks.append(mask)
        pile[mask > 0] = number
    unit = max(width, height) / 1600
    drawn = _paintable(pile, line_px * FINE, least=13 * unit)
    of_shape = np.array([0, *(names.index(shape.group) + 1 for shape in shapes)], np.int32)
    fine, group = _numbered(of_shape[drawn])
    return Layout(fine, _numbered(drawn)[0], group, unit)


def _pieces(labels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(Connected pieces of one label, from 0; (n,) the label of each.)"""
    found = label(labels + 1, connectivity=1) - 1
    of_piece = np.zeros(int(found.max()) + 1, np.int32)
    of_piece[found] = labels
    return found, of_piece


def borders(labels: np.ndarray) -> np.ndarray:
    """(h, w) bool: pixels beside another label."""
    border = np.zeros(labels.shape, bool)
    border[:, 1:] |= labels[:, 1:] != labels[:, :-1]
    border[1:] |= labels[1:] != labels[:-1]
    return border


def distance_to(marks: np.ndarray) -> np.ndarray:
    """(h, w) float32 pixels to the nearest mark."""
    return cv2.distanceTransform((~marks).astype(np.uint8), cv2.DIST_L2, 5)


def _paintable(pile: np.ndarray, line: float, least: float) -> np.ndarray:
    """The pile with the pieces that a line would leave narrower than `least` given to their neighbours."""
    for _ in range(2):
        pieces, of_piece = _pieces(pile)
        depth = distance_to(borders(pieces))[::FINE, ::FINE].ravel()
        deepest = np.zeros(len(of_piece))
        np.maximum.at(deepest, pieces[::FINE, ::FINE].ravel(), depth)
        thin = (2 * deepest - line < least)[pieces]
        if not thin.any():
            break
        _, nearest = cv2.distanceTransformWithLabels(
            thin.astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        of_nearest = np.zeros(int(nearest.max()) + 1, np.int32)
        of_nearest[nearest[~thin]] = pile[~thin]
        pile = of_nearest[nearest]
    return pile


def _numbered(labels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(Connected regions from 1, 0 where the label is; (n + 1,) the label of each.)"""
    pieces, of_piece = _pieces(labels)
    number = np.where(of_piece > 0, np.cumsum(of_piece > 0), 0)
    return number[pieces].astype(np.int32), np.concatenate([[0], of_piece[of_piece > 0]])


Palette = Callable[[np.random.Generator, int, np.ndarray], np.ndarray]
"""(n, 3) sRGB colours that keep apart from each other and from the (m, 3) taken."""


def lively(rng: np.random.Generator, n: int, taken: np.ndarray) -> np.ndarray:
    """Colours of any kind that a screen shows, 14 and more apart."""
    return _spread(rng, n, taken, chroma=75, apart=14)


def _spread(rng: np.random.Generator, n: int, taken: np.ndarray, chroma: float, apart: float) -> np.ndarray:
    chosen = np.asarray(taken, float).reshape(-1, 3)
    for _ in range(n):
        offered = shown(rng, 200, chroma)
        gap = difference(offered, chosen).min(1) if len(chosen) else np.full(len(offered), 99)
        fit = np.flatnonzero(gap >= apart)
        chosen = np.vstack([chosen, offered[fit[0] if len(fit) else gap.argmax()]])
    return chosen[len(taken) :]


def shown(rng: np.random.Generator, n: int, chroma: float) -> np.ndarray:
    """(m, 3) sRGB 0-255 of about n chance colours, L* 18 to 92, that a screen shows."""
    hue, c = rng.uniform(0, 2 * np.pi, 4 * n), chroma * np.sqrt(rng.random(4 * n))
    lab = np.stack([rng.uniform(18, 92, 4 * n), c * np.cos(hue), c * np.sin(hue)], 1)
    rgb = np.rint(255 * lab2rgb(lab[None])[0])
    return rgb[np.abs(rgb2lab(rgb[None] / 255)[0] - lab).max(1) < 2][:n]


def muted(rng: np.random.Generator, n: int, taken: np.ndarray) -> np.ndarray:
    """Greyish colours, each 6 to 12 from another and none nearer."""
    chosen = _spread(rng, 1, taken, chroma=18, apart=20)
    while len(chosen) < n:
        offered = shown(rng, 400, 22)
        gap = difference(offered, chosen).min(1)
        fit = (gap >= 6.5) & (gap <= 11) & (difference(offered, taken).min(1) > 10)
        if not fit.any():
            break
        chosen = np.vstack([chosen, offered[np.flatnonzero(fit)[0]]])
    return chosen


def coloured(
    rng: np.random.Generator, plan: Layout, palette: Palette, taken: np.ndarray, most: int = 16, least: int = 8
) -> np.ndarray:
    """(n + 1, 3) sRGB of the regions, 0 the paper: the first of `taken`. One colour a group, as few as the palette
    holds; no two regions near each other share one."""
    coarse = plan.fine[::8, ::8]
    near = cv2.dilate(coarse.astype(np.float32), np.ones((3, 3), np.uint8)).astype(int)
    far = -cv2.dilate(-coarse.astype(np.float32), np.ones((3, 3), np.uint8)).astype(int)
    pairs = {*border_lengths(plan.fine[::2, ::2])}
    pairs |= {
        (int(a), int(b)) for m in (near, far) for a, b in np.unique(np.stack([coarse, m], -1).reshape(-1, 2), axis=0)
    }
    count = int(plan.group.max())
    beside: dict[int, set[int]] = {g: set() for g in range(1, count + 1)}
    for a, b in pairs:
        one, two = int(plan.group[a]), int(plan.group[b])
        if one and two and one != two:
            beside[one].add(two)
            beside[two].add(one)
    colours = palette(rng, int(min(count, rng.integers(least, most + 1))), taken)
    chosen: dict[int, int] = {}
    for g in sorted(beside, key=lambda g: -len(beside[g])):
        free = [k for k in range(len(colours)) if k not in {chosen.get(o) for o in beside[g]}]
        if not free:
            colours = np.vstack([colours, _spread(rng, 1, np.vstack([taken, colours]), chroma=75, apart=12)])
            free = [len(colours) - 1]
        unused = [k for k in free if k not in chosen.values()]
        chosen[g] = int(rng.choice(unused or free))
    return np.vstack([taken[:1], *(colours[chosen[int(g)]][None] for g in plan.group[1:])]).astype(float)
