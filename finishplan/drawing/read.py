"""Reading a drawing: from a picture file to areas, edges, palette and parts."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from finishplan.drawing.describe import Reading, describe
from finishplan.drawing.linework import Lines, darkest, even, faint_lines, find_lines, odd, thick
from finishplan.drawing.load import Loaded, load
from finishplan.drawing.model import Drawing
from finishplan.drawing.palette import group_colours, region_colours
from finishplan.drawing.paper import Picture, prepare
from finishplan.drawing.parts import Pieces, letter_name, pieces_by_background, pieces_by_mask, read_parts_map
from finishplan.drawing.regions import (
    GROUND,
    UNKNOWN,
    MergeRules,
    absorb,
    background,
    connected,
    count_specks,
    ink_bits,
    merge,
    renumber,
    seeds,
)
from finishplan.drawing.tones import Classes, classify
from finishplan.errors import InputError

SPECK_MM = 0.3
"""The narrowest spot a fine brush can fill."""
USUAL_HEIGHT_MM = 60.0
CLEAN_NOISE = 0.4
STREAKS = 1.0
SOFT_SPECK_PX = 5
DESPECKLE = 2
LEAST_FLAT, LEAST_SOFT = 2e-5, 1e-4
"""Quiet pixels that make a colour, in parts of the picture."""
EVEN_SHARE = 0.3


@dataclass(frozen=True)
class Tuning:
    """How finely colours are told apart, by the grain of the picture. quiet: steps of 0-255 between neighbours that
    still count as even; width, reach, same: DIN99b, see tones.classify and regions.MergeRules; palette: DIN99b
    between two entries of the palette."""

    quiet: float
    width: float
    reach: float
    same: float
    palette: float
    soften: bool

    @classmethod
    def of(cls, picture: Picture) -> "Tuning":
        """Tight for flat art, wider by the grain of a scan or photograph."""
        if picture.kind == "flat" and picture.noise < CLEAN_NOISE and picture.streaks < STREAKS:
            return cls(3, 1.2, 3.0, 2.2, 2.2, False)
        return cls(5 + 3 * min(picture.noise, 6), 2.0, 4.5, 4.0, 4.5, True)


def read_drawing(
    path: Path,
    *,
    colours: int | None = None,
    paper_white: Literal["auto", "off"] = "auto",
    parts_map: Path | None = None,
    max_megapixels: float = 100,
    ink: str = "auto",
    height_mm: float | None = None,
) -> Drawing:
    """Read the drawing at `path`.

    colours: number of palette colours to force. paper_white: 'auto' brings the paper of scans and photographs to
    white. parts_map: picture of the same proportions with one flat colour per part. ink: 'auto', 'off' (lines are
    areas like others) or '#rrggbb', the colour of the lines. height_mm: the figure's height, for the least size of
    an area. Raises InputError.
    """
    _check_options(colours, ink, height_mm)
    with ThreadPoolExecutor(1) as aside:
        loading = aside.submit(load, Path(path), max_megapixels)
        import scipy.ndimage  # noqa: F401  takes as long as a large picture's decoding, and can pass beside it
    loaded = loading.result()
    picture = prepare(loaded, paper_white)
    tuning = Tuning.of(picture)
    classes = _classes(picture, tuning)
    ground, _ = background(classes, loaded.opaque)
    if ground.all() or (len(classes.rgb) < 2 and loaded.opaque is None):
        raise InputError(
            "the picture is one colour all over", where=str(path), cure="give a drawing with a figure on it"
        )
    height = figure_height(~ground)
    speck = odd(max(3.0, SPECK_MM / (height_mm or USUAL_HEIGHT_MM) * height))
    if tuning.soften:
        speck = max(speck, SOFT_SPECK_PX)
    lines = _lines(loaded, picture, tuning, classes, ground, speck, ink)
    marked = seeds(classes, lines, ground, speck)
    if tuning.soften and lines.rgb is not None:
        bits = ink_bits(marked, classes, lines.rgb, odd(1.6 * speck))
        marked[bits] = UNKNOWN
        lines = replace(lines, mask=lines.mask | bits)
    if (marked > 0).sum() < EVEN_SHARE * max((~ground & ~lines.mask).sum(), 1):
        raise InputError(
            "no areas of even colour were found",
            where=str(path),
            cure="give a drawing with coloured areas, not a photograph of a scene",
        )
    labels = absorb(marked, lines.mask, reach=2.5 * lines.width + 4)
    inner = _inner(marked)
    rules = MergeRules(tuning.same, 0.02 * height, picture.noise / 4)
    labels, mode = merge(labels, inner, classes, picture.rgb, lines.mask, rules)
    specks = count_specks(marked, labels, classes, lines, mode, largest=1.5 * speck)
    colour = _grouped(labels, inner, picture.rgb, tuning.palette, colours)
    pieces, lost = _pieces(loaded, labels > 0, parts_map, (2.0 * speck) ** 2)
    if not pieces.names:
        raise InputError("no figure was found", where=str(path), cure="give a drawing with a figure on it")
    key = np.where(pieces.of_pixel > 0, colour * len(pieces.names) + pieces.of_pixel, 0)
    areas = _clean(key.astype(np.int32), speck, slivers=parts_map is not None or bool(loaded.layers))
    notes = loaded.notes + picture.notes + _notes(specks, lost, colours, colour)
    return describe(Reading(loaded, picture, lines, areas, colour, pieces, inner, height, notes))


def _check_options(colours: int | None, ink: str, height_mm: float | None) -> None:
    if colours is not None and not 1 <= colours <= 64:
        raise InputError(f"{colours} colours", cure="ask for 1 to 64")
    if ink not in ("auto", "off") and not re.fullmatch(r"#[0-9a-fA-F]{6}", ink):
        raise InputError(f"'{ink}' is no colour of ink", cure="write 'auto', 'off' or '#rrggbb'")
    if height_mm is not None and not 1 <= height_mm <= 5000:
        raise InputError(f"a figure {height_mm:g} mm high", cure="give its height in mm, 1 to 5000")


def _classes(picture: Picture, tuning: Tuning) -> Classes:
    rgb = picture.rgb
    if tuning.soften:
        rgb = np.stack([_median3(_median3(rgb[..., k], 0), 1) for k in range(3)], -1)
    calm = _quiet(rgb, tuning.quiet)
    least = max(9, (LEAST_SOFT if tuning.soften else LEAST_FLAT) * calm.size)
    classes = classify(rgb, calm, tuning.width, tuning.reach, least)
    if tuning.soften:
        tidy = classes.of_pixel
        for _ in range(DESPECKLE):
            tidy = _agreed3(_agreed3(tidy, 0), 1)
        classes = replace(classes, of_pixel=tidy)
    return classes


def _neighbours(values: np.ndarray, axis: int) -> tuple[np.ndarray, np.ndarray]:
    before = np.concatenate([values.take([0], axis), values[:-1] if axis == 0 else values[:, :-1]], axis)
    after = np.concatenate([values[1:] if axis == 0 else values[:, 1:], values.take([-1], axis)], axis)
    return before, after


def _median3(values: np.ndarray, axis: int) -> np.ndarray:
    """Median of each pixel and its two neighbours along the axis."""
    before, after = _neighbours(values, axis)
    low, high = np.minimum(before, after), np.maximum(before, after)
    result: np.ndarray = np.maximum(low, np.minimum(high, values))
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


def figure_height(figure: np.ndarray) -> float:
    """Working pixels from the top to the bottom of the figure, stray specks left out."""
    mass = np.cumsum(figure.sum(1))
    top, bottom = np.searchsorted(mass, [0.001 * mass[-1], 0.999 * mass[-1]])
    return float(bottom - top + 1)


def _lines(
    loaded: Loaded, picture: Picture, tuning: Tuning, classes: Classes, ground: np.ndarray, speck: int, ink: str
) -> Lines:
    none = Lines(np.zeros(ground.shape, bool), (), 1, None)
    if loaded.ink is not None and loaded.ink_rgb is not None:
        bare = loaded.ink & ~np.any([mask for _, mask in loaded.layers], axis=0)
        return Lines(bare, (), float(speck), np.array(loaded.ink_rgb, float))
    if ink == "off":
        return none
    found = find_lines(classes, picture.rgb, ground, speck)
    if found.rgb is not None and tuning.soften:
        found = replace(found, rgb=darkest(picture.rgb, found.mask))
    if ink != "auto":
        found = replace(found, rgb=np.array([int(ink[i : i + 2], 16) for i in (1, 3, 5)], float))
    if found.rgb is None:
        mask, rgb = faint_lines(picture.rgb, ~ground)
        return Lines(mask, (), 1, rgb)
    return found


def _inner(marked: np.ndarray) -> np.ndarray:
    """(h, w) bool: seed pixels away from the rim of their seed, or all of a seed that is too narrow for that."""
    n = int(marked.max())
    inner = marked > 0
    for side in (5, 3):
        middle = even(marked, side) & (marked > 0)
        has = np.bincount(marked[middle], minlength=n + 1) > 0
        inner &= middle | ~has[np.maximum(marked, 0)]
    return inner


def _grouped(labels: np.ndarray, inner: np.ndarray, rgb: np.ndarray, same: float, colours: int | None) -> np.ndarray:
    """(h, w) int: the palette colour of each pixel, -1 outside the figure."""
    labels, n = renumber(labels)
    region_rgb = region_colours(rgb, labels, inner & (labels > 0), n)
    weight = np.bincount(labels.ravel(), minlength=n + 1)
    group = np.full(n + 1, -1)
    group[1:] = group_colours(region_rgb[1:], weight[1:], same, colours)
    of_pixel: np.ndarray = group[labels]
    return of_pixel


def _pieces(loaded: Loaded, figure: np.ndarray, parts_map: Path | None, least: float) -> tuple[Pieces, int]:
    if parts_map is not None:
        pieces = pieces_by_mask(figure, read_parts_map(parts_map, loaded.size, figure.shape))
        return replace(pieces, names=tuple(letter_name(i) for i in range(len(pieces.names)))), 0
    if loaded.layers:
        return pieces_by_mask(figure, list(loaded.layers)), 0
    return pieces_by_background(figure, least)


def _clean(key: np.ndarray, speck: int, *, slivers: bool) -> np.ndarray:
    """Connected patches of one key; specks, and slivers that borders of parts cut off, are given to the nearest."""
    marked = connected(key)
    small = np.bincount(marked.ravel()) < speck**2
    if slivers:
        small |= np.bincount(marked[thick(marked, speck)], minlength=len(small)) == 0
    small[0] = False
    if small.any() and not small[1:].all():
        marked[key == 0] = GROUND
        marked[small[np.maximum(marked, 0)] & (marked > 0)] = UNKNOWN
        hole = marked == UNKNOWN
        marked = absorb(marked, hole, reach=1e9)
        marked[key == 0] = 0
    return renumber(marked)[0]


def _notes(specks: int, lost: int, wanted: int | None, colour: np.ndarray) -> tuple[str, ...]:
    notes = []
    if specks:
        notes.append(f"specks too small for a fine brush ({SPECK_MM:g} mm), folded into their areas: {specks}")
    if lost:
        notes.append(f"stray specks left out on the background: {lost}")
    found = int(colour.max()) + 1
    if wanted is not None and found < wanted:
        notes.append(f"{wanted} colours were asked for; the drawing shows {found}")
    return tuple(notes)
