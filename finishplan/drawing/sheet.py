"""The sheet of paper in a photograph that shows the table too: found by its four sides and straightened.

Straight edges are looked for on a small copy (sides.py); of all sets of four that make a sheet the one is taken whose
sides show best: paper within, uniform along the rim and brighter than what lies outside. Its sides are then measured on
a larger copy.
"""

from itertools import combinations

import cv2
import numpy as np

from finishplan.drawing.sides import EVEN_STEP, NEAR, STEP, Line, Small, edges, paper_beside, points_along

SEEN, MEASURED = 360, 1400
"""Pixels of the longer side of the copies in which sides are sought and measured."""
MOST_SHEETS = 60
"""Sets of four sides whose paper is looked at (our limit on the search)."""
LEAST_AREA, MOST_AREA = 0.2, 0.97
"""Of the picture, that the sheet takes in it."""
ASLANT, CONVERGING = 30.0, 40.0
"""Degrees by which a corner may differ from a right angle, and by which opposite sides may converge, seen steeply from
near by."""
LONGEST = 2.4
"""Length of a sheet in its widths."""
SUPPORT, WEAKEST = 0.75, 0.5
"""Of the rim in the picture that must show as a side, all told and on each side."""
EVEN = 0.7
"""Of the inside of the rim that must be like what lies deeper."""
WELL_OUTSIDE, DARKER = 4, 0.35
"""How far outside, in NEAR, no line that was drawn along the sides is met; logarithm of light that a sheet may be
darker by than what it lies on (our rule): paper is about as light as anything on a table."""
LIT = 0.03
"""Logarithm of light by which the paper of any photograph varies along the rim; a card drawn on a screen does not."""
SAME_SHEET, SHADE = 0.25, 0.6
"""Logarithm of light within which the rim is one paper under light that falls off evenly, and how much darker a shadow
of a hand or a phone makes it (our rule)."""
SAME = 0.25
"""Product of the shares of the four sides that are such paper, at least (our rule: a side of cloth has under 0.5)."""
DRAWN = 0.3
"""Logarithm of light by which a drawn frame is darker than both sides of it."""
RIM = 0.008
"""Of the longer side: frayed edges and blur, not looked at."""
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


def find_sheet(rgb: np.ndarray) -> np.ndarray | None:
    """(4, 2) corners, clockwise from the top left, of the sheet in (h, w, 3) uint8 sRGB, in its pixels, some perhaps
    outside the picture; None where no sheet with a table round it is seen."""
    small = Small.of(rgb, SEEN)
    found = _best(small, *edges(small))
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
    return f"by the way its sides converge, the sheet is 1 : {ratio:.2f}{series}"


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


def _best(small: Small, flat: list[Line], steep: list[Line]) -> np.ndarray | None:
    """(4, 2) corners of the sheet whose rim shows best, the larger of equals."""
    # Every crossing once; each choice of four sides then only looks its corners up.
    crossing = _crossing(np.array(flat)[:, None], np.array(steep))
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
    along, near = points_along(small, line)
    normal, way = line[:2], (along[1] - along[0]) / 4
    step = inward * (small.at(along + near * normal) - small.at(along - near * normal))
    seen = np.isfinite(step).all(1)
    if not seen.any():
        # Nothing of it lies inside the picture: the picture's own rim.
        return np.full((len(points), len(points)), ON_RIM)
    counts = np.stack([np.cumsum(seen), np.cumsum(paper_beside(step) & seen)])
    at = np.clip((points - along[0]) @ way, 0, len(along) - 1).astype(int)
    in_view, shown = np.abs(counts[:, at][:, :, None] - counts[:, at][:, None])
    length = np.abs(at[:, None] - at)
    share: np.ndarray = np.where(in_view > LEAST_SEEN * length, shown / np.maximum(in_view, 1), 0.0)
    return share


def _crossing(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """(..., 2) where lines (..., 3) cross; far away where they are parallel."""
    met = np.cross(one, two)
    crossing: np.ndarray = met[..., :2] / np.where(np.abs(met[..., 2:]) > 1e-9, met[..., 2:], 1e-9)
    return crossing


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
    if min(-way[0] @ way[2], -way[1] @ way[3]) < np.cos(np.radians(CONVERGING)):
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
    profiles = np.nanmedian(np.where(np.isfinite(across), across, across[-1]), axis=2)
    drawn = ~np.array([_is_shadow(profile) for profile in profiles.T])
    return bool(((np.median(dip, axis=1) > DRAWN) & drawn).sum() >= 3)


def _is_shadow(profile: np.ndarray) -> bool:
    """Whether the dark strip across (k,) logarithms of light, from outside to inside, is the shadow that a sheet casts
    on what is as light as itself: it ends at once on the sheet and slowly outside, where a line ends alike."""
    darkest = int(profile.argmin())
    half = (min(profile[0], profile[-1]) + profile[darkest]) / 2
    outside, inside = (int((part < half).sum()) for part in (profile[:darkest], profile[darkest + 1 :]))
    return outside >= max(2 * inside, inside + 2)
