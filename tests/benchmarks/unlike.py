"""Cameras, renderers, light and tubes that the camera's prior was not learned with, patch by patch.

Only the sensor, lamps, white balance and colour matrix come from tests/photo/simulated.py. TRIED renderers were looked
at while the reading was made; KEPT ones only judge it.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "photo"), str(Path(__file__).parent)]

import printed as pr  # noqa: E402
import simulated as sim  # noqa: E402

from finishplan.photo.layout import CardPage  # noqa: E402
from finishplan.photo.model import Shot  # noqa: E402

Array = np.ndarray
Curve = Callable[[Array], Array]
W = pr.WAVES
WHITEST = 0.955
"""Coded sRGB that the paper's brightest channel is exposed to at most."""


def srgb(light: Array) -> Array:
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)


def on_coded(change: Curve) -> Curve:
    return lambda light: change(srgb(light))


def whole(curve: Curve) -> Curve:
    """Light from 0 to 1 stays so."""
    return lambda light: srgb(np.clip(curve(light) / curve(np.array(1.0)), 0, 1))


def sigmoid(steep: float) -> Curve:
    low, high = 1 / (1 + np.exp(steep / 2)), 1 / (1 + np.exp(-steep / 2))
    return lambda v: (1 / (1 + np.exp(steep * (0.5 - v))) - low) / (high - low)


def filmic(x: Array) -> Array:
    """Narkowicz' fit of the ACES reference tone curve (2015)."""
    return x * (2.51 * x + 0.03) / (x * (2.43 * x + 0.59) + 0.14)


def each_channel(light: Array) -> Array:
    return np.stack([srgb(light[..., i]) ** p for i, p in enumerate((1.06, 1.0, 0.94))], axis=-1)


TRIED: dict[str, Curve] = {
    "plain sRGB": srgb,
    "gamma 2.2": lambda light: light ** (1 / 2.2),
    "soft S": on_coded(lambda v: v + 0.25 * (v * v * (3 - 2 * v) - v)),
    "hard S": on_coded(lambda v: v + 0.55 * (v * v * (3 - 2 * v) - v)),
    "middle lifted": lambda light: srgb(0.6 * light + 0.4 * np.minimum(filmic(1.6 * light) / filmic(np.array(1.6)), 1)),
    "shadows lifted": on_coded(lambda v: v + 0.35 * v * (1 - v) ** 3),
}
KEPT: dict[str, Curve] = {
    "filmic": whole(lambda x: filmic(0.8 * x)),
    "Reinhard": whole(lambda x: x * 1.6 / (1 + 0.6 * x)),
    "sigmoid": on_coded(sigmoid(3.0)),
    "Rec. 709": lambda light: np.where(light < 0.018, 4.5 * light, 1.099 * np.maximum(light, 1e-9) ** 0.45 - 0.099),
    "brightened S": lambda light: sigmoid(4.0)(srgb(light * 1.9 / (1 + 0.9 * light))),
    "unlike channels": each_channel,
}


def sensor(rng: np.random.Generator) -> Array:
    """(31, 3) of a camera of no database: bells with skirts, crosstalk and an infrared filter; or colour-science's,
    bent."""
    if rng.integers(3) == 0:
        curves = sim.sensitivities(sim.CAMERAS[0]).T
    else:
        middle = np.array([600, 532, 460]) + rng.normal(0, [6, 5, 5])
        wide = np.array([[28, 36, 26], [38, 34, 30]]) * np.exp(rng.normal(0, 0.12, (2, 3)))
        bells = [np.exp(-0.5 * ((W - m) / np.where(m > W, a, b)) ** 2) for m, a, b in zip(middle, *wide, strict=True)]
        curves = np.array(bells) + rng.uniform(0, 0.06, (3, 3)) @ bells + rng.uniform(0, 0.02, (3, 1))
        curves[0] += rng.uniform(0, 0.12) * np.exp(-0.5 * ((W - 440) / 25) ** 2)
        curves = curves / (1 + np.exp((W - rng.uniform(655, 690)) / 8))
    bent = [np.interp(W, 550 + (W - 550) * rng.normal(1, 0.01) + rng.normal(0, 2), c) for c in curves]
    return np.maximum(np.array(bent).T, 0) + 1e-4


LIGHTS = ("even", "window", "vignette", "glare")


@dataclass(frozen=True)
class Taken:
    """One photograph: phone and lamp, the renderer, more chroma than is true, and the light over the page: a kind of
    LIGHTS, its slope (2,); exposure: a share."""

    phone: sim.Phone
    curve: Curve
    chroma: float
    light: str
    slope: Array
    exposure: float = 1.0

    def lit(self, xy: Array) -> tuple[Array, Array]:
        """(n, 1) how strongly places (n, 2) 0-1 are lit, and the light that glares over them."""
        at = xy - 0.5
        along = at @ self.slope / np.linalg.norm(self.slope)
        even = 1 + at @ self.slope - 0.08 * (at**2).sum(axis=1)
        lit = {
            "window": (1 + 0.3 * along) ** -2.0,
            "vignette": even * (1 + 1.2 * (at**2).sum(axis=1)) ** -2.0,
        }.get(self.light, even)
        glare = 0.025 / (1 + np.exp(8 * (0.15 - along))) if self.light == "glare" else np.zeros(len(xy))
        return lit[:, None], glare[:, None]

    def picture(self, R: Array, xy: Array, rng: np.random.Generator) -> Array:
        """(n, 3) coded sRGB of reflectances (n, 31) at places (n, 2)."""
        lit, glare = self.lit(xy)
        phone, light = self.phone, (self.phone.light(R) * lit + self.phone.stray + glare) * self.phone.exposure
        light = self.exposure * light + rng.normal(0, 0.0007, light.shape)
        rgb = np.clip((light * phone.gain) @ phone.matrix.T, 0, 1)
        grey = rgb @ np.array([0.2126, 0.7152, 0.0722])
        vivid = np.clip(grey[..., None] + self.chroma * (rgb - grey[..., None]), 0, 1)
        return np.clip(self.curve(vivid), 0, 1)


def taken(curve: Curve, lamp: str, rng: np.random.Generator, light: str = "even") -> Taken:
    slope = rng.normal(size=2)
    slope *= 0.15 / np.linalg.norm(slope)
    phone = sim.phone(sensor(rng), lamp, rng)
    return Taken(phone, curve, float(rng.choice([1.0, 1.08, 1.15, 1.22])), light, slope)


def shot_of(page: CardPage, R: Array, how: Taken, rng: np.random.Generator) -> tuple[Shot, Taken]:
    """The page's fields (n, 31), dabs left out, as read patch by patch; and how it was taken, exposed for its paper."""
    xy = np.array([f.read.middle for f in page.fields]) / page.size
    paper_xy = np.array([r.middle for r in page.paper]) / page.size
    paper = np.tile(pr.PAPER, (len(paper_xy), 1))
    while how.picture(paper, paper_xy, np.random.default_rng(0)).max() > WHITEST:
        how = replace(how, exposure=0.96 * how.exposure)
    own = [i for i, f in enumerate(page.fields) if f.field.kind != "dab"]
    fields = tuple(page.fields[i].field for i in own)
    bare = how.picture(paper, paper_xy, rng)
    return Shot(fields, how.picture(R[own], xy[own], rng), xy[own], bare, paper_xy), how


def tubes(ids: tuple[str, ...], rng: np.random.Generator) -> sim.Tubes:
    """Tubes whose hue differs by bumps, not by waves (printed.py)."""
    mine = pr.own_tubes([*ids], rng)
    K, S = (np.array([v[id] for id in ids]) for v in (mine.K, mine.S))
    return sim.Tubes(ids, K, S, ids.index(mine.white), pr.K1, pr.K2)
