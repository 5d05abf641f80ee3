"""From classes of colour to connected regions: seeds, absorption of lines and rims, merging of what is one area."""

import cv2
import numpy as np

from finishplan.drawing.components import components, connected, spread
from finishplan.drawing.filters import even, odd, square_filter, thick
from finishplan.drawing.linework import MEETING, Lines
from finishplan.drawing.tones import Classes, lab_of, tone_of

UNKNOWN, GROUND, _LINE, _WALL = 0, -1, -2, -3
INK_REACH, INK_ALIKE = 25.0, 10.0
"""A bit of ink may be so far from the lines' own tone, DIN99b, with grain and without."""
AMID = 0.5
TONED, SAME_STEP = 85.0, 4.0
"""L* below which a ground is no white paper, and the steps of 0-255 within which an enclosed bit has its very colour
(our rule)."""
STRIP_DEPTH, STRIP_LONG, LEAST_STRIP = 12.0, 1.5, 5
"""Steps of 0-255 that a strip is darker by, and how long it is for the squares it is too thin for."""
EDGE_REACH = 3
ROUNDS = 8
"""Pixels that are filled step by step, so that nothing leaps over a line; what is farther goes to the nearest."""


def background(
    classes: Classes, rgb: np.ndarray, opaque: np.ndarray | None = None, rim_share: float = 0.4
) -> np.ndarray:
    """(h, w) bool in (h, w, 3) uint8 sRGB. The paper is the colour that most of the rim has, rim_share (0-1) at least;
    the background is what of it hangs together with the rim, seen through a gap of at least three pixels, and on a
    toned ground what the figure encloses of it. opaque: (h, w) bool; where it is known, the background is what is
    transparent."""
    if opaque is not None:
        return ~opaque
    cls = classes.of_pixel
    rim = np.concatenate([cls[0], cls[-1], cls[:, 0], cls[:, -1]])
    votes = np.bincount(rim)
    paper = int(votes.argmax())
    if votes[paper] < rim_share * rim.size or paper == classes.unsure:
        return np.zeros(cls.shape, bool)
    own = cls == paper
    # Outlines have small breaks, through which the background would leak into the figure.
    pieces, _ = components(thick(own.view(np.uint8), 3) & own)
    touching = np.unique(np.concatenate([pieces[0], pieces[-1], pieces[:, 0], pieces[:, -1]]))
    table = np.zeros(int(pieces.max()) + 1, bool)
    table[touching] = True
    table[0] = False
    ground: np.ndarray = table.take(pieces)
    # White between an arm and a body may be paint; a toned ground that shows there is no more than that.
    tone = np.median(rgb[::4, ::4][ground[::4, ::4]], axis=0) if ground[::4, ::4].any() else np.full(3, 255.0)
    if lab_of(tone)[0] < TONED:
        ground |= _alike(pieces, rgb, tone)[pieces]
    return ground


def _alike(pieces: np.ndarray, rgb: np.ndarray, tone: np.ndarray) -> np.ndarray:
    """(n + 1,) bool: pieces 1..n (h, w) whose mean is the (3,) sRGB tone."""
    flat = pieces.ravel()
    count = np.maximum(np.bincount(flat), 1)
    off = [np.abs(np.bincount(flat, rgb[..., k].ravel()) / count - tone[k]) for k in range(3)]
    alike: np.ndarray = np.max(off, axis=0) < SAME_STEP
    alike[0] = False
    return alike


def seeds(classes: Classes, lines: Lines, ground: np.ndarray, speck: int, *, split: bool) -> np.ndarray:
    """(h, w) int32: the thick pieces of each colour numbered from 1, GROUND, UNKNOWN elsewhere. ground: (h, w) bool;
    speck: side of the square that fits into a thick piece, pixels."""
    cls = np.where(lines.mask, np.uint8(255), classes.of_pixel)
    cls[ground] = 254
    firm = thick(cls, speck) & ~lines.mask & ~ground & (cls != classes.unsure)
    marked = connected(np.where(firm, cls.astype(np.int32) + 1, 0))
    if split:
        # A seed without one quiet pixel is all rim between two others.
        marked = renumber(marked * _holding(marked, firm & classes.quiet)[marked])[0]
        if _banded(cls, classes.quiet):
            marked = _split(marked, firm & classes.quiet, speck**2)
    marked[ground] = GROUND
    return marked


def _holding(marked: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """(n + 1,) bool: which of the numbers in (h, w) marked have a pixel of the mask."""
    held = np.zeros(int(marked.max()) + 1, bool)
    held[marked[mask]] = True
    return held


def _banded(cls: np.ndarray, quiet: np.ndarray) -> bool:
    """Whether classes (h, w) change without an edge, as in soft shading."""
    return bool(((cls[::2, 1:] != cls[::2, :-1]) & quiet[::2, 1:] & quiet[::2, :-1]).any())


def _split(marked: np.ndarray, quiet: np.ndarray, least: int) -> np.ndarray:
    """(h, w) int32: the seeds marked (h, w) cut along edges that cross them, where shadings of two areas have one tone.
    quiet: (h, w) bool, seed pixels off any edge; least: pixels of a piece worth a number."""
    pieces = connected(np.where(quiet, marked, 0))
    size = np.bincount(pieces.ravel())
    of_seed = np.zeros(len(size), np.int32)
    of_seed[pieces[quiet]] = marked[quiet]
    large = size >= least
    large[0] = False
    several = np.bincount(of_seed[large], minlength=int(marked.max()) + 1) > 1
    if not several.any():
        return marked
    cut = several.take(marked) & (marked > 0)
    out = np.where(cut, np.where(large.take(pieces), pieces + marked.max(), UNKNOWN), marked)
    return renumber(_regrown(out, np.where(cut, marked, 0)))[0]


def _regrown(split: np.ndarray, marked: np.ndarray) -> np.ndarray:
    """(h, w): the split seeds spread over what is left of the marked ones they were, a pixel a round, EDGE_REACH pixels
    far."""
    # Padded, so that a step off a row's end lands on nothing and not on the next row.
    flat, whole, width = np.pad(split, 1).ravel(), np.pad(marked, 1).ravel(), split.shape[1] + 2
    wanted = np.flatnonzero((flat == UNKNOWN) & (whole > 0))
    for _ in range(EDGE_REACH):
        value = np.zeros(len(wanted), flat.dtype)
        for step in (1, -1, width, -width):
            beside = flat[wanted + step]
            take = (value == UNKNOWN) & (beside > 0) & (whole[wanted + step] == whole[wanted])
            value[take] = beside[take]
        flat[wanted] = value
        wanted = wanted[value == UNKNOWN]
    return flat.reshape(split.shape[0] + 2, width)[1:-1, 1:-1]


def ink_bits(marked: np.ndarray, classes: Classes, lines: Lines, side: int, *, grain: bool) -> np.ndarray:
    """(h, w) bool: of the seeds marked (h, w), bits of lines that are no areas: of a line's tone, where lines meet and
    lie round them on most sides; in pictures with grain also its blots and soft rims, in which no square of that side
    fits."""
    n = int(marked.max())
    inside = marked > 0
    of_seed = np.zeros(n + 1, int)
    of_seed[marked[inside]] = classes.of_pixel[inside]
    apart = np.linalg.norm(classes.tone[of_seed][:, None] - tone_of(lines.inks)[None], axis=-1).min(1)
    meeting = odd(max(side, MEETING * lines.width))
    bits = _slim(marked, meeting) & (_amid(marked, lines) > AMID)
    bits &= apart < (INK_REACH if grain else INK_ALIKE)
    if grain:
        bits |= _slim(marked, side) & (apart < INK_REACH)
    found: np.ndarray = bits[np.maximum(marked, 0)] & inside
    return found


def thin_strips(marked: np.ndarray, rgb: np.ndarray, lines: Lines) -> np.ndarray:
    """(h, w) bool: of the seeds marked (h, w) in (h, w, 3) uint8 sRGB, strips as thin as the outlines, and long or
    joined to them, that are darker than what lies to both sides, or where the outlines have many tones are short or
    have no lines of their own: outlines in a tone too rare to be known by."""
    side = odd(max(1.5 * lines.width, LEAST_STRIP))
    inside, n = marked > 0, int(marked.max())
    closed = square_filter(square_filter(rgb[..., 1], 2 * side + 1, largest=True), 2 * side + 1, largest=False)
    count = np.bincount(marked[inside], minlength=n + 1)
    depth = np.bincount(marked[inside], (closed - rgb[..., 1])[inside], minlength=n + 1) / np.maximum(count, 1)
    joined = np.bincount(marked[inside & spread(lines.mask, 3)], minlength=n + 1) > 0
    long = count > STRIP_LONG * side**2
    of_own_tone = (len(lines.others) > 0) & (~long | (_amid(marked, lines) < AMID))
    strips = _slim(marked, side) & ((depth > STRIP_DEPTH) | of_own_tone) & (long | joined)
    found: np.ndarray = strips[np.maximum(marked, 0)] & inside
    return found


def _amid(marked: np.ndarray, lines: Lines) -> np.ndarray:
    """(n + 1,) share of the rim of each seed that lies beside lines."""
    rim = (marked > 0) & ~even(marked, 3)
    n = int(marked.max())
    beside = np.bincount(marked[rim & spread(lines.mask, 2)], minlength=n + 1)
    share: np.ndarray = beside / np.maximum(np.bincount(marked[rim], minlength=n + 1), 1)
    return share


def _slim(marked: np.ndarray, side: int) -> np.ndarray:
    """(n + 1,) bool: seeds in which no square of that odd side, pixels, fits."""
    slim: np.ndarray = np.bincount(marked[even(marked, side) & (marked > 0)], minlength=int(marked.max()) + 1) == 0
    return slim


def absorb(marked: np.ndarray, line_mask: np.ndarray, reach: float) -> np.ndarray:
    """(h, w) int32: the seeds marked (h, w), with every unknown pixel given to the nearest, and every pixel of a line
    to the nearest of the figure; 0 is the background.

    line_mask: (h, w) bool. Lines farther than `reach` pixels from the figure are left to the background.
    """
    # A wall round the picture stops the flood without asking for its rim.
    framed = np.pad(marked, 1, constant_values=_WALL)
    framed[1:-1, 1:-1][line_mask & (marked == UNKNOWN)] = _LINE
    flat, width = framed.ravel(), framed.shape[1]
    # Lines wait until all else is given away, or an area would leap over them.
    left = _flood(flat, width, np.flatnonzero(flat == UNKNOWN), _WALL, ROUNDS)
    _fill(framed, left, _WALL, float(sum(marked.shape)))
    line = np.flatnonzero(flat == _LINE)
    flat[line] = UNKNOWN
    left = _flood(flat, width, line, UNKNOWN, round(min(reach, ROUNDS)))
    _fill(framed, left, UNKNOWN, reach)
    filled: np.ndarray = np.maximum(framed[1:-1, 1:-1], 0)
    return filled


def _fill(framed: np.ndarray, wanted: np.ndarray, above: int, reach: float) -> None:
    """Give the `wanted` flat indices of (h, w) framed the value of the nearest pixel greater than `above`, within
    `reach` pixels of it, as the crow flies. In place."""
    sources = (framed > above) & (framed != UNKNOWN)
    if not len(wanted) or not sources.any():
        return
    far, nearest = cv2.distanceTransformWithLabels(
        (~sources).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    value = np.zeros(int(nearest.max()) + 1, framed.dtype)
    value[nearest[sources]] = framed[sources]
    flat = framed.ravel()
    flat[wanted] = np.where(far.ravel()[wanted] <= reach, value[nearest.ravel()[wanted]], UNKNOWN)


def _flood(flat: np.ndarray, width: int, wanted: np.ndarray, above: int, rounds: int) -> np.ndarray:
    """Spread the values greater than `above`, UNKNOWN apart, over the `wanted` flat indices, a pixel a round; returns
    those still unknown.

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
        wanted = wanted[value == UNKNOWN]
        if not len(wanted):
            break
    return wanted


def renumber(labels: np.ndarray) -> tuple[np.ndarray, int]:
    """((h, w) int32: the (h, w) labels without gaps, in order of their value; how many there are)."""
    present = np.bincount(labels.ravel()) > 0
    present[0] = False
    table = np.cumsum(present, dtype=np.int32) * present
    return table.astype(np.int32)[labels], int(present.sum())
