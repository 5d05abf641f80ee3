"""How near a film of thin coats must come to its full colour, and after how many coats it does."""

import numpy as np
from numpy.typing import NDArray

HIDDEN = 1.0
"""CIEDE2000 of a just-visible step side by side."""
BRUSH_COAT_MM = 0.020
"""Dry thickness of one thin coat by brush (common practice)."""


def full_coats(curves: NDArray[np.float64]) -> NDArray[np.int64]:
    """(...) coats that bring a film within HIDDEN of its opaque self and keep it there, at least 1; N + 1 when even N
    do not. curves: (..., N + 1) CIEDE2000 from opaque after 0, 1, ... N coats."""
    return from_which_on(curves <= HIDDEN)


def from_which_on(hidden: NDArray[np.bool_]) -> NDArray[np.int64]:
    """(...) index along the last axis of (..., N) from which on all are true, at least 1; N when the last is false."""
    last = hidden.shape[-1] - np.argmin(hidden[..., ::-1], axis=-1)
    result: NDArray[np.int64] = np.maximum(np.where(hidden.all(axis=-1), 1, last), 1).astype(np.int64)
    return result
