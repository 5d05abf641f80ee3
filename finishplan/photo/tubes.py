"""What a tube may be: the table's K and S times a strength, a scattering and smooth changes over the wavelengths.

The spreads are those of paints that two laboratories measured years and batches apart (tools/measure_spread.py):
strength 0.36 and scattering 0.42 in logarithm; the smooth terms likewise, rounded.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.hiding import BRUSH_COAT_MM
from finishplan.colour.light import WAVELENGTHS_NM
from finishplan.paint.model import Paint
from finishplan.paint.swatch import SPREAD_LEFT
from finishplan.paint.trust import TUBE_SCATTERING, TUBE_STRENGTH
from finishplan.photo.model import Field

Array = NDArray[np.float64]

TUBE_SPREAD = np.array([TUBE_STRENGTH, TUBE_SCATTERING, 0.25, 0.2, 0.15, 0.1])
"""One sigma: strength, scattering, four cosines of ln K (tools/measure_spread.py, rounded)."""
WHITE_SPREAD = np.array([0.1, 0.1, 0.05, 0.05, 0.03, 0.03])
"""Of the white, by which all is judged: whites are alike (our rule)."""
COAT_SPREAD = 0.25
"""One sigma of the logarithm of a thin brush coat (common practice)."""
TINT_SPREAD = 0.15
"""One sigma of the logarithm of a tint's ratio, counted in drops (common practice: a tenth for each of two)."""
BAR_REFLECTANCE, BAR_SPREAD = 0.05, 0.4
"""Of a laser printer's black on matt paper and one sigma of its logarithm (common practice)."""
UNKNOWN = 1.6
"""Times the usual spread of a tube whose pigment nobody measured (our rule)."""
TERMS = len(TUBE_SPREAD)
_PLACE = (WAVELENGTHS_NM - WAVELENGTHS_NM[0]) / float(WAVELENGTHS_NM[-1] - WAVELENGTHS_NM[0])
_WAVES = np.stack([np.cos(np.pi * j * _PLACE) for j in range(1, TERMS - 1)])


@dataclass(frozen=True, eq=False)
class TubeModel:
    """Paints of the table as they are assumed at first, and the fields painted with them. K, S (p, 31); open: (p,)
    times a tube's usual spread that each paint may differ by; tube: (n,) index of each field's paint; white: index."""

    K: Array
    S: Array
    open: Array
    white: int
    tube: NDArray[np.int64]
    share: Array
    thin: NDArray[np.bool_]
    bar: NDArray[np.bool_]
    k1: float
    k2: float

    @property
    def spread(self) -> Array:
        """(p, 6) one sigma of each paint's terms."""
        result: Array = TUBE_SPREAD * self.open[:, None]
        result[self.white] = WHITE_SPREAD
        return result

    def constants(self, z: Array) -> tuple[Array, Array]:
        """K and S (p, 31) of terms z (p, 6) in units of their spread."""
        x = z * self.spread
        return self.K * np.exp(x[:, :1] + x[:, 2:] @ _WAVES), self.S * np.exp(x[:, :1] + x[:, 1:2])

    def seen(self, z: Array, loose: Array, bar: float) -> Array:
        """(n, 31) reflectances of the fields. loose (n,): of a tint its ratio's, of a thin coat its thickness'
        logarithm, in units of their spread; bar: of the printed black's reflectance likewise."""
        K, S = self.constants(z)
        c = self.share * np.exp(np.where(self.share < 1, TINT_SPREAD * loose, 0.0))
        c = np.minimum(c, 1.0)[:, None]
        mixed_K = c * K[self.tube] + (1 - c) * K[self.white]
        mixed_S = c * S[self.tube] + (1 - c) * S[self.white]
        black = BAR_REFLECTANCE * np.exp(BAR_SPREAD * bar)
        ground = inverse_saunderson(black, self.k1, self.k2)
        X = BRUSH_COAT_MM * np.exp(COAT_SPREAD * loose)[:, None]
        r = np.where(self.thin[:, None], film(mixed_K, mixed_S, X, ground), opaque(mixed_K, mixed_S))
        return np.where(self.bar[:, None], black, saunderson(r, self.k1, self.k2))


def _open(paint: Paint) -> float:
    if paint.swatch_off is not None:
        return SPREAD_LEFT
    return UNKNOWN if paint.estimate else 1.0


def tube_model(paints: Sequence[Paint], white: int, fields: Sequence[Field], k1: float, k2: float) -> TubeModel:
    """The model of these paints and fields; every field's paint must be among the paints."""
    at = {p.id: i for i, p in enumerate(paints)}
    return TubeModel(
        np.array([p.K for p in paints]),
        np.array([p.S for p in paints]),
        np.array([_open(p) for p in paints]),
        white,
        np.array([at.get(f.paint, white) for f in fields]),
        np.array([f.share for f in fields]),
        np.array([f.kind == "thin" for f in fields]),
        np.array([f.kind == "bar" for f in fields]),
        k1,
        k2,
    )
