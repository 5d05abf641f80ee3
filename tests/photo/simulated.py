"""Simulated photographs: published sensitivities and illuminants, and a rendering of our own as phones have it."""

from dataclasses import dataclass

import cv2
import numpy as np

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.light import WAVELENGTHS_NM, lab, xyz
from finishplan.paint.table import load_table

LAMPS = (
    "A", "D50", "D55", "D65", "D75", "FL2", "FL3.1", "FL7", "FL8", "FL11", "FL12",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-V1",
)  # fmt: skip
CAMERAS = ("Nikon 5100 (NPL)",)
"""Of colour-science; the prior never saw it."""
DAYLIGHT = ("D50", "D55", "D65", "D75")
BAR = 0.045
"""Reflectance of printed black (common practice)."""
PAPER = 0.86
"""Of matt paper without whitener (common practice)."""
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


def reflectances(
    page, mine: Tubes, rng: np.random.Generator, hand: float = 0.1, dabs: dict[str, np.ndarray] | None = None
) -> np.ndarray:
    """(n, 31) of a page's fields as a hand paints them: tints by drops each `hand` off, thin coats of 20 um, a quarter
    more or less; of the bar its printed black; dabs: reflectance (31,) of each mix that got one."""
    found = []
    for field in (f.field for f in page.fields):
        if field.kind == "bar":
            found.append(np.full(31, BAR))
            continue
        if field.kind == "dab":
            found.append((dabs or {}).get(field.paint, np.full(31, PAPER)))
            continue
        i = mine.ids.index(field.paint)
        if field.kind == "thin":
            ground = float(inverse_saunderson(BAR, mine.k1, mine.k2))
            found.append(mine.thin(i, 0.020 * np.exp(rng.normal(0, 0.2)), ground))
            continue
        parts = np.zeros(len(mine.ids))
        parts[i] = field.share
        parts[mine.white] += 1 - field.share
        found.append(mine.mixed((parts * np.exp(rng.normal(0, hand, len(parts))))[None])[0])
    return np.array(found)


def drawn_page(page, colours: np.ndarray, paper: np.ndarray, black: np.ndarray, px_per_mm: float = 10.0) -> np.ndarray:
    """(h, w, 3) linear picture of the flat page: fields (n, 3), paper (3,), printed black (3,)."""
    w, h = (round(v * px_per_mm) for v in page.size)
    sheet = np.broadcast_to(paper, (h, w, 3)).astype(np.float32).copy()

    def fill(rect, value) -> None:
        x0, y0 = round(rect.x * px_per_mm), round(rect.y * px_per_mm)
        sheet[y0 : y0 + round(rect.h * px_per_mm), x0 : x0 + round(rect.w * px_per_mm)] = value

    for one, colour in zip(page.fields, colours, strict=True):
        if one.bar is not None and one.field.kind == "thin":
            fill(one.rect, 0.5 * (colour + paper))
            fill(one.bar, colour)
        else:
            fill(one.rect, colour)
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    for mark in page.marks:
        side = round(mark.rect.w * px_per_mm)
        pattern = cv2.aruco.generateImageMarker(book, mark.number, side)[:, :, None] > 127
        x0, y0 = round(mark.rect.x * px_per_mm), round(mark.rect.y * px_per_mm)
        sheet[y0 : y0 + side, x0 : x0 + side] = np.where(pattern, paper, black)
    return sheet


@dataclass(frozen=True)
class View:
    """How the page lies in the picture: its corners (4, 2) in pixels, clockwise from its top left, and a bend."""

    size: tuple[int, int]
    corners: np.ndarray
    blur: float = 1.0


def view(rng: np.random.Generator, size=(3000, 4000), page=(210.0, 297.0), tilt=0.05) -> View:
    """A hand-held view of the whole page, a little askew."""
    w, h = size
    scale = 0.88 * min(w / page[0], h / page[1])
    flat = np.array([[0, 0], [page[0], 0], [page[0], page[1]], [0, page[1]]]) - np.array(page) / 2
    turn = rng.normal(0, 0.03)
    rotated = flat @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    corners = rotated * scale + np.array([w, h]) / 2 + rng.uniform(-tilt, tilt, (4, 2)) * min(w, h) / 2.5
    return View(size, corners.clip(5, [w - 6, h - 6]), rng.uniform(0.6, 1.4))


def photograph(page, sheet: np.ndarray, phone: Phone, at: View, rng: np.random.Generator, lit=0.15) -> np.ndarray:
    """(h, w, 3) uint8: the page on a table, light falling off, lens blur, sensor noise; sheet is raw signal."""
    h, w = sheet.shape[:2]
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
    H = cv2.getPerspectiveTransform(corners, at.corners.astype(np.float32))
    table = phone.light(np.full(31, 0.25) * (1 + 0.4 * np.linspace(-1, 1, 31))).astype(np.float32)
    out = np.broadcast_to(table, (at.size[1], at.size[0], 3)).copy()
    cv2.warpPerspective(sheet, H, at.size, out, cv2.INTER_AREA, cv2.BORDER_TRANSPARENT)
    out = cv2.GaussianBlur(out, (0, 0), at.blur)
    y, x = np.mgrid[: at.size[1], : at.size[0]].astype(np.float32)
    d = rng.normal(size=2)
    d /= np.linalg.norm(d)
    u, v = x / at.size[0] - 0.5, y / at.size[1] - 0.5
    out *= (1 + lit * (u * d[0] + v * d[1]) - lit * (u * u + v * v))[:, :, None]
    linear = (out + phone.stray) * phone.exposure
    linear += rng.normal(0, 0.006, linear.shape).astype(np.float32) * np.sqrt(np.maximum(linear, 0.01))
    srgb = np.clip((linear * phone.gain) @ phone.matrix.T, 0, 1)
    return np.rint(phone.coded(srgb) * 255).astype(np.uint8)


def photo_of(page, mine: Tubes, rng: np.random.Generator, **how) -> np.ndarray:
    """(h, w, 3) uint8: a page painted and photographed.

    how: camera and lamp (names), R (fields' reflectances), dabs, size in pixels, px_per_mm of the flat page, lit, view.
    """
    taken = phone(sensitivities(how.get("camera", CAMERAS[0])), how.get("lamp", "D65"), rng)
    R = how.get("R")
    R = reflectances(page, mine, rng, dabs=how.get("dabs")) if R is None else R
    paper = np.full(31, PAPER) * (1 + 0.03 * np.sin(np.arange(31) / 6))
    grounds = taken.light(paper), taken.light(np.full(31, BAR))
    sheet = drawn_page(page, taken.light(R), *grounds, how.get("px_per_mm", 6.0))
    at = how.get("view") or view(rng, how.get("size", (1500, 2000)), page.size)
    return photograph(page, sheet, taken, at, rng, how.get("lit", 0.15))
