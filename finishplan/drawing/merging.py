"""Which neighbouring regions are one area: the same colour, steps of a soft shading, streaks, what compression bled.

All that decides is a sum over pixels or pixel sides, so that regions are joined without looking at the picture again.
"""

from dataclasses import dataclass, field

import numpy as np

from finishplan.basics.progress import doing
from finishplan.drawing.contacts import SHARP, Contacts, Trace, compact, contacts
from finishplan.drawing.linework import MEETING, Lines
from finishplan.drawing.paper import from_linear, to_linear
from finishplan.drawing.regions import renumber
from finishplan.drawing.tones import Classes, tone_of

SAME_HUE_REACH = 12.0
"""Streaks and bled strips may differ in tone by this much, DIN99b."""
SOFT = 2.6
"""A step across a border, DIN99b, below which no brush or pen made it."""
FREE_OF_LINES = 0.3
STEPPED = 1.5
"""Two regions of one tone with a step between of this many times what one colour may vary by are two."""
LONG, PAPER, BROAD, BESIDE = 4.0, 8.0, 1.5, 0.4
"""A bare streak is at least this many times as long as broad, twice that inside one area, where it may be a glint; its
tone so near to the paper's, DIN99b; so many times as broad as other streaks may be; lines along less of its rim."""
BETWEEN, SLIGHT, MANY, OFF, DENSER = 0.6, 0.005, 5, 8.0, 0.35
"""Of a bit's rim that lines may take, where the white of an eye has more; of the figure that a bit may be; so many pale
bits are the medium's, no glints; DIN99b from the tones between a colour and the paper; how far beyond the colour, of
the way to the paper, lies what was laid on more thickly."""
EXACT, SHUT = 3.0, 0.9
"""DIN99b from the way between a colour and the paper within which a bit is that colour laid thinly; of its border, that
lines then leave open (our rule)."""
MIXED, PALEST, BARE = 6.0, 0.6, 0.97
"""DIN99b from what paint and paper make together in linear light within which a region is that paint laid thinly; the
most paper in it, and in a slight streak (our rule: with more it may be the paper itself)."""
BLOT, SLIT = 8.0, 1.3
"""DIN99b from the ink within which a bit is a blot of it; breadth of a bare slit beside a line, in lines (our rule)."""
STREAKY = 9.0
"""DIN99b by which streaks of one hue differ where a hand pressed on more or less."""
VARIED = 2.5
"""Standard deviation of lightness, DIN99b, beyond which a region is shaded: an even ramp of over 8 L*."""


@dataclass(frozen=True, eq=False)
class Tones:
    """Sums over each region 0..n (0 unused): pixels (n + 1,); votes (n + 1, classes), its inner pixels by class; light,
    square (n + 1,): sums of their DIN99b lightness and its square; rim (n + 1,), pixel sides of its outline; rgb
    (n + 1, 3), sums of their linear light."""

    pixels: np.ndarray
    votes: np.ndarray
    light: np.ndarray
    square: np.ndarray
    rim: np.ndarray
    rgb: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        """(n + 1, 3) mean linear light."""
        mean: np.ndarray = self.rgb / np.maximum(self.votes.sum(1), 1)[:, None]
        return mean

    @property
    def spread(self) -> np.ndarray:
        """(n + 1,) standard deviation of lightness, DIN99b."""
        count = np.maximum(self.votes.sum(1), 1)
        spread: np.ndarray = np.sqrt(np.maximum(self.square / count - (self.light / count) ** 2, 0))
        return spread

    def mode(self, classes: Classes) -> np.ndarray:
        """(n + 1, 3) DIN99b of each region's commonest class."""
        commonest: np.ndarray = classes.tone[self.votes.argmax(1)]
        return commonest

    def joined(self, table: np.ndarray, between: Contacts) -> "Tones":
        """The tones after regions became those that `table` (n + 1,) names; between: the contacts before that."""
        n = int(table.max())
        rim = np.bincount(table, self.rim, minlength=n + 1)
        now = table[between.pairs]
        inner = now[:, 0] == now[:, 1]
        # A side between two regions that become one stood in the rim of both.
        rim -= 2 * np.bincount(now[inner, 0], between.sides[inner], minlength=n + 1)
        # add.at: several regions may be joined into one number.
        votes = np.zeros((n + 1, self.votes.shape[1]), np.int64)
        np.add.at(votes, table, self.votes)
        sums = (np.bincount(table, values, minlength=n + 1) for values in (self.pixels, self.light, self.square))
        pixels, light, square = sums
        rgb = np.stack([np.bincount(table, values, minlength=n + 1) for values in self.rgb.T], -1)
        return Tones(pixels, votes, light, square, rim, rgb)


@dataclass(frozen=True, eq=False)
class Painted:
    """What regions are judged by. rgb: (h, w, 3) uint8 sRGB; inner: (h, w) bool, pixels away from rims and lines."""

    rgb: np.ndarray
    classes: Classes
    inner: np.ndarray


def region_tones(labels: np.ndarray, painted: Painted) -> Tones:
    """The tones of (h, w) int labels 0..n."""
    classes, inner, rgb = painted.classes, painted.inner, painted.rgb
    n, k = int(labels.max()), len(classes.tone)
    # Every other row is enough for sums over regions, and of large pictures half of the time.
    rows = slice(None, None, 2 if labels.size > 400_000 else 1)
    inner = inner[rows]
    chosen, seen = labels[rows][inner], rgb[rows][inner]
    light, linear = lightness99(seen[:, 1]), to_linear(np.arange(256))
    code = chosen.astype(np.int64) * k + classes.of_pixel[rows][inner]
    rim = np.zeros(n + 1)
    small = compact(labels)
    for a, b in ((small[:, 1:], small[:, :-1]), (small[1:], small[:-1])):
        differ = a != b
        rim += np.bincount(a[differ], minlength=n + 1) + np.bincount(b[differ], minlength=n + 1)
    return Tones(
        np.bincount(labels.ravel(), minlength=n + 1),
        np.bincount(code, minlength=(n + 1) * k).reshape(n + 1, k),
        np.bincount(chosen, light, minlength=n + 1),
        np.bincount(chosen, light * light, minlength=n + 1),
        rim,
        np.stack([np.bincount(chosen, linear[seen[:, k]], minlength=n + 1) for k in range(3)], -1),
    )


def shaded_share(tones: Tones, grain: float) -> float:
    """Share of the figure, 0-1, whose regions vary in lightness as soft shading does. grain: DIN99b that is noise."""
    varied = tones.spread > VARIED + grain
    return float(tones.pixels[1:][varied[1:]].sum() / max(tones.pixels[1:].sum(), 1))


def lightness99(green: np.ndarray) -> np.ndarray:
    """DIN99b lightness of grey, by the green channel: a cheap measure of how much a region varies."""
    grey = np.arange(256)
    table = tone_of(np.stack([grey] * 3, -1))[:, 0]
    lightness: np.ndarray = table[green]
    return lightness


@dataclass(frozen=True)
class MergeRules:
    """same: DIN99b within which neighbours are one colour. thin: pixels; a strip narrower than this may be a streak or
    a step of a shading. grain: DIN99b, spread that is mere noise. bleed: pixels; how far lossy compression lets hues
    run into each other, which stand in larger blocks than lightness does; 0 for pictures that lost nothing. soft:
    DIN99b, step across a border below which no brush or pen made it. paper: (3,) DIN99b, its tone, where
    there is grain; by_hand: pencil, chalk or brush left streaks. fold: pixels over which regions of one colour must
    face each other across a line to be one; trace: of fine lines; white: (3,) linear light of the paper."""

    same: float
    thin: float
    grain: float
    fold: float
    bleed: float = 0.0
    soft: float = SOFT
    paper: np.ndarray | None = None
    by_hand: bool = False
    inks: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))
    pen: float = 0.0
    trace: Trace = SHARP
    white: np.ndarray | None = None


def merge(labels: np.ndarray, painted: Painted, lines: Lines, rules: MergeRules) -> tuple[np.ndarray, Tones, Contacts]:
    """Join neighbouring regions that are one area.

    labels: (h, w) int, 1..n without gaps. Each round every
    region joins the most alike of the neighbours it may join, until none is left. Returns the (h, w) labels, their
    tones and their contacts.
    """
    doing("Parting the colours")
    tones, met = region_tones(labels, painted), contacts(labels, painted.rgb, lines, rules.trace)
    whole = np.arange(int(labels.max()) + 1, dtype=np.int32)
    while len(met.pairs):
        mode = tones.mode(painted.classes)
        gap = np.linalg.norm(mode[met.pairs[:, 0]] - mode[met.pairs[:, 1]], axis=1)
        allowed = _may_join(met, tones, mode, rules)
        if not allowed.any():
            break
        # Only mutual best neighbours join in a round: the result then hangs on no numbering.
        table = _chosen(len(mode), met.pairs[allowed], gap[allowed])
        tones, met, whole = tones.joined(table, met), met.joined(table), table[whole]
    return whole.take(labels), tones, met


def _may_join(met: Contacts, tones: Tones, mode: np.ndarray, rules: MergeRules) -> np.ndarray:
    a, b = met.pairs.T
    apart = mode[a] - mode[b]
    gap, light, hue = np.linalg.norm(apart, axis=1), np.abs(apart[:, 0]), np.linalg.norm(apart[:, 1:], axis=1)
    clear = met.drawn_share < FREE_OF_LINES
    contrast = met.contrast
    spread = tones.spread
    # What grain alone makes a region vary by says nothing of shading.
    varied = np.sqrt(np.maximum(spread**2 - rules.grain**2, 0))
    sloped = np.maximum(varied[a], varied[b]) > 0.15 * np.maximum(gap, 1e-9)
    near = gap < SAME_HUE_REACH
    # Soft outright, or half as soft as the tones differ where one side is seen to slope: a step of a shading. Where
    # neither slopes and they are far apart, they only met in a sliver of something else.
    soft = clear & (((contrast < rules.soft) & (near | sloped)) | ((contrast < 0.5 * gap + 0.3) & sloped & near))
    breadth = 2 * tones.pixels / np.maximum(tones.rim, 1)
    narrow = np.minimum(breadth[a], breadth[b])
    broad, far = (BROAD * rules.thin, STREAKY) if rules.by_hand else (rules.thin, 6.5)
    streak = clear & (narrow < broad) & (gap < far) & (hue < 3.5)
    bled = clear & (narrow < rules.bleed) & (light < 3) & (gap < SAME_HUE_REACH)
    # Infinite contrast means hidden by lines all along: nothing is known of a step.
    stepped = clear & (contrast > STEPPED * rules.same) & (contrast < np.inf)
    same = (gap < rules.same) & (rules.by_hand | ~stepped)  # across a bare streak there is a step, too
    # Across a line only where they face each other long enough: a fold in one area, no corner.
    same &= clear | (met.facing >= rules.fold)
    bare = _unfilled(met, tones, mode, rules)
    # One of the two is bare: it goes to the colour beside it, never to another bare bit.
    missed = (met.inked_share < (BETWEEN if rules.by_hand else FREE_OF_LINES)) & (bare[a] != bare[b])
    scrap = _scraps(tones, mode, rules)
    missed |= scrap[a] != scrap[b]
    thin = _thinly_laid(met, tones, mode, rules) | _mixed(met, tones, rules)
    joined: np.ndarray = same | soft | streak | bled | missed | thin
    return joined


def _scraps(tones: Tones, mode: np.ndarray, rules: MergeRules) -> np.ndarray:
    """(n,) bool: what a hand leaves where its lines meet or beside them: blots of ink, slits of bare paper no broader
    than a line."""
    if rules.paper is None or not rules.by_hand or not len(rules.inks):
        return np.zeros(len(mode), bool)
    breadth = 2 * tones.pixels / np.maximum(tones.rim, 1)
    ink = np.linalg.norm(mode[:, None] - rules.inks[None], axis=-1).min(1) < BLOT
    pale = np.linalg.norm(mode - rules.paper, axis=1) < PAPER
    scraps: np.ndarray = _slight(tones, rules) & (
        (ink & (breadth < MEETING * rules.pen)) | (pale & (breadth < max(SLIT * rules.pen, rules.thin / 4)))
    )
    return scraps


def _unfilled(met: Contacts, tones: Tones, mode: np.ndarray, rules: MergeRules) -> np.ndarray:
    """(n,) bool: regions of the paper's tone, narrow, long and with few lines beside: where a pencil left it bare.
    Where there are many, short and lined ones are no glints or whites of eyes either."""
    if rules.paper is None:
        return np.zeros(len(mode), bool)
    breadth = 2 * tones.pixels / np.maximum(tones.rim, 1)
    alone = np.bincount(met.pairs.ravel(), minlength=len(mode)) < 2
    long = _long(tones, np.where(alone, 2 * LONG, LONG))
    lined = _lined(met, len(mode))
    pale = np.linalg.norm(mode - rules.paper, axis=1) < PAPER
    bare: np.ndarray = (lined <= BESIDE) & pale & (breadth < BROAD * rules.thin) & long
    if rules.by_hand:
        bits = pale & (lined <= BETWEEN) & _slight(tones, rules)
        bare |= bits & ((bits.sum() >= MANY) | long)
    return bare


def _lined(met: Contacts, n: int) -> np.ndarray:
    """(n,) 0-1 of each region's rim that runs along lines."""
    inked, sides = (np.bincount(met.pairs.ravel(), np.repeat(k, 2), minlength=n) for k in (met.dark, met.sides))
    share: np.ndarray = inked / np.maximum(sides, 1)
    return share


def _slight(tones: Tones, rules: MergeRules) -> np.ndarray:
    """(n,) bool: regions that are narrow and a small part of the figure."""
    breadth = 2 * tones.pixels / np.maximum(tones.rim, 1)
    slight: np.ndarray = (breadth < rules.thin) & (tones.pixels < SLIGHT * tones.pixels[1:].sum())
    return slight


def _thinly_laid(met: Contacts, tones: Tones, mode: np.ndarray, rules: MergeRules) -> np.ndarray:
    """(m,) bool: a slight region and a neighbour with no line between, whose tone with more or less paper in it it is,
    or with more or less of its colour."""
    if rules.paper is None or not rules.by_hand:
        return np.zeros(len(met.pairs), bool)
    slight, lined = _slight(tones, rules), _lined(met, len(mode))
    joined = np.zeros(len(met.pairs), bool)
    for one, two in (met.pairs.T, met.pairs.T[::-1]):
        # Along the way from the colour to the paper, and off it: thinner paint lies on that way.
        away, paper = mode[one] - mode[two], rules.paper - mode[two]
        share = (away * paper).sum(1) / np.maximum((paper**2).sum(1), 1)
        off = np.linalg.norm(away - share[:, None] * paper, axis=1)
        open_to = (off < OFF) & (lined[one] <= BETWEEN) & (met.inked_share < BETWEEN) & (share > -DENSER) & (share < 1)
        # Exactly on the way: the very colour, laid thinly, though dark flecks of it beside were taken for lines.
        exact = (off < EXACT) & (met.drawn_share < SHUT) & (share > 0) & (share < BETWEEN)
        joined |= slight[one] & (tones.pixels[one] < tones.pixels[two]) & (open_to | exact)
    return joined


def _mixed(met: Contacts, tones: Tones, rules: MergeRules) -> np.ndarray:
    """(m,) bool: two regions, mostly no line between, of which one is the other with paper showing through: light adds
    up, so that such a mixture lies on the straight way from the paint to the paper in linear light."""
    joined = np.zeros(len(met.pairs), bool)
    if rules.white is None or not rules.by_hand:
        return joined
    tone, streak = tone_of(from_linear(tones.mean)), _slight(tones, rules) & _long(tones, LONG)
    for one, two in (met.pairs.T, met.pairs.T[::-1]):
        paint, way = tones.mean[two], rules.white - tones.mean[two]
        share = ((tones.mean[one] - paint) * way).sum(1) / np.maximum((way**2).sum(1), 1e-9)
        off = np.linalg.norm(tone_of(from_linear(paint + share[:, None] * way)) - tone[one], axis=1)
        thinner = (off < MIXED) & (share > 0) & (share < PALEST) & (met.inked_share < BETWEEN)
        slit = streak[one] & (off < EXACT) & (share > 0) & (share < BARE) & (met.inked_share < SHUT)
        joined |= thinner | slit
    return joined


def _long(tones: Tones, times: float | np.ndarray) -> np.ndarray:
    """(n,) bool: regions so many times as long as broad."""
    breadth = 2 * tones.pixels / np.maximum(tones.rim, 1)
    long: np.ndarray = tones.pixels > times * breadth**2
    return long


def _chosen(n: int, pairs: np.ndarray, gap: np.ndarray) -> np.ndarray:
    """(n,) new numbers without gaps: each region joined with the most alike of its allowed neighbours where the choice
    is mutual."""
    free, table = np.ones(n, bool), np.arange(n)
    for a, b in pairs[np.lexsort((pairs[:, 1], pairs[:, 0], gap))].tolist():
        if free[a] and free[b]:
            table[b] = a
            free[a] = free[b] = False
    return renumber(table)[0]
