"""What of a picture is looked at and how finely: its colours, its background, and the window that holds the figure.

A figure drawn small on a large sheet gets a working copy of its own, so that its small areas are not lost.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.basics.progress import doing
from finishplan.drawing.components import boxes, components, counted
from finishplan.drawing.contacts import BLURRED, SHARP, Trace
from finishplan.drawing.load import Loaded, load
from finishplan.drawing.palette import STREAKED, Laid
from finishplan.drawing.paper import Picture, hex_of, is_even, prepare, to_linear
from finishplan.drawing.regions import background
from finishplan.drawing.settings import ReadSettings
from finishplan.drawing.sheet import Corners, find_sheet
from finishplan.drawing.stray import at_edge, calmed, unruled
from finishplan.drawing.tones import Classes, Fineness, classify

CLEAN_NOISE = 0.4
EVEN_FILLS, STREAKS = 0.5, 1.0
"""Steps of 0-255 of streaks below which a drawing was made on a screen, and above which a hand laid its colours (our
rule: of softly lit photographs of even fills they have 0.5 to 0.8)."""
GRAIN_MEDIAN, GRAIN_STEP = 0.6745, 0.3
"""Of normal noise, the median of its absolute values to its standard deviation; how much more grain there may be than
was measured in whole steps."""
RINGING = 0.12
FAINT = 12.0
DESPECKLE = 2
LEAST_FLAT, LEAST_SOFT = 6, 1e-4
"""Quiet pixels that make a colour: of clean pictures their number, of others their part of the picture."""
SMALL_FIGURE = 0.5
"""A figure whose box takes less of the sheet than this is read from a working copy of its own."""
BLOCK, ROOM = 8, 16
"""The window begins at whole blocks and leaves room round the figure, working pixels: all later steps see the same."""
SHEET_ROOM = 0.08
"""Paper left round a small figure, in parts of its longer side: enough to judge the paper by."""
VARIED = 48
"""Of 255: more than paper, light and noise make a single colour vary."""
EDGE_NOTE = "left out along the edge of the sheet: table, finger or shadow; crop the picture yourself if it was figure"
TOLD = 0.002
"""Of the sheet, from which it is told (our rule)."""
STRAY = 100
"""Working pixels below which a spot on the sheet is no part of a small figure."""


@dataclass(frozen=True)
class Tuning:
    """How finely colours are told apart, by the grain of the picture. quiet: steps of 0-255 between neighbours that
    still count as even; width, reach, same: DIN99b, see tones.Fineness and merging.MergeRules; palette: DIN99b
    between two entries of the palette; faint: DIN99b within which a rare colour beside a frequent one is what lossy
    compression made of it, 0 where nothing was lost."""

    quiet: float
    width: float
    reach: float
    same: float
    palette: float
    soften: bool
    faint: float = 0.0

    @property
    def lossy(self) -> bool:
        """Whether grain or compression lies over the colours."""
        return self.soften or self.faint > 0

    @classmethod
    def of(cls, picture: Picture) -> "Tuning":
        """Tight for flat art, wider by the grain of a scan or photograph."""
        if picture.kind == "flat" and picture.noise < CLEAN_NOISE and picture.streaks < EVEN_FILLS:
            if picture.ringing < RINGING:
                return cls(3, 1.2, 3.0, 2.2, 2.2, False)
            # Flat, but rippled by compression: rare colours beside frequent ones are suspect.
            return cls(3, 2.0, 4.5, 4.0, 4.5, False, FAINT)
        return cls(5 + 3 * min(picture.noise, 6), 2.0, 4.5, 4.0, 4.5, True)


@dataclass(frozen=True, eq=False)
class View:
    """The window of the working copy that holds the figure; every array in it is (h, w). The picture file's pixels
    are no longer held.

    size: (width, height) of the file's picture. corner: (x, y) of the window from the sheet's corner, working pixels.
    longest: the longer side of what counts as the drawing, working pixels. ground: bool, background. paper:
    '#rrggbb' or None. layers, ink, ink_rgb, sheet: see load.Loaded.
    """

    source: str
    size: tuple[int, int]
    corner: tuple[float, float]
    longest: int
    picture: Picture
    tuning: Tuning
    classes: Classes
    ground: np.ndarray
    paper: str | None
    layers: tuple[tuple[str, np.ndarray], ...]
    ink: np.ndarray | None
    ink_rgb: tuple[int, int, int] | None
    notes: tuple[str, ...]
    sheet: Corners | None = None

    @property
    def laid_by_hand(self) -> bool:
        """Whether pencil, chalk or brush left streaks in the colours."""
        return self.tuning.soften and _streaked(self.picture)

    @property
    def trace(self) -> Trace:
        """How fine lines show that grain, a lens or compression all but hid."""
        return Trace(BLURRED.reach, BLURRED.depth + 3 * self.picture.noise) if self.tuning.lossy else SHARP

    @property
    def laid(self) -> Laid:
        """Which pixels of an area tell its colour."""
        if not self.laid_by_hand:
            return Laid()
        seen = self.picture.rgb[::4, ::4][self.ground[::4, ::4]]
        return Laid(STREAKED, to_linear(np.median(seen, axis=0)) if len(seen) else None)

    @property
    def share(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) of the window in parts of the sheet's width and height."""
        height, width = self.ground.shape
        across, down = (side * self.picture.scale for side in self.size)
        (left, top) = self.corner
        return left / across, top / down, min((left + width) / across, 1), min((top + height) / down, 1)

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Where on the sheet a place of the window lies, in parts of its width and height."""
        (across, down), scale = self.size, self.picture.scale
        return (x + self.corner[0]) / scale / across, (y + self.corner[1]) / scale / down


def look(path: Path, loaded: Loaded, settings: ReadSettings) -> View:
    """The view of the figure in a picture just loaded from `path`. Raises InputError when it shows none."""
    doing("Looking for the paper and the figure")
    loaded = _on_its_sheet(loaded, settings)
    view = _seen(loaded, settings)
    if view.ground.all() or (len(view.classes.rgb) < 2 and loaded.opaque is None):
        what, cure = "the picture is one colour all over", "give a drawing with a figure on it"
        if _varied(view.picture.rgb):
            what, cure = "no areas of even colour were found", "give a drawing with areas wider than its lines"
        raise InputError(what, where=str(path), cure=cure)
    box = _figure_box(view)
    # Only where pixels were left out can a closer look show more; layers have no more pixels than they are drawn with.
    if loaded.scale < 1 and not loaded.layers and (box[2] - box[0]) * (box[3] - box[1]) < SMALL_FIGURE:
        view = _closer(view, _again(path, loaded, box, settings.max_megapixels), box, settings)
    return _window(view)


def _on_its_sheet(loaded: Loaded, settings: ReadSettings) -> Loaded:
    """The sheet alone, where the picture is a photograph that shows a table round it; told that it is flat or scanned,
    it is taken as it is. A sheet with nothing on it is none."""
    if loaded.opaque is not None or loaded.layers or settings.kind in ("flat", "scan"):
        return loaded
    if settings.kind == "auto" and not loaded.camera and is_even(loaded.rgb):
        return loaded
    corners = find_sheet(loaded.averaged)
    if corners is None:
        return loaded
    sheet = loaded.straightened(tuple((float(x), float(y)) for x, y in corners / loaded.scale))
    # An empty sheet beside the drawing would hide the drawing.
    return sheet if _varied(sheet.averaged) else loaded


def _again(path: Path, loaded: Loaded, box: tuple[float, float, float, float], max_megapixels: float) -> Loaded:
    """The picture decoded as finely as needed to read what is in `box`."""
    if not loaded.reduced:
        return loaded
    whole = load(path, max_megapixels, box)
    return whole if loaded.sheet is None else whole.straightened(loaded.sheet)


def _varied(rgb: np.ndarray) -> bool:
    """Whether more than a speck of the picture is of another colour than the rest: noise, or lines alone."""
    # By counting, which is quicker than sorting.
    shares = [np.cumsum(counted(np.ascontiguousarray(rgb[..., k]), 256)) / rgb[..., k].size for k in range(3)]
    return any(np.searchsorted(share, 0.999) - np.searchsorted(share, 0.001) > VARIED for share in shares)


def figure_height(figure: np.ndarray) -> float:
    """Working pixels from the top to the bottom of the (h, w) bool figure, stray specks left out."""
    mass = np.cumsum(figure.sum(1))
    top, bottom = np.searchsorted(mass, [0.001 * mass[-1], 0.999 * mass[-1]])
    return float(bottom - top + 1)


def _seen(loaded: Loaded, settings: ReadSettings) -> View:
    picture = prepare(loaded, settings.paper_white, settings.kind)
    tuning = Tuning.of(picture)
    if tuning.soften:
        plain = unruled(picture.rgb)
        picture = replace(picture, rgb=calmed(plain, picture.streaks) if _streaked(picture) else plain)
    classes = _classes(picture, tuning)
    ground, notes = background(classes, picture.rgb, loaded.opaque), picture.notes
    if picture.kind == "photo":
        stray = at_edge(ground)
        ground |= stray
        notes += (EDGE_NOTE,) * bool(stray.mean() > TOLD)
    paper = picture.paper
    outside = ground[::4, ::4]
    if paper is None and loaded.opaque is None and outside.any():
        paper = hex_of(np.median(picture.rgb[::4, ::4][outside], axis=0))
    corner = loaded.corner[0] * picture.scale, loaded.corner[1] * picture.scale
    return View(
        loaded.source,
        loaded.size,
        corner,
        max(ground.shape),
        picture,
        tuning,
        classes,
        ground,
        paper,
        loaded.layers,
        loaded.ink,
        loaded.ink_rgb,
        loaded.notes + notes,
        loaded.sheet,
    )


def _streaked(picture: Picture) -> bool:
    """Whether more than grain makes its colours vary close by, as a hand does."""
    return picture.streaks**2 - (GRAIN_MEDIAN * (picture.noise + GRAIN_STEP)) ** 2 > STREAKS**2


def _figure_box(view: View) -> tuple[float, float, float, float]:
    """(left, top, right, bottom) of the figure with room for paper, in parts of the sheet; stray spots left out."""
    figure = ~view.ground
    height, width = figure.shape
    rows, columns = np.arange(0, height, BLOCK), np.arange(0, width, BLOCK)
    held = np.add.reduceat(np.add.reduceat(figure, rows, axis=0, dtype=np.uint8), columns, axis=1)
    pieces, n = components(held > 0, corners=True)
    mass = np.bincount(pieces.ravel(), held.ravel(), minlength=n + 1)
    kept = [box for i, box in enumerate(boxes(pieces, n), 1) if mass[i] >= min(STRAY, mass[1:].max())]
    top, left = (min(box[k].start for box in kept) * BLOCK for k in (0, 1))
    bottom, right = (max(box[k].stop for box in kept) * BLOCK for k in (0, 1))
    room = ROOM + SHEET_ROOM * max(bottom - top, right - left)
    return (
        max(left - room, 0) / width,
        max(top - room, 0) / height,
        min((right + room) / width, 1),
        min((bottom + room) / height, 1),
    )


def _closer(view: View, loaded: Loaded, box: tuple[float, float, float, float], settings: ReadSettings) -> View:
    """The same figure from a working copy of its own; `view` where that reads as another kind of picture."""
    near = _seen(loaded.cut(box), settings)
    first = view.picture
    alike = (near.picture.kind == "flat") == (first.kind == "flat") and (near.picture.paper is None) == (
        first.paper is None
    )
    if not alike or near.ground.all() or len(near.classes.rgb) < 2:
        return view
    # The kind was told by the whole sheet, with far more paper to go by.
    picture = replace(near.picture, kind=first.kind, paper=first.paper, notes=first.notes)
    return replace(near, size=view.size, picture=picture, paper=view.paper, notes=view.notes)


def _window(view: View) -> View:
    """The view cut to the figure."""
    figure = ~view.ground
    (top, bottom), (left, right) = (_ends(np.any(figure, axis)) for axis in (1, 0))
    box = np.s_[top:bottom, left:right]
    picture, classes = view.picture, view.classes
    return replace(
        view,
        corner=(view.corner[0] + left, view.corner[1] + top),
        picture=replace(
            picture, rgb=np.ascontiguousarray(picture.rgb[box]), own=np.ascontiguousarray(picture.own[box])
        ),
        classes=replace(
            classes,
            of_pixel=np.ascontiguousarray(classes.of_pixel[box]),
            quiet=np.ascontiguousarray(classes.quiet[box]),
        ),
        ground=np.ascontiguousarray(view.ground[box]),
        layers=tuple((name, mask[box]) for name, mask in view.layers),
        ink=None if view.ink is None else view.ink[box],
    )


def _ends(held: np.ndarray) -> tuple[int, int]:
    """First and one past the last True, with room, the first at a whole block."""
    at = np.flatnonzero(held)
    return max(int(at[0]) - ROOM, 0) // BLOCK * BLOCK, min(int(at[-1]) + 1 + ROOM, len(held))


def _classes(picture: Picture, tuning: Tuning) -> Classes:
    rgb = picture.rgb
    if tuning.soften:
        rgb = _median3(_median3(rgb, 0), 1)
    calm = _quiet(rgb, tuning.quiet)
    least = max(9, LEAST_SOFT * calm.size) if tuning.lossy else LEAST_FLAT
    classes = classify(rgb, calm, Fineness(tuning.width, tuning.reach, least, tuning.faint))
    if tuning.soften:
        tidy = classes.of_pixel
        for _ in range(DESPECKLE):
            tidy = _agreed3(_agreed3(tidy, 0), 1)
        classes = replace(classes, of_pixel=tidy)
    return classes


def _neighbours(values: np.ndarray, axis: int) -> tuple[np.ndarray, np.ndarray]:
    beside = np.concatenate([values.take([0], axis), values, values.take([-1], axis)], axis)
    return (beside[:-2], beside[2:]) if axis == 0 else (beside[:, :-2], beside[:, 2:])


def _median3(values: np.ndarray, axis: int) -> np.ndarray:
    """Median of each pixel and its two neighbours along the axis."""
    before, after = _neighbours(values, axis)
    low, high = np.minimum(before, after), np.maximum(before, after)
    result: np.ndarray = np.maximum(low, np.minimum(high, values, out=high), out=low)
    return result


def _agreed3(classes: np.ndarray, axis: int) -> np.ndarray:
    """Each pixel's class, or that of its two neighbours along the axis where these agree."""
    before, after = _neighbours(classes, axis)
    return np.where(before == after, before, classes)


def _quiet(rgb: np.ndarray, step: float) -> np.ndarray:
    """(h, w) bool: pixels that differ from none of their four neighbours by more than `step` in any channel."""
    calm = np.ones(rgb.shape[:2], bool)
    for channel in range(3):
        values = np.ascontiguousarray(rgb[..., channel])
        for here, there in ((np.s_[:, 1:], np.s_[:, :-1]), (np.s_[1:], np.s_[:-1])):
            one, two = values[here], values[there]
            even = np.maximum(one, two) - np.minimum(one, two) <= step
            calm[here] &= even
            calm[there] &= even
    return calm
