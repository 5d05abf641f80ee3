"""Telling drawn lines from painted areas, by thickness.

A pixel is thick when a square of the given side, all of one colour, covers it (a morphological opening). Lines are
what a colour loses to the square of the widest line; a black area or a pupil survives it.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from finishplan.drawing.components import components, counted, depth, pieces_of, spread
from finishplan.drawing.filters import even, odd, square_filter, thick
from finishplan.drawing.stray import rim, thin_and_dark
from finishplan.drawing.tones import Classes, tone_of

WIDEST_LINE = 14 / 1600
"""Widest outline and its soft rim that needs no network to be known, in parts of the longer side of the picture."""
BOLDEST_LINE = 0.045
"""Widest outline there is, our rule: broader than any pen or brush of an outline drawing (3.5 %) and its soft rim."""
NETWORK = 2.2
"""A network of bold lines is this many times as long as the figure is wide (square root of its pixels)."""
AS_TOLD = 1.6
"""Lines may be so many times as wide as the maker told or as many times narrower."""
MOSTLY_THIN = 0.7
"""Share of a network's length narrower than BOLDEST_LINE; the rest are lines side by side and fills (our rule)."""
BROAD = 0.9
"""Share of a network's length that is no wider than its great width: lines of a brush swell."""
DARKEST, NEARLY_ALL = 0.8, 0.85
"""Share of what lies beside a network of bold lines that is lighter than they are, where they do not run along nearly
all borders (our rule)."""
COVERED = 0.6
"""Share of all borders between colours that a network of bold lines runs along."""
MEETING = 2.3
"""Where lines meet or run side by side they are up to this many times as wide as one."""
STREAK, STREAKED, LONELY = 25.0, 0.15, 0.1
"""DIN99b from a streak to what lies round it; share of a tone's thin places that are streaks, from which it is none of
a line's; share that must part two colours, or paper."""
FACING = 1.1
"""What lies deeper in the ink than so many widths of the line is where lines run together, and parts nothing."""
ACROSS = 5
"""Pixels from one side of a border to the other, past its soft rim."""
CONTRAST = 8.0
"""Least DIN99b difference between a line and what lies beside it."""
ALIKE = 14.0
HOLE, SET_IN = 0.5, 0.4
"""A spot is set into a piece that is twice its size, and solid along this part of the spot's rim."""


Places = tuple[np.ndarray, ...]
"""Rows and columns, (n,) each."""


@dataclass(frozen=True, eq=False)
class Lines:
    """mask: (h, w) bool, pixels of drawn lines. width: usual width in pixels. rgb: (3,) sRGB 0-255 of the main line
    colour, None without lines. others: (k, 3) of further colours that lines have. apart: (h, w) bool, ink that hides
    something between the areas beside it; outer: (h, w) bool, ink nearer to the background than to any area, where
    these are known."""

    mask: np.ndarray
    width: float
    rgb: np.ndarray | None
    others: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))
    apart: np.ndarray | None = None
    outer: np.ndarray | None = None

    @cached_property
    def deep(self) -> np.ndarray:
        """(h, w) bool: ink too far from what lies beside it for the areas on either side to face each other, or with
        something between them."""
        reach = FACING * self.width + 1
        apart = np.zeros(self.mask.shape, bool) if self.apart is None else self.apart
        if self.rgb is None or not even(self.mask, odd(reach)).any():
            return apart
        deep: np.ndarray = apart | (depth(np.pad(self.mask, 1))[1:-1, 1:-1] > reach)
        return deep

    @property
    def inks(self) -> np.ndarray:
        """(k, 3) all colours of lines."""
        return self.others if self.rgb is None else np.vstack([self.rgb, self.others])


@dataclass(frozen=True, eq=False)
class Sheet:
    """What lines are sought on. rgb: (h, w, 3) uint8 sRGB; ground: (h, w) bool, background; speck: least side of an
    area, longest: longer side of the drawing, told: width of its outlines as the maker told it, None for not, all in
    pixels; grain: paint laid by hand leaves streaks."""

    rgb: np.ndarray
    ground: np.ndarray
    speck: int
    longest: int
    grain: bool = False
    told: float | None = None

    @property
    def widest(self) -> int:
        """Side of the square that lines too thin to need a network do not hold."""
        return max(odd(self.longest * WIDEST_LINE), 3)

    def fits(self, width: float) -> bool:
        """Whether bold outlines may have that width."""
        if self.told is not None:
            return self.told / AS_TOLD < width < AS_TOLD * self.told
        return WIDEST_LINE / 2 < width / self.longest < BOLDEST_LINE


def find_lines(classes: Classes, sheet: Sheet) -> Lines:
    """The colours that are drawn as lines."""
    rgb, ground, speck, widest = sheet.rgb, sheet.ground, sheet.speck, sheet.widest
    cls = classes.of_pixel
    thin = ~thick(cls, widest) & ~ground
    count, total = (counted(cls, len(classes.tone), mask) for mask in (thin, ~ground))
    # Rims and dirt are thin as well, but of no colour that a line could have.
    count[classes.unsure :] = 0
    least = 2.5 * np.sqrt((~ground).sum())
    found, mask, width = list[int](), np.zeros(cls.shape, bool), 1.0
    # The background has a value of its own: the figure's outline is a border like any other.
    met = _borders(np.where(ground, np.uint8(254), cls), classes.unsure)
    covered = met.sum(1) / max(met.sum() / 2, 1)
    # Broad outlines first: to the test for thin ones they are areas.
    if (bold := bold_network(classes, sheet, met)) is not None:
        return _bold_lines(classes, sheet, bold)
    places = np.flatnonzero(thin)
    of_place = cls.ravel()[places]
    for c in np.argsort(-count, kind="stable")[: (count >= least).sum()]:
        areas = count[c] < 0.8 * total[c]
        if found and areas:
            continue
        at = np.divmod(places[of_place == c], cls.shape[1])
        if not _is_line(classes, int(c), thin, at, network=covered[c] > COVERED):
            continue
        own, alike = cls == c, _alike(classes, int(c)).take(cls)
        bits = own | (alike & thin)
        if sheet.grain and _streaked(classes, own & thin, bits, ground) > STREAKED:
            continue
        # Mostly an area's colour: where a darker line tone is about, its thin bits are what lines cut off it.
        darker = (classes.tone[:, 0] < classes.tone[c, 0] - 3) & (count >= least)
        if areas and covered[c] < COVERED and (darker.any() or not _own_colour(classes, int(c), rgb, own & thin)):
            continue
        side = usual_width(bits & thin)
        drawn = bits & ~solid(bits, side, speck)
        fine = thin_and_dark(rgb, odd(max(MEETING * side, side + 5))) | rim(alike, side) if sheet.grain else True
        mask |= drawn & fine
        width = width if found else side
        found.append(int(c))
    return Lines(mask, width, classes.rgb[found[0]], classes.rgb[found[1:]]) if found else Lines(mask, width, None)


def _bold_lines(classes: Classes, sheet: Sheet, bold: tuple[int, float, float]) -> Lines:
    """The outlines of the tone that `bold_network` found."""
    c, width, broad = bold
    near = np.linalg.norm(classes.tone - classes.tone[c], axis=1) < CONTRAST
    own = near.take(classes.of_pixel) & ~sheet.ground
    return Lines(own & ~solid(own, broad, sheet.speck), width, classes.rgb[c])


def bold_network(classes: Classes, sheet: Sheet, met: np.ndarray) -> tuple[int, float, float] | None:
    """(the class, usual and great width in pixels) of outlines too broad to be told from areas by thinness, or None: a
    network, long for its width, mostly no broader than a line may be, along most borders of other colours, most of them
    lighter; or as wide as told. met: (256, 256), see _borders."""
    cls = np.where(sheet.ground, np.uint8(254), classes.of_pixel)
    figure = float((cls != 254).sum())
    count = counted(cls, 256)
    covered = met.sum(1) / max(met.sum() / 2, 1)
    for c in np.flatnonzero(covered[: classes.unsure] > COVERED).tolist():
        if count[c] < NETWORK * np.sqrt(figure) * WIDEST_LINE * sheet.longest:
            continue
        # Every other pixel: widths of broad lines lose nothing, and the distances cost a quarter.
        widths = stroke_widths((cls == c)[::2, ::2]) * 2
        if not len(widths):
            continue
        width = float(np.median(widths))
        # Broader round the figure than inside it, or swelling as a brush does, but mostly no broader than a line is.
        thin = np.mean(widths < BOLDEST_LINE * sheet.longest) > MOSTLY_THIN
        beside = met[c, : classes.unsure]
        # What lies between scales or spots runs along most borders, too, but some of these are darker.
        darker = beside[classes.tone[:-1, 0] > classes.tone[c, 0]].sum() >= DARKEST * beside.sum()
        alone = darker or covered[c] > NEARLY_ALL
        network = alone and thin and 2 * len(widths) >= NETWORK * np.sqrt(figure)
        # The maker may have measured the lines inside the figure, where those round it are broader.
        if (network and replace(sheet, told=None).fits(width)) or (
            alone and sheet.told is not None and sheet.fits(width)
        ):
            return c, width, float(np.quantile(widths, BROAD))
    return None


def stroke_widths(own: np.ndarray) -> np.ndarray:
    """(k,) width in pixels at each pixel of the middle lines (medial axis) of an (h, w) bool mask."""
    inside = depth(np.pad(own, 1))[1:-1, 1:-1]
    # The middle lines are where nothing beside lies deeper.
    ridge = (inside > 1) & (inside >= square_filter(inside, 3, largest=True))
    widths: np.ndarray = 2 * inside[ridge] - 1
    return widths


def _borders(cls: np.ndarray, unsure: int) -> np.ndarray:
    """(256, 256) how often two values of (h, w) cls lie on both sides of a border, either way round."""
    # Compared ACROSS apart, since the pixels between are the soft rim; each fourth row is enough for a share.
    pairs = np.zeros(65536, np.int64)
    for one, two in ((cls[::4, :-ACROSS], cls[::4, ACROSS:]), (cls[:-ACROSS, ::4], cls[ACROSS:, ::4])):
        met = (one != two) & (one != unsure) & (two != unsure)
        pairs += np.bincount(one[met].astype(np.int64) * 256 + two[met], minlength=65536)
    table = pairs.reshape(256, 256)
    both: np.ndarray = table + table.T
    return both


def _alike(classes: Classes, c: int) -> np.ndarray:
    """(n + 1,) bool: classes of nearly the tone of one; noise and blur split thin bits off a line into these."""
    alike: np.ndarray = np.linalg.norm(classes.tone - classes.tone[c], axis=1) < ALIKE
    return alike


def _is_line(classes: Classes, c: int, thin: np.ndarray, at: Places, *, network: bool) -> bool:
    """Lines stand out against both sides, and are darker than most of what they border or run along most borders.

    thin: (h, w) bool, no square of the widest line fits there; at: rows and columns of such pixels of the colour.
    """
    flanks = _flanks(classes, c, thin, at)
    flanks[classes.unsure :] = 0
    if flanks.sum() == 0:
        return False
    weight = flanks / flanks.sum()
    far = np.linalg.norm(classes.tone - classes.tone[c], axis=1)
    stands_out = weight[far >= CONTRAST].sum() >= 0.7
    darker = weight[classes.tone[:, 0] > classes.tone[c, 0] + 2].sum()
    return bool(stands_out and (darker >= 0.6 or network))


def _streaked(classes: Classes, lines: np.ndarray, bits: np.ndarray, ground: np.ndarray) -> float:
    """Share of line pixels (h, w) bool that lie as a streak does which a pencil or a wash left: inside one colour, of a
    tone near it or lighter. bits: as for _is_line."""
    step, cls = max(3, round(usual_width(lines))), classes.of_pixel
    # Bits of the line itself beside it would make a bend look like a streak.
    known = ~bits & (cls != classes.unsure)
    apart = np.linalg.norm(classes.tone[:, None] - classes.tone[None], axis=-1)
    streaked = seen = parted = 0
    every = np.divmod(np.flatnonzero(lines), lines.shape[1])
    for axis in (0, 1):
        at = tuple(places[_inside(every[axis], step, lines.shape[axis])] for places in every)
        one, two = (tuple(p + sign * step * (k == axis) for k, p in enumerate(at)) for sign in (-1, 1))
        both = known[one] & known[two]
        own, left, right = cls[at][both], cls[one][both], cls[two][both]
        like = (apart[own, left] < STREAK) | (classes.tone[own, 0] > classes.tone[left, 0])
        inside = (apart[left, right] < CONTRAST) & ~(ground[one] & ground[two])[both]
        seen += len(own)
        streaked += int((like & inside).sum())
        parted += int((~inside).sum())
    # Hardly a place where it parts two colours: it cannot be an outline, whatever its streaks.
    return streaked / max(seen, 1) if parted > LONELY * seen else 1.0


def _inside(places: np.ndarray, step: int, end: int) -> np.ndarray:
    within: np.ndarray = (places >= step) & (places < end - step)
    return within


def _own_colour(classes: Classes, c: int, rgb: np.ndarray, lines: np.ndarray) -> bool:
    """True when the lines have the very colour of the areas of their class, and are not merely nearest to it."""
    # Thin bits that are only nearest to this class are rims between two others.
    gap = np.linalg.norm(tone_of(np.median(rgb[lines], axis=0)) - classes.tone[c])
    return bool(gap < CONTRAST)


def _flanks(classes: Classes, c: int, thin: np.ndarray, at: Places, step: int = 3) -> np.ndarray:
    """(n + 1,) how often each class lies `step` pixels beside a line pixel, the line itself left out."""
    alike, counts, (height, width) = _alike(classes, c), np.zeros(len(classes.tone), int), thin.shape
    for down, right in ((step, 0), (-step, 0), (0, step), (0, -step)):
        beside = (at[0] - down) % height, (at[1] - right) % width
        found = classes.of_pixel[beside]
        # A line broader than the step would else have itself for its flank.
        line = (found == c) | (alike[found] & thin[beside])
        counts += np.bincount(found[~line], minlength=len(counts))
    return counts


def usual_width(lines: np.ndarray) -> float:
    """Twice the area of long lines over their outline, which has on average 4/pi pixel sides a pixel."""
    sides = sum(map(np.count_nonzero, (lines[:, 1:] != lines[:, :-1], lines[1:] != lines[:-1])))
    return float(2 * np.count_nonzero(lines) / max(np.pi / 4 * sides, 1))


def solid(own: np.ndarray, width: float, speck: int) -> np.ndarray:
    """(h, w) bool: what in a line's colour is an area: too thick for the line, or a compact piece by itself."""
    # Wider than the line itself by enough for its bends and joints.
    side = odd(max(1.6 * width, width + 3))
    solid: np.ndarray = thick(own.view(np.uint8), side) & own
    if solid.any():
        pieces, found, sizes = pieces_of(solid)
        stout = np.zeros(len(sizes), bool)
        # Where lines meet there is a thick place too: an area must hold a square that no meeting does.
        stout[pieces[even(own.view(np.uint8), odd(max(MEETING * width, width + 5))) & own]] = True
        core = solid & ((sizes >= (1.6 * side) ** 2) & stout)[pieces]
        solid = core.copy()
        for number, box in enumerate(found, 1):
            if sizes[number] >= (1.6 * side) ** 2 and stout[number]:
                around = _wider(box, side)
                solid[around] |= _strips(own[around], core[around], sizes[number], side)
    alone, found, _ = pieces_of(own, corners=True)
    # What is left by itself and compact is a pupil or a nostril, however thin the lines are.
    for number, box in enumerate(found, 1):
        if _is_spot(alone, number, box, speck, gap=max(3, round(width))):
            solid[box] |= alone[box] == number
    return solid


def _wider(box: tuple[slice, ...], by: int) -> tuple[slice, ...]:
    return tuple(slice(max(s.start - by, 0), s.stop + by) for s in box)


def _strips(own: np.ndarray, core: np.ndarray, size: int, side: int) -> np.ndarray:
    """(h, w) bool: strips of a solid piece between its rim and a spot set into it, as beside a glint in a pupil: no
    lines. core: the solid pieces of what is `own`; size: pixels of the piece; side: strips are narrower than this."""
    (holes, boxes, _), strips = pieces_of(~own), np.zeros(own.shape, bool)
    height, width = own.shape
    for number, found in enumerate(boxes, 1):
        rows, columns = found
        at_rim = rows.start == 0 or columns.start == 0 or rows.stop == height or columns.stop == width
        around = _wider(found, side + 1)
        hole = holes[around] == number
        if at_rim or hole.sum() > HOLE * size:
            continue
        rim = spread(hole, 2) & own[around]
        if core[around][rim].mean() >= SET_IN:
            strips[around] |= spread(hole, side) & own[around]
    return strips


def _is_spot(alone: np.ndarray, number: int, box: tuple[slice, slice], speck: int, gap: int) -> bool:
    """A pupil or the like: compact, without a hole, and no bit of a line within `gap` pixels of its box."""
    height, width = (s.stop - s.start for s in box)
    if min(height, width) < speck or max(height, width) > 2.5 * min(height, width):
        return False
    piece = alone[box] == number
    if piece.mean() < 0.5:
        return False
    around = alone[_wider(box, gap)]
    lonely = not ((around > 0) & (around != number)).any()
    # Padded, the outside is one piece; a second one is a hole, as a ring or a loop of a line has.
    return bool(lonely and components(~np.pad(piece, 1))[1] == 1)


def faint_lines(rgb: np.ndarray, figure: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
    """Lines too fine to hold a colour of their own: narrow and darker than both sides (a black-hat transform).

    rgb: (h, w, 3) uint8 sRGB; figure: (h, w) bool. Returns the lines' (h, w) bool mask and (3,) sRGB colour, None when
    there are too few to be outlines.
    """
    # Green alone: it is near to lightness, and of all channels a camera or a JPEG blurs it least.
    light = rgb[..., 1]
    closed = square_filter(square_filter(light, 7, largest=True), 7, largest=False)
    depth = closed.astype(np.int16) - light
    mask = (depth > 40) & figure
    if mask.sum() < 1.2 * np.sqrt(figure.sum()):
        return np.zeros(mask.shape, bool), None
    return mask, darkest(rgb, mask)


def darkest(rgb: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """(3,) median sRGB, 0-255, of the darker third of the pixels of (h, w, 3) under an (h, w) bool mask: the line
    itself, its soft rims left out."""
    pixels = rgb[mask][:: max(1, int(mask.sum()) // 50_000)]
    light = pixels.astype(int) @ np.array([2, 7, 1])
    median: np.ndarray = np.median(pixels[light <= np.quantile(light, 1 / 3)], axis=0)
    return median
