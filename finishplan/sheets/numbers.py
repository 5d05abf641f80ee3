"""Where the areas' numbers go: inside where they fit, else in a column beside the drawing with a leader line."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

import numpy as np

from finishplan.drawing.components import boxes

SPOTS = 400
"""Places in its area at which a number in the way of a leader line is tried, about."""
WORK_PX = 420
"""Longest side of the reduced map in which room is looked for."""

NEAR = 0.25
"""Share of half the picture's width from its middle within which a number may go to either side."""
SECTORS, PLACES = 16, 20_000
"""Directions in which a place on the paper is looked for, and about how many places are looked at."""


@dataclass(frozen=True)
class Tag:
    """One number: the centre of its text, the point its leader line touches, if it has one, and whether it is set
    smaller. y grows downwards."""

    id: int
    x: float
    y: float
    anchor: tuple[float, float] | None = None
    small: bool = False


@dataclass(frozen=True)
class Numbered:
    """A picture and its numbers laid out in a frame: the picture's box (left, top, width, height) and the tags."""

    picture: tuple[float, float, float, float]
    tags: tuple[Tag, ...]


def _sums(mask: np.ndarray) -> np.ndarray:
    """Integral of a mask (H, W): (H + 1, W + 1), how much of it lies above and left of each corner."""
    total = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), np.int32)
    np.cumsum(np.cumsum(mask, 0, dtype=np.int32), 1, out=total[1:, 1:])
    return total


def _fits(sums: np.ndarray, w: int, h: int) -> np.ndarray:
    """Centres (n, 2), as x and y, of all w x h windows that lie wholly in the mask of these `_sums`."""
    rows, cols = sums.shape
    if w >= cols or h >= rows:
        return np.empty((0, 2))
    # From four corners of the integral, how much of each window is filled: of all windows at once.
    ys, xs = np.nonzero(sums[h:, w:] - sums[:-h, w:] - sums[h:, :-w] + sums[:-h, :-w] == w * h)
    return np.stack([xs + w / 2, ys + h / 2], axis=1)


def _window(sums: np.ndarray, w: int, h: int) -> tuple[float, float] | None:
    """Centre (x, y) of the w x h window in a mask nearest to the middle of all such windows, None without one."""
    centres = _fits(sums, w, h)
    if not len(centres):
        return None
    # The middle of all of them may lie outside a bent area.
    x, y = centres[np.argmin(((centres - centres.mean(0)) ** 2).sum(1))]
    return float(x), float(y)


def _deepest(sums: np.ndarray) -> tuple[float, float]:
    """A point well inside: the centre of the largest square that fits, found by halving."""
    low, high, found = 1, min(sums.shape) - 1, None
    # Wherever a square fits a smaller one does too, so halving finds the largest.
    while low <= high:
        side = (low + high) // 2
        here = _window(sums, side, side)
        found, low, high = (here, side + 1, high) if here else (found, low, side - 1)
    # An area has a pixel at least, so a square of side 1 fits.
    assert found is not None
    return found


def _spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """`wanted` (ascending), moved as little as need be, in least squares, to stand `gap` apart within low..high: what
    stands too close is pooled about its mean."""
    # Pooling of adjacent violators, on the heights less the gaps over each: these may not descend.
    pools: list[tuple[float, int]] = []
    for k, y in enumerate(wanted):
        total, count = y - k * gap, 1
        while pools and pools[-1][0] / pools[-1][1] > total / count:
            before = pools.pop()
            total, count = total + before[0], count + before[1]
        pools.append((total, count))
    starts = [total / count for total, count in pools for _ in range(count)]
    most = max(low, high - gap * (len(wanted) - 1))
    return [min(max(start, low), most) + k * gap for k, start in enumerate(starts)]


@dataclass(frozen=True, eq=False)
class Room:
    """Where the number of an area may stand: sums: `_sums` of the area in its own box, without drawn lines unless it
    is all line; the box's left and top; step: of the reduction."""

    sums: np.ndarray
    left: int
    top: int
    step: int

    @cached_property
    def deepest(self) -> tuple[float, float]:
        """A point well inside."""
        return _deepest(self.sums)


def rooms(labels: np.ndarray, ids: Iterable[int], ink: np.ndarray | None = None) -> dict[int, Room]:
    """The room of each of these areas that there is, by id. ink: (H, W) bool, drawn lines."""
    step = max(1, ceil(max(labels.shape) / WORK_PX))
    lines = np.zeros(labels.shape, bool) if ink is None else ink
    small, drawn = (v[step // 2 :: step, step // 2 :: step] for v in (labels, lines))
    wanted = set(ids)
    found: dict[int, Room] = {}
    # Areas that fall between the pixels of the reduced map are looked up in the full one.
    for here, line, k in ((small, drawn, step), (labels, lines, 1)):
        if len(found) < len(wanted):
            for i, box in enumerate(boxes(here, int(here.max(initial=0))), 1):
                if box[0].stop and i in wanted and i not in found:
                    own = here[box] == i
                    clear = own & ~line[box]
                    found[i] = Room(_sums(clear if clear.any() else own), box[1].start, box[0].start, k)
    # By number, whichever map they were found in: what follows goes in this order.
    return {i: found[i] for i in sorted(found)}


def _columns(
    out: dict[int, tuple[float, float]], middle: float, capacity: int
) -> tuple[list[list[int]], list[list[int]]]:
    """Ids for the columns left and right, nearest column first, each in order of its anchors' height."""
    across = sorted(out, key=lambda i: (out[i][0], i))
    half = sum(out[i][0] < middle for i in across)
    # What lies near the middle goes to the side that has fewer.
    while half > len(across) - half + 1 and middle - out[across[half - 1]][0] < NEAR * middle:
        half -= 1
    while half + 1 < len(across) - half and out[across[half]][0] - middle < NEAR * middle:
        half += 1
    # Neither side gets more than its columns hold.
    half = min(
        max(half, len(across) - capacity * ceil(len(across) / 2 / capacity)),
        capacity * ceil(len(across) / 2 / capacity),
    )
    sides = []
    for group in (across[:half], across[half:]):
        down = sorted(group, key=lambda i: (out[i][1], out[i][0], i))
        count = max(1, ceil(len(down) / capacity))
        # Neighbours in height go to different columns, so that a line passes between two numbers.
        sides.append([down[k::count] for k in range(count)])
    return sides[0], sides[1]


def _line_costs(anchors: np.ndarray, places: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n, m) length of the line from each anchor to each place, half as long again for every number it runs over.

    boxes: (k, 4) left, top, right, bottom of the numbers that stand in their areas.
    """
    length = np.hypot(*(anchors[:, None] - places[None]).transpose(2, 0, 1))
    along = np.linspace(0, 1, 33)[:, None, None, None]
    points = anchors[None, :, None] * (1 - along) + places[None, None] * along
    over = np.zeros(length.shape, int)
    for left, top, right, bottom in boxes:
        x, y = points[..., 0], points[..., 1]
        over += ((x > left) & (x < right) & (y > top) & (y < bottom)).any(0)
    costs: np.ndarray = length * (1 + 0.5 * over)
    return costs


def _aside(
    rooms: Mapping[int, Room], inside: dict[int, tuple[float, float]], lines: np.ndarray, kind: "Numerals", scale: float
) -> dict[int, tuple[float, float]]:
    """The numbers in their areas, those that a leader line runs over moved clear of it where there is room. lines:
    (n, 2, 2) the ends of each."""
    along = np.linspace(0, 1, 65)[:, None, None]
    x, y = (lines[:, 0] * (1 - along) + lines[:, 1] * along).reshape(-1, 2).T
    moved = {}
    for i, at in inside.items():
        half = (kind.width(i) + kind.pad) / 2, (kind.high + kind.pad / 2) / 2
        if ((abs(x - at[0]) < half[0]) & (abs(y - at[1]) < half[1])).any():
            own, unit = rooms[i], scale * rooms[i].step
            fits = _fits(own.sums, ceil(2 * half[0] / unit), ceil(2 * half[1] / unit))
            fits = (fits[:: max(1, len(fits) // SPOTS)] + np.array([own.left, own.top])) * unit
            over = (abs(x - fits[:, :1]) < half[0]) & (abs(y - fits[:, 1:]) < half[1])
            free = fits[~over.any(1)]
            if len(free):
                moved[i] = tuple(free[np.argmin(np.hypot(*(free - at).T))].tolist())
    return inside | moved


@dataclass(frozen=True)
class Numerals:
    """Sizes of the numbers in the frame's unit. small: share of them that a number may be set in where it fits its
    area so and not else; between: numbers that do not fit into their area go on the paper between the parts if there
    is room, not into columns; leaders: or else they are left out; widest: the width of the widest."""

    width: Callable[[int], float]
    high: float
    small: float = 1.0
    between: bool = False
    leaders: bool = True
    widest: float = 0.0

    @property
    def pad(self) -> float:
        """Room left around a number."""
        return 0.25 * self.high

    @property
    def gap(self) -> float:
        """From one number of a column to the next: as high as the plates they stand on, and a little paper."""
        return 1.45 * self.high

    @property
    def lane(self) -> float:
        """Width of a column of numbers."""
        return self.widest + 3 * self.pad

    def capacity(self, depth: float) -> int:
        """How many numbers a column of that depth holds."""
        return max(1, int(depth / self.gap))


def _sorted_out(
    rooms: Mapping[int, Room], scale: float, kind: Numerals
) -> tuple[dict[int, tuple[float, float]], dict[int, tuple[float, float]], set[int]]:
    """Centres of the numbers that fit into their areas, a point well inside each area whose number does not, and which
    fit only where they are set smaller."""
    inside: dict[int, tuple[float, float]] = {}
    out: dict[int, tuple[float, float]] = {}
    small: set[int] = set()
    for i, own in rooms.items():
        unit, sums = scale * own.step, own.sums
        wide, high = (kind.width(i) + kind.pad) / unit, (kind.high + kind.pad / 2) / unit
        room = 2 * kind.pad / unit  # clear of the lines by the white round the numerals where there is room
        centre = _window(sums, ceil(wide + room), ceil(high + room)) if kind.between else None
        centre = centre or _window(sums, ceil(wide), ceil(high))
        if not centre and kind.small < 1:
            centre = _window(sums, ceil(wide * kind.small), ceil(high * kind.small))
            small |= {i} if centre else set()
        x, y = centre or own.deepest
        (inside if centre else out)[i] = ((x + own.left) * unit, (y + own.top) * unit)
    return inside, out, small


def _nearest_in_sectors(places: np.ndarray, anchor: np.ndarray) -> np.ndarray:
    """Of the places (n, 2) the nearest to the anchor in each of SECTORS directions that has one, by direction."""
    x, y = (places - anchor).T
    sector = ((np.arctan2(y, x) / (2 * np.pi) + 0.5) * SECTORS).astype(np.intp) % SECTORS
    far = x * x + y * y
    least = np.full(SECTORS, np.inf)
    np.minimum.at(least, sector, far)
    chosen = np.nonzero(far == least[sector])[0]
    # Of several as near in one direction the first, so that each direction gives one.
    nearest: np.ndarray = places[chosen[np.unique(sector[chosen], return_index=True)[1]]]
    return nearest


def _beside(
    labels: np.ndarray,
    inside: dict[int, tuple[float, float]],
    out: dict[int, tuple[float, float]],
    kind: Numerals,
    scale: float,
) -> dict[int, tuple[float, float]]:
    """Places on the paper between the parts, one for each of `out` and near to it; empty when one finds none.

    The nearest place in each of SECTORS directions is weighed; then numbers swap places while that saves line.
    """
    step = max(1, ceil(max(labels.shape) / WORK_PX))
    free = labels[step // 2 :: step, step // 2 :: step] == 0
    unit = scale * step
    w, h = (ceil((v + 2 * kind.pad) / unit) for v in (kind.widest, kind.high))
    half = kind.high / 2
    boxes = [(x - kind.width(i) / 2, y - half, x + kind.width(i) / 2, y + half) for i, (x, y) in inside.items()]
    standing = np.array(boxes).reshape(-1, 4) / unit
    spots: list[np.ndarray] = []
    anchors = np.array(list(out.values())) / unit
    fits = _fits(_sums(free), w, h)
    fits = fits[:: max(1, len(fits) // PLACES)]
    for anchor in anchors:
        # One number without a place: then all of them go into columns.
        if not len(fits):
            return {}
        nearest = _nearest_in_sectors(fits, anchor)
        spots.append(nearest[np.argmin(_line_costs(anchor[None], nearest, standing)[0])])
        x, y = abs(fits - spots[-1]).T
        # Whatever would overlap the place just taken falls out.
        fits = fits[(x >= w) | (y >= h)]
    mine = _swapped(_line_costs(anchors, np.array(spots), standing))
    return {i: (float(spots[k][0] * unit), float(spots[k][1] * unit)) for i, k in zip(out, mine, strict=True)}


def _swapped(costs: np.ndarray) -> np.ndarray:
    """(n,) the place that each takes. costs: (n, n) of each at each place; at first each stands at its own. Two swap
    while that makes their lines shorter together, so lines seldom cross."""
    mine = np.arange(len(costs))
    # Every swap shortens the whole, so this ends.
    while True:
        taken = costs[:, mine]
        own = taken.diagonal()
        gain = own[:, None] + own - taken - taken.T
        if gain.max(initial=0.0) < 1e-9:
            return mine
        one, other = np.divmod(gain.argmax(), len(mine))
        mine[[one, other]] = mine[[other, one]]


def _in_columns(
    out: dict[int, tuple[float, float]], width: float, span: tuple[float, float], capacity: int, kind: Numerals
) -> dict[int, tuple[float, float]]:
    """Places in columns of `capacity` left and right of a picture of that width, within the span of heights; no two
    leader lines cross, as two that do are shorter when they swap ends."""
    places: dict[int, tuple[float, float]] = {}
    for sign, columns in zip((-1, 1), _columns(out, width / 2, capacity), strict=True):
        for k, column in enumerate(columns):
            away = (k + 0.5) * kind.lane + 2 * kind.pad
            inset = (1 + k % 2) * kind.gap / 2  # so that a leader line passes between the numbers of the next column
            ys = _spread([out[i][1] for i in column], kind.gap, span[0] + inset, span[1] - inset)
            places |= {i: (width + away if sign > 0 else -away, y) for i, y in zip(column, ys, strict=True)}
    anchors, spots = (np.array([by[i] for i in places]).reshape(-1, 2) for by in (out, places))
    mine = _swapped(np.hypot(*(anchors[:, None] - spots[None]).transpose(2, 0, 1)))
    return {i: (float(spots[k][0]), float(spots[k][1])) for i, k in zip(places, mine, strict=True)}


def lay_out(labels: np.ndarray, rooms: Mapping[int, Room], frame: tuple[float, float], kind: Numerals) -> Numbered:
    """Numbers for these areas on the picture of `labels` (H, W), scaled to fit into `frame` (width, height). No number
    overlaps another, and none stands in its area on drawn lines."""
    kind = replace(kind, widest=max((kind.width(i) for i in rooms), default=0.0))
    rows, cols = labels.shape
    # Each column of numbers takes room from the picture, in which fewer numbers then fit: tried until both agree.
    for lanes in range(len(rooms) + 1):
        room = lanes * kind.lane + (lanes > 0) * 3 * kind.pad
        scale = max(min((frame[0] - 2 * room) / cols, frame[1] / rows), 1e-6)
        inside, out, small = _sorted_out(rooms, scale, kind)
        out = out if kind.leaders else {}
        places = _beside(labels, inside, out, kind, scale) if kind.between and out and not lanes else {}
        # A second column begins and ends half a gap further in, so it holds one number less.
        capacity = kind.capacity(frame[1] - (lanes > 1) * kind.gap)
        if places or ceil(len(out) / 2) <= lanes * capacity:
            break
    width, height = cols * scale, rows * scale
    x0, y0 = (frame[0] - width) / 2, (frame[1] - height) / 2
    places = places or _in_columns(out, width, (-y0, frame[1] - y0), capacity, kind)
    inside = _aside(rooms, inside, np.array([(out[i], places[i]) for i in places]).reshape(-1, 2, 2), kind, scale)
    tags = [Tag(i, x0 + x, y0 + y, small=i in small) for i, (x, y) in inside.items()]
    tags += [Tag(i, x0 + x, y0 + y, (x0 + out[i][0], y0 + out[i][1])) for i, (x, y) in places.items()]
    return Numbered((x0, y0, width, height), tuple(sorted(tags, key=lambda t: t.id)))
