"""What to aim at for a drawn colour: the colour itself, bent only where the box's white or black ends its reach.

A screen shows lightness from 0 to 100, paint from about 23 (the shine of the surface lies over its black) to 97. In
between the drawn colour is the aim. Beyond, lightness is bent so that no two drawn colours swap: what is darker than
the box can be is pressed into a narrow step above the box's darkest, and the colours beside it make room for that. The
hue stays. A colour that is lifted loses chroma as if the surface's white shine were laid over it: a* and b* are
differences of cube roots of X, Y and Z, which fall with Y to the power of two thirds where the same light is added.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.colour.film import surface
from finishplan.colour.light import xyz_from_lab
from finishplan.paint.model import Box
from finishplan.paint.recipes import lab_blocks, plain_groups
from finishplan.paint.settings import MixSettings

Array = NDArray[np.float64]

KNEE = 0.9
"""L* that a colour at the very end of the box's reach is bent by: under 1 CIEDE2000 at either end, with the chroma
that it loses (tests). Our rule."""
KEPT = 0.5
"""Share of a difference in lightness that the bend of a reachable colour keeps at least. Our rule."""
LEAST_RANGE = 20.0
"""L* between a box's darkest and lightest below which nothing is bent: it has no light and dark to fit a drawing
to. Our rule."""


@dataclass(frozen=True)
class Reach:
    """L* of the darkest and of the lightest that a box can lay."""

    dark: float
    light: float


def reach_of(box: Box, settings: MixSettings) -> Reach:
    """The darkest and the lightest of all recipes of at most two paints as they come, under the finish."""
    k1, k2 = surface(settings.finish, box.table.k1, box.table.k2)
    K, S = (np.stack([getattr(p, c) for p in box.paints]) for c in "KS")
    groups = plain_groups(len(K), min(2, settings.max_paints), settings.max_parts)
    ends = [(float(block[:, 0].min()), float(block[:, 0].max())) for block in lab_blocks(K, S, groups, k1, k2)]
    return Reach(min(low for low, _ in ends), max(high for _, high in ends))


def aims(drawn_labs: ArrayLike, box: Box, settings: MixSettings | None = None) -> Array:
    """L*a*b* (n, 3) to aim at for the drawn ones (n, 3), D65.

    settings.dark: 'exact' aims at every colour that the box reaches as it is drawn, within KNEE; 'keep contrast' lifts
    the dark colours together, so that those darker than the black paint keep half of their differences. Raises
    InputError for an unknown finish.
    """
    settings = settings or MixSettings()
    drawn = np.asarray(drawn_labs, np.float64).reshape(-1, 3).copy()
    reach = reach_of(box, settings)
    if reach.light - reach.dark >= LEAST_RANGE:
        L = bent(drawn[:, 0], reach, settings.dark)
        Y, lifted = (xyz_from_lab(np.stack([v, 0 * v, 0 * v], axis=-1))[:, 1] for v in (drawn[:, 0], L))
        # Only down: a colour that is darkened at the white end does not gain chroma.
        drawn[:, 1:] *= np.minimum(1, (Y / lifted) ** (2 / 3))[:, None]
        drawn[:, 0] = L
    return drawn


def bent(L: Array, reach: Reach, dark: str = "exact") -> Array:
    """(...) lightness aimed at for drawn lightness (...), 0-100: rising everywhere, by straight pieces."""
    # From there to the end the slope is KEPT: (room - KNEE) / room.
    room = KNEE / (1 - KEPT)
    low, high = reach.dark, reach.light
    if dark == "exact":
        drawn, aimed = [0.0, low, low + room], [low, low + KNEE, low + room]
    else:
        # No later than the bend at the white end begins: without a dark paint the two would cross.
        knee = min(low / (1 - KEPT), high - room)
        drawn, aimed = [0.0, knee], [low, knee]
    # Between the knees the drawn lightness itself; the pieces meet, so that no two colours swap.
    result: Array = np.interp(L, [*drawn, high - room, high, 100.0], [*aimed, high - room, high - KNEE, high])
    return result
