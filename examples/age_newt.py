"""Make newt-scan.jpg and newt-photo.jpg from newt.png: the same sheet in marker and ink, scanned and photographed.

Seeded: the same input gives the same pictures. Colours are mixed in linear light, 0-1.
"""

from pathlib import Path

import numpy as np
from draw_newt import FLAT, INK, PAPER, WHITE
from PIL import Image
from scipy import ndimage as nd
from skimage.transform import ProjectiveTransform, warp

HERE = Path(__file__).resolve().parent
Picture = np.ndarray


def linear(rgb8: np.ndarray) -> Picture:
    v = np.asarray(rgb8, np.float32) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def encoded(light: Picture) -> np.ndarray:
    v = np.clip(light, 0, 1)
    v = np.where(v <= 0.0031308, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)
    return np.round(v * 255).astype(np.uint8)


def rgb8(code: str) -> np.ndarray:
    return np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)], np.uint8)


def cloud(rng: np.random.Generator, shape: tuple[int, int], size: float) -> Picture:
    """Smooth noise of unit spread whose lumps are about `size` pixels."""
    step = max(1, int(size / 3))
    small = rng.standard_normal((shape[0] // step + 8, shape[1] // step + 8))
    small = nd.gaussian_filter(small, size / step / 2, mode="wrap")
    grown = nd.zoom(small / small.std(), step, order=1)[: shape[0], : shape[1]]
    return grown.astype(np.float32)


def shaken(rng: np.random.Generator, layer: Picture, size: float, reach: float) -> Picture:
    """The layer with its outlines wandering by about `reach` pixels: a hand, not a ruler."""
    rows, cols = np.indices(layer.shape[:2], dtype=np.float32)
    at = (rows + reach * cloud(rng, rows.shape, size), cols + reach * cloud(rng, rows.shape, size))
    planes = [nd.map_coordinates(p, at, order=1, mode="nearest") for p in np.moveaxis(np.atleast_3d(layer), 2, 0)]
    return np.squeeze(np.stack(planes, axis=2))


def layers(drawing: np.ndarray) -> tuple[Picture, Picture, np.ndarray]:
    """Colour without the lines (linear light), cover of the ink (0-1), and the patches as numbers (0: bare paper)."""
    code = drawing.astype(np.int64) @ (65536, 256, 1)
    flat = np.isin(code, [int(c[1:], 16) for c in (PAPER, *FLAT)])
    nearest = nd.distance_transform_edt(~flat, return_distances=False, return_indices=True)
    colour = drawing[tuple(nearest)]
    under, line = linear(colour), linear(rgb8(INK))
    cover = ((under - linear(drawing)) * (under - line)).sum(2) / np.maximum(((under - line) ** 2).sum(2), 1e-4)
    bare = np.all(colour == rgb8(PAPER), axis=2) | np.all(colour == rgb8(WHITE), axis=2)
    under[bare] = 1.0
    key = np.where(bare, 0, colour.astype(np.int64) @ (65536, 256, 1))
    patches, n = np.zeros(key.shape, np.int32), 0
    for value in np.unique(key[key > 0]):
        found, count = nd.label(key == value)
        patches[found > 0] = found[found > 0] + n
        n += count
    return under, np.clip(cover, 0, 1), patches


def streaks(rng: np.random.Generator, patches: np.ndarray, strength: float) -> Picture:
    """Factor on the marker's colour: parallel strokes with darker overlaps, one direction to a patch, pooled rims."""
    factor = np.ones(patches.shape, np.float32)
    wander, mottle = cloud(rng, patches.shape, 160), cloud(rng, patches.shape, 30)
    for k, box in enumerate(nd.find_objects(patches), start=1):
        if box is None:
            continue
        inside = patches[box] == k
        rows, cols = np.nonzero(inside)
        angle = np.radians(rng.normal(62, 14))
        across = cols * np.sin(angle) - rows * np.cos(angle) + 5 * wander[box][inside]
        nib = rng.uniform(24, 34)
        stroke = np.floor(across / nib).astype(int)
        tone = rng.standard_normal(stroke.max() - stroke.min() + 1)[stroke - stroke.min()]
        overlap = np.exp(-(((across / nib - stroke) * nib / 3.5) ** 2))
        rim = np.exp(-nd.distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1][inside] / 5)
        change = 0.5 * tone - 1.4 * overlap + 0.6 * mottle[box][inside] - 0.8 * rim
        factor[box][inside] = np.exp(strength * change)
    return factor


def paper(rng: np.random.Generator, shape: tuple[int, int], tint: str, grain: float) -> Picture:
    tooth = 0.6 * cloud(rng, shape, 2.2) + 0.5 * cloud(rng, shape, 7) + 0.5 * cloud(rng, shape, 60)
    return linear(rgb8(tint)) * (1 + grain * tooth)[..., None]


def coloured(rng: np.random.Generator, drawing: np.ndarray, tint: str, grain: float, strength: float) -> Picture:
    """The sheet by hand: marker soaked into the paper, slightly out of register, ink over it."""
    under, cover, patches = layers(drawing)
    marker = under * streaks(rng, patches, strength)[..., None]
    marker = 1 - (1 - marker) * np.where(patches > 0, 0.98, 0)[..., None]
    marker = nd.gaussian_filter(shaken(rng, marker, 50, 1.6), (0.9, 0.9, 0))
    cover = shaken(rng, np.clip(cover + 0.25 * nd.gaussian_filter(cover, 1.2), 0, 1), 70, 1.3)
    cover *= np.clip(0.93 + 0.04 * cloud(rng, cover.shape, 25), 0, 0.98)
    page = paper(rng, cover.shape, tint, grain) * marker
    return page * (1 - cover[..., None]) + linear(rgb8(INK)) * 1.3 * cover[..., None]


def placed(page: Picture, corners: list[tuple[float, float]], size: tuple[int, int]) -> Picture:
    """The page in a picture of (width, height), its corners (clockwise from the top left) on these points."""
    h, w = page.shape[:2]
    flat = np.array([(0, 0), (w, 0), (w, h), (0, h)], float)
    view = ProjectiveTransform.from_estimate(np.array(corners, float), flat)
    return warp(page, view, output_shape=size[::-1], order=1, mode="edge")


def scan(drawing: np.ndarray) -> np.ndarray:
    rng = np.random.default_rng(11)
    page = coloured(rng, drawing, "#f4f0e5", 0.012, 0.035)
    h, w = page.shape[:2]
    page = placed(page, [(14, -4), (w + 12, 7), (w + 3, h + 9), (3, h - 3)], (w + 16, h))
    lamp = 1 + 0.012 * np.sin(np.linspace(0, 9, h))[:, None] - 0.05 * np.exp(-np.arange(w + 16) / 40)[None, :]
    page = nd.gaussian_filter(page * lamp[..., None], (0.9, 0.8, 0))
    for _ in range(14):
        y, x = rng.integers(20, h - 20), rng.integers(20, w - 20)
        page[y - 1 : y + 1, x - 1 : x + rng.integers(1, 4)] *= 0.72
    return encoded(page + rng.normal(0, 0.004, page.shape))


def photo(drawing: np.ndarray) -> np.ndarray:
    rng = np.random.default_rng(23)
    room = Image.new("RGB", (drawing.shape[1] + 240, drawing.shape[0] + 240), PAPER)
    room.paste(Image.fromarray(drawing), (120, 120))
    page = coloured(rng, np.asarray(room), "#f3eddf", 0.014, 0.03)
    width, height = 1860, 1720
    page = placed(page, [(-36, -10), (1866, -82), (1952, 1764), (-92, 1800)], (width, height))
    y, x = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j].astype(np.float32)
    light = 1.0 - 0.24 * (0.75 * x + 0.45 * y) / 1.2
    gutter = 1 - 0.16 * np.exp(-x / 0.035)
    edge = (x - 0.80) * 0.85 + (y - 0.86) * 0.75 + 0.02 * np.sin(7 * y)
    shadow = 1 - 0.17 / (1 + np.exp(-edge / 0.022))
    shade = light * gutter * shadow
    cool = np.stack([shade**1.06, shade, shade**0.94], axis=2)  # a shadow is lit by the blue of the window
    page = page * cool * np.array([0.95, 0.87, 0.71], np.float32)
    soft = nd.gaussian_filter(page, (1.0, 1.0, 0))
    sharp = soft + 0.35 * (soft - nd.gaussian_filter(soft, (2.5, 2.5, 0)))
    grain = nd.gaussian_filter(rng.standard_normal(page.shape), (0.7, 0.7, 0)) * 0.012
    return encoded(sharp + grain * np.sqrt(np.clip(sharp, 0.01, 1)))


def main() -> None:
    drawing = np.asarray(Image.open(HERE / "newt.png").convert("RGB"))
    Image.fromarray(scan(drawing)).save(HERE / "newt-scan.jpg", quality=85, optimize=True)
    Image.fromarray(photo(drawing)).save(HERE / "newt-photo.jpg", quality=75, optimize=True)


if __name__ == "__main__":
    main()
