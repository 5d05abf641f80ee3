"""Finding a printed page in a photograph by its marks: which page it is and where each millimetre of it lies.

All corners of the marks found tell how the sheet lies (sheet.py); marks that do not fit together within 0.5 mm on any
sheet of paper are refused.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.photo.layout import MARKS, CardPage
from finishplan.photo.sheet import View, fitted, plate, worst

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

LEAST_MARKS = 6
"""Of eight: fewer and the fit could hide a wrong one (our rule)."""
WORST_MM = 0.5
"""Largest distance of a mark's corner from where a sheet that bends one way has it (our rule: of 225 bent sheets none
that passes has a field that is read over 0.8 mm off, tests/benchmarks/results/photo.md; flat ones under 0.25)."""
_SEARCH_PX = 2400
"""Longer side of the picture in which marks are sought; their corners are then refined in the whole picture."""


@dataclass(frozen=True, eq=False)
class Placed:
    """Where a page lies in a picture. view: as a sheet that bends one way; worst_mm: the worst corner of such;
    px_per_mm: smallest on the page; left: how far (n, 2) in pixels places lie from where such a sheet has them."""

    page: CardPage
    view: View
    worst_mm: float
    px_per_mm: float
    left: Callable[[Array], Array] | None = None

    def pixels(self, mm: Array) -> Array:
        """(n, 2) x, y in the picture of places (n, 2) on the page."""
        seen = self.view.pixels(mm)
        return seen if self.left is None else seen + self.left(mm)

    def open_mm(self, mm: Array) -> Array:
        """(n,) one sigma of where places (n, 2) on the page lie, as far as its marks tell how it bends."""
        return self.view.open_px(mm) / self.px_per_mm


def find_page(picture: Picture, pages: Sequence[CardPage], where: str = "") -> Placed:
    """The page of the card in a picture (h, w, 3); of the same page on several papers the one whose marks fit.

    Raises InputError where no card, another card's or two pages' marks are found, where it is cut off, or where the
    marks do not fit together.
    """
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), np.uint8)
    found, twice = _marks_in(grey)
    known = {m.number: page.no for page in pages for m in page.marks}
    # The dictionary holds many marks; those of other pages and printed matter are none of this card's.
    seen = {number: corners for number, corners in found.items() if number in known}
    numbers = {known[n] for n in seen}
    # One stray number may be a misreading of some texture; two are another page.
    if len(numbers) > 1 or len(found) > len(seen) + 1 > 1 or twice > 1:
        raise InputError("shows more than one page", where=where, cure="photograph each page by itself")
    if not seen:
        raise _not_it(pages, found, grey, where)
    (no,) = numbers
    if len(seen) < LEAST_MARKS:
        raise InputError(
            f"only {len(seen)} of the {MARKS} marks of page {no} can be read",
            where=where,
            cure="show the whole page, flat and sharp, nothing lying on the marks",
        )
    tried = [placed_by(page, seen, grey.shape) for page in pages if page.no == no]
    placed = min(tried, key=lambda p: p.worst_mm)
    _check(placed, grey.shape, where)
    return placed


def placed_by(page: CardPage, seen: dict[int, Array], shape: tuple[int, ...]) -> Placed:
    """Where a page lies by its marks, without one corner of them where that does not fit: it may be caught by dirt."""
    own = {m.number: m for m in page.marks}
    mm, px = np.array([own[n].rect.corners for n in seen]).reshape(-1, 2), np.concatenate([*seen.values()])
    placed = _place(page, mm, px, shape)
    if placed.worst_mm <= WORST_MM:
        return placed
    # One corner only: a whole mark that lies elsewhere is a page that curls.
    odd = int(np.linalg.norm(placed.view.pixels(mm) - px, axis=1).argmax())
    return _place(page, np.delete(mm, odd, axis=0), np.delete(px, odd, axis=0), shape)


def _marks_in(grey: Any) -> tuple[dict[int, Array], int]:
    """Mark number -> its corners (4, 2) in pixels, clockwise from its own top left, refined in the whole picture; and
    how many numbers are seen more than once, which are left out."""
    step = max(1.0, max(grey.shape) / _SEARCH_PX)
    size = round(grey.shape[1] / step), round(grey.shape[0] / step)
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA) if step > 1 else grey
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250))
    corners, seen, _ = finder.detectMarkers(small)
    numbers: list[int] = [] if seen is None else [int(n) for n in np.ravel(seen)]
    found, twice = dict[int, Array](), {n for n in numbers if numbers.count(n) > 1}
    for number, quad in zip(numbers, corners, strict=False):
        if number in twice:
            continue
        # Half a pixel: sizes shrink about the picture's edge, corners are counted from the middle of a pixel.
        points = (quad.reshape(4, 1, 2) + 0.5) * np.array([grey.shape[1] / size[0], grey.shape[0] / size[1]]) - 0.5
        # Over half of the mark's own cell, as the quad may lie so far off; farther, the next cell's corner is caught.
        reach = max(3, round(float(np.linalg.norm(points[0] - points[2])) / 14))
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.01)
        # Refined in the whole picture: the small one has too few pixels a millimetre.
        refined = cv2.cornerSubPix(grey, points.astype(np.float32), (reach, reach), (-1, -1), stop)
        found[number] = refined.reshape(4, 2).astype(np.float64)
    return found, len(twice)


def _place(page: CardPage, mm: Array, px: Array, shape: tuple[int, ...]) -> Placed:
    """By the corners of marks: places (n, 2) on the page and in the picture."""
    centre, half = np.array([shape[1], shape[0]]) / 2, float(np.hypot(shape[0], shape[1])) / 2
    # Only the start: RANSAC's limit is wide enough for what the lens bends.
    start, _ = cv2.findHomography(mm, px, cv2.RANSAC, 3.0 + half / 500)
    numbers = np.append((start / start[2, 2]).ravel()[:8], np.zeros(6))
    view = fitted(View(numbers, page.size, centre, half), mm, px)
    return Placed(page, view, worst(view, mm, px), _scale(view.H, page), plate(view, mm, px))


def _scale(H: Array, page: CardPage) -> float:
    """Smallest pixels a mm over the page's corners."""
    w, h = page.size
    spots = np.array([[0, 0], [w, 0], [w, h], [0, h], [w / 2, h / 2]], np.float64)
    here, right, down = (_through(H, spots + step) for step in ([0, 0], [1, 0], [0, 1]))
    return float(np.minimum(np.linalg.norm(right - here, axis=1), np.linalg.norm(down - here, axis=1)).min())


def _through(H: Array, mm: Array) -> Array:
    xyw = np.concatenate([mm, np.ones((len(mm), 1))], axis=1) @ H.T
    result: Array = xyw[:, :2] / xyw[:, 2:]
    return result


def _not_it(pages: Sequence[CardPage], others: dict[int, Array], grey: Any, where: str) -> InputError:
    """That the picture does not show what was asked for; others: marks of something else that it shows."""
    what = "another card" if others else "no swatch card"
    cure = "photograph the whole printed page, sharp and well lit"
    if any(f.field.kind == "dab" for page in pages for f in page.fields):
        what = "another page or card, not this job's page of dabs" if others else "no page of dabs"
        cure = f"print one with `finishplan swatches --mixes JOB`, then {cure}"
        cure += "; or tell with --dab where the dab lies beside a swatch card" if others else ""
    # Mirrored, no mark is found at all: only worth a second look where nothing else explains that.
    if not others and len(_marks_in(np.ascontiguousarray(grey[:, ::-1]))[0]) >= LEAST_MARKS:
        what, cure = "the page in a mirror", "switch off mirroring, or use the camera at the back"
    return InputError(f"shows {what}", where=where, cure=cure)


def _check(placed: Placed, shape: tuple[int, ...], where: str) -> None:
    if placed.worst_mm > WORST_MM:
        raise InputError(
            f"the marks do not fit together ({placed.worst_mm:.1f} mm off)",
            where=where,
            cure="lay the page flat and photograph it from above; print it at 100 %",
        )
    spots = np.array([c for f in placed.page.fields for c in f.rect.corners])
    px = placed.pixels(spots)
    if (px < 2).any() or (px > np.array([shape[1], shape[0]]) - 3).any():
        raise InputError("the page is cut off", where=where, cure="show the whole page in the picture")
    if placed.px_per_mm < 4:
        raise InputError(
            f"the page is too small in the picture ({placed.px_per_mm:.1f} pixels a mm)",
            where=where,
            cure="go nearer, so that the page fills the picture",
        )
