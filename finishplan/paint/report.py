"""What `finishplan box` tells of each paint: swatches, how many coats it takes, how it tints, its cautions."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.hiding import BRUSH_COAT_MM, Films
from finishplan.colour.light import hex_from_lab, lab
from finishplan.paint.estimate import table_white
from finishplan.paint.model import Box, Opacity, Paint
from finishplan.paint.settings import BLACK_PRIMER, WHITE_PRIMER

Array = NDArray[np.float64]

CLASS_COATS = 2
MOST_COATS = 20
TINT = 0.1
VOLUME_SOLIDS = 0.38
"""Of a craft acrylic (common practice: 0.35-0.40)."""
_OPACITY: tuple[tuple[float, Opacity], ...] = (
    (0.90, "opaque"),
    (0.70, "semi-opaque"),
    (0.50, "semi-transparent"),
    (0.0, "transparent"),
)
OPACITY_LEGEND = (
    "coats: thin ones by brush until a white, a black primer no longer shows; m2 a litre: what a litre hides to 98 % "
    "(the trade's measure; wall paints 5 to 8); opacity: how far two thin coats hide black and white. A dark paint "
    "hides by swallowing light, and counts as opaque here though its label says transparent."
)


@dataclass(frozen=True)
class PaintFacts:
    """One paint of the box. masstone, tint (one part in ten of white), over_black (one coat): '#rrggbb'.

    coats_over_white, coats_over_black: thin coats that hide a primer by the plan's rule (colour/hiding.py), None beyond
    20. contrast: Y over black / Y over white of two thin coats on a hiding chart; opacity: its class. m2_per_litre: of
    wet paint at a contrast of 0.98, complete hiding. strength: K at the paint's strongest absorption over S of the
    white there, None without a white.
    """

    paint: Paint
    masstone: str
    tint: str | None
    over_black: str
    coats_over_white: int | None
    coats_over_black: int | None
    contrast: float
    m2_per_litre: float
    opacity: Opacity
    strength: float | None


def paint_facts(box: Box) -> tuple[PaintFacts, ...]:
    """The facts of every paint of the box, in its order, under the table's own surface."""
    # Tints are told of a box without a white too.
    white = next((p for p in box.paints if p.id == box.white), None) or table_white(box.table)
    return tuple(_facts(p, white, box) for p in box.paints)


def _facts(paint: Paint, white: Paint | None, box: Box) -> PaintFacts:
    k1, k2 = box.table.k1, box.table.k2
    K, S = paint.K[None], paint.S[None]
    films = Films(K, S, opaque(K, S), k1, k2)
    # A primer is known by what is seen of it; under paint it has no surface of its own.
    grounds = inverse_saunderson(np.array([[WHITE_PRIMER], [BLACK_PRIMER]]) * np.ones(31), k1, k2)
    coats = films.coats(grounds, BRUSH_COAT_MM, MOST_COATS)[0].tolist()
    over_white, over_black = (n if n <= MOST_COATS else None for n in coats)
    tint, strength = None, None
    if white is not None:
        mixed = [TINT * p + (1 - TINT) * w for p, w in ((paint.K, white.K), (paint.S, white.S))]
        tint = hex_from_lab(lab(saunderson(opaque(*mixed), k1, k2)))
        # Where a paint swallows most, a little of it is seen first.
        peak = int(paint.K.argmax())
        # White in white is no tint.
        strength = float(paint.K[peak] / white.S[peak]) if paint.id != white.id else 0.0
    contrast = float(films.contrast(CLASS_COATS * BRUSH_COAT_MM)[0])
    return PaintFacts(
        paint=paint,
        masstone=hex_from_lab(films.seen(films.opaque)[0]),
        tint=tint,
        over_black=hex_from_lab(films.seen(film(paint.K, paint.S, BRUSH_COAT_MM, grounds[1]))),
        coats_over_white=over_white,
        coats_over_black=over_black,
        contrast=contrast,
        m2_per_litre=spreading_m2_per_litre(float(films.hiding_mm()[0])),
        opacity=opacity_class(contrast),
        strength=strength,
    )


def spreading_m2_per_litre(dry_mm: float, volume_solids: float = VOLUME_SOLIDS) -> float:
    """What a litre covers with a film of `dry_mm`: theoretical spreading rate of ISO 23811, volume solids / film."""
    return volume_solids / dry_mm


def opacity_class(contrast: float) -> Opacity:
    """The class of a paint by the contrast ratio of two thin coats: from 0.90, 0.70 and 0.50 on (our choice)."""
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
            "m2_per_litre": round(f.m2_per_litre, 2),
            "opacity": f.opacity,
            "tinting_strength": None if f.strength is None else round(f.strength, 2),
            "density": f.paint.density,
            "hazards": list(f.paint.hazards),
            "source": f.paint.source,
            "estimate": f.paint.estimate,
            "measured_within": f.paint.swatch_off,
            "ml_left": f.paint.ml_left,
            "price_per_ml": f.paint.price_per_ml,
        }
        for f in paint_facts(box)
    ]
