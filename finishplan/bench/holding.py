"""Which pieces a spray would blow over, from their size."""

import math

from finishplan.job.settings import RESIN_G_PER_CM3
from finishplan.scheme.model import SchemePart

AIR_KG_M3, GRAVITY_M_S2 = 1.2, 9.81
DRAG, FRICTION = 1.1, 0.4
"""Of a blunt piece in a jet, and of resin on a board (handbook figures, from memory)."""


def piece_grams(part: SchemePart, density: float = RESIN_G_PER_CM3) -> float:
    """Mass in g of one solid piece from its outline: two thirds of outline x depth, exact for a ball; depth as its
    smaller drawn side. density: g/cm3."""
    return density * part.silhouette_cm2 * _depth_mm(part) / 10 * 2 / 3


def blown_over(part: SchemePart, spray_m_s: float, density: float = RESIN_G_PER_CM3) -> bool:
    """Whether a spray would slide or tip a piece that only stands: force of the jet on its outline, 1/2 rho c v^2 S,
    against friction, and at half its height against its weight on half its base. density: g/cm3."""
    force = 0.5 * AIR_KG_M3 * DRAG * spray_m_s**2 * part.silhouette_cm2 * 1e-4
    weight = piece_grams(part, density) * 1e-3 * GRAVITY_M_S2
    height = part.height_mm or _depth_mm(part)
    # To tip it, the jet has half the height as its lever, the weight half the base: the halves cancel.
    return force > FRICTION * weight or force * height > weight * _depth_mm(part)


def _depth_mm(part: SchemePart) -> float:
    sides = [s for s in (part.height_mm, part.width_mm) if s > 0]
    # Of a part whose sides are not known, the ball of that outline; 20: twice the radius, and cm made mm.
    return min(sides, default=20 * math.sqrt(part.silhouette_cm2 / math.pi))
