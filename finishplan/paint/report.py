"""What `finishplan box` tells of each paint: swatches, how many coats it takes, how it tints, its cautions."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.hiding import BRUSH_COAT_MM, full_coats
from finishplan.colour.light import delta_e, hex_from_lab, lab, xyz
from finishplan.paint.estimate import table_white
from finishplan.paint.model import Box, Opacity, Paint

Array = NDArray[np.float64]

WHITE_PRIMER, BLACK_PRIMER = 0.85, 0.045
"""Reflectance of matt primers (common practice)."""
CLASS_MM = 0.1
MOST_COATS = 20
TINT = 0.1
_OPACITY: tuple[tuple[float, Opacity], ...] = (
    (0.88, "opaque"),
    (0.75, "semi-opaque"),
    (0.55, "semi-transparent"),
    (0.0, "transparent"),
)
OPACITY_LEGEND = (
    f"opacity: how far a film of {CLASS_MM:g} mm hides black and white. A dark paint hides by swallowing light, "
    "and counts as opaque here though its label says transparent."
)


@dataclass(frozen=True)
class PaintFacts:
    """One paint of the box. masstone, tint (one part in ten of white), over_black (one coat): '#rrggbb'.

    coats_over_white, coats_over_black: thin coats to the full colour, within 1 of the opaque film (CIEDE2000), None
    beyond 20; the painting order stops sooner where more paint is not seen.
    contrast: Y over black / Y over white of two thin coats (0.98 is complete hiding in ASTM D2805 and ISO 6504-3).
    opacity: its class by the same of a film of 0.1 mm. strength: K at the paint's strongest absorption over S of the
    white there, None without a white.
    """

    paint: Paint
    masstone: str
    tint: str | None
    over_black: str
    coats_over_white: int | None
    coats_over_black: int | None
    contrast: float
    opacity: Opacity
    strength: float | None


def paint_facts(box: Box) -> tuple[PaintFacts, ...]:
    """The facts of every paint of the box, in its order, under the table's own surface."""
    white = next((p for p in box.paints if p.id == box.white), None) or table_white(box.table)
    return tuple(_facts(p, white, box) for p in box.paints)


def _facts(paint: Paint, white: Paint | None, box: Box) -> PaintFacts:
    k1, k2 = box.table.k1, box.table.k2

    def seen(r: Array) -> Array:
        return lab(saunderson(r, k1, k2))

    grounds = inverse_saunderson(np.array([[WHITE_PRIMER], [BLACK_PRIMER]]) * np.ones(31), k1, k2)
    coats = np.arange(MOST_COATS + 1)[:, None, None]
    layers = film(paint.K, paint.S, BRUSH_COAT_MM * coats, grounds)
    away = delta_e(seen(layers), seen(opaque(paint.K, paint.S)))
    tint, strength = None, None
    if white is not None:
        mixed = [TINT * p + (1 - TINT) * w for p, w in ((paint.K, white.K), (paint.S, white.S))]
        tint = hex_from_lab(seen(opaque(*mixed)))
        peak = int(paint.K.argmax())
        strength = float(paint.K[peak] / white.S[peak]) if paint.id != white.id else 0.0
    contrast = contrast_ratio(paint.K, paint.S, 2 * BRUSH_COAT_MM, k1, k2)
    over_white, over_black = (n if n <= MOST_COATS else None for n in full_coats(away.T).tolist())
    return PaintFacts(
        paint=paint,
        masstone=hex_from_lab(seen(opaque(paint.K, paint.S))),
        tint=tint,
        over_black=hex_from_lab(seen(layers[1, 1])),
        coats_over_white=over_white,
        coats_over_black=over_black,
        contrast=contrast,
        opacity=opacity_class(contrast_ratio(paint.K, paint.S, CLASS_MM, k1, k2)),
        strength=strength,
    )


def contrast_ratio(K: Array, S: Array, thickness_mm: float, k1: float, k2: float) -> float:
    """Y over a black (R = 0 inside) divided by Y over a white card of R = 0.80, 0-1: ASTM D2805, ISO 6504-3.

    K, S: (31,) per mm; k1, k2: Saunderson constants.
    """
    grounds = np.array([0.0, float(inverse_saunderson(0.80, k1, k2))])[:, None]
    Y = xyz(saunderson(film(K, S, thickness_mm, grounds), k1, k2))[:, 1]
    return float(Y[0] / Y[1])


def opacity_class(contrast: float) -> Opacity:
    """The class of a film of 0.1 mm by its contrast ratio: opaque from 0.88, then 0.75 and 0.55 (our choice)."""
    return next(name for least, name in _OPACITY if contrast >= least)


def box_json(box: Box) -> list[dict[str, Any]]:
    """The paints of the box as the JSON of `finishplan box`."""
    return [
        {
            "paint": f.paint.id,
            "name": f.paint.name,
            "ci": f.paint.ci,
            "hex": f.masstone,
            "tint_hex": f.tint,
            "over_black_hex": f.over_black,
            "coats_over_white": f.coats_over_white,
            "coats_over_black": f.coats_over_black,
            "contrast_ratio": round(f.contrast, 3),
            "opacity": f.opacity,
            "tinting_strength": None if f.strength is None else round(f.strength, 2),
            "density": f.paint.density,
            "hazards": list(f.paint.hazards),
            "source": f.paint.source,
            "estimate": f.paint.estimate,
            "ml_left": f.paint.ml_left,
            "price_per_ml": f.paint.price_per_ml,
        }
        for f in paint_facts(box)
    ]
