"""The kinds of drawings makers have. Each takes a generator of chance and returns a Sketch; sizes 900 to 2000 px."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from drawing.generator import difference
from skimage.color import lab2rgb, rgb2lab

from .figures import BUILDERS, ornate
from .shapes import Shape
from .truth import FINE, Layout, Palette, Sketch, borders, coloured, distance_to, layout, lively, muted, shown

WHITE = np.full(3, 255.0)
THICK = 0.01
"""Of the longer side: a broader pen draws no folds and joints within a colour."""
SIZES = ((900, 1100), (1200, 1000), (1000, 1400), (1600, 1300), (1500, 2000))


@dataclass(frozen=True)
class Kit:
    """What a drawing begins with. builder: which of BUILDERS; most: pixels of the longer side at most."""

    rng: np.random.Generator
    builder: int
    most: int = 2000

    def figure(self) -> list[Shape]:
        """A figure of one of the builders, leaning a little, either way round."""
        u = self.rng.uniform
        way = np.diag([1 if u() < 0.5 else -1, u(0.85, 1.15)]) @ np.array([[1, u(-0.15, 0.15)], [u(-0.1, 0.1), 1]])
        pile = BUILDERS[self.builder % len(BUILDERS)](self.rng)
        return [replace(shape, pieces=tuple(piece @ way for piece in shape.pieces)) for shape in pile]

    def size(self) -> tuple[int, int]:
        """(width, height) of the sheet."""
        width, height = SIZES[int(self.rng.integers(len(SIZES)))]
        shrunk = min(1.0, self.most / max(width, height))
        return round(width * shrunk), round(height * shrunk)

    def start(
        self, line: float, palette: Palette = lively, ink: np.ndarray | None = None, paper: np.ndarray = WHITE
    ) -> tuple[Layout, np.ndarray, float]:
        """(Layout, colours, width of the lines in pixels) of a figure with lines of `line` of the longer side."""
        size = self.size()
        wide = line * max(size)
        plan = layout(self.figure(), size, wide)
        taken = np.stack([paper] if ink is None else [paper, ink])
        return plan, coloured(self.rng, plan, palette, taken), wide


def bold(kit: Kit) -> Sketch:
    """Outlines of 1.2 to 3.5 % of the longer side, black or coloured, over flat fills."""
    u = kit.rng.uniform
    ink = np.full(3, u(0, 40)) if u() < 0.6 else _dark(kit.rng)
    plan, colours, wide = kit.start(u(0.012, 0.035), ink=ink)
    picture = inked(kit.rng, plan, colours[plan.fine], ink, wide)
    return finished(plan, colours, picture, ink, wide)


def lineart(kit: Kit) -> Sketch:
    """Lines in sepia, in blue pencil or in a darker tone of the neighbour."""
    u = kit.rng.uniform
    style = int(kit.rng.integers(3))
    ink = (np.array([u(80, 120), u(50, 70), u(25, 45)]), np.array([u(50, 90), u(80, 120), u(160, 200)]), None)[style]
    plan, colours, wide = kit.start(u(0.002, 0.006), ink=ink)
    if ink is None:
        lab = _lab(colours)
        lab[:, 0] = np.maximum(lab[:, 0] * 0.62 - 4, 3)
        dark = _rgb(lab)
        over = cv2.dilate(plan.fine.astype(np.float32), _disc(wide * FINE / 2 + 2)).astype(int)
        picture = inked(kit.rng, plan, colours[plan.fine], dark[over], wide)
    else:
        picture = inked(kit.rng, plan, colours[plan.fine], ink, wide)
    return finished(plan, colours, picture, ink, wide)


def quiet(kit: Kit) -> Sketch:
    """Greyish flat fills without lines, neighbours 6 to 12 apart."""
    plan, colours, wide = kit.start(0.0, palette=muted)
    return finished(plan, colours, colours[plan.fine], None, wide)


def cel(kit: Kit) -> Sketch:
    """One hard shadow tone, sometimes a highlight, in each fill."""
    u = kit.rng.uniform
    ink = np.full(3, u(0, 50)) if u() < 0.7 else None
    plan, colours, wide = kit.start(u(0.002, 0.005) if ink is not None else 0.0, ink=ink)
    lab = _lab(colours)
    shadow, light = lab.copy(), lab.copy()
    shadow[:, 0] = lab[:, 0] - np.clip(lab[:, 0] * u(0.18, 0.32), 6, 22)
    shadow[:, 1:] = lab[:, 1:] * u(0.85, 1.05) + [0, u(-8, 0)]
    light[:, 0] = np.minimum(lab[:, 0] + u(10, 18), 99)
    light[:, 1:] *= u(0.5, 0.9)
    tones = np.stack([colours, _rgb(shadow), _rgb(light)])
    tone = _cel_tones(kit.rng, plan, u(0.08, 0.2), u() < 0.5)
    picture = tones[tone, plan.fine]
    if ink is not None:
        picture = inked(kit.rng, plan, picture, ink, wide)
    return replace(finished(plan, colours, picture, ink, wide), limit=4.0)


def _cel_tones(rng: np.random.Generator, plan: Layout, deep: float, lit: bool) -> np.ndarray:
    """(h, w) 0 base, 1 shadow away from the light, 2 a highlight towards it."""
    tone, angle = np.zeros(plan.fine.shape, np.int32), rng.uniform(0.15, 0.35) * np.pi
    for i, box in _boxes(plan.drawn):
        inside = plan.drawn[box] == i
        height, width = inside.shape
        y, x = np.mgrid[:height, :width]
        side = np.sqrt(inside.sum())
        step = (deep * side * np.array([np.cos(angle), np.sin(angle)])).round()
        moved = cv2.warpAffine(
            inside.astype(np.uint8), np.float32([[1, 0, -step[0]], [0, 1, -step[1]]]), (width, height)
        )
        soft = cv2.GaussianBlur(moved.astype(np.float32), (0, 0), max(side * 0.03, 1)) > 0.5
        shade = inside & ~soft
        if shade.sum() > 0.45 * inside.sum() or side < 40 * plan.unit:
            continue
        tone[box][shade] = 1
        if lit and rng.random() < 0.5:
            at = np.argmax(np.where(inside & ~shade, distance_to(~inside), 0))
            cy, cx = divmod(int(at), width)
            cx, cy = cx - 0.1 * side * np.cos(angle), cy - 0.1 * side * np.sin(angle)
            spot = ((x - cx) / (0.12 * side)) ** 2 + ((y - cy) / (0.07 * side)) ** 2 < 1
            tone[box][spot & inside & ~shade] = 2
    return tone


def soft(kit: Kit) -> Sketch:
    """Airbrushed shading of 12 L* either way, with soft highlights, with or without thin lines."""
    u = kit.rng.uniform
    ink = np.full(3, u(0, 50)) if u() < 0.5 else None
    plan, colours, wide = kit.start(u(0.002, 0.004) if ink is not None else 0.0, ink=ink)
    lab = rgb2lab(colours[plan.fine].astype(np.float32) / 255)
    angle = u(0.1, 0.4) * np.pi
    for i, box in _boxes(plan.drawn):
        inside = plan.drawn[box] == i
        y, x = np.nonzero(inside)
        along = x * np.cos(angle) + y * np.sin(angle)
        ramp = 1 - 2 * (along - along.min()) / max(np.ptp(along), 1)
        depth = distance_to(~np.pad(inside, 1))[1:-1, 1:-1][inside]
        rim = np.minimum(depth / (0.35 * depth.max()), 1)
        shade = ramp + 0.8 * rim
        shade -= shade.mean()
        patch = lab[box]
        lightness = patch[inside]
        lightness[:, 0] += 12 * shade / max(np.abs(shade).max(), 0.1)
        if u() < 0.4 and depth.max() > 25 * plan.unit:
            at = np.argmax(depth - 0.3 * along)
            glow = np.exp(-((x - x[at]) ** 2 + (y - y[at]) ** 2) / (0.5 * depth.max()) ** 2)
            lightness[:, 0] += 14 * glow
            lightness[:, 1:] *= 1 - 0.45 * glow[:, None]
        patch[inside] = lightness
    picture = 255 * lab2rgb(np.clip(lab, [0, -127, -127], [100, 127, 127]))
    picture[plan.fine == 0] = colours[0]
    if ink is not None:
        picture = inked(kit.rng, plan, picture, ink, wide)
    return replace(finished(plan, colours, picture, ink, wide), limit=8.0)


def textured(kit: Kit) -> Sketch:
    """By hand on paper: pencil, crayon or watercolour, wobbly lines with gaps of 3 to 10 px."""
    u = kit.rng.uniform
    paper = np.array([u(244, 253)] * 3) - [0, u(0, 3), u(0, 9)]
    ink = np.full(3, u(20, 70))
    plan, colours, wide = kit.start(u(0.0025, 0.005), ink=ink, paper=paper)
    medium = (crayon, pencil, watercolour)[int(kit.rng.integers(3))]
    cover, tone = medium(kit.rng, plan)
    lab = _lab(colours)[plan.fine]
    lab[..., 0] = np.clip(lab[..., 0] + tone, 2, 99)
    fill = 255 * lab2rgb(lab.astype(np.float32))
    filled = (plan.fine > 0) * cover
    picture = paper + filled[..., None] * (fill - paper)
    picture = inked(kit.rng, plan, picture, ink, wide, gaps=True, wobble=1.6)
    grain = cloud(kit.rng, picture.shape[:2], 3 * plan.unit)[..., None] * 1.6
    return replace(finished(plan, colours, picture + grain, ink, wide), limit=8.0)


def crayon(rng: np.random.Generator, plan: Layout) -> tuple[np.ndarray, np.ndarray]:
    """(Cover 0-1, change of L*): wax on the teeth of the paper, laid in strokes with bare streaks."""
    tooth = cloud(rng, plan.fine.shape, 5 * plan.unit)
    cover = 1 / (1 + np.exp(-4 * (tooth + 1.6 + 0.7 * strokes(rng, plan, 16))))
    return 0.97 * cover, 3 * tooth


def pencil(rng: np.random.Generator, plan: Layout) -> tuple[np.ndarray, np.ndarray]:
    """Strokes side by side, some left out."""
    hatch = strokes(rng, plan, 9)
    bare = np.clip(2.5 * (hatch - 1.35), 0, 1)
    tooth = cloud(rng, plan.fine.shape, 3.5 * plan.unit)
    return np.clip(0.96 - 0.85 * bare - 0.05 * np.abs(tooth), 0, 1), 4 * hatch + 2 * tooth


def watercolour(rng: np.random.Generator, plan: Layout) -> tuple[np.ndarray, np.ndarray]:
    """Blooms, granulation and a darker rim."""
    depth = distance_to(borders(plan.fine))
    rim = np.exp(-depth / (5 * plan.unit))
    bloom = cloud(rng, plan.fine.shape, 110 * plan.unit)
    grains = cloud(rng, plan.fine.shape, 6 * plan.unit)
    return np.full(plan.fine.shape, 0.98), 4.5 * bloom + 2 * grains - 7 * rim


def strokes(rng: np.random.Generator, plan: Layout, wide: float) -> np.ndarray:
    """(h, w) about normal: bands along a direction of each region's own, `wide` 1600ths broad."""
    out = np.zeros(plan.fine.shape, np.float32)
    bend = 0.6 * cloud(rng, plan.fine.shape, 150 * plan.unit)
    for i, box in _boxes(plan.fine):
        inside = plan.fine[box] == i
        y, x = np.nonzero(inside)
        way = rng.normal(1.0, 0.3)
        across = (x * np.sin(way) - y * np.cos(way)) / (wide * plan.unit) + bend[box][inside]
        band = np.floor(across - across.min()).astype(int)
        strength = rng.normal(size=band.max() + 2).astype(np.float32)
        share = across - across.min() - band
        out[box][inside] = strength[band] * (1 - share) + strength[band + 1] * share
    return out


def busy(kit: Kit) -> Sketch:
    """Seventy to a hundred areas, thin lines, and specks of 6 to 14 px."""
    rng, u = kit.rng, kit.rng.uniform
    ink = np.full(3, u(0, 50))
    long = u(1300, 2000) * kit.most / 2000
    size = (round(long), round(0.85 * long)) if u() < 0.5 else (round(0.85 * long), round(long))
    wide = u(0.0015, 0.003) * max(size)
    step, plan = u(0.12, 0.16), None
    while plan is None or not 65 <= plan.fine.max() <= 105:
        plan = layout(ornate(rng, kit.builder, step), size, wide)
        step *= (plan.fine.max() / 85) ** 0.4
    colours = coloured(rng, plan, lively, np.stack([WHITE, ink]), most=22)
    picture = inked(rng, plan, colours[plan.fine], ink, wide)
    specks, at = freckled(rng, plan, wide, (picture, colours))
    return replace(finished(plan, colours, picture, ink, wide), specks=specks, specks_at=at)


def freckled(
    rng: np.random.Generator, plan: Layout, wide: float, fills: tuple[np.ndarray, np.ndarray], fine: int = FINE
) -> tuple[np.ndarray, np.ndarray]:
    """Specks of 6 to 14 px put well inside regions: (their colours, (k, 3) x, y, diameter). fills: the picture, which
    takes them, and the regions' colours; fine: its pixels to one of the drawing; wide: of the lines, in these."""
    picture, colours = fills
    room = distance_to(borders(plan.fine))
    room[plan.fine == 0] = 0
    used, at = [], []
    for _ in range(int(rng.integers(8, 20))):
        across = rng.uniform(6, 14)
        free = np.flatnonzero((room > fine * (across / 2 + wide + 5)).ravel())
        if not len(free):
            continue
        y, x = divmod(int(rng.choice(free)), room.shape[1])
        offered = shown(rng, 100, 70)
        colour = offered[difference(offered, colours[plan.fine[y, x]][None])[:, 0].argsort()[-30]]
        cv2.circle(picture, (x, y), round(across * fine / 2), colour.tolist(), -1)
        here = np.ones(room.shape, np.uint8)
        cv2.circle(here, (x, y), round(across * fine / 2), 0, -1)
        np.minimum(room, cv2.distanceTransform(here, cv2.DIST_L2, 5), out=room)
        used.append(colour)
        at.append((x / fine, y / fine, across))
    return np.array(used).reshape(-1, 3), np.array(at).reshape(-1, 3)


def inked(
    rng: np.random.Generator,
    plan: Layout,
    picture: np.ndarray,
    ink: np.ndarray,
    wide: float,
    gaps: bool = False,
    wobble: float = 0.0,
) -> np.ndarray:
    """The picture with lines of `wide` pixels, a little uneven, along all borders; ink: (3,) or (h, w, 3). wobble:
    1600ths by which they stray; gaps: some are left open for 3 to 10 px."""
    fine = _pen(plan, wide)
    if wobble:
        fine = strayed(rng, fine, wobble * plan.unit)
    half = FINE * wide / 2 * (1 + 0.1 * cloud(rng, fine.shape, 200 * plan.unit))
    border = borders(fine)
    if gaps:
        at = np.flatnonzero(border.ravel())
        for spot in rng.choice(at, max(len(at) // int(500 * plan.unit), 1)):
            y, x = divmod(int(spot), fine.shape[1])
            cv2.circle(mask := border.astype(np.uint8), (x, y), round(FINE * (rng.uniform(3, 10) + wide) / 2), 0, -1)
            border = mask.astype(bool)
    cover = np.clip(half - distance_to(border) + 0.5, 0, 1)[..., None]
    return picture + cover * (ink - picture)


def _pen(plan: Layout, wide: float) -> np.ndarray:
    """The labels along whose borders a pen of `wide` pixels draws."""
    return plan.fine if wide > THICK * max(plan.fine.shape) / FINE else plan.drawn


def strayed(rng: np.random.Generator, labels: np.ndarray, reach: float) -> np.ndarray:
    """Labels whose borders wander by about `reach` pixels."""
    height, width = labels.shape
    y, x = np.mgrid[:height, :width].astype(np.float32)
    return cv2.remap(
        labels.astype(np.float32),
        x + reach * cloud(rng, labels.shape, 40 * reach),
        y + reach * cloud(rng, labels.shape, 40 * reach),
        cv2.INTER_NEAREST,
        borderMode=cv2.BORDER_REPLICATE,
    ).astype(np.int32)


def cloud(rng: np.random.Generator, shape: tuple[int, int], size: float) -> np.ndarray:
    """(h, w) float32 smooth noise of unit spread whose lumps are about `size` pixels."""
    step = max(size / 2, 1)
    small = rng.normal(size=(int(shape[0] / step) + 3, int(shape[1] / step) + 3)).astype(np.float32)
    big = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return (big - big.mean()) / big.std()


def _boxes(labels: np.ndarray) -> list[tuple[int, tuple[slice, slice]]]:
    from scipy.ndimage import find_objects

    return [(i, box) for i, box in enumerate(find_objects(labels), 1) if box is not None]


def _disc(radius: float) -> np.ndarray:
    side = 2 * int(np.ceil(radius)) + 1
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))


def _dark(rng: np.random.Generator) -> np.ndarray:
    offered = shown(rng, 300, 60)
    return offered[_lab(offered)[:, 0] < 38][0]


def _lab(rgb: np.ndarray) -> np.ndarray:
    return rgb2lab(np.asarray(rgb, float)[None] / 255)[0]


def _rgb(lab: np.ndarray) -> np.ndarray:
    return 255 * lab2rgb(lab[None])[0]


def finished(plan: Layout, colours: np.ndarray, picture: np.ndarray, ink: np.ndarray | None, wide: float) -> Sketch:
    height, width = plan.fine.shape
    size = (width // FINE, height // FINE)
    small = cv2.resize(picture.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    rgb = np.clip(np.rint(small), 0, 255).astype(np.uint8)
    lines = np.zeros(size[::-1], bool)
    if wide:
        lines = distance_to(borders(_pen(plan, wide)))[FINE // 2 :: FINE, FINE // 2 :: FINE] <= FINE * wide / 2
    return Sketch(rgb, plan.regions, colours, np.zeros((0, 3)), ink, wide, frozenset(), lines)


KINDS: dict[str, Callable[[Kit], Sketch]] = {
    "bold": bold,
    "line art": lineart,
    "muted": quiet,
    "cel": cel,
    "soft": soft,
    "textured": textured,
    "busy": busy,
}


def sketch(kind: str, seed: int, most: int = 2000) -> Sketch:
    """The drawing of that kind and seed."""
    rng = np.random.default_rng([sum(map(ord, kind)), seed])
    return KINDS[kind](Kit(rng, seed, most))
