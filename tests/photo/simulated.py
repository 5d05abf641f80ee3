"""Simulated photographs: published sensitivities and illuminants, and a rendering of our own as phones have it."""

from dataclasses import dataclass

import numpy as np

from finishplan.colour.light import WAVELENGTHS_NM, lab, xyz
from finishplan.colour.film import film, opaque, saunderson
from finishplan.paint.table import load_table

LAMPS = (
    "A", "D50", "D55", "D65", "D75", "FL2", "FL3.1", "FL7", "FL8", "FL11", "FL12",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-V1",
)  # fmt: skip
DAYLIGHT = ("D50", "D55", "D65", "D75")
_XYZ_TO_SRGB = np.linalg.inv([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def sensitivities(name: str) -> np.ndarray:
    """(31, 3) of a camera that colour-science carries."""
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    return np.maximum(colour.MSDS_CAMERA_SENSITIVITIES[name].copy().align(shape).values, 0)


def lamp_power(name: str) -> np.ndarray:
    """(31,) relative power, from colour-science's CIE tables."""
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    return np.maximum(colour.SDS_ILLUMINANTS[name].copy().align(shape).values, 0)


@dataclass(frozen=True)
class Phone:
    """One camera in one light: how it renders a scene."""

    sensitivity: np.ndarray
    power: np.ndarray
    gain: np.ndarray
    matrix: np.ndarray
    tone: tuple[float, float]
    stray: float
    exposure: float

    def light(self, R: np.ndarray) -> np.ndarray:
        """(..., 3) raw signals of reflectances (..., 31); a perfect reflector gives about 1."""
        weights = self.power[:, None] * self.sensitivity
        return R @ (weights / weights.sum(axis=0))

    def picture(self, R: np.ndarray, lit: np.ndarray | float, rng: np.random.Generator) -> np.ndarray:
        """(n, 3) coded sRGB 0-1 of patches lit by a share `lit`; eight bits, noise as the mean of a patch has."""
        linear = (self.light(R) * np.asarray(lit) + self.stray) * self.exposure
        linear = linear + rng.normal(0, 0.0007, linear.shape)
        srgb = np.clip((linear * self.gain) @ self.matrix.T, 0, 1)
        return self.coded(srgb)

    def coded(self, srgb: np.ndarray) -> np.ndarray:
        """The phone's tone curve and the coding of sRGB."""
        power, lift = self.tone
        w = srgb * lift / (1 + (lift - 1) * srgb)
        w = w**power
        w = w * w * (3 - 2 * w) * 0.12 + w * 0.88  # a little contrast, as renderings add: not in the model's family
        return np.where(w <= 0.0031308, 12.92 * w, 1.055 * np.maximum(w, 1e-9) ** (1 / 2.4) - 0.055)


def training_surfaces(rng: np.random.Generator, count: int = 200) -> np.ndarray:
    """(n, 31) smooth random reflectances, not paints, for a maker of cameras to fit a matrix with."""
    t = (WAVELENGTHS_NM - 400) / 300
    waves = np.stack([np.cos(np.pi * j * t) for j in range(7)])
    scale = 1.6 / (1 + np.arange(7)) ** 0.9
    return 1 / (1 + np.exp(-(rng.normal(size=(count, 7)) * scale) @ waves))


def phone(sensitivity: np.ndarray, lamp: str, rng: np.random.Generator) -> Phone:
    """A phone of that sensor in that light; white balance, matrix, tone curve and exposure are drawn."""
    power = lamp_power(lamp)
    weights = power[:, None] * sensitivity
    raw = weights / weights.sum(axis=0)
    surfaces = training_surfaces(np.random.default_rng(7))
    known = "A" if lamp in ("A", "FL12", "LED-B1", "LED-B2") else "D65"
    of_known = lamp_power(known)[:, None] * sensitivity
    of_known = of_known / of_known.sum(axis=0)
    target = xyz(surfaces) / 100 @ _XYZ_TO_SRGB.T
    matrix = np.linalg.lstsq(surfaces @ of_known, target, rcond=None)[0].T
    matrix = matrix / matrix.sum(axis=1, keepdims=True)
    del raw
    warm = np.exp(rng.normal(0, 0.04, 3))
    return Phone(
        sensitivity,
        power,
        warm / warm[1],
        matrix,
        (float(np.exp(rng.normal(0, 0.08))), float(np.exp(rng.normal(0.35, 0.2)))),
        float(rng.uniform(0, 0.015)),
        float(rng.uniform(0.75, 0.98)),
    )


@dataclass(frozen=True)
class Tubes:
    """A maker's tubes as they really are. K, S (n, 31) per mm; white: index."""

    ids: tuple[str, ...]
    K: np.ndarray
    S: np.ndarray
    white: int
    k1: float
    k2: float

    def mixed(self, parts: np.ndarray) -> np.ndarray:
        """(m, 31) reflectances of opaque films of parts (m, n)."""
        share = parts / parts.sum(axis=1, keepdims=True)
        return saunderson(opaque(share @ self.K, share @ self.S), self.k1, self.k2)

    def thin(self, i: int, thickness_mm: float, ground: float) -> np.ndarray:
        return saunderson(film(self.K[i], self.S[i], thickness_mm, ground), self.k1, self.k2)


def tubes(ids: tuple[str, ...], rng: np.random.Generator) -> Tubes:
    """Random tubes of table paints: strength, scattering and smooth changes of hue (the published spread of tubes)."""
    table = load_table(None)
    by_id = {p.id: p for p in table.paints}
    t = (WAVELENGTHS_NM - 400) / 300
    waves = np.stack([np.cos(np.pi * j * t) for j in range(1, 6)])
    K, S = [], []
    for id in ids:
        white = id == "titanium-white"
        strength, scatter = rng.normal(0, 0.1 if white else 0.36), rng.normal(0, 0.1 if white else 0.42)
        hue = (rng.normal(size=5) * (0.03 if white else 0.12)) @ waves
        K.append(by_id[id].K * np.exp(strength + hue))
        S.append(by_id[id].S * np.exp(strength + scatter + (rng.normal(size=5) * 0.04) @ waves))
    return Tubes(ids, np.array(K), np.array(S), ids.index("titanium-white"), table.k1, table.k2)


def true_lab(R: np.ndarray) -> np.ndarray:
    return lab(R)
