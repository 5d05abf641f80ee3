"""When a film hides what lies under it.

A coat adds one film (Kubelka-Munk, film.py); two coats are one film twice as thick. A ground is hidden after the
smallest number of coats from which on the film is

- within HIDDEN (CIEDE2000) of its own opaque colour; or
- within CLOSE of it and even: no coat is laid to an even thickness, and the ground betrays itself as patches where the
  film is thin. Each coat varies by UNEVEN of its thickness, independently of the others, n coats by UNEVEN sqrt(n) of
  one; the film is even when its thin and its thick places differ by no more than HIDDEN. White over a white primer or
  a clear yellow over white lie even long before they are opaque: the ground only makes the whole area a little paler.

A speck has no room for patches, nor anything of its own colour beside it: within CLOSE does for a dot.

The trade's own measure is the contrast ratio over a chart of black and white; 0.98 is called complete hiding.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.colour.film import film, inverse_saunderson, saunderson
from finishplan.colour.light import delta_e, lab, xyz

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

HIDDEN = 1.0
"""CIEDE2000 of a just-visible step side by side."""
CLOSE = 3.0
"""CIEDE2000 that two surfaces apart from each other may differ by without being told apart (common practice)."""
UNEVEN = 0.25
"""How far a coat is thinner here and thicker there than on the whole, as a share of its thickness (our assumption)."""
BRUSH_COAT_MM = 0.020
"""Dry thickness of one thin coat by brush (common practice)."""
MOST_TRIED = 30
"""Coats beyond which counting stops; a film that still shows its ground then counts as MOST_TRIED + 1."""
CHART_WHITE = 0.80
"""Reflectance of the white field of a hiding chart (ASTM D2805, ISO 6504-3); the black one is taken as 0."""
COMPLETE = 0.98
"""Contrast ratio of complete hiding (ISO 6504-3)."""
BISECTIONS = 40


@dataclass(frozen=True, eq=False)
class Films:
    """Mixes as films under one surface. K, S: (M, 31) per mm; opaque: (M, 31) internal reflectance of thick films;
    k1, k2: Saunderson constants of the finish."""

    K: Array
    S: Array
    opaque: Array
    k1: float
    k2: float

    def curves(self, grounds: Array, mm: float, most: int = MOST_TRIED) -> Array:
        """(M, G, most + 1) CIEDE2000 from opaque after 0, 1, ... coats of `mm` of each mix over grounds (G, 31),
        internal."""
        # n coats of one mix are one film n times as thick, so all counts are computed at once.
        thickness = mm * np.arange(most + 1)[None, None, :, None]
        laid = film(self.K[:, None, None], self.S[:, None, None], thickness, grounds[None, :, None])
        return delta_e(self.seen(laid), self.seen(self.opaque)[:, None, None])

    def patches(self, mixes: Counts, grounds: Array, coats: Counts, mm: float) -> Array:
        """(P,) CIEDE2000 between thin and thick places, each of `coats` coats of one of the mixes over (P, 31)
        grounds."""
        # Independent errors add up as squares: n coats vary by sqrt(n) times what one does.
        off = UNEVEN * np.sqrt(coats)
        thin, thick = (
            self.seen(film(self.K[mixes], self.S[mixes], mm * n[:, None], grounds)) for n in (coats - off, coats + off)
        )
        return delta_e(thin, thick)

    def coats(self, grounds: Array, mm: float, most: int = MOST_TRIED) -> Counts:
        """(M, G) coats of `mm` by the rule above, at least 1; most + 1 when even that many do not hide."""
        return self.hiding(self.curves(grounds, mm, most), grounds, mm)

    def hiding(self, curves: Array, grounds: Array, mm: float) -> Counts:
        """(M, G) coats by the rule above, of `curves` (M, G, N + 1) over grounds (G, 31); mm: one dry coat."""
        hidden = curves <= HIDDEN
        # Only between the two limits does evenness decide, and patches cost two films and a difference each.
        mixes, under, n = np.nonzero(~hidden & (curves <= CLOSE))
        if len(mixes):
            hidden[mixes, under, n] = self.patches(mixes, grounds[under], n, mm) <= HIDDEN
        return from_which_on(hidden)

    def one(self, mix: int) -> "Films":
        """The films of one mix alone."""
        return Films(self.K[[mix]], self.S[[mix]], self.opaque[[mix]], self.k1, self.k2)

    def needed(self, grounds: Array, mm: float, speck: bool, most: int = MOST_TRIED) -> Counts:
        """(M, G) dabs of a speck, else coats, of `mm` over grounds (G, 31); most + 1 when even so many do not hide."""
        return dabs_to_hide(self.curves(grounds, mm, most)) if speck else self.coats(grounds, mm, most)

    def seen(self, r: Array) -> Array:
        """(..., 3) L*a*b* of internal reflectances (..., 31)."""
        return lab(saunderson(r, self.k1, self.k2))

    def over_chart(self, mm: ArrayLike) -> Array:
        """(M, 2, 31) internal reflectances of films of `mm` over the black and the white field of a hiding chart."""
        # A black of reflectance 0, as the standard has it: the surface's own shine is added by `seen`.
        grounds = np.array([0.0, float(inverse_saunderson(CHART_WHITE, self.k1, self.k2))])[None, :, None]
        return film(self.K[:, None], self.S[:, None], mm, grounds)

    def contrast(self, mm: ArrayLike) -> Array:
        """(M,) contrast ratio of films of `mm` dry, 0-1: Y over black / Y over white (ASTM D2805, ISO 6504-3)."""
        Y = xyz(saunderson(self.over_chart(mm), self.k1, self.k2))[..., 1]
        ratio: Array = Y[:, 0] / Y[:, 1]
        return ratio

    def hiding_mm(self) -> Array:
        """(M,) dry thickness of complete hiding: a contrast ratio of COMPLETE."""
        return self._least_mm(lambda mm: self.contrast(mm) >= COMPLETE)

    def bar_gone_mm(self) -> Array:
        """(M,) dry thickness at which the eye no longer finds the black bar of a chart: HIDDEN between over it and
        beside it."""

        def gone(mm: Array) -> NDArray[np.bool_]:
            seen = self.seen(self.over_chart(mm))
            return delta_e(seen[:, 0], seen[:, 1]) <= HIDDEN

        return self._least_mm(gone)

    def _least_mm(self, hides: Callable[[Array], NDArray[np.bool_]]) -> Array:
        """(M,) thickness, 1e-5 to 1e3 mm, from which on a film of each mix, (M, 1, 1), hides: its logarithm halved."""
        low, high = np.full(len(self.K), np.log(1e-5)), np.full(len(self.K), np.log(1e3))
        # In logarithms, as thicknesses of different paints lie decades apart.
        for _ in range(BISECTIONS):
            middle = (low + high) / 2
            done = hides(np.exp(middle)[:, None, None])
            low, high = np.where(done, low, middle), np.where(done, middle, high)
        result: Array = np.exp(high)
        return result


def dabs_to_hide(curves: Array) -> Counts:
    """(...) dabs of a dot that bring it within CLOSE of opaque; N + 1 when even N do not. curves: (..., N + 1)
    CIEDE2000 from opaque after 0, 1, ... N dabs."""
    return from_which_on(curves <= CLOSE)


def full_coats(curves: Array) -> Counts:
    """(...) coats that bring a film within HIDDEN of its opaque self and keep it there, at least 1; N + 1 when even N
    do not. curves: (..., N + 1) CIEDE2000 from opaque after 0, 1, ... N coats."""
    return from_which_on(curves <= HIDDEN)


def from_which_on(hidden: NDArray[np.bool_]) -> Counts:
    """(...) index along the last axis of (..., N) from which on all are true, at least 1; N when the last is false."""
    # Not simply the first true: bare ground is even, so one near the colour would count as hidden before any coat.
    # The first false from behind; argmin of all true is 0 as well, which the next line sets right.
    last = hidden.shape[-1] - np.argmin(hidden[..., ::-1], axis=-1)
    result: Counts = np.maximum(np.where(hidden.all(axis=-1), 1, last), 1).astype(np.int64)
    return result
