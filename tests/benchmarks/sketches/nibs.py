"""A third style of drawing: creatures of blobs and Bezier limbs, with outlines of a broad nib, doubled round the
silhouette or there alone, in ink of any dark colour, beside fills as dark as the ink; hatching, whiskers and brows;
shadows that turn to blue, in two depths, with rim light; few colours or many, of few hues or of any; saved as PNG,
with a palette, transparent or as JPEG.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from PIL import Image
from skimage.color import lab2rgb, rgb2lab

from .beasts import BEASTS, bezier
from .draw import freckled
from .truth import Layout, Palette, Sketch, _spread, borders, coloured, distance_to, lively, muted, shown
from .vectors import _layout

KINDS = ("bold", "line art", "muted", "cel", "busy")
SIZES = ((700, 800), (1000, 900), (1400, 1400), (1800, 2200), (3000, 2400), (4000, 3200))
INKS = ([8, 8, 10], [70, 38, 24], [24, 32, 84], [18, 62, 36], [96, 18, 28], [52, 48, 60])
GROUNDS = ([255, 255, 255], [250, 246, 235], [200, 200, 200], [128, 130, 134], [214, 232, 220], [46, 48, 66])


@dataclass(frozen=True)
class Manner:
    """wide: of the lines in parts of the longer side, 0 none. flat: the nib's thin way in parts of its broad one; turn:
    degrees. rim: how much broader the silhouette's line is; inner: lines inside, too. ink: (3,). dark: a group has
    nearly the ink's colour. strokes: hatching, whiskers. paper: (3,). smooth: anti-aliased. saved: 'png', 'clear',
    'palette' or a JPEG's quality."""

    wide: float
    flat: float
    turn: float
    rim: float
    inner: bool
    ink: np.ndarray
    dark: bool
    strokes: bool
    paper: np.ndarray
    smooth: bool
    saved: str | int


def sketch(kind: str, seed: int, most: int = 2000) -> Sketch:
    """The drawing of that kind (of KINDS) and seed, of at most that many pixels along its longer side."""
    rng = np.random.default_rng([333, sum(map(ord, kind)), seed])
    manner = _manner(rng, kind)
    width, height = SIZES[int(rng.integers(len(SIZES)))]
    shrunk = min(1.0, most / max(width, height))
    size = round(width * shrunk), round(height * shrunk)
    fine = 2 if manner.smooth else 1
    wide = max(manner.wide * max(size), 1.6 * (manner.wide > 0))
    shapes = BEASTS[seed % 2](rng)
    if kind == "busy":
        other = [
            replace(s, pieces=tuple(p + np.array([2.6, 0]) for p in s.pieces)) for s in BEASTS[(seed + 1) % 2](rng)
        ]
        names = {s.group: f"{s.group}, other" for s in other if rng.random() < 0.7}
        held = [
            replace(s, group=names.get(s.group, s.group), inside=tuple(i + len(shapes) for i in s.inside))
            for s in other
        ]
        shapes = [*shapes, *held]
    plan, _ = _layout(shapes, (size[0] * fine, size[1] * fine), wide * fine)
    colours = _coloured(rng, plan, kind, manner, wide * fine)
    picture = _lit(rng, plan, colours) if kind == "cel" else colours[plan.fine]
    inked = np.zeros(plan.fine.shape, bool)
    if manner.wide:
        inked = _outlines(plan, manner, wide * fine)
        if manner.strokes:
            inked |= _strokes(rng, plan, wide * fine)
        picture = np.where(inked[..., None], manner.ink, picture)
    # By chance of their own, so that the drawings are those they were before they had specks.
    chance, specks, spots = np.random.default_rng([334, seed]), np.zeros((0, 3)), np.zeros((0, 3))
    if kind == "busy":
        picture = picture.astype(float)
        specks, spots = freckled(chance, plan, wide * manner.rim, (picture, colours), fine)
    rgb = cv2.resize(picture.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    rgb = np.clip(np.rint(rgb), 0, 255).astype(np.uint8)
    at = np.s_[fine // 2 :: fine, fine // 2 :: fine]
    ink = manner.ink if manner.wide else None
    return Sketch(
        rgb, np.ascontiguousarray(plan.fine[at].astype(int)), colours, specks, ink, wide, frozenset(),
        inked[at], spots, style=manner,
    )  # fmt: skip


def save(made: Sketch, path: Path) -> Path:
    """As its manner says."""
    saved, picture = made.style.saved, made.picture
    if isinstance(saved, int):
        path = path.with_name(path.name + ".jpg")
        picture.save(path, quality=saved)
        return path
    path = path.with_name(path.name + ".png")
    if saved == "palette":
        picture = picture.quantize(128)
    if saved == "clear":
        seen = made.inked | (made.regions > 0)
        picture.putalpha(Image.fromarray(np.where(seen, 255, 0).astype(np.uint8)))
    picture.save(path, compress_level=1)
    return path


def _manner(rng: np.random.Generator, kind: str) -> Manner:
    u = rng.uniform
    wide = {"bold": u(0.012, 0.035), "line art": u(0.002, 0.006), "busy": u(0.0015, 0.003), "muted": 0.0}.get(kind)
    if wide is None:
        wide = u(0.002, 0.006) if u() < 0.6 else 0.0
    nib = u(0.35, 0.8) if u() < 0.4 else 1.0
    inner = kind in ("bold", "line art", "busy") or u() < 0.75
    rim = u(1.5, 3.0) if kind != "bold" and u() < 0.4 else 1.0
    ink = np.array(INKS[int(rng.integers(1 if kind == "line art" else 0, len(INKS)))], float)
    paper = np.array(GROUNDS[0 if u() < 0.45 else int(rng.integers(len(GROUNDS) - (kind == "bold")))], float)
    saved: str | int = ("png", "png", "clear", "palette")[int(rng.integers(4))]
    if kind != "muted" and saved != "clear" and u() < 0.2:
        saved = int(rng.integers(85, 96))
    dark, strokes = u() < 0.4, kind == "line art" and u() < 0.5
    return Manner(wide, nib, u(0, 180), rim, inner, ink, dark, strokes, paper, u() < 0.85, saved)


def kin(rng: np.random.Generator, n: int, taken: np.ndarray) -> np.ndarray:
    """Colours of three to five hues, lighter and darker, 12 and more apart."""
    hues, chosen = rng.uniform(0, 2 * np.pi, int(rng.integers(3, 6))), np.asarray(taken, float).reshape(-1, 3)
    held = len(chosen)
    for _ in range(n):
        offered = shown(rng, 500, 60)
        lab = rgb2lab(offered[None] / 255)[0]
        turn = np.abs(np.angle(np.exp(1j * (np.arctan2(lab[:, 2], lab[:, 1])[:, None] - hues)))).min(1)
        offered = offered[turn < 0.2]
        from drawing.generator import difference

        gap = difference(offered, chosen).min(1) if len(chosen) else np.full(len(offered), 99)
        fit = np.flatnonzero(gap >= 12)
        chosen = np.vstack([chosen, offered[fit[0]] if len(fit) else _spread(rng, 1, chosen, chroma=75, apart=12)[0]])
    return chosen[held:]


def _coloured(rng: np.random.Generator, plan: Layout, kind: str, manner: Manner, wide: float) -> np.ndarray:
    """(n + 1, 3) sRGB of the regions, 0 the paper; one group as dark as the ink where the manner says so."""
    taken = np.stack([manner.paper, manner.ink]) if manner.wide else manner.paper[None]
    # Without a line nobody could tell a darker neighbour of one hue from a shadow.
    palette: Palette = muted if kind == "muted" else (lively, kin)[int(rng.integers(1 + (manner.wide > 0)))]
    most = int(rng.integers(4, 26))
    colours = coloured(rng, plan, palette, taken, most=most, least=min(most, 8))
    if manner.dark and kind != "muted":
        black = manner.ink if manner.wide and rng.random() < 0.5 else np.array([18.0, 17, 20])
        sizes = np.bincount(plan.group[plan.fine].ravel())
        share = sizes / sizes[1:].sum()
        deep = distance_to(borders(plan.fine))
        deepest = np.zeros(len(sizes))
        np.maximum.at(deepest, plan.group[plan.fine].ravel(), deep.ravel())
        # What is no thicker than a few lines would be hidden in them, and nobody could tell it.
        fit = np.flatnonzero((share > 0.01) & (share < 0.15) & (deepest > 2 * wide + 10 * plan.unit))
        if (fit > 0).any():
            colours[plan.group == rng.choice(fit[fit > 0])] = black
    return colours


def _outlines(plan: Layout, manner: Manner, wide: float) -> np.ndarray:
    """(h, w) bool: where a nib went along the outlines."""
    edge = borders(plan.drawn)
    outer = borders((plan.drawn > 0).astype(np.int32))
    inked = np.zeros(edge.shape, bool)
    for line, broad in ((edge & manner.inner, wide), (outer, wide * manner.rim)):
        inked |= cv2.dilate(line.astype(np.uint8), _nib(broad, manner.flat, manner.turn)) > 0
    return inked


def _nib(broad: float, flat: float, turn: float) -> np.ndarray:
    reach = int(np.ceil(broad / 2)) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    along, across = (x * c + y * s) / (broad / 2), (y * c - x * s) / (broad / 2 * flat)
    nib: np.ndarray = (np.hypot(along, across) <= 1).astype(np.uint8)
    nib[reach, reach] = 1
    return nib


def _strokes(rng: np.random.Generator, plan: Layout, wide: float) -> np.ndarray:
    """(h, w) bool: hatching along one side of some regions, and short curved strokes inside others."""
    inked = np.zeros(plan.fine.shape, np.uint8)
    pen = max(1, round(0.8 * wide))
    for i in range(1, int(plan.fine.max()) + 1):
        inside = plan.fine == i
        side, u = np.sqrt(inside.sum()), rng.uniform
        if side < 90 * plan.unit or u() < 0.5:
            continue
        own = np.zeros_like(inked)
        rows, columns = np.nonzero(inside)
        if u() < 0.5:
            gap, way = u(4, 8) * wide, u(0.2, 0.8) * np.pi
            far, low = int(2 * side), np.quantile(columns, u(0.55, 0.7))
            for at in np.arange(rows.min() - far, rows.max(), gap):
                ends = (columns.min(), at), (columns.min() + 2 * far, at + 2 * far / np.tan(way))
                cv2.line(own, *[tuple(int(v) for v in p) for p in ends], 1, pen)
            own[:, : int(low)] = 0
        else:
            for _ in range(int(rng.integers(1, 5))):
                k = int(rng.integers(len(rows)))
                reach, turn = max(u(0.05, 0.2) * side, 5 * wide), u(0, 2 * np.pi)
                way = np.array([np.cos(turn), np.sin(turn)]) * reach
                middle = np.array([columns[k], rows[k]], float)
                points = [middle - way, middle + u(-1, 1) * way[::-1], middle + way]
                cv2.polylines(own, [bezier(*points).round().astype(np.int32)], False, 1, pen)
        inked |= own * inside
    return inked > 0


def _lit(rng: np.random.Generator, plan: Layout, colours: np.ndarray) -> np.ndarray:
    """(h, w, 3): each fill with a shadow that turns to blue, some with a deeper one, a warm light, or a lit rim."""
    u, lab = rng.uniform, rgb2lab(colours[None] / 255)[0]
    turn, deep = u(-14, 2), u(0.14, 0.28)
    tones = [lab]
    for times in (1, 1.8):
        shadow = lab * [1, u(0.85, 1.1), u(0.85, 1.0)]
        shadow[:, 0] -= np.clip(times * deep * lab[:, 0], 4 * times, 20 * times)
        tones.append(np.maximum(shadow + times * np.array([0, 0, turn / 2]), [3, -127, -127]))
    light = lab + np.array([u(7, 14), 1, u(0, 8)])
    rim = lab * [1, 0.6, 0.6] + [u(14, 22), 0, 0]
    tones += [np.minimum(k, [99, 127, 127]) for k in (light, rim)]
    tone, way, two = np.zeros(plan.fine.shape, np.int32), u(0.15, 0.85) * np.pi, u() < 0.4
    lit, rimmed, cut = u() < 0.4, u() < 0.3, u(0.1, 0.25)
    step = np.array([np.cos(way), np.sin(way)])
    for i in range(1, int(plan.fine.max()) + 1):
        whole = plan.fine == i
        side = np.sqrt(whole.sum())
        if side < 50 * plan.unit:
            continue
        rows, columns = np.nonzero(whole)
        box = np.s_[max(rows.min() - 2, 0) : rows.max() + 3, max(columns.min() - 2, 0) : columns.max() + 3]
        inside = whole[box]
        for k, far in ((1, cut), (2, 0.5 * cut)) if two else ((1, cut),):
            shade = inside & ~_moved(inside, -far * side * step)
            shade = cv2.morphologyEx(shade.astype(np.uint8), cv2.MORPH_OPEN, _nib(0.05 * side + 3, 1, 0)) > 0
            if shade.sum() < 0.4 * inside.sum():
                tone[box][shade & inside] = k
        light = inside & (tone[box] == 0) & ~_moved(inside, 0.5 * cut * side * step)
        if lit and light.sum() < 0.15 * inside.sum():
            tone[box][light] = 3
        if rimmed:
            thin = max(0.03 * side, 6 * plan.unit)
            edge = inside & ~_moved(inside, thin * step)
            tone[box][cv2.morphologyEx(edge.astype(np.uint8), cv2.MORPH_OPEN, _nib(0.5 * thin + 2, 1, 0)) > 0] = 4
    picture: np.ndarray = 255 * lab2rgb(np.stack(tones)[None])[0]
    lit_picture: np.ndarray = picture[tone, plan.fine]
    return lit_picture


def _moved(mask: np.ndarray, by: np.ndarray) -> np.ndarray:
    height, width = mask.shape
    way = np.float32([[1, 0, by[0]], [0, 1, by[1]]])
    moved: np.ndarray = cv2.warpAffine(mask.astype(np.uint8), way, (width, height), flags=cv2.INTER_NEAREST) > 0
    return moved
