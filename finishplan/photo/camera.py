"""From the picture's numbers to the colour of a surface: what a phone does to light, undone, in 32 numbers.

The picture's sRGB coding (IEC 61966-2-1) is undone first, then the phone's own tone curve (2 numbers, 2 that bend it
as renderers of every maker do, cf. the curves of Grossberg, Nayar, IEEE PAMI 26, 1272, 2004, and 2 that tell red's and
blue's from green's), stray light (3) and a veil that grows over the page (2), exposure and white balance (3), and the
mixing of its colours by a root-polynomial of second degree (18; Finlayson, Mackiewicz, Hurlbert, IEEE Trans. Image
Process. 24, 1460, 2015, eq. 9), which does not change with exposure.
"""

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.text_files import shipped_toml
from finishplan.colour.light import lab_from_xyz

Array = NDArray[np.float64]

TONE, STRAY, GAIN, MATRIX = slice(0, 2), slice(2, 5), slice(5, 8), slice(8, 26)
BEND, CHANNELS, VEIL = slice(26, 28), slice(28, 30), slice(30, 32)
LEARNED, SIZE = 26, 32
OTHERS = np.array([0.03, 0.012, 0.03, 0.03, 0.008, 0.008])
"""One sigma of the six numbers that the prior's one renderer never varies, each 0 at first: bends of the tone curve, of
coded light; unlike curves of red and blue, of the logarithm of the power; light that veils one side more (our rule)."""
CODING = 2.4
"""Power of sRGB's coding (IEC 61966-2-1)."""
SHADOW, LONE = 0.2, 0.1
"""How far, in shares of the page, the light on a bare paper tells more than the page's quadratic does, and what share
of that is its own, as dust or a speck (our rule: bare paper lies beside every block of fields)."""
_LEAST = 1e-5
"""Of linear light, so that roots and powers have slopes: a 40th of the darkest step of eight bits (our numerical
step)."""


@dataclass(frozen=True, eq=False)
class CameraPrior:
    """What phones are like before this one is known: mean (32,) and covariance (32, 32) of their numbers."""

    mean: Array
    covariance: Array

    @property
    def whitening(self) -> Array:
        """(32, 32) W with W (x - mean) of unit variance."""
        result: Array = np.linalg.inv(np.linalg.cholesky(self.covariance))
        return result


@cache
def phone_prior() -> CameraPrior:
    """The shipped prior, learned by tools/learn_camera_prior.py from simulated photographs."""
    said = shipped_toml("photo/data/camera_prior.toml")
    return with_others(np.array(said["mean"], np.float64), np.array(said["covariance"], np.float64))


def with_others(mean: Array, covariance: Array) -> CameraPrior:
    """The prior of all numbers from that of the learned ones, (26,) and (26, 26)."""
    whole = np.diag(np.append(np.zeros(LEARNED), np.square(OTHERS)))
    whole[:LEARNED, :LEARNED] = covariance
    return CameraPrior(np.append(mean, np.zeros(SIZE - LEARNED)), whole)


def decoded(rgb: ArrayLike) -> Array:
    """(..., 3) linear light 0-1 of coded sRGB (..., 3) 0-1."""
    v = np.asarray(rgb, np.float64)
    result: Array = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    return result


def without_tone(linear: ArrayLike, camera: ArrayLike) -> Array:
    """(n, 3) light before the phone's tone curve. camera (32,): of the tone's two the logarithms of its power and of
    its lift of the middle tones; all 0 change nothing."""
    c = np.asarray(camera, np.float64)
    # At least a trace of light: a power has no slope at 0.
    v = np.clip(np.asarray(linear, np.float64), _LEAST, 1) ** (1 / CODING)
    v = v + c[BEND][0] * np.sin(2 * np.pi * v) + c[BEND][1] * np.sin(3 * np.pi * v)
    w = np.clip(v, _LEAST, 1) ** (CODING * np.exp(c[TONE][0] + np.array([c[CHANNELS][0], 0.0, c[CHANNELS][1]])))
    result: Array = w / (1 + (np.exp(c[TONE][1]) - 1) * (1 - w))
    return result


def without_stray(light: ArrayLike, camera: ArrayLike, xy: ArrayLike) -> Array:
    """(n, 3) light after the tone curve is undone less what strays in the lens or lies as a veil over the page, at
    places xy (n, 2) 0-1."""
    c = np.asarray(camera, np.float64)
    veil = (np.asarray(xy, np.float64) - 0.5) @ c[VEIL]
    result: Array = np.asarray(light, np.float64) - c[STRAY] - veil[:, None]
    return result


def scene_xyz(light: ArrayLike, camera: ArrayLike) -> Array:
    """(n, 3) XYZ in daylight (white Y = 100) of light without stray light (n, 3), divided by how strongly each place
    is lit; camera (32,)."""
    c = np.asarray(camera, np.float64)
    rgb = np.maximum(np.asarray(light) * np.exp(c[GAIN]), _LEAST)
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


def uneven(paper_light: ArrayLike, paper_xy: ArrayLike) -> float:
    """Root mean square, in shares, of what a quadratic leaves of the bare paper's light (m, 3) at (m, 2)."""
    bright = np.log(np.maximum(np.asarray(paper_light, np.float64).mean(axis=1), 0.01))
    terms = field_terms(paper_xy)
    left = bright - terms @ np.linalg.lstsq(terms, bright, rcond=None)[0]
    return float(np.sqrt(np.sum(np.square(left)) / max(len(left) - terms.shape[1], 1)))


@lru_cache(maxsize=64)
def _from_paper(paper: bytes, at: bytes) -> Array:
    """(n, m) by how much the light on each bare paper tells that at each place; places (m, 2) and (n, 2) 0-1 as bytes:
    a fit asks for the same ones some thousand times."""
    paper_xy, xy = (np.frombuffer(one).reshape(-1, 2) for one in (paper, at))
    smooth = np.linalg.pinv(field_terms(paper_xy))
    left = np.eye(len(paper_xy)) - field_terms(paper_xy) @ smooth
    near, between = (_alike(one, paper_xy) for one in (xy, paper_xy))
    local = np.linalg.solve(between + LONE * np.eye(len(paper_xy)), near.T).T
    result: Array = field_terms(xy) @ smooth + local @ left
    return result


def _alike(a: Array, b: Array) -> Array:
    away = np.linalg.norm(a[:, None] - b[None], axis=2)
    result: Array = np.exp(-0.5 * np.square(away / SHADOW))
    return result


def light_at(paper_light: ArrayLike, paper_xy: ArrayLike, xy: ArrayLike) -> Array:
    """(n, 1) how strongly places xy (n, 2) 0-1 are lit, mean 1 over the paper: a quadratic through the paper's light
    (m, 3) at paper_xy (m, 2), after the tone curve is undone, and what the nearest paper leaves of it, as a shadow does
    (kriging with a trend, Matheron, Adv. Appl. Probab. 5, 439, 1973). The paper's own colour plays no part."""
    # Brightness alone: the paper's colour may be the lamp's or its own. Its logarithm: lamps and lenses multiply.
    bright = np.log(np.maximum(np.asarray(paper_light, np.float64).mean(axis=1), 0.01))
    places = (np.ascontiguousarray(one, np.float64).tobytes() for one in (paper_xy, xy))
    result: Array = np.exp(np.clip(_from_paper(*places) @ (bright - bright.mean()), -3, 3))[:, None]
    return result
