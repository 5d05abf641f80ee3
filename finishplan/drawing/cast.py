"""Shadows laid as one layer multiplied over the colours: each is its base times the same coloured light, whatever its
hue, in sRGB code values as in linear light (both are near power laws of each other)."""

import numpy as np

from finishplan.drawing.tones import tone_of

MATCH = 4.0
"""DIN99b between a shadow and its base times the light."""
DEEP = (0.3, 0.92)
"""Least and greatest light a shadow keeps, of the code value (our rule: darker is another colour, lighter is none)."""
LEAST_COLOURS = 3
"""Different colours that must have the same light over them."""
KNOWN = 24
"""Code values below which a channel says nothing of the light."""
MOST_TRIED = 60


def cast_light(rgb: np.ndarray, base: np.ndarray, tone: np.ndarray) -> np.ndarray | None:
    """(3,) the light, 0-1 of the code value by channel, that most of the pairs of a base and a darker neighbour (m,)
    share; None where fewer than LEAST_COLOURS colours do. rgb: (n, 3) sRGB 0-255; longest borders first."""
    # Of a nearly black base any light gives the same tone.
    known = (rgb[base] >= KNOWN).all(1)
    light = rgb[tone[known]] / rgb[base[known]]
    # Longest borders first, so the most that are tried are the surest.
    light = light[((light > DEEP[0]) & (light < DEEP[1])).all(1)][:MOST_TRIED]
    best, most = None, LEAST_COLOURS - 1
    for one in light:
        found = under(rgb, base, tone, one)
        # Counted in different colours: one base with many shadows would agree with itself.
        colours = len(np.unique(np.rint(tone_of(rgb[base[found]]) / MATCH), axis=0)) if found.any() else 0
        if colours > most:
            best, most = one, colours
    return best


def under(rgb: np.ndarray, base: np.ndarray, tone: np.ndarray, light: np.ndarray) -> np.ndarray:
    """(m,) bool: pairs whose tone is its base under that (3,) light."""
    lit: np.ndarray = np.linalg.norm(tone_of(rgb[base] * light) - tone_of(rgb[tone]), axis=1) < MATCH
    return lit
