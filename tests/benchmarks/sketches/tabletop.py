"""A second photographer: a pinhole camera held aslant, other tables with things on them, two lamps, a lens that darkens
its corners, a page that was folded or lies partly out of view, JPEG of any quality, turned by its EXIF tag."""

import io
from dataclasses import replace

import cv2
import numpy as np
from PIL import Image

from .draw import Kit, cloud, sketch
from .handmade import handmade, modelled
from .truth import Sketch

TURNS = {1: 0, 3: 2, 6: 1, 8: 3}
"""Quarter turns to the left that each EXIF tag undoes."""


def second_photo(kit: Kit, seed: int) -> Sketch:
    """Mostly what a hand drew, else lines in a colour or a softly shaded picture, on its page."""
    pick = seed % 6
    if pick == 5:
        return tabletop(sketch("line art", 7000 + seed, kit.most), seed)
    return tabletop(modelled(kit) if pick == 3 else handmade(kit), seed)


def tabletop(page: Sketch, seed: int) -> Sketch:
    """The photo of a page; `regions` stay those of the page, `to_photo` leads from there to the picture."""
    rng = np.random.default_rng([seed, 1177])
    u = rng.uniform
    height, width = page.regions.shape
    long = round(1.1 * max(width, height))
    size = (long, round(0.75 * long)) if u() < 0.35 else (round(0.75 * long), long)
    view = aslant(rng, (width, height), size)
    top = tabletops(rng, size)
    corners = cv2.perspectiveTransform(np.float32([[(0, 0), (width, 0), (width, height), (0, height)]]), view)[0]
    shadow = np.zeros(size[::-1], np.float32)
    cv2.fillConvexPoly(shadow, np.rint(corners + u(-0.008, 0.008, 2) * long).astype(np.int32), 1.0)
    top *= 1 - u(0.2, 0.5) * cv2.GaussianBlur(shadow, (0, 0), 0.008 * long)[..., None]
    folds = folded(rng, (width, height)) if u() < 0.3 else np.ones((height, width), np.float32)
    paper = (page.rgb.astype(np.float32) / 255) ** 2.2 * folds[..., None]
    paper = cv2.warpPerspective(paper, view, size, flags=cv2.INTER_AREA)
    inside = cv2.warpPerspective(np.ones((height, width), np.float32), view, size)[..., None]
    light = (top / 255) ** 2.2 * (1 - inside) + paper * inside
    light *= lamps(rng, size) * leaning(rng, size)[..., None]
    light = cv2.GaussianBlur(light, (0, 0), u(0.5, 1.3))
    rgb = 255 * np.clip(light, 0, 1) ** (1 / 2.2)
    rgb = np.clip(np.rint(rgb + rng.normal(scale=u(0.8, 3), size=rgb.shape)), 0, 255).astype(np.uint8)
    made = replace(page, rgb=rgb, to_photo=view, limit=8.0, camera=bool(u() < 0.5))
    return replace(made, quality=int(u(70, 96)), turn=int(rng.choice([1, 1, *TURNS])))


def aslant(rng: np.random.Generator, page: tuple[int, int], size: tuple[int, int]) -> np.ndarray:
    """(3, 3) from the page's pixels to those of a picture of that size, seen 10 to 40 degrees from the upright through
    a lens of 26 to 50 mm (on 36 mm). One in five lies partly out of view."""
    u = rng.uniform
    width, height = size
    focal = u(26, 50) / 36 * max(size)
    tilt, way, roll = np.radians(u(10, 40)), u(0, 2 * np.pi), np.radians(u(-12, 12))
    if u() < 0.7:  # mostly the far edge is the upper one
        way = np.radians(u(-15, 15))
    axis = np.array([np.cos(way), np.sin(way), 0])
    turn = cv2.Rodrigues(np.array([0, 0, roll]))[0] @ cv2.Rodrigues(axis * -tilt)[0]
    flat = np.array([[1, 0, -page[0] / 2], [0, 1, -page[1] / 2], [0, 0, 1]])
    far, shift = 2.0 * max(page), np.zeros(2)
    lens = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1]])
    at = np.float32([[(0, 0), (page[0], 0), page, (0, page[1])]])
    filling = u(0.72, 0.92)
    for _ in range(12):
        view = lens @ np.column_stack([turn[:, 0], turn[:, 1], [*shift, far]]) @ flat
        seen = cv2.perspectiveTransform(at, view)[0]
        low, high = seen.min(0), seen.max(0)
        far *= max((high - low) / (filling * np.array(size)))
        shift = shift - ((low + high) / 2 - np.array(size) / 2) * far / focal
    if u() < 0.2:
        shift = shift + np.array([[1, 0], [-1, 0], [0, 1], [0, -1]])[int(rng.integers(4))] * u(0.06, 0.1) * max(page)
        view = lens @ np.column_stack([turn[:, 0], turn[:, 1], [*shift, far]]) @ flat
    moved: np.ndarray = view
    return moved


def tabletops(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) float32: light or dark wood, checks, a white desk, slate, a speckled worktop; often things on it."""
    shape, u = size[::-1], rng.uniform
    style = int(rng.integers(6))
    tone = ((196, 160, 118), (84, 54, 38), (205, 200, 190), (226, 224, 220), (52, 54, 58), (150, 148, 142))[style]
    out = np.ones((*shape, 3), np.float32) * np.float32(tone)
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    if style < 2:
        bent = y + 0.03 * shape[0] * cloud(rng, shape, 300)
        rings = np.sin(bent / 9 + 3 * cloud(rng, shape, 160))
        fine = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), sigmaX=25, sigmaY=1)
        out *= (1 + 0.045 * rings + 0.05 * fine / fine.std())[..., None]
    elif style == 2:
        side = u(0.03, 0.07) * max(size)
        over = ((x // side) % 2 + (y // side) % 2) / 2
        colour = rng.uniform(20, 160, 3).astype(np.float32)
        out += over[..., None] * (colour - out)
        out *= (1 + 0.04 * (((x + y) % 5) < 2))[..., None]
    elif style == 5:
        out += 22 * np.sign(cloud(rng, shape, 5))[..., None] * (np.abs(cloud(rng, shape, 7)) > 1.2)[..., None]
    out *= (1 + 0.02 * cloud(rng, shape, 250))[..., None]
    for _ in range(int(rng.integers(0, 4))):
        _thing(rng, out)
    return out


def _thing(rng: np.random.Generator, out: np.ndarray) -> None:
    """A pen, a mug or a rubber, mostly near the rim, with its shadow. In place."""
    u, (height, width) = rng.uniform, out.shape[:2]
    long = max(width, height)
    side = int(rng.integers(4))
    x = (u(0.0, 0.07), u(0.93, 1.0), u(0, 1), u(0, 1))[side] * width
    y = (u(0, 1), u(0, 1), u(0.0, 0.05), u(0.95, 1.0))[side] * height
    colour = [float(v) for v in rng.uniform(15, 240, 3)]
    dark = [0.55 * v for v in out[min(int(y), height - 1), min(int(x), width - 1)].tolist()]
    kind = int(rng.integers(3))
    for shift, shade in ((0.006 * long, dark), (0.0, colour)):
        at = (int(x + shift), int(y + shift))
        if kind == 0:
            end = (int(at[0] + u(-0.02, 0.02) * long), int(at[1] + 0.25 * long))
            cv2.line(out, at, end, shade, max(5, long // 80), cv2.LINE_AA)
        elif kind == 1:
            cv2.circle(out, at, int(0.07 * long), shade, -1, cv2.LINE_AA)
            cv2.circle(out, at, int(0.058 * long), [0.3 * v for v in shade], -1, cv2.LINE_AA)
        else:
            cv2.ellipse(out, (at, (0.06 * long, 0.03 * long), 30.0), shade, -1, cv2.LINE_AA)


def folded(rng: np.random.Generator, page: tuple[int, int]) -> np.ndarray:
    """(h, w) light on a page that was folded once: a step at the fold that fades, and the crease itself."""
    width, height = page
    along, at = (height, np.arange(height)) if rng.random() < 0.6 else (width, np.arange(width))
    off = (at - along * rng.uniform(0.4, 0.6)) / along
    light = 1 - rng.uniform(0.04, 0.1) * np.exp(-np.abs(off) / 0.12) * (off > 0)
    light = light - 0.1 * np.exp(-((off * along / 2.5) ** 2))
    out = light[:, None] if along is height else light[None]
    return np.broadcast_to(out, (height, width)).astype(np.float32)


def lamps(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) a warm lamp on one side and cold daylight on another; corners that the lens darkens."""
    u = rng.uniform
    y, x = np.mgrid[: size[1], : size[0]].astype(np.float32) / max(size)
    turn = u(0, 2 * np.pi)
    warm = np.hypot(x - 0.5 - 0.9 * np.cos(turn), y - 0.5 - 0.9 * np.sin(turn))
    cold = np.hypot(x - 0.5 - 1.0 * np.cos(turn + 2.2), y - 0.5 - 1.0 * np.sin(turn + 2.2))
    lamp = (1 / (0.5 + warm**2))[..., None] * np.array([1.0, u(0.85, 0.95), u(0.65, 0.82)]) * u(0.3, 1)
    day = (1 / (0.7 + cold**2))[..., None] * np.array([u(0.86, 0.95), u(0.94, 1.0), 1.0])
    both = lamp + day
    away = (x - size[0] / max(size) / 2) ** 2 + (y - size[1] / max(size) / 2) ** 2
    both *= (1 - u(0.1, 0.45) * away / away.max())[..., None]
    lit: np.ndarray = (both / both.max() * u(0.8, 0.98)).astype(np.float32)
    return lit


def leaning(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w) share of the light that a head, an arm or a window bar leaves; a third of the time all of it."""
    u, (width, height) = rng.uniform, size
    shade, kind = np.zeros((height, width), np.float32), int(rng.integers(3))
    if kind == 0:
        return 1 - shade
    if kind == 1:
        at = (int(u(0.1, 0.9) * width), int(u(0.75, 1.1) * height))
        cv2.ellipse(shade, (at, (u(0.4, 0.7) * width, u(0.4, 0.8) * height), float(u(-30, 30))), 1.0, -1)
    else:
        x, lean = u(0.2, 0.8) * width, u(-0.3, 0.3) * width
        points = [(x, 0), (x + u(0.08, 0.2) * width, 0), (x + lean + 0.15 * width, height), (x + lean, height)]
        cv2.fillConvexPoly(shade, np.rint(points).astype(np.int32), 1.0)
    lit: np.ndarray = 1 - u(0.12, 0.4) * cv2.GaussianBlur(shade, (0, 0), u(0.008, 0.04) * max(size))
    return lit


def stored(made: Sketch) -> bytes:
    """The JPEG of a photo, turned as its tag says."""
    exif = Image.Exif()
    exif[0x0112] = made.turn
    if made.camera:
        exif.get_ifd(0x8769)[0x829A] = 0.01
    buffer = io.BytesIO()
    turned = np.ascontiguousarray(np.rot90(made.rgb, TURNS[made.turn]))
    Image.fromarray(turned).save(buffer, "JPEG", quality=made.quality, exif=exif)
    return buffer.getvalue()
