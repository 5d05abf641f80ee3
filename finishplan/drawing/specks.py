"""Specks inside one area, too small to hold a quiet place and so a colour of their own among the picture's.

What differs from the area that lies all round it, is small and compact and touches nothing else is a dot to the
painter: an area of its own, or one of many that are told together.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from finishplan.drawing.components import Box, boxes, components
from finishplan.drawing.contacts import Parting, contacts
from finishplan.drawing.filters import odd
from finishplan.drawing.measure import DOT_MM
from finishplan.drawing.palette import NEAR
from finishplan.drawing.paper import hex_of
from finishplan.drawing.tones import KEYS, Classes, keys_of, tone_of
from finishplan.drawing.view import View

SPOT_MM, LEAST_PX = 0.25, 3.0
"""The least dot that the tip of a fine brush sets, which is a touch and fills nothing (our rule); working pixels across
it, below which it is chance how the pixels fell."""
SOFT_PX = 6.0
"""The same across a speck in a picture with grain (our rule)."""
OF_A_SCAN = 1.5
"""Specks of a scan or photograph, which may be grain, are counted up to so many times the width of an area there (our
rule)."""
CONTRAST = 10.0
"""DIN99b from the area round it, from which a speck is seen (our rule)."""
CLEAR = 2
"""Pixels round a speck's box that are the area's own colour: nearer a line it is a bit of that (our rule)."""
CORE, CORE_SHARE = 3, 0.25
"""Pixels of one colour in the least speck, and of a larger one their share: the rest is its soft rim (our rule)."""
COMPACT, ROUND = 0.5, 2.0
"""Share of its box that a speck fills, and how many times as long as broad it is, at most: else it is a stroke
(our rule)."""
NEARBY, COARSE, MOST_SIDE = 2.0, 4, 255
"""Side of the square whose commonest colour a speck in shading differs from, in times the largest speck; every so many
pixels of it; OpenCV's widest (our numerical steps)."""
KEY_STEP = 2.0
"""DIN99b that a colour of 15 bits may be off (our numerical step)."""
MOST_IN_AREA = 40
"""Specks in one area that are dots, each with a number; more are a texture, told in one line (our rule)."""


@dataclass(frozen=True)
class SpeckRules:
    """least: working pixels across the least speck that is painted, smaller ones are folded in; most: across the
    largest; shaded: areas shade softly, so that a speck differs from what is near it."""

    least: float
    most: float
    shaded: bool = False


def speck_rules(view: View, speck: int, mm: float, *, shaded: bool) -> SpeckRules:
    """What counts in that view; speck: pixels of the narrowest spot that is filled, mm: of a millimetre."""
    smooth = shaded and not view.laid_by_hand and view.picture.kind != "photo"
    if view.tuning.soften and not smooth:
        return SpeckRules(OF_A_SCAN * speck, OF_A_SCAN * speck)
    return SpeckRules(max(SPOT_MM * mm, LEAST_PX, SOFT_PX * view.tuning.soften), DOT_MM * mm, smooth)


@dataclass(frozen=True, eq=False)
class _Speck:
    box: Box
    mask: np.ndarray
    core: np.ndarray
    area: int


@dataclass(frozen=True, eq=False)
class Specks:
    """found: those that are painted; folded: how many were narrower than the rules' least; crowds: those of areas that
    hold too many to number."""

    found: tuple[_Speck, ...]
    folded: int
    crowds: tuple[tuple[_Speck, ...], ...]
    rules: SpeckRules

    def mask(self, shape: tuple[int, ...]) -> np.ndarray:
        """(h, w) bool of that shape: where those lie that are painted."""
        mask = np.zeros(shape, bool)
        for speck in self.found:
            mask[speck.box] |= speck.mask
        return mask


def find_specks(labels: np.ndarray, mode: np.ndarray, classes: Classes, rgb: np.ndarray, rules: SpeckRules) -> Specks:
    """The specks in the regions (h, w) 1..n; mode: (n + 1, 3) DIN99b of each; rgb: (h, w, 3) uint8 sRGB."""
    found, folded = [], 0
    for box, mask in _islands(labels, _off(labels, mode, classes, rgb, rules), rules):
        speck = _speck(box, mask, int(labels[box][mask][0]), rgb)
        if min(mask.shape) < rules.least:
            folded += 1
        elif speck is not None:
            found.append(speck)
    of_area: dict[int, list[_Speck]] = {}
    for speck in found:
        of_area.setdefault(speck.area, []).append(speck)
    crowds = tuple(tuple(specks) for specks in of_area.values() if len(specks) > MOST_IN_AREA)
    return Specks(tuple(s for s in found if len(of_area[s.area]) <= MOST_IN_AREA), folded, crowds, rules)


def with_specks(parting: Parting, specks: Specks, view: View) -> Parting:
    """The parting with every speck as a region of its own, numbered after the others."""
    if not specks.found:
        return parting
    labels, inner, lines = parting.labels.copy(), parting.inner.copy(), parting.lines.mask.copy()
    for number, speck in enumerate(specks.found, parting.regions + 1):
        labels[speck.box][speck.mask] = number
        inner[speck.box] |= speck.core
        # Taken for a bit of line, it would have no edge.
        lines[speck.box] &= ~speck.mask
    drawn = replace(parting.lines, mask=lines)
    return Parting(labels, inner, drawn, contacts(labels, view.picture.rgb, drawn, view.trace))


def speck_notes(specks: Specks, view: View, mm: float) -> tuple[str, ...]:
    """What to say of those that became no areas; mm: pixels of a millimetre."""
    notes = []
    if specks.folded:
        doubt = " (some may be grain or compression, not drawn)" if view.tuning.lossy else ""
        what = f"specks of up to {specks.rules.least / mm:.2g} mm, too small to read as areas"
        notes.append(f"{what}, folded into those around them{doubt}: {specks.folded}")
    for crowd in specks.crowds:
        rows, columns = crowd[0].box
        x, y = view.place(columns.start, rows.start)
        rgb = np.median([np.median(view.picture.rgb[s.box][s.core], axis=0) for s in crowd], axis=0)
        what = f"{len(crowd)} specks of about {hex_of(rgb)} in one area, the first at [{x:.3f}, {y:.3f}]"
        notes.append(f"{what}: too many to number, so they are left out; dot or spatter them on at the end")
    return tuple(notes)


def _off(labels: np.ndarray, mode: np.ndarray, classes: Classes, rgb: np.ndarray, rules: SpeckRules) -> np.ndarray:
    """(h, w) bool: pixels off the colour of their region, or where regions shade off what is commonest near them."""
    if not rules.shaded:
        apart = np.linalg.norm(classes.tone[:, None] - mode[None], axis=-1) > CONTRAST
        apart[:, 0] = False
        off: np.ndarray = apart[classes.of_pixel, labels]
        return off
    side = min(odd(NEARBY * rules.most / COARSE), MOST_SIDE)
    common = cv2.medianBlur(np.ascontiguousarray(rgb[::COARSE, ::COARSE]), side)
    common = cv2.resize(common, rgb.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    index = np.arange(KEYS)
    tones = tone_of(np.stack([index >> 10, (index >> 5) & 31, index & 31], axis=-1) * 8 + 3.5).astype(np.float32)
    gap = np.linalg.norm(tones[keys_of(rgb)] - tones[keys_of(common)], axis=-1)
    near: np.ndarray = (gap > CONTRAST - KEY_STEP) & (labels > 0)
    return near


def _islands(labels: np.ndarray, off: np.ndarray, rules: SpeckRules) -> list[tuple[Box, np.ndarray]]:
    """(box, mask in it) of what is (h, w) bool off the colour of the one region round it, small, compact and alone."""
    pieces, n = components(off, corners=True)
    size = np.bincount(pieces.ravel(), minlength=n + 1)
    found = []
    for number, box in enumerate(boxes(pieces, n), 1):
        short, long = sorted(s.stop - s.start for s in box)
        if short < 2 or long > min(rules.most, ROUND * short) or size[number] < COMPACT * short * long:
            continue
        ring = _wider(box)
        around, own = labels[ring], pieces[ring]
        if (around == around.flat[0]).all() and ((own == 0) | (own == number)).all():
            found.append((box, pieces[box] == number))
    # OpenCV numbers pieces in no order to build on.
    return sorted(found, key=lambda island: (island[0][0].start, island[0][1].start))


def _wider(box: Box) -> Box:
    rows, columns = (slice(max(s.start - CLEAR, 0), s.stop + CLEAR) for s in box)
    return rows, columns


def _speck(box: Box, mask: np.ndarray, area: int, rgb: np.ndarray) -> _Speck | None:
    """The speck with its even core, None where it has none that stands out."""
    tones = tone_of(rgb[box][mask])
    near = np.linalg.norm(tones[:, None] - tones[None], axis=-1) < NEAR
    even = near[near.sum(1).argmax()]
    window = rgb[_wider(box)]
    frame = np.ones(window.shape[:2], bool)
    frame[1:-1, 1:-1] = False
    around = np.median(tone_of(window[frame]), axis=0)
    if even.sum() < max(CORE, CORE_SHARE * len(tones)) or np.linalg.norm(tones[even].mean(0) - around) < CONTRAST:
        return None
    core = mask.copy()
    core[mask] = even
    return _Speck(box, mask, core, area)
