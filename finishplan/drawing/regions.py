"""From classes of colour to connected regions: seeds, absorption of lines and rims, merging of what is one area."""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing.components import components, connected
from finishplan.drawing.linework import Lines, thick
from finishplan.drawing.tones import Classes, tone_of

UNKNOWN, GROUND, _LINE, _WALL = 0, -1, -2, -3
SOFT_STEP = 2
SPECK_CONTRAST = 10.0
INK_REACH = 25.0
SAME_HUE_REACH = 12.0
"""Shading may change an area's tone by this much, DIN99b."""


def background(classes: Classes, opaque: np.ndarray | None, rim_share: float = 0.4) -> np.ndarray:
    """(h, w) bool. The paper is the colour that most of the rim has, rim_share (0-1) at least; the background is what
    of it hangs together with the rim, seen through a gap of at least three pixels. opaque: (h, w) bool; where it is
    known, the background is what is transparent."""
    if opaque is not None:
        return ~opaque
    cls = classes.of_pixel
    rim = np.concatenate([cls[0], cls[-1], cls[:, 0], cls[:, -1]])
    votes = np.bincount(rim)
    paper = int(votes.argmax())
    if votes[paper] < rim_share * rim.size or paper == classes.unsure:
        return np.zeros(cls.shape, bool)
    own = cls == paper
    pieces, _ = components(thick(own.view(np.uint8), 3) & own)
    touching = np.unique(np.concatenate([pieces[0], pieces[-1], pieces[:, 0], pieces[:, -1]]))
    table = np.zeros(int(pieces.max()) + 1, bool)
    table[touching] = True
    table[0] = False
    ground: np.ndarray = table[pieces]
    return ground


def seeds(classes: Classes, lines: Lines, ground: np.ndarray, speck: int) -> np.ndarray:
    """(h, w) int32: the thick pieces of each colour numbered from 1, GROUND, UNKNOWN elsewhere. ground: (h, w) bool;
    speck: side of the square that fits into a thick piece, pixels."""
    cls = np.where(lines.mask, np.uint8(255), classes.of_pixel)
    cls[ground] = 254
    firm = thick(cls, speck) & ~lines.mask & ~ground & (cls != classes.unsure)
    marked = connected(np.where(firm, cls.astype(np.int32) + 1, 0))
    marked[ground] = GROUND
    return marked


def ink_bits(marked: np.ndarray, classes: Classes, ink: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: of the seeds marked (h, w), those that no square of that side, pixels, fits in and whose tone is
    near the ink's, sRGB (3,): blots and soft rims of its lines, in pictures with grain."""
    n = int(marked.max())
    stout = np.bincount(marked[thick(marked, side) & (marked > 0)], minlength=n + 1) > 0
    of_seed = np.zeros(n + 1, int)
    inside = marked > 0
    of_seed[marked[inside]] = classes.of_pixel[inside]
    near = np.linalg.norm(classes.tone[of_seed] - tone_of(ink), axis=1) < INK_REACH
    bits: np.ndarray = (~stout & near)[np.maximum(marked, 0)] & inside
    return bits


def absorb(marked: np.ndarray, line_mask: np.ndarray, reach: float) -> np.ndarray:
    """(h, w) int32: the seeds marked (h, w), with every unknown pixel given to the nearest, and every pixel of a line
    to the nearest of the figure; 0 is the background.

    line_mask: (h, w) bool. Lines farther than `reach` pixels from the figure are left to the background.
    """
    framed = np.pad(marked, 1, constant_values=_WALL)
    framed[1:-1, 1:-1][line_mask & (marked == UNKNOWN)] = _LINE
    flat, width = framed.ravel(), framed.shape[1]
    _flood(flat, width, np.flatnonzero(flat == UNKNOWN), _WALL, sum(marked.shape))
    line = np.flatnonzero(flat == _LINE)
    flat[line] = UNKNOWN
    _flood(flat, width, line, UNKNOWN, round(min(reach, sum(marked.shape))))
    filled: np.ndarray = np.maximum(framed[1:-1, 1:-1], 0)
    return filled


def _flood(flat: np.ndarray, width: int, wanted: np.ndarray, above: int, rounds: int) -> None:
    """Spread the values greater than `above`, UNKNOWN apart, over the `wanted` flat indices, a pixel a round.

    Rounds take the four and the eight neighbours in turn, so that distance is counted in octagons. In place.
    """
    straight, slanting = (1, -1, width, -width), (width + 1, width - 1, 1 - width, -width - 1)
    for number in range(rounds):
        value = np.full(len(wanted), UNKNOWN, flat.dtype)
        for step in straight + (slanting if number % 2 else ()):
            beside = flat[wanted + step]
            take = (value == UNKNOWN) & (beside != UNKNOWN) & (beside > above)
            value[take] = beside[take]
        flat[wanted] = value
        left = wanted[value == UNKNOWN]
        if len(left) in (0, len(wanted)):
            return
        wanted = left


def renumber(labels: np.ndarray) -> tuple[np.ndarray, int]:
    """((h, w) int32: the (h, w) labels without gaps, in order of their value; how many there are)."""
    present = np.bincount(labels.ravel()) > 0
    present[0] = False
    table = np.cumsum(present, dtype=np.int32) * present
    return table.astype(np.int32)[labels], int(present.sum())


@dataclass(frozen=True, eq=False)
class Borders:
    """Where two regions meet. pairs: (m, 2) ascending labels; count: (m,) pixel sides; contrast: (m,) median DIN99b
    difference a short step to either side; drawn: (m,) share of the border that runs along a line."""

    pairs: np.ndarray
    count: np.ndarray
    contrast: np.ndarray
    drawn: np.ndarray


def compact(labels: np.ndarray) -> np.ndarray:
    """The same (h, w) labels, 0 upwards, in the fewest bytes that hold them: neighbours are compared faster."""
    return labels.astype(np.min_scalar_type(int(labels.max())))


def border_sides(labels: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """((k,) flat index of the first pixel, (k,) of the second, (k, 2) ascending labels) of every pixel side between
    regions of (h, w) labels."""
    height, width = labels.shape
    index = np.arange(height * width).reshape(height, width)
    small, figure = compact(labels), labels > 0
    across = (small[:, 1:] != small[:, :-1]) & figure[:, 1:] & figure[:, :-1]
    down = (small[1:] != small[:-1]) & figure[1:] & figure[:-1]
    first = np.concatenate([index[:, :-1][across], index[:-1][down]])
    second = np.concatenate([index[:, 1:][across], index[1:][down]])
    flat = labels.ravel()
    return first, second, np.sort(np.stack([flat[first], flat[second]], 1), axis=1)


def borders(labels: np.ndarray, rgb: np.ndarray, line_mask: np.ndarray, n: int, step: int = SOFT_STEP) -> Borders:
    """The borders of all pairs of regions that touch. labels: (h, w) int, 0..n; rgb: (h, w, 3) uint8 sRGB; line_mask:
    (h, w) bool; step: pixels to either side at which colours are compared."""
    height, width = labels.shape
    first, second, pair = border_sides(labels)
    if len(first) == 0:
        none = np.zeros(0)
        return Borders(np.zeros((0, 2), np.int64), none.astype(int), none, none)
    code = pair[:, 0].astype(np.int64) * (n + 1) + pair[:, 1]
    stride = second - first
    here = _shifted(first, -stride * step, height, width)
    there = _shifted(second, stride * step, height, width)
    pixels = rgb.reshape(-1, 3)
    difference = np.linalg.norm(tone_of(pixels[here]) - tone_of(pixels[there]), axis=1)
    on_line = (line_mask.ravel()[first] | line_mask.ravel()[second]).astype(float)
    codes, group = np.unique(code, return_inverse=True)
    order = np.lexsort((difference, group))
    starts = np.searchsorted(group[order], np.arange(len(codes)))
    count = np.bincount(group)
    contrast = difference[order][starts + count // 2]
    return Borders(
        np.stack([codes // (n + 1), codes % (n + 1)], 1), count, contrast, np.bincount(group, on_line) / count
    )


def _shifted(flat: np.ndarray, by: np.ndarray, height: int, width: int) -> np.ndarray:
    """Flat indices moved along their row or column, stopped at the picture's rim."""
    row, column = np.divmod(flat, width)
    vertical = np.abs(by) >= width
    rows = np.clip(row + np.where(vertical, np.sign(by) * (np.abs(by) // width), 0), 0, height - 1)
    columns = np.clip(column + np.where(vertical, 0, by), 0, width - 1)
    shifted: np.ndarray = rows * width + columns
    return shifted


@dataclass(frozen=True, eq=False)
class Tones:
    """Of each region 0..n (0 unused): pixels (n + 1,); mode (n + 1, 3) DIN99b, its commonest class; spread (n + 1,),
    standard deviation of lightness in DIN99b; rim (n + 1,), pixel sides of its outline."""

    pixels: np.ndarray
    mode: np.ndarray
    spread: np.ndarray
    rim: np.ndarray


def region_tones(labels: np.ndarray, inner: np.ndarray, classes: Classes, rgb: np.ndarray, n: int) -> Tones:
    """The tones of (h, w) int labels 0..n. inner: (h, w) bool, pixels to judge the colour by (away from rims and
    lines); rgb: (h, w, 3) uint8 sRGB."""
    k = len(classes.tone)
    flat = labels.ravel()
    rows = slice(None, None, 2 if labels.size > 400_000 else 1)
    inner = inner[rows]
    chosen, light = labels[rows][inner], _lightness99(rgb[rows, :, 1][inner])
    code = chosen.astype(np.int64) * k + classes.of_pixel[rows][inner]
    votes = np.bincount(code, minlength=(n + 1) * k).reshape(n + 1, k)
    count = np.maximum(np.bincount(chosen, minlength=n + 1), 1)
    mean = np.bincount(chosen, light, minlength=n + 1) / count
    square = np.bincount(chosen, light * light, minlength=n + 1) / count
    rim = np.zeros(n + 1)
    small = compact(labels)
    for a, b in ((small[:, 1:], small[:, :-1]), (small[1:], small[:-1])):
        differ = a != b
        rim += np.bincount(a[differ], minlength=n + 1) + np.bincount(b[differ], minlength=n + 1)
    return Tones(
        np.bincount(flat, minlength=n + 1),
        classes.tone[votes.argmax(1)],
        np.sqrt(np.maximum(square - mean * mean, 0)),
        rim,
    )


def _lightness99(green: np.ndarray) -> np.ndarray:
    """DIN99b lightness of grey, by the green channel: a cheap measure of how much a region varies."""
    grey = np.arange(256)
    table = tone_of(np.stack([grey] * 3, -1))[:, 0]
    lightness: np.ndarray = table[green]
    return lightness


@dataclass(frozen=True)
class MergeRules:
    """same: DIN99b within which neighbours are one colour. thin: pixels; a strip narrower than this may be a streak or
    a step of a shading. grain: DIN99b, spread that is mere noise. bleed: pixels; how far lossy compression lets hues
    run into each other, which stand in larger blocks than lightness does; 0 for pictures that lost nothing."""

    same: float
    thin: float
    grain: float
    bleed: float = 0.0


def merge(
    labels: np.ndarray,
    inner: np.ndarray,
    classes: Classes,
    rgb: np.ndarray,
    line_mask: np.ndarray,
    rules: MergeRules,
    rounds: int = 12,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Join neighbouring regions that are one area: the same colour, steps of a soft shading, streaks of a marker.

    labels: (h, w) int32, 1..n without gaps; inner, line_mask: (h, w) bool; rgb: (h, w, 3) uint8 sRGB. Each round every
    region joins the most alike of the neighbours it may join, until none is left. Returns the (h, w) labels, the
    (n + 1, 3) commonest tone of each, DIN99b, and the (m, 2) pairs that touch.
    """
    n = int(labels.max())
    tones = region_tones(labels, inner, classes, rgb, n)
    for _ in range(rounds):
        edge = borders(labels, rgb, line_mask, n)
        if len(edge.pairs) == 0:
            break
        a, b = edge.pairs.T
        gap = np.linalg.norm(tones.mode[a] - tones.mode[b], axis=1)
        allowed = _may_join(edge, tones, gap, rules)
        if not allowed.any():
            break
        labels, n = _join(labels, n, edge.pairs[allowed], gap[allowed])
        tones = region_tones(labels, inner, classes, rgb, n)
    else:
        edge = borders(labels, rgb, line_mask, n)
    return labels, tones.mode, edge.pairs


def _may_join(edge: Borders, tones: Tones, gap: np.ndarray, rules: MergeRules) -> np.ndarray:
    a, b = edge.pairs.T
    same = gap < rules.same
    varied = np.sqrt(np.maximum(tones.spread**2 - rules.grain**2, 0))
    sloped = np.maximum(varied[a], varied[b]) > 0.15 * np.maximum(gap, 1e-9)
    soft = (edge.contrast < 0.5 * gap + 0.3) & (edge.drawn < 0.3) & (gap < SAME_HUE_REACH)
    narrow = 2 * tones.pixels / np.maximum(tones.rim, 1)
    hue = np.linalg.norm((tones.mode[a] - tones.mode[b])[:, 1:], axis=1)
    streak = (np.minimum(narrow[a], narrow[b]) < rules.thin) & (gap < 6.5) & (hue < 3.5) & (edge.drawn < 0.3)
    light = np.abs(tones.mode[a, 0] - tones.mode[b, 0])
    bled = (np.minimum(narrow[a], narrow[b]) < rules.bleed) & (light < 3) & (gap < SAME_HUE_REACH) & (edge.drawn < 0.3)
    joined: np.ndarray = same | (soft & sloped) | streak | bled
    return joined


def _join(labels: np.ndarray, n: int, pairs: np.ndarray, gap: np.ndarray) -> tuple[np.ndarray, int]:
    """Join each region with the most alike of its allowed neighbours where the choice is mutual."""
    order = np.lexsort((pairs[:, 1], pairs[:, 0], gap))
    free = np.ones(n + 1, bool)
    table = np.arange(n + 1, dtype=np.int32)
    for i in order:
        a, b = pairs[i]
        if free[a] and free[b]:
            table[b] = a
            free[a] = free[b] = False
    return renumber(table[labels])


def count_specks(
    marked: np.ndarray, labels: np.ndarray, classes: Classes, lines: Lines, mode: np.ndarray, largest: float
) -> int:
    """How many small spots of another colour were folded into the area that surrounds them.

    marked, labels: (h, w) int, the seeds and what became of them; mode: (n + 1, 3) DIN99b of each label; largest: side
    of a spot in pixels.
    """
    at = np.flatnonzero((marked == UNKNOWN) & (labels > 0) & ~lines.mask)
    apart = np.linalg.norm(classes.tone[classes.of_pixel.ravel()[at]] - mode[labels.ravel()[at]], axis=1)
    at = at[apart > SPECK_CONTRAST]
    spots = np.zeros(labels.shape, bool)
    spots.ravel()[at] = True
    pieces, n = components(spots, corners=True)
    low, high = _boxes(pieces.ravel()[at], np.stack(np.divmod(at, labels.shape[1])), n)
    sides = high - low
    size = np.bincount(pieces.ravel()[at], minlength=n + 1)
    fits = (size >= 0.5 * sides[0] * sides[1]) & (sides.min(0) >= 2) & (sides.max(0) <= largest)
    found = 0
    for number in np.flatnonzero(fits):
        ring = tuple(slice(max(low[k, number] - 2, 0), high[k, number] + 2) for k in (0, 1))
        around = labels[ring]  # beside a line it is a bit of the line's soft rim
        found += int((around == around.flat[0]).all() and not lines.mask[ring].any())
    return found


def _boxes(number: np.ndarray, places: np.ndarray, n: int) -> tuple[np.ndarray, np.ndarray]:
    """((2, n + 1) first, (2, n + 1) one past the last place) of each number along two axes."""
    low, high = np.full((2, n + 1), np.iinfo(np.int64).max), np.zeros((2, n + 1), np.int64)
    for k in (0, 1):
        np.minimum.at(low[k], number, places[k])
        np.maximum.at(high[k], number, places[k] + 1)
    low[:, high[0] == 0] = 0
    return low, high
