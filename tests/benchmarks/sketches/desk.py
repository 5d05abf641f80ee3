"""A third photographer: sheets with rounded corners, punched, bound in a book, on another paper, under a finger, or
filling the picture; cloths and dark tables; lamps of two colours; what a phone makes of noise."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from .draw import Kit, cloud
from .handmade import handmade
from .shapes import tube
from .tabletop import aslant
from .thirdhand import otherhand
from .truth import Sketch

SHEETS = ("plain", "rounded", "pad", "book", "on paper", "finger", "whole", "plain")


@dataclass(frozen=True, eq=False)
class Flat:
    """What lies under the camera, seen from above. rgb: (h, w, 3); mask: (h, w) where paper lies, 0-1; corner: (x, y)
    of the page in it."""

    rgb: np.ndarray
    mask: np.ndarray
    corner: tuple[int, int]


def third_photo(kit: Kit, seed: int) -> Sketch:
    """One of the third hand's drawings, or now and then of the second's, on a desk."""
    return ondesk((handmade if seed % 4 == 3 else otherhand)(kit), seed)


def ondesk(page: Sketch, seed: int) -> Sketch:
    """The photo of a page; `regions` stay those of the page, `to_photo` leads from there to the picture."""
    rng = np.random.default_rng([seed, 3311])
    u, (height, width) = rng.uniform, page.regions.shape
    kind = SHEETS[int(rng.integers(len(SHEETS)))]
    long = round(1.12 * max(width, height))
    wide = width >= height if u() < 0.8 else width < height
    size = (long, round(0.75 * long)) if wide else (round(0.75 * long), long)
    flat = sheet(rng, page, kind)
    view = aslant(rng, (width, height), size) if kind != "whole" else _close(rng, (width, height), size)
    laid = view @ np.array([[1, 0, -flat.corner[0]], [0, 1, -flat.corner[1]], [0, 0, 1]], float)
    inside = cv2.warpPerspective(flat.mask, laid, size, flags=cv2.INTER_AREA)[..., None]
    paper = cv2.warpPerspective((flat.rgb / 255).astype(np.float32) ** 2.2, laid, size, flags=cv2.INTER_AREA)
    top = (cloth(rng, size) / 255) ** 2.2
    shade = cv2.GaussianBlur(np.roll(inside[..., 0], (round(0.006 * long),) * 2, (0, 1)), (0, 0), 0.007 * long)
    light = top * (1 - 0.4 * shade[..., None] * (1 - inside)) * (1 - inside) + paper * inside
    if kind == "finger":
        light = fingered(rng, light, view, (width, height))
    light = light * lit(rng, size)
    return replace(
        page, rgb=phone(rng, light), to_photo=view, limit=8.0, camera=bool(u() < 0.7), quality=int(u(75, 95))
    )


def sheet(rng: np.random.Generator, page: Sketch, kind: str) -> Flat:
    """The page as part of what lies on the desk."""
    height, width = page.regions.shape
    rim = round(0.12 * max(page.regions.shape)) if kind != "book" else max(page.regions.shape)
    tone = np.median(page.rgb[page.regions == 0], axis=0)
    rgb = cv2.copyMakeBorder(page.rgb, rim, rim, rim, rim, cv2.BORDER_CONSTANT, value=tone.tolist())
    mask = np.zeros(rgb.shape[:2], np.float32)
    if kind == "whole":
        rgb = rgb.astype(np.float32) * (1 + 0.006 * cloud(rng, rgb.shape[:2], 4))[..., None]
        return Flat(np.clip(rgb, 0, 255), mask + 1, (rim, rim))
    box = (rim, rim, rim + width, rim + height)
    if kind == "book":
        side = width if rng.random() < 0.5 else -width
        across = np.arange(rgb.shape[1]) - (rim + (width if side > 0 else 0))
        box = (rim + min(side, 0), rim, rim + width + max(side, 0), rim + height)
        gutter = 1 - 0.35 * np.exp(-np.abs(across) / (0.035 * width))
        rgb = np.clip(rgb * gutter[None, :, None], 0, 255)
    if kind == "on paper":
        under = np.float32(rng.choice([(250, 250, 250), (238, 228, 205), (214, 214, 216)]))
        shifted = round(0.07 * min(width, height))
        y, x = rim - shifted, rim + shifted
        cv2.rectangle(mask, (x, y), (x + width, y + height), 1.0, -1)
        shade = cv2.GaussianBlur(np.pad(np.ones((height, width), np.float32), rim), (0, 0), 0.006 * width)
        own = np.zeros(mask.shape, bool)
        own[rim : rim + height, rim : rim + width] = True
        rgb = np.where(own[..., None], rgb, under * (1 - 0.3 * shade)[..., None])
    radius = round(rng.uniform(0.03, 0.06) * min(width, height)) if kind == "rounded" else 0
    _rounded(mask, box, radius)
    if kind == "pad":
        step = round(0.022 * width)
        for x in range(rim + step // 2, rim + width, step):
            cv2.rectangle(mask, (x, rim + step // 3), (x + step // 2, rim + step), 0.0, -1)
    return Flat(np.asarray(rgb), mask, (rim, rim))


def _rounded(mask: np.ndarray, box: tuple[int, int, int, int], radius: int) -> None:
    """The box filled in the mask, its corners cut round. In place."""
    left, top, right, bottom = box
    cv2.rectangle(mask, (left + radius, top), (right - radius - 1, bottom - 1), 1.0, -1)
    cv2.rectangle(mask, (left, top + radius), (right - 1, bottom - radius - 1), 1.0, -1)
    for x in (left + radius, right - radius - 1):
        for y in (top + radius, bottom - radius - 1):
            cv2.circle(mask, (x, y), radius, 1.0, -1, cv2.LINE_AA)


def _close(rng: np.random.Generator, page: tuple[int, int], size: tuple[int, int]) -> np.ndarray:
    """(3, 3) from the page to a picture that it fills, a little askew."""
    width, height = size
    scale = 0.98 * min(width / page[0], height / page[1])
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(page) / 2 * scale
    turn = np.radians(rng.uniform(-3, 3))
    half = half @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    half *= 1 - rng.uniform(0, 0.06) * (half[:, 1:] < 0)
    flat = np.float32([(0, 0), (page[0], 0), page, (0, page[1])])
    view: np.ndarray = cv2.getPerspectiveTransform(flat, (half + np.array(size) / 2).astype(np.float32))
    return view


def cloth(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3): a flowered cloth, stripes, tartan, black glass, a white table, newsprint or a carpet."""
    shape, u, style = size[::-1], rng.uniform, int(rng.integers(7))
    one, two = rng.uniform(30, 235, (2, 3)).astype(np.float32)
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32) / max(size)
    turn = u(0, np.pi)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    if style == 0:
        over = (cloud(rng, shape, 0.05 * max(size)) > 0.9).astype(np.float32)
    elif style == 1:
        over = (np.sin(along * u(60, 160)) > 0).astype(np.float32)
    elif style == 2:
        over = ((np.sin(along * 50) > 0.3) + (np.sin(across * 50) > 0.3)) / 2
    elif style == 3:
        one, two, over = np.float32([22, 22, 26]), np.float32([70, 70, 78]), np.clip(across, 0, 1)
    elif style == 4:
        one, two, over = np.float32([236, 235, 232]), np.float32([215, 215, 215]), np.clip(along, 0, 1)
    elif style == 5:
        over = 0.35 * (np.sin(y * 500) > 0) * (cloud(rng, shape, 6) > 0)
        one, two = np.float32([222, 220, 212]), np.float32([40, 40, 40])
    else:
        over = np.clip(0.5 + 0.25 * cloud(rng, shape, 5), 0, 1)
    out: np.ndarray = one + over[..., None] * (two - one)
    return np.clip(out * (1 + 0.02 * cloud(rng, shape, 4))[..., None], 3, 250)


def fingered(rng: np.random.Generator, light: np.ndarray, view: np.ndarray, page: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) the scene with a finger or two that hold the page down by a side."""
    long, out = max(light.shape[:2]), light.copy()
    low, high = np.array([0, page[1] * rng.uniform(0.3, 0.8)]), np.array([page[0], page[1] * rng.uniform(0.3, 0.8)])
    at = cv2.perspectiveTransform(np.float32([[low if rng.random() < 0.5 else high]]), view)[0, 0]
    inward = np.array(light.shape[1::-1]) / 2 - at
    inward = inward / np.linalg.norm(inward)
    skin = (np.array([205, 160, 135]) * rng.uniform(0.5, 1.1) / 255) ** 2.2
    for k in range(int(rng.integers(1, 3))):
        aside = at + np.array([-inward[1], inward[0]]) * 0.04 * long * k
        path = np.array([aside - 0.35 * long * inward, aside, aside + 0.04 * long * inward])
        mask = np.zeros(light.shape[:2], np.float32)
        for piece in tube(path, np.array([0.05, 0.04, 0.035]) * long):
            cv2.fillPoly(mask, [np.rint(piece).astype(np.int32)], 1.0)
        shade = cv2.GaussianBlur(np.roll(mask, round(0.008 * long), 0), (0, 0), 0.006 * long)[..., None]
        soft = cv2.GaussianBlur(mask, (0, 0), 1.0)[..., None]
        out = out * (1 - 0.35 * shade) * (1 - soft) + skin * soft
    return out


def lit(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 3) one lamp or two of other colours, near or far; dark corners; the shadow of a head or a phone."""
    u = rng.uniform
    y, x = np.mgrid[: size[1], : size[0]].astype(np.float32) / max(size)
    total = np.zeros((*x.shape, 3), np.float32)
    for colour in ((1.0, u(0.82, 0.97), u(0.6, 0.9)), (u(0.88, 1.0), u(0.95, 1.0), 1.0))[: int(rng.integers(1, 3))]:
        at, far = rng.uniform(-0.5, 1.5, 2), u(0.6, 1.6)
        total += (u(0.4, 1) / (far**2 + (x - at[0]) ** 2 + (y - at[1]) ** 2))[..., None] * np.float32(colour)
    middle = (x - size[0] / max(size) / 2) ** 2 + (y - size[1] / max(size) / 2) ** 2
    total *= (1 - u(0.0, 0.5) * middle / middle.max())[..., None]
    if u() < 0.6:
        shade = np.zeros(x.shape, np.float32)
        where = (u(0, 1) * size[0], u(0.6, 1.1) * size[1])
        if u() < 0.5:
            cv2.ellipse(shade, (where, (u(0.3, 0.7) * size[0], u(0.3, 0.8) * size[1]), u(-40, 40)), 1.0, -1)
        else:
            box = cv2.boxPoints((where, (0.25 * size[0], 0.6 * size[1]), u(-30, 30)))
            cv2.fillConvexPoly(shade, np.rint(box).astype(np.int32), 1.0)
        shade = cv2.GaussianBlur(shade, (0, 0), u(0.006, 0.03) * max(size))
        total *= 1 - u(0.12, 0.42) * shade[..., None]
    return total / np.quantile(total, 0.98) * u(0.7, 0.97)


def phone(rng: np.random.Generator, light: np.ndarray) -> np.ndarray:
    """(h, w, 3) uint8: blur, noise that was smoothed away in part, halos of sharpening, a slight curve of tone."""
    u = rng.uniform
    light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), u(0.6, 1.4))
    rgb = 255 * np.clip(light, 0, 1) ** (1 / 2.2)
    noise = rng.normal(scale=u(1, 5), size=rgb.shape).astype(np.float32)
    rgb = rgb + cv2.GaussianBlur(noise, (0, 0), u(0.4, 1.0))
    rgb = rgb + u(0, 0.9) * (rgb - cv2.GaussianBlur(rgb, (0, 0), 1.5))
    curve = u(0, 0.05)
    rgb = rgb - curve * 255 * np.sin(2 * np.pi * np.clip(rgb, 0, 255) / 255) / 2
    return np.clip(np.rint(rgb), 0, 255).astype(np.uint8)
