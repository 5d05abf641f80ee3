"""Shadow and highlight tones: which regions are a darker or lighter tone of a neighbour with no line between.

A tone keeps about the hue of its base; its chroma may grow or shrink with the light on it. In an outlined drawing a
border without a line is shading at once; without outlines only where most colours of the figure have such tones.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from finishplan.drawing.cast import cast_light, under
from finishplan.drawing.contacts import Contacts
from finishplan.drawing.filters import square_filter
from finishplan.drawing.regions import renumber
from finishplan.drawing.tones import din99, lab_of, tone_of

CLEAR = 0.5
"""A border of which lines cover less than this has none."""
SEEN = 0.25
"""A border of which less than this is seen, clear of lines to both sides, tells of no shading (our rule: borders of
shadows show half and more in drawings made by chance)."""
NEARLY_ALL, FAINT = 0.85, 0.2
"""The same where lines run along more than this share of all borders: in drawings with shadow tones they run along 0.8
at most (our rule)."""
LINED = 0.2
"""Share of all borders along lines from which on a drawing is an outlined one."""
SYSTEM, UNDER_LIGHT, ALIKE, EXACT, SYSTEM_LEAST = 0.6, 0.4, 0.06, 0.015, 3
"""Without outlines: share of the colours that must have a tone, where one light lies over them too, how far the
shadows' lightness in parts of their bases' may vary (standard deviation), how little where they lie to any side, and
how many tones make a system."""
ONE_SIDED = 3.0
"""Shadows lie to one side of their bases where n R^2 is beyond this, R the mean of n directions (Rayleigh's test at
p = exp(-3) = 0.05, Mardia, Jupp, Directional Statistics, 2000, section 6.3.1)."""
OFF = 0.12
"""By which a shadow's lightness in parts of its base's may be off that of most shadows, without outlines (our rule)."""
LIT, CAST_LIT, ONLY_LIT = 2.0, 4.0, 5.5
"""Of two hard tones the lighter is the base where it is more than one in so many parts of the other's size; where one
light lies over both; where besides the darker has no tone under that light, as a base with a highlight has."""
ONE_TONE = 1.0
"""DIN99b within which regions of a clean drawing have one tone (our rule)."""
BLURRED = 0.5
"""Of the difference between two tones: what a soft border shows of it close by."""
CRISP = 8.0
"""DIN99b across a border from which it is one that was drawn, however unlike the tones (our rule: soft ones show 5 at
most in drawings made by chance, a match before a satchel 10)."""
SMALL = 0.004
"""A darker spot of less than this part of its base, inside it, is a freckle and no shadow."""
DOTTED = 0.003
"""The same in a softly shaded figure, of all of it, where the spot has a hard edge as no shading there has: some 3 mm
across on a figure of 80 mm (our rule)."""


@dataclass(frozen=True)
class Likeness:
    """How far a tone may be from its base, CIE Lab. light: least and greatest difference of lightness; chroma: least
    and greatest ratio; dull: the least of a highlight's; turn: sine of the angle of hue; grey: difference in a*, b*
    that says nothing."""

    light: tuple[float, float]
    chroma: tuple[float, float]
    turn: float
    dull: float = 0.2
    grey: float = 6.0

    def holds(self, tone: np.ndarray, base: np.ndarray) -> np.ndarray:
        """(m,) bool for Lab (m, 3) each: the tone's hue and chroma are near the base's, dulled or strengthened."""
        light = np.abs(tone[:, 0] - base[:, 0])
        paint = np.hypot(base[:, 1], base[:, 2])
        unit = base[:, 1:] / np.maximum(paint, 1e-9)[:, None]
        along = (tone[:, 1:] * unit).sum(1)
        # A highlight may lose most of its chroma, as gloss lays white over it; a shadow keeps more.
        low = np.where(tone[:, 0] > base[:, 0], self.dull, self.chroma[0])
        nearest = np.clip(along, low * paint, self.chroma[1] * paint)[:, None] * unit
        off = np.linalg.norm(tone[:, 1:] - nearest, axis=1)
        near = off <= np.maximum(self.grey, self.turn * np.hypot(tone[:, 1], tone[:, 2]))
        holds: np.ndarray = near & (light >= self.light[0]) & (light <= self.light[1])
        return holds


OUTLINED = Likeness((2, 34), (0.4, 1.7), 0.5)
BARE = Likeness((3, 26), (0.6, 1.35), 0.22)


@dataclass(frozen=True, eq=False)
class Shades:
    """Of k tones: at, base_at (k,): flat index of a pixel of the tone and of its base; rgb (k, 3) sRGB 0-255; pixels
    (k,); lighter (k,) bool."""

    at: np.ndarray
    base_at: np.ndarray
    rgb: np.ndarray
    pixels: np.ndarray
    lighter: np.ndarray


@dataclass(frozen=True, eq=False)
class Toned:
    """Of regions 1..n (0 unused): rgb (n + 1, 3) sRGB 0-255; pixels (n + 1,); base (n + 1,), the region it is a tone
    of, itself for none; lighter (n + 1,) bool, than its base. shades: the tones, by places."""

    rgb: np.ndarray
    pixels: np.ndarray
    base: np.ndarray
    lighter: np.ndarray
    shades: Shades

    def orphans(self, same: float) -> list[tuple[int, int]]:
        """(region, base) of regions that lie in shadow altogether: of the very tone that a larger base of the figure
        has as a shade. same: DIN99b within which colours are one."""
        tones = np.flatnonzero(self.base != np.arange(len(self.base)))
        if len(tones) < SYSTEM_LEAST:
            return []
        known = tone_of(self.rgb[tones])
        found = []
        for i in (np.flatnonzero(self.base == np.arange(len(self.base)))[1:]).tolist():
            gap = np.linalg.norm(known - tone_of(self.rgb[i]), axis=1)
            base = int(self.base[tones[int(gap.argmin())]])
            alone = i not in self.base[tones]
            if alone and gap.min() < same and self.pixels[i] < self.pixels[base]:
                found.append((i, base))
        return found

    def folded(
        self, labels: np.ndarray, group: np.ndarray, met: Contacts, inner: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, Contacts, np.ndarray]:
        """(h, w) labels of bases alone, their (n + 1,) groups, contacts, and inner pixels without those of tones."""
        table, _ = renumber(self.base)
        bare = self.base == np.arange(len(self.base))
        return table.take(labels), group[bare], met.joined(table), inner & bare.take(labels)


def shaded(labels: np.ndarray, own: np.ndarray, met: Contacts, *, fold: bool, modelled: bool) -> Toned:
    """Which regions are tones of others. labels: (h, w) int, 1..n; own: (n + 1, 3) sRGB of each; met: their contacts;
    fold: tones that are not sure are only offered; modelled: see bases."""
    n = int(labels.max())
    pixels = np.bincount(labels.ravel(), minlength=n + 1)
    figure = (labels > 0).view(np.uint8)
    at_rim = np.zeros(n + 1, bool)
    at_rim[labels[(figure > 0) & (square_filter(figure, 3, largest=False) == 0)]] = True
    base, sure = bases(met, Regions(own, lab_of(own), pixels, at_rim, _centres(labels, n)), modelled)
    toned = toned_as(labels, own, base)
    return toned if sure or not fold else replace(toned, base=np.arange(n + 1))


def toned_as(labels: np.ndarray, rgb: np.ndarray, base: np.ndarray) -> Toned:
    """The tones of regions 1..n whose bases (n + 1,) are known, by the regions' (n + 1, 3) sRGB."""
    light = lab_of(rgb)[:, 0]
    pixels, lighter = np.bincount(labels.ravel(), minlength=len(base)), light > light[base]
    tones = np.flatnonzero(base != np.arange(len(base)))
    at, base_at = (np.array([int((labels == i).argmax()) for i in which], int) for which in (tones, base[tones]))
    return Toned(rgb, pixels, base, lighter, Shades(at, base_at, rgb[tones], pixels[tones], lighter[tones]))


@dataclass(frozen=True, eq=False)
class Regions:
    """Of regions 1..n: rgb (n + 1, 3) sRGB 0-255; lab (n + 1, 3); pixels (n + 1,); open_rim (n + 1,) bool, touches the
    background; centre (n + 1, 2) row and column of the middle."""

    rgb: np.ndarray
    lab: np.ndarray
    pixels: np.ndarray
    open_rim: np.ndarray
    centre: np.ndarray


def _centres(labels: np.ndarray, n: int) -> np.ndarray:
    """(n + 1, 2) mean row and column of the labels (h, w), on a lattice; nan for one too small for it."""
    coarse = labels[::2, ::2]
    count = np.bincount(coarse.ravel(), minlength=n + 1).astype(float)
    count[count == 0] = np.nan
    places = (np.broadcast_to(at, coarse.shape).ravel() for at in np.ogrid[: coarse.shape[0], : coarse.shape[1]])
    return np.stack([np.bincount(coarse.ravel(), at, minlength=n + 1) / count for at in places], -1)


def bases(met: Contacts, regions: Regions, modelled: bool) -> tuple[np.ndarray, bool]:
    """((n + 1,) the region each region is a tone of, itself for a base; whether that is sure enough to fold them).

    met: contacts of the regions; modelled: most of the figure is shaded softly, so that soft borders are shading
    without more ado.
    """
    lab = regions.lab
    # With the traces that a lens blurred: such a line is still a line to the painter.
    drawn = met.drawn.sum() / max(met.sides.sum(), 1)
    lined = drawn > LINED
    # Where nearly every border has its line, one that lacks it in part was drawn too faintly.
    clear = met.inked_share < (FAINT if drawn > NEARLY_ALL else CLEAR)
    # Two areas that are nearest to each other behind ink, over a few pixels, touch nowhere to be seen.
    clear &= met.free >= SEEN * met.sides
    big, small, cast = _sides(met, regions, clear, modelled)
    likeness = OUTLINED if lined or modelled else BARE
    held = likeness.holds(lab[small], lab[big])
    # Close by, a soft border shows a part of the difference of the tones, an edge nearly all of it.
    edge = np.zeros(len(big), bool)
    if modelled and not lined:
        gap = np.linalg.norm(din99(lab[big]) - din99(lab[small]), axis=1)
        edge = met.contrast >= np.minimum(BLURRED * gap, CRISP)
        held &= ~edge
    shades = clear & (held | cast) & ~_freckles(met, regions, (big, small), modelled)
    if not (lined or modelled):
        shades &= ~_off_light(regions, big, small, shades)
    # Told by all shades found so far, so it comes last.
    shades &= ~_has_shadow(big, small, lab[:, 0], shades)
    sure = bool(lined) or modelled or _systematic(regions, big[shades], small[shades], alike=bool(cast.any()))
    # The longest borders first: a short one may then no longer lead elsewhere.
    order = np.flatnonzero(shades)[np.argsort(-met.sides[shades], kind="stable")]
    pairs = zip(big[order].tolist(), small[order].tolist(), strict=True)
    apart = {(one, two) for one, two in met.pairs[clear & edge].tolist()}
    return _chained(pairs, regions, likeness, _Bounds(0.0 if modelled else LIT, apart)), sure


def _sides(
    met: Contacts, regions: Regions, clear: np.ndarray, modelled: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of each of m contacts the region that would be the base, the one that would be its tone, and whether the one is
    the other under the light of the figure, (m,) each. clear: (m,) bool, no line between."""
    (a, b), light = met.pairs.T, regions.lab[:, 0]
    lighter = light[a] > light[b]
    if modelled:
        first, cast = regions.pixels[a] >= regions.pixels[b], np.zeros(len(a), bool)
    else:
        cast = _cast(met, regions.rgb, clear, lighter)
        # Under one light the lit side is the base even where the shadow is the larger, but for a glint or a lit rim.
        below = _darkened(regions, np.where(lighter, a, b)[cast])[np.where(lighter, b, a)]
        most, size = np.where(cast, np.where(below, CAST_LIT, ONLY_LIT), LIT), _of_one_tone(regions)
        first = np.where(lighter, most, 1 / most) * size[a] >= size[b]
    return np.where(first, a, b), np.where(first, b, a), cast


@dataclass(frozen=True)
class _Bounds:
    """Where a chain of tones ends. shared: how many times as large as the other one of two bases must be that share
    a tone, if they are one; apart: ascending pairs of regions that meet at an edge."""

    shared: float
    apart: set[tuple[int, int]]


def _chained(pairs: Iterable[tuple[int, int]], regions: Regions, likeness: Likeness, bounds: _Bounds) -> np.ndarray:
    """(n + 1,) the base of each region, by (base, tone) pairs of which the first go before the others."""
    lab, pixels = regions.lab, regions.pixels
    base = np.arange(len(lab))
    for big, small in pairs:
        one, two = _root(base, big), _root(base, small)
        if one != two:
            keep, lose = (one, two) if two == small or pixels[one] >= pixels[two] else (two, one)
            # Again against the root: tones of tones of tones could wander off to another hue. Where both have tones
            # of their own, a large one is a colour that only shares a shadow's border.
            slight = pixels[lose] * bounds.shared <= pixels[keep]
            # A scrap at the rim of two colours is a tone of both by its own soft borders.
            slight &= (min(one, two), max(one, two)) not in bounds.apart
            if lose == small or (slight and likeness.holds(lab[[lose]], lab[[keep]])[0]):
                base[lose] = keep
    return np.array([_root(base, i) for i in range(len(lab))])


def _of_one_tone(regions: Regions) -> np.ndarray:
    """(n + 1,) pixels over the whole figure of each region's tone: where one is cut small, the others tell what it
    is."""
    tone = tone_of(regions.rgb)
    return np.array([regions.pixels[np.linalg.norm(tone - one, axis=1) < ONE_TONE].sum() for one in tone])


def _darkened(regions: Regions, lit: np.ndarray) -> np.ndarray:
    """(n + 1,) bool: regions of the tone of one of those numbered lit (k,), of which each has a shadow."""
    tone = tone_of(regions.rgb)
    apart = np.linalg.norm(tone[:, None] - tone[np.unique(lit)][None], axis=-1)
    darkened: np.ndarray = (apart < ONE_TONE).any(1)
    return darkened


def _off_light(regions: Regions, big: np.ndarray, small: np.ndarray, shades: np.ndarray) -> np.ndarray:
    """(m,) bool: darker tones with a shadow of their own that are much lighter or darker for their bases than the
    shadows of the figure mostly are: another colour of the same hue."""
    light = np.maximum(regions.lab[:, 0], 1)
    ratio = light[small] / light[big]
    shadow = shades & (ratio < 1)
    if shadow.sum() < SYSTEM_LEAST:
        return np.zeros(len(big), bool)
    off = shadow & (np.abs(ratio - np.median(ratio[shadow])) > OFF)
    # As large as its base and with a shadow of its own, it is one itself, however dark.
    large = shadow & (LIT * regions.pixels[small] > regions.pixels[big])
    apart: np.ndarray = (off | large) & _darkened(regions, big[shadow & ~off])[small]
    return apart


def _has_shadow(big: np.ndarray, small: np.ndarray, light: np.ndarray, shades: np.ndarray) -> np.ndarray:
    """(m,) bool: pairs whose lighter tone, other than a highlight, has a shadow that is none of the base's. light: (n +
    1,) L*."""
    darker: dict[int, set[int]] = {}
    for k in np.flatnonzero(shades).tolist():
        one, two = int(big[k]), int(small[k])
        lighter, dark = (one, two) if light[one] > light[two] else (two, one)
        darker.setdefault(lighter, set()).add(dark)
    highlight = shades & (light[small] > light[big])
    own = [bool(darker[s] - {b} - darker.get(b, set())) for b, s in zip(big[highlight], small[highlight], strict=True)]
    has = np.zeros(len(big), bool)
    has[highlight] = own
    return has


def _cast(met: Contacts, rgb: np.ndarray, clear: np.ndarray, lighter: np.ndarray) -> np.ndarray:
    """(m,) bool: pairs of which one is the other under the light that most shadows of the figure have in common."""
    a, b = met.pairs.T
    base, tone = np.where(lighter, a, b), np.where(lighter, b, a)
    order = np.flatnonzero(clear)[np.argsort(-met.sides[clear], kind="stable")]
    light = cast_light(rgb, base[order], tone[order])
    return np.zeros(len(a), bool) if light is None else clear & under(rgb, base, tone, light)


def _root(base: np.ndarray, i: int) -> int:
    while base[i] != i:
        i = int(base[i])
    return i


def _freckles(met: Contacts, regions: Regions, pair: tuple[np.ndarray, np.ndarray], modelled: bool) -> np.ndarray:
    """(m,) bool: pairs (the larger, the smaller) of which one is a darker spot inside the other, too small for a shadow
    or, where most of the figure is shaded softly, with a hard edge."""
    lab, pixels, (big, small) = regions.lab, regions.pixels, pair
    neighbours = np.bincount(met.pairs.ravel(), minlength=len(lab))
    # One neighbour and no outside: it lies inside.
    enclosed = (neighbours == 1) & ~regions.open_rim
    slight = pixels[small] < SMALL * pixels[big]
    if modelled:
        gap = np.linalg.norm(din99(lab[big]) - din99(lab[small]), axis=1)
        hard = (met.contrast >= np.maximum(BLURRED * gap, CRISP)) & (met.contrast < np.inf)
        slight |= hard & (pixels[small] < DOTTED * pixels[1:].sum())
    freckles: np.ndarray = enclosed[small] & (lab[small, 0] < lab[big, 0]) & slight
    return freckles


def _systematic(regions: Regions, big: np.ndarray, small: np.ndarray, *, alike: bool) -> bool:
    """Whether most large regions have a tone or are one, and the shadows are about as dark for their bases (known to
    be where `alike`) and lie to one side of them, away from the light, or are exactly as dark."""
    lab, pixels = regions.lab, regions.pixels
    large = np.flatnonzero(pixels > SMALL * pixels.sum())
    told = np.isin(large, np.concatenate([big, small])).mean() if len(large) else 0.0
    # A region too small for the lattice has no centre, and so no direction.
    darker = (lab[small, 0] < lab[big, 0]) & np.isfinite(regions.centre[small] + regions.centre[big]).all(1)
    big, small = big[darker], small[darker]
    if told <= (UNDER_LIGHT if alike else SYSTEM) or len(small) < SYSTEM_LEAST:
        return False
    varied = float(np.std(lab[small, 0] / np.maximum(lab[big, 0], 1)))
    alike = alike or varied < ALIKE
    way = regions.centre[small] - regions.centre[big]
    unit = way / np.maximum(np.linalg.norm(way, axis=1), 1e-9)[:, None]
    return alike and bool(varied < EXACT or len(unit) * (unit.mean(0) ** 2).sum() > ONE_SIDED)
