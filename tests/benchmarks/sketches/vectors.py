"""A second style of drawing, to tell what a reading learned of one style alone: geometric figures painted shape by
shape, each with a stroke of its own that may taper, stop short or have the colour of its fill; on any ground, hard or
smooth edged, at any size. The truth is where each shape's fill is seen, up to the middle of the strokes.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image
from skimage.color import lab2rgb, rgb2lab

from .draw import cloud, freckled
from .emblems import EMBLEMS
from .shapes import Shape
from .truth import FIT, Layout, Palette, Sketch, _numbered, _paintable, coloured, lively, muted

KINDS = ("bold", "line art", "muted", "cel", "busy")
SIZES = ((500, 640), (900, 900), (1300, 1000), (1800, 1350), (2400, 3000), (4000, 2600))


@dataclass(frozen=True)
class Style:
    """wide: of the strokes, in parts of the longer side; 0 none. taper: how much their width swings, 0-1. open: share
    of every stroke left out. ink: 'one', or 'own', a darker tone of each fill. smooth: edges are anti-aliased. paper:
    (3,) sRGB; clear: it is saved as transparent. quality: of the JPEG, 0 for PNG."""

    wide: float
    taper: float
    open: float
    ink: str
    smooth: bool
    paper: np.ndarray
    clear: bool
    quality: int


def sketch(kind: str, seed: int, most: int = 2000) -> Sketch:
    """The drawing of that kind (of KINDS) and seed, of at most that many pixels along its longer side."""
    rng = np.random.default_rng([77, sum(map(ord, kind)), seed])
    style = _style(rng, kind)
    width, height = SIZES[int(rng.integers(len(SIZES)))]
    shrunk = min(1.0, most / max(width, height))
    size = round(width * shrunk), round(height * shrunk)
    wide = style.wide * max(size)
    if style.wide and kind != "bold":
        wide = max(wide, 1.6)
    shapes = EMBLEMS[seed % len(EMBLEMS)](rng, kind == "busy")
    fine = 2 if style.smooth else 1
    plan, rings = _layout(shapes, (size[0] * fine, size[1] * fine), wide * fine)
    ink = _ink(rng, kind) if style.ink == "one" and style.wide else None
    taken = np.stack([style.paper] if ink is None else [style.paper, ink])
    palette: Palette = muted if kind == "muted" else lively
    colours = coloured(rng, plan, palette, taken, most=22 if kind == "busy" else 14)
    picture = colours[plan.fine]
    if kind == "cel":
        picture = _lit(rng, plan, colours)
    inked = np.zeros(plan.fine.shape, bool)
    if style.wide:
        picture, inked = _stroked(rng, picture, plan, rings, style, (ink, colours, wide * fine))
    # By chance of their own, so that the drawings are those they were before they had specks.
    chance, specks, at = np.random.default_rng([78, seed]), np.zeros((0, 3)), np.zeros((0, 3))
    if kind == "busy":
        picture = picture.astype(float)
        specks, at = freckled(chance, plan, wide * (1 + style.taper), (picture, colours), fine)
    small = cv2.resize(picture.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    rgb = np.clip(np.rint(small), 0, 255).astype(np.uint8)
    regions = np.ascontiguousarray(plan.fine[fine // 2 :: fine, fine // 2 :: fine].astype(int))
    inked = inked[fine // 2 :: fine, fine // 2 :: fine]
    return Sketch(rgb, regions, colours, specks, ink, wide, frozenset(), inked, at, style=style)


def save(made: Sketch, path: Path) -> Path:
    """As its style says: JPEG, PNG or a PNG without its paper."""
    style: Style = made.style
    if style.quality:
        path = path.with_name(path.name + ".jpg")
        made.picture.save(path, quality=style.quality)
        return path
    path = path.with_name(path.name + ".png")
    picture = made.picture
    if style.clear:
        seen = made.inked | (made.regions > 0)
        picture.putalpha(Image.fromarray(np.where(seen, 255, 0).astype(np.uint8)))
    picture.save(path, compress_level=1)
    return path


def _style(rng: np.random.Generator, kind: str) -> Style:
    u, lined = rng.uniform, kind in ("bold", "line art", "busy")
    wide = {"bold": u(0.012, 0.033), "line art": u(0.002, 0.006), "busy": u(0.0015, 0.003)}.get(kind, 0.0)
    if kind == "cel" and u() < 0.6:
        wide, lined = u(0.002, 0.006), True
    own = u() < {"line art": 0.5, "cel": 0.25}.get(kind, 0)
    grounds = (255, 255, 255), (246, 243, 236), (190, 192, 196), (224, 236, 245), (38, 40, 52)
    clear = u() < 0.2
    dark = not own and not clear and kind != "bold" and u() < 0.12
    paper = np.array(grounds[-1] if dark else grounds[int(rng.integers(4))], float)
    taper = u(0, 0.5) if lined and u() < 0.6 else 0.0
    # a stroke left open over fills of one colour would leave the truth in doubt, over two colours it does not
    gap = u(0.01, 0.04) if kind in ("line art", "cel") and lined and u() < 0.4 else 0.0
    quality = 90 if kind != "muted" and not clear and u() < 0.12 else 0
    return Style(wide, taper, gap, "own" if own else "one", u() < 0.85, paper, clear, quality)


def _ink(rng: np.random.Generator, kind: str) -> np.ndarray:
    """Black, grey, or a dark colour."""
    tones = ([12, 12, 14], [44, 42, 50], [92, 52, 30], [58, 84, 160], [96, 30, 70], [20, 70, 60])
    chance = (0.4, 0.2, 0.1, 0.1, 0.1, 0.1) if kind != "line art" else (0.0, 0.1, 0.3, 0.3, 0.15, 0.15)
    return np.array(tones[int(rng.choice(len(tones), p=chance))], float)


def _layout(shapes: list[Shape], size: tuple[int, int], wide: float) -> tuple[Layout, list[tuple[int, np.ndarray]]]:
    """(Regions of the shapes laid one over the other; (pile number, (n, 2) pixels) of every ring to stroke)."""
    width, height = size
    points = np.concatenate([piece for shape in shapes if not shape.inside for piece in shape.pieces])
    middle, reach = (points.min(0) + points.max(0)) / 2, np.ptp(points, axis=0)
    scale = 2 * FIT * min(width / reach[0], height / reach[1])
    pile, masks, rings = np.zeros((height, width), np.int32), [], []
    for number, shape in enumerate(shapes, 1):
        mask = np.zeros((height, width), np.uint8)
        for piece in shape.pieces:
            at = (piece - middle) * scale + [width / 2, height / 2]
            cv2.fillPoly(mask, [np.rint(at * 16).astype(np.int32)], 1, shift=4)
            rings.append((number, at))
        for other in shape.inside:
            mask &= masks[other]
        masks.append(mask)
        pile[mask > 0] = number
    names = list(dict.fromkeys(shape.group for shape in shapes))
    unit = max(width, height) / 1600
    drawn = _paintable(pile, wide, least=13 * unit)
    of_shape = np.array([0, *(names.index(shape.group) + 1 for shape in shapes)], np.int32)
    fine, group = _numbered(of_shape[drawn])
    return Layout(fine, drawn, group, unit), rings


def _stroked(
    rng: np.random.Generator,
    picture: np.ndarray,
    plan: Layout,
    rings: list[tuple[int, np.ndarray]],
    style: Style,
    pen: tuple[np.ndarray | None, np.ndarray, float],
) -> tuple[np.ndarray, np.ndarray]:
    """((h, w, 3) with strokes along what is seen of every outline, (h, w) bool where they lie). pen: (ink or None, the
    regions' colours, width in pixels)."""
    ink, colours, wide = pen
    picture, inked = picture.copy(), np.zeros(plan.fine.shape, bool)
    owner = plan.drawn
    border = np.zeros(owner.shape, bool)
    border[:, 1:] |= owner[:, 1:] != owner[:, :-1]
    border[1:] |= owner[1:] != owner[:-1]
    width = owner.shape[1]
    half = wide / 2 * (1 + style.taper * np.clip(cloud(rng, owner.shape, 250 * plan.unit), -1.2, 1.2))
    stamps = border.copy()
    if style.open:
        y, x = np.nonzero(border)
        keep = cloud(rng, owner.shape, max(14 * plan.unit, 3 * wide))
        stamps[y, x] = keep[y, x] > np.quantile(keep[y, x], style.open)
    away, nearest = cv2.distanceTransformWithLabels(
        (~stamps).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    ys, xs = np.nonzero(stamps)
    of_stamp = np.zeros(int(nearest.max()) + 1, np.int64)
    of_stamp[nearest[ys, xs]] = ys * width + xs
    at = of_stamp[nearest]
    reach = half.ravel()[at]
    inked = away <= reach
    if ink is not None:
        picture[inked] = ink
        return picture, inked
    # a stroke in the colour of the shape laid last of the two that meet
    dark = _darker(colours)
    top = np.maximum.reduce([np.roll(owner, s, a) for a, s in ((0, 0), (0, 1), (1, 1))])
    region_of_top = np.zeros(int(owner.max()) + 1, np.int64)
    region_of_top[owner.ravel()] = plan.fine.ravel()
    picture[inked] = dark[region_of_top[top.ravel()[at[inked]]]]
    return picture, inked


def _darker(colours: np.ndarray) -> np.ndarray:
    lab = rgb2lab(colours[None] / 255)[0]
    lab[:, 0] = np.clip(lab[:, 0] * 0.55, 4, None)
    lab[:, 1:] *= 0.9
    return 255 * lab2rgb(lab[None])[0]


def _lit(rng: np.random.Generator, plan: Layout, colours: np.ndarray) -> np.ndarray:
    """(h, w, 3): each fill with a shadow tone, coloured light multiplied over it, on one side, and some with a glint.
    The shadow is cut by a straight edge, an arc, or the shape itself moved."""
    light = (np.array([0.50, 0.50, 0.66]), np.array([0.52, 0.46, 0.62]), np.array([0.55, 0.55, 0.55]))
    times = light[int(rng.integers(3))] * rng.uniform(0.9, 1.25)
    linear = (colours / 255) ** 2.2
    shadow = 255 * (linear * times) ** (1 / 2.2)
    glint = colours + (255 - colours) * rng.uniform(0.15, 0.3)
    picture, way = colours[plan.fine], rng.uniform(0.1, 0.9) * np.pi
    cut, lit = int(rng.integers(3)), rng.random() < 0.5
    for i in range(1, int(plan.fine.max()) + 1):
        rows, columns = np.nonzero(plan.fine == i)
        side = np.sqrt(len(rows))
        if side < 45 * plan.unit:
            continue
        along = columns * np.cos(way) + rows * np.sin(way)
        across = rows * np.cos(way) - columns * np.sin(way)
        far = np.quantile(along, rng.uniform(0.6, 0.8))
        bend = 0 if cut == 0 else rng.uniform(0.3, 0.8) * (across - np.median(across)) ** 2 / side
        dark = along + bend > far
        picture[rows[dark], columns[dark]] = shadow[i]
        if lit and rng.random() < 0.6:
            near, mid = np.quantile(along, 0.2), np.median(across)
            spot = ((along - near) / (0.07 * side)) ** 2 + ((across - mid) / (0.15 * side)) ** 2 < 1
            spot &= ~dark
            picture[rows[spot], columns[spot]] = glint[i]
    return picture
