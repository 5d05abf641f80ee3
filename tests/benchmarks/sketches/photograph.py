"""A phone's photo of a drawn page on a table: perspective, a lamp, the shadow of the hand, JPEG."""

import io
from dataclasses import dataclass, replace

import cv2
import numpy as np
from PIL import Image

from .draw import cloud, sketch
from .shapes import tube
from .truth import Sketch


@dataclass(frozen=True)
class Scene:
    """table: one is in view; cut: a corner of the page lies outside the picture; noise: of the sensor, 0-255."""

    table: bool = True
    cut: bool = False
    noise: float = 2.0


def photographed(page: Sketch, seed: int, scene: Scene = Scene()) -> Sketch:
    """The photo; `regions` stay those of the page, `to_photo` leads from there to the picture."""
    rng = np.random.default_rng([seed, 77])
    height, width = page.regions.shape
    size = (round(width * 1.15), round(height * 1.15))
    corners = _corners(rng, size, (width, height), scene)
    flat = np.float32([(0, 0), (width, 0), (width, height), (0, height)])
    view = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
    ground = table(rng, size) if scene.table else np.full((size[1], size[0], 3), page.colours[0], np.float32)
    if scene.table:
        ground *= 1 - 0.45 * _cast(size, corners + 0.012 * max(size), 0.01 * max(size))[..., None]
    paper = cv2.warpPerspective(page.rgb, view, size, flags=cv2.INTER_AREA)
    inside = cv2.warpPerspective(np.ones((height, width), np.float32), view, size)[..., None]
    light = (ground / 255) ** 2.2 * (1 - inside) + (paper.astype(np.float32) / 255) ** 2.2 * inside
    light *= lamp(rng, size) * hand(rng, size, corners)[..., None]
    light = cv2.GaussianBlur(light, (0, 0), 0.8)
    rgb = 255 * np.clip(light, 0, 1) ** (1 / 2.2) + rng.normal(scale=scene.noise, size=light.shape)
    camera = bool(rng.random() < 0.5)
    return replace(page, rgb=_jpeg(rgb), to_photo=view, limit=8.0, camera=camera)


def photo(seed: int, most: int = 2000) -> Sketch:
    """A page by hand, or one in coloured lines, photographed."""
    kind = "textured" if seed % 3 else "line art"
    return photographed(sketch(kind, 5000 + seed, most), seed, Scene(cut=seed % 7 == 3))


def _corners(rng: np.random.Generator, size: tuple[int, int], page: tuple[int, int], scene: Scene) -> np.ndarray:
    """(4, 2) where the corners of the page fall, clockwise from the top left."""
    width, height = size
    share = rng.uniform(0.74, 0.86) if scene.table else 1.25
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(page) / 2
    turn = np.radians(rng.uniform(-9, 9) if scene.table else rng.uniform(-3, 3))
    turned = half @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    scale = share * min(width / np.ptp(turned[:, 0]), height / np.ptp(turned[:, 1]))
    squeeze = 1 - rng.uniform(0, 0.14) * (turned[:, 1:] < 0)
    at = turned * scale * np.hstack([squeeze, np.full((4, 1), rng.uniform(0.88, 1.0))])
    at += np.array(size) / 2 + rng.uniform(-0.04, 0.04, 2) * size
    if scene.cut:
        corner = int(rng.integers(4))
        rim = np.array([(0, 0), (width, 0), (width, height), (0, height)])[corner]
        at += rim + (rim - np.array(size) / 2) * rng.uniform(0.03, 0.08) - at[corner]
    return at


def table(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) float32: boards, a plain top, a cloth or a cutting mat, sometimes with a pen on it."""
    shape, u = (size[1], size[0]), rng.uniform
    style = int(rng.integers(4))
    tone = ((150, 105, 65), (u(60, 175),) * 3, (70, 80, 110), (40, 95, 75))[style] * np.array([u(0.7, 1.15)])
    out = np.ones((*shape, 3), np.float32) * tone.astype(np.float32)
    if style == 0:
        stretched = cv2.resize(cloud(rng, (shape[0], 40), 4), size, interpolation=cv2.INTER_CUBIC)
        out *= (1 + 0.07 * stretched + 0.05 * cloud(rng, shape, 60))[..., None]
        for y in np.arange(u(0, 200), shape[0], u(250, 400)):
            out[int(y) : int(y) + 3] *= 0.5
    elif style == 2:
        y, x = np.mgrid[: shape[0], : shape[1]]
        out *= (1 + 0.1 * ((x // 4 + y // 4) % 2) + 0.05 * cloud(rng, shape, 30))[..., None]
    elif style == 3:
        for at in range(0, max(shape), 60):
            out[at : at + 2] += 40
            out[:, at : at + 2] += 40
    out *= (1 + 0.02 * cloud(rng, shape, 200))[..., None]
    if u() < 0.5:
        y = u(0.05, 0.95) * shape[0]
        x = u(0.01, 0.04) * shape[1] if u() < 0.5 else u(0.96, 0.99) * shape[1]
        a, b = (int(x), int(y)), (int(x + u(-40, 40)), int(y + 0.3 * shape[0]))
        cv2.line(out, a, b, [float(v) for v in rng.uniform(20, 230, 3)], max(6, shape[1] // 90), cv2.LINE_AA)
    return out


def lamp(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) warm light of a lamp on one side, falling off by a quarter to two fifths."""
    u = rng.uniform
    y, x = np.mgrid[: size[1], : size[0]].astype(np.float32) / max(size)
    far = np.hypot(x - u(-0.2, 1.0), y - u(-0.3, 0.5))
    fall = 1 - u(0.25, 0.4) * (far - far.min()) / np.ptp(far)
    return (fall[..., None] * np.array([1.0, u(0.88, 0.96), u(0.68, 0.86)]) * u(0.85, 0.98)).astype(np.float32)


def hand(rng: np.random.Generator, size: tuple[int, int], corners: np.ndarray) -> np.ndarray:
    """(h, w) share of the light that the shadow of a hand with a phone leaves."""
    u, long = rng.uniform, max(size)
    middle = corners.mean(0)
    side = -1 if u() < 0.4 else 1
    wrist = np.array([size[0] / 2 + side * 0.55 * size[0], size[1] * u(0.8, 1.05)])
    palm = middle + np.array([side * u(0.15, 0.3) * size[0], u(0.1, 0.3) * size[1]])
    shade = np.zeros((size[1], size[0]), np.float32)
    limbs = [tube(np.array([wrist, (wrist + palm) / 2, palm]), np.array([0.2, 0.16, 0.17]) * long)]
    for k in range(4):
        tip = palm + np.array([-side * u(0.1, 0.2), -0.12 + 0.06 * k]) * long
        limbs.append(
            tube(np.array([palm + np.array([0, (k - 1.5) * 0.035 * long]), tip]), np.array([0.05, 0.035]) * long)
        )
    for piece in (piece for limb in limbs for piece in limb):
        cv2.fillPoly(shade, [np.rint(piece).astype(np.int32)], 1.0)
    return 1 - u(0.2, 0.45) * cv2.GaussianBlur(shade, (0, 0), u(0.006, 0.025) * long)


def _cast(size: tuple[int, int], corners: np.ndarray, softness: float) -> np.ndarray:
    shade = np.zeros((size[1], size[0]), np.float32)
    cv2.fillPoly(shade, [np.rint(corners).astype(np.int32)], 1.0)
    return cv2.GaussianBlur(shade, (0, 0), softness)


def _jpeg(rgb: np.ndarray) -> np.ndarray:
    buffer = io.BytesIO()
    Image.fromarray(np.clip(np.rint(rgb), 0, 255).astype(np.uint8)).save(buffer, "JPEG", quality=85)
    return np.asarray(Image.open(buffer).convert("RGB"))
