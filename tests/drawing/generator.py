"""Drawings of random patches whose colours, areas and adjacencies are known, and worse copies of them.

Everything comes from the seed. A figure is one to three blobs on paper, each cut into warped Voronoi cells; some
cells share a colour, some carry an accent, specks or a soft shading; the outlines are none or 1 to 12 px wide at
1600 px, of any darkness.
"""

import io
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image, ImageFilter
from scipy import ndimage
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab

LEAST_DIFFERENCE = 12.0
"""CIEDE2000 between any two colours of a drawing, its paper and its ink."""
LEAST_SHARE = 0.005
OVERSAMPLED = 2


@dataclass(frozen=True, eq=False)
class Drawn:
    """rgb: (h, w, 3) uint8. regions: (h, w) int, 0 paper, 1..n. colours: (n + 1, 3) sRGB 0-255, of each region,
    0 the paper. specks: (k, 3) colours too small to paint. ink: sRGB or None; ink_px: width of the outlines."""

    rgb: np.ndarray
    regions: np.ndarray
    colours: np.ndarray
    specks: np.ndarray
    ink: np.ndarray | None
    ink_px: float
    shaded: frozenset[int]

    @property
    def picture(self) -> Image.Image:
        return Image.fromarray(self.rgb)

    def true_colours(self, least_share: float = LEAST_SHARE) -> np.ndarray:
        """(m, 3) distinct sRGB colours of at least this share of the figure."""
        count = np.bincount(self.regions.ravel(), minlength=len(self.colours)).astype(float)
        count[0] = 0
        unique, index = np.unique(self.colours, axis=0, return_inverse=True)
        share = np.bincount(index.ravel(), count / count.sum(), minlength=len(unique))
        return unique[(share >= least_share) & (share > 0)]

    def adjacencies(self) -> dict[tuple[int, int], float]:
        """{(a, b): length in pixels} of every pair of regions that touch."""
        return border_lengths(self.regions)


def border_lengths(labels: np.ndarray) -> dict[tuple[int, int], float]:
    """Length by the larger of the counts of horizontal and vertical pixel sides: never above the true length."""
    counts: dict[tuple[int, int], list[int]] = {}
    for axis, (one, two) in enumerate(((labels[:, 1:], labels[:, :-1]), (labels[1:], labels[:-1]))):
        differ = (one != two) & (one > 0) & (two > 0)
        pairs = np.sort(np.stack([one[differ], two[differ]], 1), axis=1)
        for (a, b), count in zip(*np.unique(pairs, axis=0, return_counts=True), strict=True):
            counts.setdefault((int(a), int(b)), [0, 0])[axis] += int(count)
    return {pair: float(max(c)) for pair, c in counts.items()}


def draw(
    seed: int,
    size: tuple[int, int] = (1000, 800),
    ink_px: float | None = None,
    shading: bool = True,
    paper: tuple[int, int, int] = (255, 255, 255),
) -> Drawn:
    """The drawing of that seed. ink_px: width of the outlines at 1600 px; None: chosen at random, often none."""
    rng = np.random.default_rng(seed)
    unit = max(size) / 1600
    at_1600 = float(rng.choice([0.0, rng.uniform(1, 12)], p=[0.3, 0.7])) if ink_px is None else ink_px
    wide = at_1600 * unit
    regions = _cells(rng, size)
    ink = _ink_colour(rng, paper) if wide > 0 else None
    regions = _paintable(regions, wide, least=0.012 * max(size))
    regions = _accents(rng, regions, unit, wide)
    colours = _colours(rng, regions, paper, ink)
    fine = np.kron(regions, np.ones((OVERSAMPLED, OVERSAMPLED), regions.dtype))
    picture = colours[fine].astype(float)
    shaded = _shade(rng, picture, fine) if shading else frozenset()
    specks = _specks(rng, picture, fine, colours, unit, wide)
    if ink is not None:
        border = _borders(fine)
        picture[ndimage.distance_transform_edt(~border) <= wide * OVERSAMPLED / 2] = ink
    small = Image.fromarray(np.rint(picture).astype(np.uint8)).resize(size, Image.Resampling.BOX)
    return Drawn(np.asarray(small), regions, colours, specks, ink, wide, shaded)


def _smooth(rng: np.random.Generator, size: tuple[int, int], grain: int) -> np.ndarray:
    """(h, w) smooth noise of standard deviation 1; grain: how many bumps along the width."""
    width, height = size
    coarse = rng.normal(size=(max(2, grain * height // width) + 3, grain + 3)).astype(np.float32)
    field = np.asarray(Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC))
    return (field - field.mean()) / field.std()


def _cells(rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
    width, height = size
    y, x = np.mgrid[:height, :width].astype(float)
    x += _smooth(rng, size, 8) * width / 90
    y += _smooth(rng, size, 8) * width / 90
    regions = np.zeros((height, width), int)
    blobs = int(rng.integers(1, 4))
    for blob in range(blobs):
        cx, cy = width * (blob + 0.5) / blobs, height * rng.uniform(0.45, 0.55)
        rx, ry = 0.42 * width / blobs, height * rng.uniform(0.3, 0.42)
        inside = ((x - cx) / rx) ** 2 + ((y - cy) / ry) ** 2 < 1
        n = int(rng.integers(3, 9 if blobs > 1 else 16))
        points = np.stack([rng.uniform(cx - rx, cx + rx, n), rng.uniform(cy - ry, cy + ry, n)], 1)
        for _ in range(2):
            nearest = ((x[..., None] - points[:, 0]) ** 2 + (y[..., None] - points[:, 1]) ** 2).argmin(-1)
            for k in range(n):
                own = inside & (nearest == k)
                if own.any():
                    points[k] = x[own].mean(), y[own].mean()
        regions[inside] = regions.max() + 1 + nearest[inside]
    return _connected(regions)


def _connected(regions: np.ndarray) -> np.ndarray:
    """Every region one connected piece: smaller pieces go to the nearest region."""
    kept = np.zeros_like(regions)
    number = 0
    for i in np.unique(regions[regions > 0]):
        pieces, n = ndimage.label(regions == i)
        if n:
            number += 1
            kept[pieces == np.bincount(pieces.ravel())[1:].argmax() + 1] = number
    nearest = ndimage.distance_transform_edt(kept == 0, return_distances=False, return_indices=True)
    return np.where(regions > 0, kept[tuple(nearest)], 0)


def _borders(regions: np.ndarray) -> np.ndarray:
    border = np.zeros(regions.shape, bool)
    border[:, 1:] |= regions[:, 1:] != regions[:, :-1]
    border[1:] |= regions[1:] != regions[:-1]
    return border


def _paintable(regions: np.ndarray, wide: float, least: float) -> np.ndarray:
    """Cells that an outline would leave narrower than `least` pixels go to their neighbours."""
    depth = ndimage.distance_transform_edt(~_borders(np.pad(regions, 1)))[1:-1, 1:-1]
    deepest = ndimage.maximum(depth, regions, np.arange(regions.max() + 1))
    too_small = 2 * (deepest - wide / 2) < least
    too_small[0] = False
    holes = too_small[regions]
    if holes.any():
        source = np.where(holes | (regions == 0), 0, regions)
        nearest = ndimage.distance_transform_edt(source == 0, return_distances=False, return_indices=True)
        regions = np.where(regions > 0, source[tuple(nearest)], 0)
    return _connected(regions)


def _accents(rng: np.random.Generator, regions: np.ndarray, unit: float, wide: float) -> np.ndarray:
    """Up to three round accents of 0.05 to 0.4 % of the figure, well inside a cell."""
    out = regions.copy()
    figure = (regions > 0).sum()
    depth = ndimage.distance_transform_edt(~_borders(np.pad(regions, 1)))[1:-1, 1:-1]
    for _ in range(int(rng.integers(0, 4))):
        radius = np.sqrt(figure * rng.uniform(0.0005, 0.004) / np.pi) + wide / 2
        room = np.flatnonzero((depth > radius + 1.5 * wide + 14 * unit).ravel() & (regions > 0).ravel())
        if len(room) == 0:
            continue
        cy, cx = divmod(int(rng.choice(room)), regions.shape[1])
        y, x = np.ogrid[: regions.shape[0], : regions.shape[1]]
        disc = (x - cx) ** 2 + (y - cy) ** 2 <= radius**2
        out[disc] = out.max() + 1
        depth = np.minimum(depth, ndimage.distance_transform_edt(~disc))
    return out


def _lab(rgb: np.ndarray) -> np.ndarray:
    return rgb2lab(np.asarray(rgb, float).reshape(1, -1, 3) / 255)[0]


def difference(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """(m, n) CIEDE2000 between sRGB colours (m, 3) and (n, 3)."""
    a, b = _lab(one), _lab(two)
    return deltaE_ciede2000(a[:, None], b[None])


def _random_colours(rng: np.random.Generator, n: int = 300) -> np.ndarray:
    """Colours evenly spread over the part of Lab that a screen shows, L 12 to 95."""
    lab = np.stack([rng.uniform(12, 95, n), rng.uniform(-70, 80, n), rng.uniform(-70, 80, n)], -1)
    rgb = np.rint(255 * lab2rgb(lab[None])[0])
    return rgb[np.abs(_lab(rgb) - lab).max(-1) < 2]


def _ink_colour(rng: np.random.Generator, paper: tuple[int, int, int]) -> np.ndarray:
    while True:
        rgb = _random_colours(rng)[0] if rng.random() < 0.4 else np.full(3, rng.integers(0, 90))
        if _lab(rgb)[0, 0] < 60 and difference(rgb[None], np.array([paper]))[0, 0] > 30:
            return rgb.astype(float)


def _colours(
    rng: np.random.Generator, regions: np.ndarray, paper: tuple[int, int, int], ink: np.ndarray | None
) -> np.ndarray:
    # patches of one colour that nearly meet would be one patch to any eye: they get colours of their own
    n = int(regions.max())
    colours = np.zeros((n + 1, 3))
    colours[0] = paper
    touching = border_lengths(regions)
    coarse = regions[::4, ::4]
    for i in range(1, n + 1):
        near = ndimage.distance_transform_edt(coarse != i) <= 5
        touching.update({(min(i, int(k)), max(i, int(k))): 0.0 for k in np.unique(coarse[near]) if k not in (0, i)})
    for i in range(1, n + 1):
        beside = {a + b - i for a, b in touching if i in (a, b)}
        free = [
            k
            for k in range(1, i)
            if k not in beside and not any((colours[k] == colours[j]).all() for j in beside if j < i)
        ]
        if free and rng.random() < 0.3:
            colours[i] = colours[rng.choice(free)]
            continue
        taken = colours[:i] if ink is None else np.concatenate([colours[:i], [ink]])
        for _ in range(20):
            offered = _random_colours(rng)
            distinct = offered[difference(offered, taken).min(1) >= LEAST_DIFFERENCE]
            if len(distinct):
                break
        else:
            raise RuntimeError("no colour left")
        colours[i] = distinct[0]
    return colours


def _shade(rng: np.random.Generator, picture: np.ndarray, fine: np.ndarray) -> frozenset[int]:
    """Darken one side of some cells smoothly, down to three quarters of their linear light; in place."""
    chosen = [i for i in range(1, int(fine.max()) + 1) if rng.random() < 0.25 and (fine == i).mean() > 0.01]
    for i in chosen:
        y, x = np.nonzero(fine == i)
        angle = rng.uniform(0, 2 * np.pi)
        along = x * np.cos(angle) + y * np.sin(angle)
        ramp = (along - along.min()) / np.ptp(along)
        light = 1 - rng.uniform(0.1, 0.25) * np.clip((ramp - 0.5) / 0.5, 0, 1) ** 1.5
        picture[y, x] *= light[:, None] ** (1 / 2.2)
    return frozenset(chosen)


def _specks(
    rng: np.random.Generator, picture: np.ndarray, fine: np.ndarray, colours: np.ndarray, unit: float, wide: float
) -> np.ndarray:
    """A few dots of 1 to 3 px (at 1600) in a lightness of their own; in place. Returns their colours."""
    inside = ndimage.binary_erosion(fine > 0, iterations=int(6 * unit + wide) + 1)
    room = np.flatnonzero(inside.ravel())
    used = []
    for _ in range(int(rng.integers(0, 6))):
        cy, cx = divmod(int(rng.choice(room)), fine.shape[1])
        radius = rng.uniform(0.5, 1.5) * unit * OVERSAMPLED
        y, x = np.ogrid[: fine.shape[0], : fine.shape[1]]
        colour = colours[fine[cy, cx]]
        colour = np.clip(colour + (120 if colour.mean() < 128 else -120), 0, 255)
        picture[(x - cx) ** 2 + (y - cy) ** 2 <= radius**2] = colour
        used.append(colour)
    return np.array(used).reshape(-1, 3)


def _jpeg(rgb: np.ndarray, quality: int) -> np.ndarray:
    buffer = io.BytesIO()
    Image.fromarray(np.clip(np.rint(rgb), 0, 255).astype(np.uint8)).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer).convert("RGB"))


def _blurred(rgb: np.ndarray, radius: float) -> np.ndarray:
    picture = Image.fromarray(np.clip(np.rint(rgb), 0, 255).astype(np.uint8))
    return np.asarray(picture.filter(ImageFilter.GaussianBlur(radius))).astype(float)


def scan(drawn: Drawn, seed: int) -> Drawn:
    """Off-white textured paper under everything, slight blur, JPEG 85."""
    rng = np.random.default_rng([seed, 1])
    height, width = drawn.regions.shape
    paper = np.array([rng.uniform(235, 250)] * 3) - np.array([0, rng.uniform(0, 6), rng.uniform(4, 18)])
    texture = 1 + 0.012 * rng.normal(size=(height, width, 1)) + 0.012 * _smooth(rng, (width, height), 160)[..., None]
    rgb = _blurred(drawn.rgb, 0.8) * (paper / 255) * texture
    return replace(drawn, rgb=_jpeg(rgb, 85))


def photo(drawn: Drawn, seed: int) -> Drawn:
    """A light gradient of 25 %, a warm cast, a small rotation, sensor noise, JPEG 75."""
    rng = np.random.default_rng([seed, 2])
    height, width = drawn.regions.shape
    angle = rng.uniform(-4, 4)
    paper = tuple(int(v) for v in drawn.colours[0])
    turned = drawn.picture.rotate(angle, Image.Resampling.BICUBIC, fillcolor=paper)
    regions = Image.fromarray(drawn.regions.astype(np.int32)).rotate(angle, Image.Resampling.NEAREST)
    y, x = np.mgrid[:height, :width]
    way = rng.uniform(0, 2 * np.pi)
    along = x * np.cos(way) + y * np.sin(way)
    light = 1 - 0.25 * (along - along.min()) / np.ptp(along)
    cast = np.array([1.0, rng.uniform(0.92, 0.96), rng.uniform(0.8, 0.88)]) * rng.uniform(0.88, 0.97)
    linear = (_blurred(np.asarray(turned), 0.7) / 255) ** 2.2 * light[..., None] * cast
    rgb = 255 * linear ** (1 / 2.2) + rng.normal(scale=2.0, size=(height, width, 3))
    return replace(drawn, rgb=_jpeg(rgb, 75), regions=np.asarray(regions).astype(int))


def marker(drawn: Drawn, seed: int) -> Drawn:
    """Streaks of 4 % lightness laid in strokes across each colour, and outlines that wobble."""
    rng = np.random.default_rng([seed, 3])
    height, width = drawn.regions.shape
    y, x = np.mgrid[:height, :width].astype(float)
    bend = [_smooth(rng, (width, height), 60) * 1.2 * max(width, height) / 1600 for _ in range(2)]
    at = np.stack([y + bend[0], x + bend[1]])
    rgb = np.stack([ndimage.map_coordinates(drawn.rgb[..., k], at, order=1, mode="nearest") for k in range(3)], -1)
    regions = ndimage.map_coordinates(drawn.regions, at, order=0, mode="nearest")
    way = rng.uniform(0, np.pi)
    stroke = rng.uniform(8, 20) * max(width, height) / 1600
    across = (x * np.cos(way) + y * np.sin(way) + 2 * _smooth(rng, (width, height), 10)) / stroke
    strength = rng.uniform(-1, 1, int(np.ptp(across)) + 3)
    band = np.floor(across - across.min()).astype(int)
    streak = ndimage.gaussian_filter(strength[band], 0.8)
    lab = rgb2lab(rgb / 255)
    lab[..., 0] += np.where(regions > 0, 4.0 * streak, 0)
    streaked = 255 * lab2rgb(np.clip(lab, [0, -128, -128], [100, 127, 127]))
    out = np.where((regions > 0)[..., None], streaked, rgb)
    return replace(drawn, rgb=np.clip(np.rint(out), 0, 255).astype(np.uint8), regions=regions.astype(int))


DEGRADED = {"scan": scan, "photo": photo, "marker": marker}
