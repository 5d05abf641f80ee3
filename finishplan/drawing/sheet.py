"""The sheet of paper in a photograph that shows the table too: found by its four sides and straightened.

Straight edges are looked for on a small copy (the line segment detector of Grompone von Gioi et al., IPOL 2012, as in
OpenCV); of all sets of four that make a sheet the one is taken whose sides show best: paper within, uniform along the
rim and brighter than what lies outside. Its sides are then measured on a larger copy.
"""

from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from PIL import Image

SMOOTH, MOST_PIECES = 0.06, 4
SEEN, MEASURED = 360, 1400
"""Pixels of the longer side of the copies in which sides are sought and measured."""
CONTRAST = 2.2
"""Logarithm of light below the brightest that is looked at: all darker is dark table, and the less there is to see, the
plainer stands white paper on a white desk (our rule)."""
LEAST_SIDE = 0.12
"""Of the longer side of the picture: shorter segments are none of a sheet's."""
MOST_MERGED, MOST_LINES, MOST_SHEETS = 80, 16, 60
LEAST_AREA, MOST_AREA = 0.2, 0.97
"""Of the picture, that the sheet takes in it."""
ASLANT = 30.0
"""Degrees by which opposite sides may differ, and by which a corner may differ from a right angle."""
LONGEST = 2.4
"""Length of a sheet in its widths."""
STEP = 0.09
"""Of the logarithm of light, from inside to outside, that shows as a side."""
SUPPORT, WEAKEST = 0.75, 0.5
"""Of the rim in the picture that must show as a side, all told and on each side."""
EVEN, EVEN_STEP = 0.7, 0.12
"""Of the inside of the rim that must be alike, and the logarithm of light by which it may differ from its
surroundings."""
WELL_OUTSIDE, DARKER = 4, 0.35
"""How far outside, in NEAR, no line that was drawn along the sides is met; logarithm of light that a sheet may be
darker by than what it lies on (our rule): paper is about as light as anything on a table."""
LIT = 0.03
"""Logarithm of light by which the paper of any photograph varies along the rim; a card drawn on a screen does not."""
SHADE = 0.6
SAME, SAME_SHEET = 0.25, 0.25
"""Logarithm of light within which most of the rim is the same paper, shadows left out."""
DRAWN = 0.3
"""Logarithm of light by which a drawn frame is darker than both sides of it."""
RIM = 0.008
"""Of the longer side: frayed edges and blur, not looked at."""
NEAR = 0.009
"""Of the longer side: how far beside a line it is looked at."""
LEAST_SEEN, ON_RIM = 0.25, 0.8501
"""Of a side, that must lie in the picture; what a side counts that is the rim of the picture itself."""
SERIES, SNAP = (2**0.5, 11 / 8.5), 0.025
"""Length of a sheet in its widths: the A series (ISO 216) and Letter (ANSI/ASME Y14.1); how near to them (our rule)."""
NAMES = (", a sheet of the A series", ", a Letter sheet")
FOCAL, USUAL_FOCAL = (0.6, 2.2), 0.78
"""Of the longer side of the picture: focal lengths that phones and cameras have, as far as the sides tell it, and the
usual one of a phone, 28 mm on 36 (common practice)."""
NOTE = "the drawing lies on a sheet, straightened; crop it yourself if that is wrong"

Corners = tuple[tuple[float, float], ...]
"""Four points x, y, clockwise from the top left."""
Line = np.ndarray
"""(3,) a x + b y + c = 0, a2 + b2 = 1."""


@dataclass(frozen=True, eq=False)
class Small:
    """log: (h, w, 3) float32 logarithm of linear light, a little smoothed."""

    log: np.ndarray

    @classmethod
    def of(cls, rgb: np.ndarray, longer: int) -> "Small":
        """A copy of (h, w, 3) uint8 sRGB whose longer side has that many pixels at most."""
        shrunk = min(1.0, longer / max(rgb.shape[:2]))
        size = (max(8, round(rgb.shape[1] * shrunk)), max(8, round(rgb.shape[0] * shrunk)))
        small = np.asarray(Image.fromarray(rgb).resize(size, Image.Resampling.BOX))
        light = np.maximum((small.astype(np.float32) / 255) ** 2.2, 4e-3)
        return cls(cv2.GaussianBlur(np.log(light), (0, 0), 1.0))

    @property
    def size(self) -> tuple[int, int]:
        return self.log.shape[1], self.log.shape[0]

    def at(self, points: np.ndarray) -> np.ndarray:
        """(n, 3) values at (n, 2) points x, y; nan outside."""
        found: np.ndarray = cv2.remap(
            self.log,
            points[None, :, 0].astype(np.float32),
            points[None, :, 1].astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=(np.nan,) * 3,
        )
        values: np.ndarray = found[0]
        return values


def find_sheet(rgb: np.ndarray) -> np.ndarray | None:
    """(4, 2) corners, clockwise from the top left, of the sheet in (h, w, 3) uint8 sRGB, in its pixels, some perhaps
    outside the picture; None where no sheet with a table round it is seen."""
    small = Small.of(rgb, SEEN)
    found = _best(small, *_lines(small))
    if found is None:
        return None
    fine = Small.of(rgb, MEASURED)
    corners = _measured(fine, found * (fine.size[0] / small.size[0]))
    if corners is None or _framed(fine, corners):
        return None
    full: np.ndarray = corners * (rgb.shape[1] / fine.size[0])
    return full


def straightened(rgb: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """(h, w, 3) uint8 sRGB: the sheet with those corners (4, 2), as large as it is in the picture; its frayed rim, and
    what of it lies outside the picture, made of what is next to it."""
    width, height = (max(16, round(side)) for side in true_size(corners, rgb.shape[1::-1]))
    flat = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32)
    # Half a pixel: OpenCV counts from the middle of the first pixel, corners from its edge.
    view = cv2.getPerspectiveTransform(corners.astype(np.float32) - 0.5, flat - 0.5)
    out = cv2.warpPerspective(rgb, view, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    rim = max(2, round(RIM * max(width, height)))
    inner = out[rim:-rim, rim:-rim]
    framed: np.ndarray = cv2.copyMakeBorder(inner, rim, rim, rim, rim, cv2.BORDER_REPLICATE)
    return framed


def sheet_size(corners: np.ndarray) -> tuple[float, float]:
    """(width, height) of the sheet with those corners (4, 2): the means of its opposite sides."""
    sides = np.linalg.norm(np.roll(corners, -1, 0) - corners, axis=1)
    return float(sides[0] + sides[2]) / 2, float(sides[1] + sides[3]) / 2


def true_size(corners: np.ndarray, picture: tuple[int, int]) -> tuple[float, float]:
    """(width, height) of the sheet with those corners (4, 2) in a picture of (width, height) pixels, in the proportions
    that it has seen from above: as large as it looks, and a sheet of a series where it is nearly one."""
    across, down = sheet_size(corners)
    ratio = proportion(corners - np.array(picture) / 2, max(picture))
    for usual in (*SERIES, *(1 / k for k in SERIES)):
        if abs(ratio / usual - 1) < SNAP:
            ratio = usual
    side = np.sqrt(across * down)
    return float(side * np.sqrt(ratio)), float(side / np.sqrt(ratio))


def proportions_note(size: tuple[int, int]) -> str:
    """What to say of the proportions of a straightened sheet of (width, height)."""
    ratio = max(size) / min(size)
    series = next((name for usual, name in zip(SERIES, NAMES, strict=True) if abs(ratio / usual - 1) < 0.005), "")
    return f"its sides, as they converge, make it 1 : {ratio:.2f}{series}"


def proportion(corners: np.ndarray, longest: float) -> float:
    """Width over height of a rectangle with these corners (4, 2), clockwise from the top left and from the middle of a
    picture with that longer side, all in pixels (Zhang and He, Digital Signal Processing 17, 2007, eq. 11 and 14)."""
    one, two, four, three = np.column_stack([corners, np.full(4, 1.0)]) / [longest, longest, 1]
    second = (np.cross(one, four) @ three) / (np.cross(two, four) @ three) * two - one
    third = (np.cross(one, four) @ two) / (np.cross(three, four) @ two) * three - one
    # Sides parallel in the picture leave the focal length open.
    known = abs(second[2] * third[2]) > 1e-9
    square = -(second[:2] @ third[:2]) / (second[2] * third[2]) if known else -1.0
    low, high = (k**2 for k in FOCAL)
    # A focal length that no camera has comes of a slip of the corners: the usual one is nearer the truth.
    square = square if low <= square <= high else USUAL_FOCAL**2
    lengths = [np.sqrt(n[:2] @ n[:2] / square + n[2] ** 2) for n in (second, third)]
    return float(lengths[0] / lengths[1])


def _lines(small: Small) -> tuple[list[Line], list[Line]]:
    """The strongest straight edges: those near the horizontal, downwards, and those near the vertical, to the right;
    the rim of the picture first and last."""
    longer, (width, height) = max(small.size), small.size
    segments = []
    # Two channels: a sheet on a table as light as itself may show by colour alone.
    for channel in (1, 2):
        scaled = _stretched(small.log[..., channel])
        found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_NONE).detect(scaled)[0]
        segments += [] if found is None else list(found.reshape(-1, 4))
    grouped: dict[bool, list[tuple[float, Line]]] = {True: [], False: []}
    for x1, y1, x2, y2 in [*map(tuple, segments), *_sides_of_even(small.log)]:
        length = float(np.hypot(x2 - x1, y2 - y1))
        if length > 0.2 * LEAST_SIDE * longer:
            line = np.array([y2 - y1, x1 - x2, x2 * y1 - x1 * y2]) / length
            flat = abs(x2 - x1) > abs(y2 - y1)
            grouped[flat].append((length, line if line[int(flat)] > 0 else -line))
    middle = np.array([width / 2, height / 2, 1])
    flat, steep = (
        sorted(_bordering(small, _merged(grouped[k], middle)), key=lambda line: -float(line @ middle))
        for k in (True, False)
    )
    rims = [np.array(rim, float) for rim in ((0, 1, 0), (0, 1, -height), (1, 0, 0), (1, 0, -width))]
    return [rims[0], *flat, rims[1]], [rims[2], *steep, rims[3]]


def _sides_of_even(log: np.ndarray) -> list[tuple[float, float, float, float]]:
    """(x1, y1, x2, y2) of the sides of the hulls round the largest pieces of (h, w, 3) logarithms of light that are
    even all over: paper shows so on a striped cloth, where its sides are broken."""
    steps = cv2.morphologyEx(log, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)).max(2)
    even, sides = (steps < SMOOTH).view(np.uint8), []
    # Closed as well: a ruling cuts the paper into strips.
    for mask in (even, cv2.morphologyEx(even, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))):
        _, pieces, boxes, _ = cv2.connectedComponentsWithStats(mask)
        largest = np.argsort(-boxes[1:, cv2.CC_STAT_AREA])[:MOST_PIECES] + 1
        for piece in largest.tolist():
            # Grown by what the steps at its rim took from it.
            grown = cv2.dilate((pieces == piece).view(np.uint8), np.ones((7, 7), np.uint8))
            hull = cv2.convexHull(cv2.findNonZero(grown))
            corners = cv2.approxPolyDP(hull, RIM * max(log.shape), True)[:, 0].astype(float)
            sides += [tuple(side) for side in np.hstack([corners, np.roll(corners, -1, 0)]).tolist()]
    return sides


def _stretched(values: np.ndarray) -> np.ndarray:
    """(h, w) uint8 over the range of a sheet and its shadows, from dark to bright."""
    high = values.max()
    low = max(values.min(), high - CONTRAST)
    stretched: np.ndarray = (np.maximum(values - low, 0) * (255 / max(high - low, 1e-6))).astype(np.uint8)
    return stretched


def _merged(found: list[tuple[float, Line]], middle: np.ndarray) -> list[Line]:
    """The lines that most segments are part of, at most MOST_MERGED."""
    longer = 2 * middle.max()
    kept: list[tuple[float, Line]] = []
    for length, line in sorted(found, key=lambda pair: -pair[0]):
        for k, (total, other) in enumerate(kept):
            # The same edge found in pieces: one line, as strong as all of them.
            if abs((line - other) @ middle) < 0.008 * longer and line[:2] @ other[:2] > 0.9994:
                kept[k] = (total + length, other)
                break
        else:
            kept.append((length, line))
    kept = [pair for pair in kept if pair[0] > LEAST_SIDE * longer]
    return [line for _, line in sorted(kept, key=lambda pair: -pair[0])[:MOST_MERGED]]


def _bordering(small: Small, lines: list[Line]) -> list[Line]:
    """Of the lines those at most MOST_LINES along which, on one side, most of an even strip lies that is lighter than
    the other side: a cloth has many edges, but strips of it on both sides."""

    def strip(line: Line) -> int:
        along, near = _points_along(small, line)
        beside = {k: small.at(along + k * near * line[:2]) for k in (-4, -2.5, -1, 1, 2.5, 4)}
        return max(
            int((_paper_beside(beside[k] - beside[-k]) & _even(beside[k], beside[2.5 * k], beside[4 * k])).sum())
            for k in (1, -1)
        )

    return sorted(lines, key=strip, reverse=True)[:MOST_LINES]


def _even(*light: np.ndarray) -> np.ndarray:
    """(n,) bool: where all of the (n, 3) logarithms of light are nearly the same."""
    alike: np.ndarray = np.ptp(np.stack(light), axis=0).max(1) < EVEN_STEP
    return alike


def _points_along(small: Small, line: Line) -> tuple[np.ndarray, float]:
    """((k, 2) points along a line, two pixels apart, from beyond one rim of the picture to beyond the other; how far
    beside it light is compared, pixels)."""
    reach, way = round(1.5 * max(small.size)), np.array([line[1], -line[0]])
    foot = np.array(small.size) / 2
    foot = foot - (line[:2] @ foot + line[2]) * line[:2]
    along: np.ndarray = foot + np.arange(-reach, reach, 2)[:, None] * way
    return along, NEAR * max(small.size)


def _best(small: Small, flat: list[Line], steep: list[Line]) -> np.ndarray | None:
    """(4, 2) corners of the sheet whose rim shows best, the larger of equals."""
    # Every crossing once; each choice of four sides then only looks its corners up.
    crossing = np.array([[_crossing(one, two) for two in steep] for one in flat])
    down, right = (
        {
            sign: np.stack([_shares(small, line, points, sign) for line, points in zip(lines, at, strict=True)])
            for sign in (1, -1)
        }
        for lines, at in ((flat, crossing), (steep, crossing.transpose(1, 0, 2)))
    )
    rows, columns = (np.array([*combinations(range(len(k)), 2)]) for k in (flat, steep))
    (top, bottom), (left, far) = rows.T[:, :, None], columns.T[:, None]
    shares = np.stack(
        [down[1][top, left, far], right[-1][far, top, bottom], down[-1][bottom, left, far], right[1][left, top, bottom]]
    )
    rated = []
    for row, column in np.argwhere(_shown(shares)):
        (one, two), (three, four) = rows[row], columns[column]
        quad = crossing[[one, one, two, two], [three, four, four, three]]
        if _sheetlike(quad, small.size):
            area = cv2.contourArea(quad.astype(np.float32)) / (small.size[0] * small.size[1])
            rated.append((float(shares[:, row, column].prod()) ** 1.5 * area**0.35, quad))
    best, chosen = 0.0, None
    # The look at the paper itself is dear: the likeliest get it, until none that is left could be better.
    for rating, quad in sorted(rated, key=lambda pair: -pair[0])[:MOST_SHEETS]:
        if rating <= best:
            break
        share = _paper_share(small, quad)
        if share >= SAME and rating * share > best:
            best, chosen = rating * share, quad
    return chosen


def _shown(shares: np.ndarray) -> np.ndarray:
    """(...) bool: whether four sides, shares (4, ...), are those of a sheet. Two of them at most, that meet, may be the
    picture's rim, and then the others must show the better."""
    rims = shares == ON_RIM
    measured = np.where(rims, 0, shares).sum(0) / np.maximum(4 - rims.sum(0), 1)
    opposite = (rims[0] & rims[2]) | (rims[1] & rims[3])
    shown: np.ndarray = (shares.min(0) >= WEAKEST) & (measured >= SUPPORT + 0.05 * rims.sum(0)) & ~opposite
    return shown


def _shares(small: Small, line: Line, points: np.ndarray, inward: int) -> np.ndarray:
    """(n, n) share of the line between every two of (n, 2) points on it that shows as the side of a sheet. inward: 1
    where the sheet lies on the side (a, b) points to, -1 on the other. 0 where too little of it lies in the
    picture; ON_RIM where it is the picture's rim."""
    along, near = _points_along(small, line)
    normal, way = line[:2], (along[1] - along[0]) / 4
    step = inward * (small.at(along + near * normal) - small.at(along - near * normal))
    seen = np.isfinite(step).all(1)
    if not seen.any():
        # Nothing of it lies inside the picture: the picture's own rim.
        return np.full((len(points), len(points)), ON_RIM)
    counts = np.stack([np.cumsum(seen), np.cumsum(_paper_beside(step) & seen)])
    at = np.clip((points - along[0]) @ way, 0, len(along) - 1).astype(int)
    in_view, shown = np.abs(counts[:, at][:, :, None] - counts[:, at][:, None])
    length = np.abs(at[:, None] - at)
    share: np.ndarray = np.where(in_view > LEAST_SEEN * length, shown / np.maximum(in_view, 1), 0.0)
    return share


def _paper_beside(step: np.ndarray) -> np.ndarray:
    """(n,) bool of steps (n, 3) in the logarithm of light from table to paper."""
    light = step.mean(1)
    # As light, but of another colour: wood under cream paper.
    shown: np.ndarray = (light > STEP) | ((np.ptp(step, axis=1) > STEP) & (light > -0.5 * STEP))
    return shown


def _crossing(one: Line, two: Line) -> np.ndarray:
    x, y, w = np.cross(one, two)
    return np.array([x, y]) / (w if abs(w) > 1e-9 else 1e-9)


def _sheetlike(quad: np.ndarray, size: tuple[int, int]) -> bool:
    """Whether corners (4, 2) are those of a sheet seen from above, more or less."""
    sides = np.roll(quad, -1, 0) - quad
    length = np.linalg.norm(sides, axis=1)
    if length.min() < 0.2 * max(size) or max(sheet_size(quad)) > LONGEST * min(sheet_size(quad)):
        return False
    way = sides / length[:, None]
    turn = way[:, 0] * np.roll(way, -1, 0)[:, 1] - way[:, 1] * np.roll(way, -1, 0)[:, 0]
    if turn.min() < np.cos(np.radians(ASLANT)):
        return False
    if min(-way[0] @ way[2], -way[1] @ way[3]) < np.cos(np.radians(ASLANT)):
        return False
    # Drawn on a canvas, so that only what lies in view counts as its size.
    canvas = np.zeros((size[1], size[0]), np.uint8)
    cv2.fillConvexPoly(canvas, np.rint(quad).astype(np.int32), 1)
    return bool(LEAST_AREA < canvas.mean() < MOST_AREA)


def _along(quad: np.ndarray, inset: float, number: int = 48) -> np.ndarray:
    """(4, number, 2) points along the sides, `inset` pixels inside of them."""
    way = np.roll(quad, -1, 0) - quad
    inward = np.stack([-way[:, 1], way[:, 0]], 1) / np.linalg.norm(way, axis=1)[:, None]
    share = (np.arange(number) + 0.5)[None, :, None] / number * 0.94 + 0.03
    along: np.ndarray = quad[:, None] + share * way[:, None] + inset * inward[:, None]
    return along


def _paper_share(small: Small, quad: np.ndarray) -> float:
    """Share of the rim, 0-1, with the same paper inside of it; 0 where it is not bare paper along most of the sides in
    view, is darker than what lies well outside, or lies under a light that is wholly even, as none is."""
    near = NEAR * max(small.size)
    far, outside, rim, deeper = (
        np.concatenate([small.at(side) for side in _along(quad, k * near)]) for k in (-WELL_OUTSIDE, -1, 1, 3)
    )
    if np.isfinite(far).any() and np.nanmedian(deeper) < np.nanmedian(far) - DARKER:
        return 0.0
    seen = np.isfinite(outside + rim + deeper).all(1)
    if not seen.any():
        return 0.0
    at = np.concatenate([*_along(quad, 3 * near)])
    lit, shaded = _evenly_lit(at, deeper)
    same, known, paper = lit | shaded, np.isfinite(deeper).all(1), deeper[seen & lit]
    # Side by side: three sides of a sheet and a stripe of the cloth it lies on make no sheet.
    sides = [same[side][known[side]].mean() for side in np.arange(len(at)).reshape(4, -1) if known[side].any()]
    low, high = np.percentile(paper, (5, 95), axis=0) if len(paper) else (np.zeros(3), np.zeros(3))
    alike = np.abs(rim - deeper)[seen].max(1) < EVEN_STEP
    return float(np.prod(sides)) if alike.mean() > EVEN and (high - low).max() > LIT else 0.0


def _evenly_lit(at: np.ndarray, light: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """((n,) bool: where light (n, 3), logarithms at (n, 2) places, is that of one paper under light that falls off
    evenly; (n,) bool: where it is that of a shadow on it, darker without another hue)."""
    known = np.isfinite(light).all(1)
    terms = np.column_stack([np.ones(len(at)), (at - at.mean(0)) / np.ptp(at)])
    fit = terms[:, :1] * np.median(light[known], axis=0)
    for _ in range(6):
        near = known.copy()
        near[known] = np.abs(light - fit)[known].max(1) < SAME_SHEET
        if near.sum() < 8:
            break
        fit = terms @ np.linalg.lstsq(terms[near], light[near], rcond=None)[0]
    off = light - fit
    shaded = (np.ptp(off, axis=1) < EVEN_STEP) & (off.max(1) < SAME_SHEET) & (off.min(1) > -SHADE)
    return near, shaded


def _measured(fine: Small, quad: np.ndarray) -> np.ndarray | None:
    """(4, 2) corners, each side laid through the strongest steps across it."""
    reach = round(0.012 * max(fine.size))
    offsets = np.arange(-reach, reach + 1)
    across = np.stack([[fine.at(side).mean(1) for side in _along(quad, o, 160)] for o in offsets.tolist()])
    step = across[2:] - across[:-2]
    step[~np.isfinite(step)] = -1
    lines = [_fitted(step[:, side], offsets, _along(quad, 0, 160)[side], quad[[side, side - 3]]) for side in range(4)]
    top, right, bottom, left = lines
    quad = np.array([_crossing(top, left), _crossing(top, right), _crossing(bottom, right), _crossing(bottom, left)])
    return quad if _sheetlike(quad, fine.size) else None


def _fitted(step: np.ndarray, offsets: np.ndarray, along: np.ndarray, ends: np.ndarray) -> Line:
    """The line through the strongest steps (k, n) across a side at (n, 2) points; between its ends where none are."""
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    inward = np.array([-way[1], way[0]])
    good = step.max(0) > 0.4 * STEP
    if good.sum() < 20:
        return np.array([*inward, -inward @ ends[0]])
    points: np.ndarray = (along + offsets[step.argmax(0) + 1][:, None] * inward)[good]
    # Twice: the first line throws out what lies far from it, the second is laid without.
    for _ in range(2):
        vx, vy, x, y = cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
        far = np.abs((points - [x, y]) @ [-vy, vx])
        points = points[far <= max(2.0, 2 * np.median(far))]
    return np.array([vy, -vx, vx * y - vy * x])


def _framed(fine: Small, quad: np.ndarray) -> bool:
    """Whether three sides at least have a dark line drawn along them."""
    reach = round(0.012 * max(fine.size))
    across = np.stack([[fine.at(side).mean(1) for side in _along(quad, o)] for o in range(-reach, reach + 1)])
    dip = np.minimum(across[0], across[-1]) - across[reach // 2 : -reach // 2].min(0)
    dip[~np.isfinite(dip)] = 0
    return bool((np.median(dip, axis=1) > DRAWN).sum() >= 3)
