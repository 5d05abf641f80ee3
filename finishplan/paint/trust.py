"""How far a real pot may lie from the predicted colour.

Sources of error, each one sigma, added as independent:
- the hand: every ingredient off by a tenth (common practice);
- the tube: from the ten paints that both sources of the acrylic table measured, years and batches apart, the logarithm
  of K differs by 0.36 (root mean square, weighted with K), that of S by 0.55, correlated 0.66: which is one error
  of 0.36 in tinting strength (K and S together) and one of 0.42 in S alone (tools/measure_spread.py);
- the model: what is left of a 10 % tint between the sources when strength and scattering are made equal, 0.9
  CIEDE2000 (root mean square); measured oil mixtures differ from predicted ones by a median of 2.1, much of which is
  the films' thickness and surface: 1.5;
- a bottle known by its colour only: half of its K and S once more.
"""

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import opaque, saunderson
from finishplan.colour.light import delta_e, lab
from finishplan.paint.recipes import Indices
from finishplan.paint.shelf import Shelf

Array = NDArray[np.float64]

HAND = 0.10
"""One sigma of the logarithm of an amount measured by hand (common practice)."""
TUBE_STRENGTH = 0.36
TUBE_SCATTERING = 0.42
"""One sigma of ln K and S together, and of ln S alone, from tube to tube (tools/measure_spread.py)."""
MODEL_DELTA_E = 1.5
"""One sigma, CIEDE2000, of what the model leaves (our choice, between the two figures above)."""
ESTIMATE = 0.5
"""One sigma of ln K and ln S of a bottle known by its colour only (our choice)."""


def looseness(shelf: Shelf, ingredients: Indices, parts: Indices, hand: float = HAND) -> Array:
    """(n,) CIEDE2000, root of the sum of squares, by which one sigma of hand and tube in each ingredient's amount moves
    recipes (n, k)."""
    right = lab(shelf.seen(ingredients, parts))
    sigma = _amount_error(shelf, ingredients, hand)
    squares = np.zeros(len(parts))
    for j in range(parts.shape[1]):
        off = parts.astype(np.float64)
        off[:, j] *= np.exp(sigma[:, j])
        squares += delta_e(lab(shelf.seen(ingredients, off)), right) ** 2
    result: Array = np.sqrt(squares)
    return result


def _amount_error(shelf: Shelf, ingredients: Indices, hand: float) -> Array:
    """One sigma of the logarithm of each ingredient's amount; letting down is a second measuring."""
    paint = shelf.paint[ingredients]
    # Both sources tell K and S by the scattering of their white: what whites differ by is in the others already.
    tube = np.where(paint == shelf.white, 0.0, TUBE_STRENGTH * shelf.spread[paint])
    guess = np.where(shelf.estimate[paint], ESTIMATE, 0.0)
    sigma: Array = np.sqrt(np.where(shelf.of[ingredients] > 0, 2, 1) * hand**2 + tube**2 + guess**2)
    return sigma


def hand_keeps(shelf: Shelf, ingredients: Indices, parts: Indices) -> float:
    """CIEDE2000 within which a hand, each part off by HAND (one sigma), keeps a recipe (k,) in nineteen cases of
    twenty: two sigma of the sum of its squares. 0 for a paint as it comes."""
    if len(parts) < 2:
        return 0.0
    right = lab(shelf.seen(ingredients[None], parts[None]))[0]
    squares = 0.0
    for j, steps in enumerate(np.where(shelf.of[ingredients] > 0, 2, 1).tolist()):
        off = parts.astype(np.float64)
        off[j] *= np.exp(HAND * np.sqrt(steps))
        squares += float(delta_e(lab(shelf.seen(ingredients[None], off[None]))[0], right)) ** 2
    return 2 * float(np.sqrt(squares))


def expect_within(shelf: Shelf, ingredients: Indices, parts: Indices, hand: float = HAND) -> float:
    """CIEDE2000 that a real pot of the recipe (k,) keeps in nineteen cases of twenty.

    The errors are small vectors in L*a*b*; the squared distance is a sum along the axes of their covariance, whose
    distribution is taken as a scaled chi-square (Satterthwaite, Biometrics Bulletin 2, 110 (1946); the 95 % point by
    Wilson and Hilferty, Proc. Natl. Acad. Sci. 17, 684 (1931)).
    """
    K, S = shelf.K[ingredients], shelf.S[ingredients]
    share = parts / parts.sum()

    def look(amounts: Array, scattering: Array) -> Array:
        weight = amounts[:, None]
        mixed = (weight * K).sum(axis=0), (weight * S * scattering[:, None]).sum(axis=0)
        return lab(saunderson(opaque(*mixed), shelf.k1, shelf.k2))

    right = look(share, np.ones(len(parts)))
    errors = []
    sigma = _amount_error(shelf, ingredients, hand)
    for j, one in enumerate(np.eye(len(parts))):
        errors.append(look(share * np.exp(sigma[j] * one), np.ones(len(parts))) - right)
        paint = shelf.paint[ingredients[j]]
        if paint != shelf.white:
            loose = np.hypot(TUBE_SCATTERING * shelf.spread[paint], ESTIMATE if shelf.estimate[paint] else 0.0)
            errors.append(look(share, np.exp(loose * one)) - right)
    # Correlated errors are turned to the axes of their covariance, where squares may be added.
    spread, axes = np.linalg.eigh(np.transpose(errors) @ np.array(errors))
    steps = np.sqrt(np.maximum(spread, 0))[:, None] * axes.T
    # Measured as CIEDE2000 along each axis: the eye is not as sharp in all of them.
    squares = np.append(delta_e(right + steps, right) ** 2, [MODEL_DELTA_E**2 / 3] * 3)
    total = float(squares.sum())
    # Satterthwaite: the chi-square of the same mean and variance.
    freedom = total**2 / float((squares**2).sum())
    tail = 2 / (9 * freedom)
    # Wilson and Hilferty: the cube root of chi-square is nearly normal; 1.6449 is its 95 % point.
    return float(np.sqrt(total * (1 - tail + 1.6449 * np.sqrt(tail)) ** 3))
