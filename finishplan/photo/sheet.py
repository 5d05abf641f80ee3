"""Where each millimetre of a printed sheet lies in a photograph, though the sheet does not lie quite flat.

A flat page seen by a lens is a homography and one number of radial distortion. Paper bends about lines of one direction
and stretches nowhere (a developable surface; do Carmo, Differential Geometry of Curves and Surfaces, 1976, 3-5): along
its angle it rises as a polynomial of fourth degree, and comes nearer to the lens, whose focal length is one number
more. What that leaves, as of wet paper that cockles, is spread over the page as a thin plate bends (Duchon, Lect. Notes
Math. 571, 85, 1977).
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PLATE = 1.0
"""Smoothing of the thin plate, so that it follows a mark's four corners together (our numerical step)."""
FLAT_MM, FLAT_PX = 0.1, 2.0
"""Marks of a flat page lie within either (tests/benchmarks/results/photo.md; small pictures have few pixels a mm):
beyond, the page is taken for bent."""
FOCAL, FOCAL_SPREAD = 1.25, 0.2
"""Of phones, per half diagonal (27 mm before a 36 mm picture, common practice), and one sigma of its logarithm."""
HEIGHTS = np.array([10.0, 5.0, 3.0])
"""mm, one sigma, of what a page rises by: as an arch, an S, a fold or two curled edges (our rule)."""
CORNER_MM = 0.04
"""One sigma of a mark's corner (tests/benchmarks/results/photo.md)."""
ODD_MM = 0.2
"""Beyond it a corner counts by its distance only (our rule)."""
OPEN_TURN = 0.5
"""Radians, one sigma, that the direction of a bend is open by at most (our numerical step: it is a line's slope)."""
ANGLES = np.pi * np.arange(4) / 4
"""Directions from which the bend is sought (our numerical step)."""
FLAT, BENT = slice(0, 9), slice(0, 14)
H_, LENS, RISE, TURN = slice(0, 8), 8, slice(9, 14), 10
"""Where the numbers of a sheet stand: homography, lens; focal length, angle, heights."""


@dataclass(frozen=True, eq=False)
class View:
    """How a page of `size` mm is seen. numbers (14,): homography mm -> pixels before the lens, last one 1; radial
    distortion about `centre` per half diagonal; logarithm of the focal length by FOCAL, angle of the bend in radians,
    and its heights in mm. loose (k, 14): the numbers moved by one sigma along each axis that the marks leave open."""

    numbers: Array
    size: tuple[float, float]
    centre: Array
    half: float
    loose: Array = field(default_factory=lambda: np.zeros((0, 14)))

    @property
    def H(self) -> Array:
        """(3, 3) of a flat page."""
        result: Array = np.append(self.numbers[H_], 1.0).reshape(3, 3)
        return result

    def pixels(self, mm: Array) -> Array:
        """(n, 2) in the picture of places (n, 2) on the page."""
        flat, high = self._lying(mm) if self.numbers[RISE][2:].any() else (mm, np.zeros(len(mm)))
        xyw = np.column_stack([flat, np.ones(len(mm))]) @ self.H.T + high[:, None] * self._nearer
        offset = (xyw[:, :2] / xyw[:, 2:] - self.centre) / self.half
        lens = 1 + self.numbers[LENS] * (offset**2).sum(axis=1, keepdims=True)
        result: Array = self.centre + self.half * offset * lens
        return result

    def open_px(self, mm: Array) -> Array:
        """(n,) one sigma, in pixels, of where places (n, 2) on the page lie."""
        here = self.pixels(mm)
        moved = [np.linalg.norm(replace(self, numbers=one).pixels(mm) - here, axis=1) for one in self.loose]
        return np.asarray(np.linalg.norm(np.array(moved).reshape(len(moved), len(mm)), axis=0), np.float64)

    @cached_property
    def _nearer(self) -> Array:
        """(3,) what a mm of height adds to a place's homogeneous pixels: the page's third axis, by the other two."""
        f = FOCAL * np.exp(self.numbers[RISE][0]) * self.half
        K = np.array([[f, 0, self.centre[0]], [0, f, self.centre[1]], [0, 0, 1]])
        a, b = np.linalg.solve(K, self.H[:, :2]).T
        result: Array = -K @ np.cross(a, b) / np.sqrt(np.linalg.norm(a) * np.linalg.norm(b))
        return result

    def _lying(self, mm: Array) -> tuple[Array, Array]:
        """Places (n, 2) as seen from straight above, and how high they lie."""
        _, angle, *heights = self.numbers[RISE]
        along, half = np.array([np.cos(angle), np.sin(angle)]), np.array(self.size) / 2
        reach = float(np.hypot(*(along * half)))
        rise = np.array([*heights[::-1], 0.0, 0.0])
        s = (mm - half) @ along / reach
        # The paper keeps its length: what it rises it comes short, 1 - sqrt(1 - q) to second order.
        slope = np.polyder(rise) / reach
        q = np.polymul(slope, slope)
        short = np.polyint(np.polyadd(q / 2, np.polymul(q, q) / 8))
        return mm - reach * np.polyval(short, s)[:, None] * along, np.polyval(rise, s)


@dataclass(frozen=True)
class _Search:
    """Which numbers are free, and how many steps they are given."""

    free: slice
    steps: int


def fitted(start: View, mm: Array, px: Array) -> View:
    """The view by the corners of marks, places (n, 2) on the page and in the picture: flat, or bent where it is not."""
    flat = _solved(start, mm, px, _Search(FLAT, 100))
    if worst(flat, mm, px) <= max(FLAT_MM, FLAT_PX / px_per_mm(mm, px)):
        return flat
    tried = [_solved(_turned(flat, angle), mm, px, _Search(BENT, 12)) for angle in ANGLES]
    return _solved(min(tried, key=lambda v: _left(v, mm, px)), mm, px, _Search(BENT, 40))


def _left(view: View, mm: Array, px: Array) -> float:
    return float(np.square(view.pixels(mm) - px).sum())


def _turned(flat: View, angle: float) -> View:
    numbers = flat.numbers.copy()
    numbers[RISE] = 0.0, angle, 1.0, 0.0, 0.0
    return replace(flat, numbers=numbers)


def _solved(start: View, mm: Array, px: Array, search: "_Search") -> View:
    from scipy.optimize import least_squares

    scale, free = px_per_mm(mm, px), search.free
    # Each number of the homography in its own size: they differ by many powers of ten.
    size = np.append(np.maximum(np.abs(start.numbers[:8]), 1e-6), [1.0, 1.0, 1.0, *HEIGHTS])[free]

    def view(x: Array) -> View:
        numbers = start.numbers.copy()
        numbers[free] += x * size
        return replace(start, numbers=numbers)

    def away(x: Array) -> Array:
        one = view(x)
        off = ((one.pixels(mm) - px) / scale).ravel()
        return np.append(off, CORNER_MM * one.numbers[RISE] / [FOCAL_SPREAD, np.inf, *HEIGHTS])

    # Soft: one corner under dirt must not move the page, and is left out afterwards.
    how = {"loss": "soft_l1", "f_scale": ODD_MM, "ftol": 1e-5, "xtol": 1e-5}
    found = least_squares(away, np.zeros(len(size)), max_nfev=search.steps, **how)
    done = view(found.x)
    return done if free == FLAT else replace(done, loose=_loose(done, size, found.jac, found.fun))


def _loose(done: View, size: Array, slopes: Array, left: Array) -> Array:
    """(14, 14) the numbers of a bent sheet moved by one sigma along each axis, from the slopes (m, 14) in units of
    `size` and what is left (m,) in mm, the priors' among them."""
    # What fits badly is no such sheet quite: then its numbers are that much the looser; the four corners of a mark on
    # a sheet that bends otherwise err together, so that they tell as much as one.
    sigma = max(CORNER_MM, 2 * float(np.sqrt(np.sum(np.square(left)) / max(len(left) - 2 * len(size), 1))))
    # A page that hardly bends may do so in any direction: half a radian is then open, and a trace of all else.
    least = np.full(len(size), 1e-9)
    least[TURN] = (CORNER_MM / OPEN_TURN) ** 2
    axes = np.linalg.cholesky(np.linalg.inv(slopes.T @ slopes + np.diag(least))).T
    result: Array = done.numbers + sigma * axes * size
    return result


def px_per_mm(mm: Array, px: Array) -> float:
    """About, over all of the marks."""
    return float(np.linalg.norm(np.ptp(px, axis=0)) / np.linalg.norm(np.ptp(mm, axis=0)))


def worst(view: View, mm: Array, px: Array) -> float:
    """mm that the worst corner lies off."""
    return float(np.linalg.norm(view.pixels(mm) - px, axis=1).max()) / px_per_mm(mm, px)


def plate(view: View, mm: Array, px: Array) -> Callable[[Array], Array]:
    """What the view leaves, pixels (n, 2) at places (n, 2)."""
    from scipy.interpolate import RBFInterpolator

    found: Callable[[Array], Array] = RBFInterpolator(
        mm, px - view.pixels(mm), kernel="thin_plate_spline", smoothing=PLATE
    )
    return found
