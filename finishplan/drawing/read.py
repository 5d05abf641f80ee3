"""Reading a drawing: from a picture file to areas, edges, palette and parts."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.basics.progress import doing
from finishplan.basics.words import listed
from finishplan.drawing.components import connected
from finishplan.drawing.contacts import Contacts, Parting, compact, contacts, shortest_fold
from finishplan.drawing.describe import Patches, Reading, describe
from finishplan.drawing.details import InnerLine, broader, inner_lines, painted, same_colour, told
from finishplan.drawing.filters import even, odd, thick
from finishplan.drawing.gaps import Bare, without_gaps
from finishplan.drawing.hidden import hidden
from finishplan.drawing.linework import WIDEST_LINE, Lines, Sheet, darkest, faint_lines, find_lines
from finishplan.drawing.load import load
from finishplan.drawing.merging import FREE_OF_LINES, SOFT, MergeRules, Painted, merge, shaded_share
from finishplan.drawing.model import USUAL_HEIGHT_MM, Drawing
from finishplan.drawing.outlines import settled
from finishplan.drawing.palette import group_colours, region_colours, shaded_colours
from finishplan.drawing.parts import Pieces, letter_name, pieces_by_background, pieces_by_mask
from finishplan.drawing.parts_map import read_parts_map
from finishplan.drawing.regions import (
    GROUND,
    UNKNOWN,
    absorb,
    ink_bits,
    renumber,
    seeds,
    thin_strips,
)
from finishplan.drawing.settings import ReadSettings
from finishplan.drawing.shades import Toned, shaded, toned_as
from finishplan.drawing.soft_shades import soft_tones
from finishplan.drawing.specks import Specks, find_specks, speck_notes, speck_rules, with_specks
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import View, figure_height, look

SPECK_MM = 0.3
"""The narrowest spot a fine brush can fill."""
SOFT_SPECK_PX = 5
COLOUR_BLOCK = 16
"""Pixels of the file over which JPEG with halved colour spreads a hue."""
EVEN_SHARE = 0.3
BARE_SHARE = 0.05
"""Of the figure on a parts map's background, beyond which it is told."""
MOST_NAMED = 6
MODELLED, UNEVEN_LIGHT, UNEVEN_SAME = 0.35, 0.4, 4.0
"""Where more than this share of the figure is shaded softly, or a hand pressed on more or less, areas of one colour
differ in mean lightness: what that counts for, within so much DIN99b."""
MOST_REGIONS = 3000
"""Patches whose colours are compared each with each (our limit: 200 MB, and ten times what the busiest figure has)."""
RARE, DOUBTFUL = 0.004, 5
"""Of the figure, that a colour takes which may be none; so many of them are told (our rule)."""


def read_drawing(
    path: Path,
    settings: ReadSettings | None = None,
    **options: Any,
) -> Drawing:
    """Read the drawing at `path`.

    options: settings by name, in place of those given. Raises InputError.
    """
    settings = replace(settings or ReadSettings(), **options)
    settings.check_for(path := Path(path))
    view = look(path, load(path, settings.max_megapixels), settings)
    size = _scale(view, settings)
    found = _regions(path, view, size, settings)
    labels, lines, group = found.labels, found.lines, found.group
    pieces, lost, said = _pieces(view, labels > 0, lines.mask, settings.parts_map, (2.0 * size.speck) ** 2)
    if not pieces.names:
        raise InputError("no figure was found", where=str(path), cure="give a drawing with a figure on it")
    cut = settings.parts_map is not None or bool(view.layers)
    patches = _clean(_patches(labels, found.touching, group, pieces, cut=cut), size.speck, found.dots, slivers=cut)
    what = "colours of the parts map" if settings.parts_map is not None else "layers" if view.layers else "pieces"
    patches, names, empty = _with_areas(patches, pieces.names, what)
    details, patches, lines, inner = _with_details(view, patches, lines, found.inner, settings)
    told = _notes(lost, settings.colours, len(np.unique(group[1:])))
    doubt = _doubt(patches) if view.tuning.soften and settings.colours is None else ()
    notes = (*view.notes, *said, *empty, *found.notes, *told, *doubt)
    shades, modelled = found.toned.shades, found.modelled
    return describe(Reading(view, lines, patches, names, inner, size.mm, notes, shades, details, modelled))


@dataclass(frozen=True)
class _Scale:
    """speck: working pixels of the narrowest spot that counts; height: of the figure; mm: working pixels to one."""

    speck: int
    height: float
    mm: float


@dataclass(frozen=True, eq=False)
class _Regions:
    """What is one colour, shades folded in or apart. labels: (h, w) int, 1..n; inner: (h, w) bool, pixels to judge
    colours by; group: (n + 1,) palette colour of each; dots: (h, w) bool, specks that are areas; modelled: shaded
    softly, and not by hand."""

    labels: np.ndarray
    inner: np.ndarray
    lines: Lines
    met: Contacts
    toned: Toned
    group: np.ndarray
    dots: np.ndarray
    notes: tuple[str, ...]
    modelled: bool

    @property
    def touching(self) -> np.ndarray:
        """(m, 2) regions that are one where they have one colour."""
        met = self.met
        pairs: np.ndarray = met.pairs[(met.drawn_share < FREE_OF_LINES) | (met.facing >= shortest_fold(self.lines))]
        return pairs


def _regions(path: Path, view: View, size: _Scale, settings: ReadSettings) -> _Regions:
    """Regions of one colour with their shades."""
    parting, specks, varied = _parted(path, view, size, settings)
    notes, dots = speck_notes(specks, view, size.mm), specks.mask(parting.labels.shape)
    paper = _bare(view)
    # Layers and parts maps tell themselves what is figure.
    if paper is not None and not view.layers and settings.parts_map is None:
        parting, told = without_gaps(view, parting, paper, _places(view, settings))
        notes += told
    labels, inner, lines, met = parting.labels, parting.inner, parting.lines, parting.met
    modelled = varied > MODELLED
    folding = settings.shading == "base" or modelled
    soft, judged, n = modelled and not view.laid_by_hand, inner & (labels > 0), parting.regions
    rgb = view.picture.rgb
    own = shaded_colours(rgb, labels, judged, n) if soft else region_colours(rgb, labels, judged, n, view.laid)
    toned = shaded(labels, own, met, fold=folding, modelled=modelled)
    light = UNEVEN_LIGHT if soft or view.laid_by_hand else 1.0
    group = _grouped(toned, view.tuning.palette, settings.colours, light)
    if folding:
        labels, group, met, inner = toned.folded(labels, group, met, inner)
    found = _Regions(labels, inner, lines, met, toned, group, dots, notes, soft)
    return _with_soft_tones(view, found, size.speck) if modelled and settings.shading == "own mix" else found


def _parted(path: Path, view: View, size: _Scale, settings: ReadSettings) -> tuple[Parting, Specks, float]:
    """(Seeds, joined where they are one colour, with the specks in them; these specks; the share of the figure that is
    softly shaded.)"""
    marked, lines = _seeded(path, view, size, settings)
    painted = Painted(view.picture.rgb, view.classes, _inner(marked))
    marked, lines = hidden(marked, lines, view.classes, view.longest, view.tuning.same)
    labels = absorb(marked, lines.mask, reach=2.5 * lines.width + 4)
    rules = _rules(view, size, lines)
    labels, tones, met = merge(labels, painted, lines, rules)
    if len(tones.pixels) > MOST_REGIONS:
        what = f"{len(tones.pixels)} patches of colour were found, too many to be areas"
        raise InputError(what, where=str(path), cure="smooth its specks away in a drawing program, or save it smaller")
    varied = shaded_share(tones, rules.grain)
    small = speck_rules(view, size.speck, size.mm, shaded=varied > MODELLED)
    specks = find_specks(labels, tones.mode(view.classes), view.classes, view.picture.rgb, small)
    parting = with_specks(Parting(labels, painted.inner, lines, met), specks, view)
    return parting, specks, varied


def _bare(view: View) -> Bare | None:
    """The paper of a drawing on paper."""
    tone, picture = _paper_tone(view), view.picture
    if tone is None or view.paper is None:
        return None
    lossy = view.tuning.soften
    return Bare.seen(tone, picture.rgb, view.ground, photo=picture.kind == "photo") if lossy else Bare(tone)


def _places(view: View, settings: ReadSettings) -> list[tuple[float, float]]:
    """The places of details, x and y in the window."""
    (across, down), (left, top), scale = view.size, view.corner, view.picture.scale
    return [(x * across * scale - left, y * down * scale - top) for x, y in settings.details]


def _rules(view: View, size: _Scale, lines: Lines) -> MergeRules:
    return MergeRules(
        view.tuning.same,
        0.02 * size.height,
        view.picture.noise / 4,
        shortest_fold(lines),
        view.tuning.lossy * COLOUR_BLOCK * view.picture.scale,
        SOFT,
        _paper_tone(view) if view.tuning.soften else None,
        view.laid_by_hand,
        np.zeros((0, 3)) if lines.rgb is None else tone_of(lines.rgb[None]),
        lines.width,
        view.trace,
        view.laid.paper,
    )


def _scale(view: View, settings: ReadSettings) -> _Scale:
    height, tall = figure_height(~view.ground), settings.height_mm or USUAL_HEIGHT_MM
    speck = odd(max(3.0, SPECK_MM / tall * height))
    return _Scale(max(speck, SOFT_SPECK_PX) if view.tuning.soften else speck, height, height / tall)


def _paper_tone(view: View) -> np.ndarray | None:
    """(3,) DIN99b of the background."""
    seen = view.picture.rgb[::4, ::4][view.ground[::4, ::4]]
    return tone_of(np.median(seen, axis=0)) if len(seen) else None


def _seeded(path: Path, view: View, size: _Scale, settings: ReadSettings) -> tuple[np.ndarray, Lines]:
    """(The thick pieces of each colour, numbered; the drawn lines.)"""
    doing("Finding the drawn lines")
    speck, lines = size.speck, _lines(view, size.speck, settings)
    # Compression makes edges of its own, along which seeds would be cut to pieces.
    marked = seeds(view.classes, lines, view.ground, speck, split=not view.tuning.lossy)
    if lines.rgb is not None and lines.mask.any():
        side = odd(1.6 * max(speck, SOFT_SPECK_PX))
        bits = ink_bits(marked, view.classes, lines, side, grain=view.tuning.lossy)
        if not view.tuning.soften and (len(lines.others) or lines.width < WIDEST_LINE / 2 * view.longest):
            bits |= thin_strips(marked, view.picture.rgb, lines)
        marked[bits] = UNKNOWN
        marked = np.where(view.ground, GROUND, renumber(np.maximum(marked, 0))[0])
        lines = replace(lines, mask=lines.mask | bits)
    if (marked > 0).sum() < EVEN_SHARE * max((~view.ground & ~lines.mask).sum(), 1) or not (marked > 0).any():
        cure = (
            f"give one with areas of even colour, wider than its lines and than {speck / size.mm:.1f} mm on the figure"
        )
        raise InputError("no areas of even colour were found", where=str(path), cure=cure)
    return marked, lines


def _lines(view: View, speck: int, settings: ReadSettings) -> Lines:
    ground, picture = view.ground, view.picture
    if view.ink is not None and view.ink_rgb is not None:
        bare = view.ink & ~np.any([mask for _, mask in view.layers], axis=0)
        return Lines(bare, float(speck), np.array(view.ink_rgb, float))
    if settings.lines == "none":
        return Lines(np.zeros(ground.shape, bool), 1, None)
    told = None if settings.lines == "auto" else float(settings.lines) * picture.scale
    sheet = Sheet(picture.rgb, ground, speck, view.longest, view.laid_by_hand, told)
    found = find_lines(view.classes, sheet)
    if found.rgb is not None and view.tuning.soften and found.mask.any():
        found = replace(found, rgb=darkest(picture.rgb, found.mask))
    if found.rgb is None:
        mask, rgb = faint_lines(picture.rgb, ~ground)
        found = Lines(mask, 1, rgb)
    return found if view.tuning.soften else settled(found, view.classes, sheet)


def _inner(marked: np.ndarray) -> np.ndarray:
    """(h, w) bool: seed pixels away from the rim of their seed, or all of a seed that is too narrow for that."""
    seeded = compact(np.maximum(marked, 0))
    inner = inside = marked > 0
    for side in (5, 3):
        middle = even(seeded, side) & inside
        narrow = np.ones(int(seeded.max()) + 1, bool)
        narrow[seeded[middle]] = False
        inner = inner & (middle | narrow.take(seeded))
    return inner


def _with_soft_tones(view: View, found: _Regions, speck: int) -> _Regions:
    """The regions with the dark and light parts of soft shadings as regions of their own."""
    rgb = view.picture.rgb
    labels, base = soft_tones(found.labels, rgb, speck)
    toned = toned_as(labels, region_colours(rgb, labels, found.inner & (labels > 0), len(base) - 1), base)
    met = contacts(labels, rgb, found.lines, view.trace)
    return replace(found, labels=labels, met=met, toned=toned, group=_with_shades(found.group[base], toned))


def _with_shades(group: np.ndarray, toned: Toned) -> np.ndarray:
    """(n + 1,) the groups (n + 1,) of the regions, a darker or lighter tone in that of its base's darker or lighter."""
    tone = toned.base != np.arange(len(toned.base))
    return np.where(tone, len(group) + 2 * group[toned.base] + toned.lighter, group)


def _grouped(toned: Toned, same: float, colours: int | None, light: float) -> np.ndarray:
    """(n + 1,) the palette colour of each region, -1 for none; tones of one base, darker or lighter, share one. light:
    what a difference of lightness counts for."""
    regions = np.arange(len(toned.base))
    own = np.flatnonzero(toned.base == regions)[1:]
    group = np.full(len(regions), -1)
    group[own] = group_colours(
        toned.rgb[own], toned.pixels[own], same if light == 1 else max(same, UNEVEN_SAME), colours, light
    )
    for orphan, base in toned.orphans(same):
        group[orphan] = group[base]
    return _with_shades(group, toned)


def _pieces(
    view: View, figure: np.ndarray, lines: np.ndarray, parts_map: Path | None, least: float
) -> tuple[Pieces, int, tuple[str, ...]]:
    """(The pieces; stray specks left out; notes.) A parts map's are named by their colours."""
    doing("Finding the pieces")
    top, tall = view.corner[1], view.size[1] * view.picture.scale
    if parts_map is not None:
        found = read_parts_map(parts_map, view.size, view.share, figure, lines)
        said = f"{found.bare:.0%} of the figure lies on the parts map's background {found.ground}".rstrip()
        notes = (f"{said}: given to the nearest part",) if found.bare > BARE_SHARE else ()
        return pieces_by_mask(figure, found.named, top, tall), 0, notes
    if view.layers:
        return pieces_by_mask(figure, list(view.layers), top, tall), 0, ()
    return *pieces_by_background(figure, least, top, tall), ()


def _patches(labels: np.ndarray, touching: np.ndarray, group: np.ndarray, pieces: Pieces, *, cut: bool) -> Patches:
    """The connected patches of one colour on one part. touching: (m, 2) regions that share a border; cut: parts may
    cut through a region."""
    if cut:
        key = np.where(pieces.of_pixel > 0, group[labels] * len(pieces.names) + pieces.of_pixel, 0)
        marked = connected(key.astype(np.int32))
        of_patch = np.zeros(int(marked.max()) + 1, int)
        of_patch[marked] = np.maximum(key - 1, 0)
        return Patches(marked, of_patch // len(pieces.names), of_patch % len(pieces.names) + 1)
    part = np.zeros(len(group), np.int32)
    part[labels] = pieces.of_pixel
    one = np.arange(len(group))
    for a, b in touching[group[touching[:, 0]] == group[touching[:, 1]]]:
        one[one == one[b]] = one[a]
    one[part == 0] = 0
    kept, number = np.unique(np.concatenate([[0], one]), return_inverse=True)
    return Patches(number[1:].astype(np.int32)[labels], group[kept], part[kept])


def _clean(patches: Patches, speck: int, dots: np.ndarray, *, slivers: bool) -> Patches:
    """Specks other than the (h, w) bool dots, and slivers that borders of parts cut off, are given to the nearest
    patch."""
    marked = patches.labels
    small = np.bincount(marked.ravel(), minlength=len(patches.part)) < speck**2
    if slivers:
        small |= np.bincount(marked[thick(marked, speck)], minlength=len(small)) == 0
    small[marked[dots]] = False
    small[0] = False
    if not small.any() or small[1:].all():
        return patches
    outside = marked == 0
    marked = np.where(outside, GROUND, np.where(small[marked], UNKNOWN, marked))
    marked = absorb(marked, marked == UNKNOWN, reach=1e9)
    marked[outside] = 0
    return Patches(renumber(marked)[0], patches.colour[~small], patches.part[~small])


def _with_areas(
    patches: Patches, names: tuple[str, ...], what: str
) -> tuple[Patches, tuple[str, ...], tuple[str, ...]]:
    """The patches with the parts that hold one, the names of these, and a note of the others. what: the parts were made
    of; all but layers are named by letters."""
    held = np.unique(patches.part[1:])
    table = np.zeros(len(names) + 1, np.int32)
    table[held] = np.arange(1, len(held) + 1)
    kept = tuple(names[part - 1] if what == "layers" else letter_name(i) for i, part in enumerate(held))
    empty = [name for number, name in enumerate(names, 1) if number not in held]
    note = f"{what} that hold no area of the figure, so no part: {listed(empty, MOST_NAMED)}"
    return replace(patches, part=table[patches.part]), kept, (note,) if empty else ()


def _with_details(
    view: View, patches: Patches, lines: Lines, inner: np.ndarray, settings: ReadSettings
) -> tuple[tuple[InnerLine, ...], Patches, Lines, np.ndarray]:
    """(The strokes left; patches, lines and inner pixels after those the maker told of became areas, those
    broader than the lines he told too.)"""
    found = inner_lines(patches.labels, lines, view.picture.rgb)
    chosen = told(found, _places(view, settings), view.longest)
    if isinstance(settings.lines, int | float):
        broad = broader(found, settings.lines * view.picture.scale)
        chosen = tuple(dict.fromkeys((*chosen, *broad)))
    if not chosen:
        return found, patches, lines, inner
    n = len(patches.part) - 1
    labels, lines, mask = painted(patches.labels, lines, chosen, n + 1)
    rgb = region_colours(view.picture.rgb, patches.labels, inner & (patches.labels > 0), n)
    colour = patches.colour.tolist()
    for stroke in chosen:
        like = same_colour(stroke.rgb, rgb[1:], view.tuning.palette)
        colour.append(max(colour) + 1 if like is None else colour[like + 1])
        rgb = np.vstack([rgb, stroke.rgb])
    part = np.concatenate([patches.part, [patches.part[stroke.area] for stroke in chosen]])
    left_over = tuple(stroke for stroke in found if stroke not in chosen)
    return left_over, Patches(labels, np.array(colour), part), lines, inner | mask


def _doubt(patches: Patches) -> tuple[str, ...]:
    """What to tell where a scan or photograph shows many colours on hardly any of the figure."""
    pixels = np.bincount(patches.colour[patches.labels[patches.labels > 0]])
    rare = int(((pixels > 0) & (pixels < RARE * pixels.sum())).sum())
    cure = f"tell how many there are (colours = {int((pixels > 0).sum()) - rare}), crop it, or take it in flatter light"
    said = f"{rare} colours lie on under {RARE:.1%} of the figure each. If they are shadow, grain or table: {cure}"
    return (said,) if rare >= DOUBTFUL else ()


def _notes(lost: int, wanted: int | None, found: int) -> tuple[str, ...]:
    notes = []
    if lost:
        notes.append(f"stray specks left out on the background: {lost}")
    if wanted is not None and found < wanted:
        notes.append(f"{wanted} colours were asked for; the drawing shows {found}")
    return tuple(notes)
