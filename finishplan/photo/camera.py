"""From the picture's numbers to the colour of a surface: what a phone does to light, undone, in 26 numbers.

The picture's sRGB coding (IEC 61966-2-1) is undone first, then the phone's own tone curve (2 numbers), stray light
(3), exposure and white balance (3), and the mixing of its colours by a root-polynomial of second degree (18; Finlayson,
Mackiewicz, Hurlbert, IEEE Trans. Image Process. 24, 1460, 2015, eq. 9), which does not change with exposure.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.text_files import shipped_toml
from finishplan.colour.light import lab_from_xyz

Array = NDArray[np.float64]

TONE, STRAY, GAIN, MATRIX = slice(0, 2), slice(2, 5), slice(5, 8), slice(8, 26)
SIZE = 26
_LEAST = 1e-5
"""Of linear light, so that roots and powers have slopes: a 40th of the darkest step of eight bits (our numerical
step)."""


@dataclass(frozen=True, eq=False)
class CameraPrior:
    """What phones are like before this one is known: mean (26,) and covariance (26, 26) of their numbers."""

    mean: Array
    covariance: Array

    @property
    def whitening(self) -> Array:
        """(26, 26) W with W (x - mean) of unit variance."""
        result: Array = np.linalg.inv(np.linalg.cholesky(self.covariance))
        return result


@cache
def phone_prior() -> CameraPrior:
    """The shipped prior, learned by tools/learn_camera_prior.py from simulated photographs."""
    said = shipped_toml("photo/data/camera_prior.toml")
    return CameraPrior(np.array(said["mean"], np.float64), np.array(said["covariance"], np.float64))


def decoded(rgb: ArrayLike) -> Array:
    """(..., 3) linear light 0-1 of coded sRGB (..., 3) 0-1."""
    v = np.asarray(rgb, np.float64)
    result: Array = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    return result


def without_tone(linear: ArrayLike, tone: ArrayLike) -> Array:
    """(..., 3) light before the phone's tone curve. tone (2,): logarithms of the power and of the
    lift of the middle tones; 0, 0 changes nothing."""
    power, lift = np.exp(np.asarray(tone, np.float64))
    # At least a trace of light: a power has no slope at 0.
    w = np.clip(np.asarray(linear, np.float64), _LEAST, 1) ** power
    result: Array = w / (1 + (lift - 1) * (1 - w))
    return result


def scene_xyz(light: ArrayLike, camera: ArrayLike) -> Array:
    """(n, 3) XYZ in daylight (white Y = 100) of light before the tone curve (n, 3), divided by how strongly each place
    is lit; camera (26,)."""
    c = np.asarray(camera, np.float64)
    # Stray light is added in the lens, before any gain: it goes first.
    rgb = np.maximum((np.asarray(light) - c[STRAY]) * np.exp(c[GAIN]), _LEAST)
    r, g, b = rgb.T
    # Roots of products are of the first degree in light, so that the colours do not change with exposure (eq. 9).
    terms = np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], axis=1)
    result: Array = 100 * terms @ c[MATRIX].reshape(6, 3)
    return result


def scene_lab(light: ArrayLike, camera: ArrayLike) -> Array:
    """(n, 3) L*a*b*, D65, of the same."""
    return lab_from_xyz(np.maximum(scene_xyz(light, camera), 0.01))


def field_terms(xy: ArrayLike) -> Array:
    """(n, 6) terms of a quadratic over places (n, 2) 0-1."""
    # From the middle of the page: the terms are then nearly independent, and the fit well conditioned.
    x, y = np.asarray(xy, np.float64).T - 0.5
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)


def light_at(paper_light: ArrayLike, paper_xy: ArrayLike, xy: ArrayLike) -> Array:
    """(n, 1) how strongly places xy (n, 2) 0-1 are lit, mean 1 over the paper: a quadratic through the paper's light
    (m, 3) at paper_xy (m, 2), after the tone curve is undone. The paper's own colour plays no part."""
    # Brightness alone: the paper's colour may be the lamp's or its own.
    bright = np.asarray(paper_light, np.float64).mean(axis=1)
    coefficients = np.linalg.lstsq(field_terms(paper_xy), bright / bright.mean(), rcond=None)[0]
    result: Array = np.maximum(field_terms(xy) @ coefficients, 0.05)[:, None]
    return result
