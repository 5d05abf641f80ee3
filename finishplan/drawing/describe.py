"""From labelled pixels to the Drawing: numbers in reading order, colours, sizes, edges, hints, notes."""

from dataclasses import dataclass, replace

import numpy as np

from finishplan.basics.progress import doing
from finishplan.colour.lab import Lab
from finishplan.drawing import measure
from finishplan.drawing.contacts import contacts, shortest_edge
from finishplan.drawing.details import InnerLine, stroke_note
from finishplan.drawing.linework import Lines
from finishplan.drawing.model import Area, Detail, Drawing, DrawnPart, Edge, Hint, PaletteColour, Shade
from finishplan.drawing.palette import region_colours, shaded_colours
from finishplan.drawing.paper import from_linear, hex_of, to_linear
from finishplan.drawing.parts import reading_order, twins
from finishplan.drawing.shades import Shades
from finishplan.drawing.tones import lab_of, tone_of
from finishplan.drawing.view import View

SOFT = 0.5
DRAWN = 0.3
"""An edge of which a line covers less than this has none."""

AS_PAPER = 4.0
"""CIE Lab units from the paper's colour within which an area may be paper (our rule: told apart only side by side)."""
GAP = Hint("paper", "as white as the paper, with the figure all round: a gap? Write paper = true")


@dataclass(frozen=True, eq=False)
class Patches:
    """labels: (h, w) int32, areas 1..n in any order, 0 outside. colour, part: (n + 1,) of each, colours from 0, parts
    from 1."""

    labels: np.ndarray
    colour: np.ndarray
    part: np.ndarray


@dataclass(frozen=True, eq=False)
class Reading:
    """names: of the parts. inner: (h, w) bool, pixels to judge colours by. mm: working pixels to a millimetre.
    modelled: most of the figure is shaded softly."""

    view: View
    lines: Lines
    patches: Patches
    names: tuple[str, ...]
    inner: np.ndarray
    mm: float
    notes: tuple[str, ...]
    shades: Shades
    details: tuple[InnerLine, ...]
    modelled: bool


@dataclass(frozen=True, eq=False)
class _Told:
    """Of the areas by number: what encloses each, what it suggests, and the shades that belong to it."""

    around: dict[int, int]
    hints: dict[int, tuple[Hint, ...]]
    shades: dict[int, tuple[Shade, ...]]


def describe(reading: Reading) -> Drawing:
    """Measure everything and number it."""
    doing("Measuring and numbering the areas")
    patches, size = _numbered(reading)
    labels, part_of, n = patches.labels, patches.part, len(patches.part) - 1
    rgb = _own_colours(reading, labels, n)
    palette_rgb, colour_of = _palette_rgb(rgb, size.pixels, patches.colour)
    lengths = measure.lengths(labels, n)
    edges = _edges(reading, labels, lengths, rgb, part_of)
    around = _enclosers(lengths, edges, n)
    labs = _labs(rgb)
    folded, blends = _shades(reading.shades, labels, part_of)
    hints = _hints(blends, around, labs, size, reading.mm)
    hints |= {i: (*hints.get(i, ()), GAP) for i in _gaps(reading.view, lengths, around, labs)}
    numbered = replace(patches, colour=colour_of)
    areas = _areas(reading.view, numbered, size, rgb, _Told(around, hints, folded))
    view, details = reading.view, _details(reading, labels)
    return Drawing(
        source=view.source,
        size=view.size,
        scale=view.picture.scale,
        kind=view.picture.kind,
        ink=None if reading.lines.rgb is None else hex_of(reading.lines.rgb),
        paper=view.paper,
        palette=_palette(palette_rgb, areas),
        areas=areas,
        edges=edges,
        parts=_parts(reading, areas, labels, part_of, colour_of),
        labels=labels,
        ink_mask=(reading.lines.mask if view.ink is None else view.ink) & (labels > 0),
        notes=(*reading.notes, *stroke_note(details, view.size)),
        origin=_place(view, 0, 0),
        details=details,
        sheet=view.sheet,
    )


def _details(reading: Reading, labels: np.ndarray) -> tuple[Detail, ...]:
    scale = reading.view.picture.scale
    told = []
    for found in reading.details:
        x, y = found.at
        length, width = round(found.length / scale, 1), round(found.width / scale, 1)
        at, area = _place(reading.view, x, y), int(labels[int(y), int(x)])
        told.append(Detail(area, at, length, width, hex_of(found.rgb), found.alone))
    return tuple(sorted(told, key=lambda line: (line.area, -line.length_px)))


def _areas(view: View, patches: Patches, size: measure.Sizes, rgb: np.ndarray, told: _Told) -> tuple[Area, ...]:
    scale, total, labs = view.picture.scale, size.pixels[1:].sum(), _labs(rgb)
    return tuple(
        Area(
            id=i,
            part=int(patches.part[i]) - 1,
            colour=int(patches.colour[i]),
            hex=hex_of(rgb[i]),
            lab=labs[i],
            share=float(size.pixels[i] / total),
            pixels=float(size.pixels[i] / scale**2),
            narrow_px=round(float(size.narrow[i] / scale), 2),
            wide_px=round(float(size.wide[i] / scale), 2),
            label_xy=_place(view, *size.label_xy[i]),
            bbox=(*_place(view, *size.bbox[i, :2]), *_place(view, *size.bbox[i, 2:])),
            enclosed_by=told.around.get(i),
            hints=told.hints.get(i, ()),
            shades=told.shades.get(i, ()),
        )
        for i in range(1, len(patches.part))
    )


def _palette(rgb: np.ndarray, areas: tuple[Area, ...]) -> tuple[PaletteColour, ...]:
    return tuple(
        PaletteColour(
            hex=hex_of(colour),
            lab=lab,
            share=float(sum(a.share for a in areas if a.colour == c)),
            areas=tuple(a.id for a in areas if a.colour == c),
        )
        for c, (colour, lab) in enumerate(zip(rgb, _labs(rgb), strict=True))
    )


def _labs(rgb: np.ndarray) -> list[Lab]:
    """CIE Lab D65 of sRGB (n, 3), 0-255."""
    return [(L, a, b) for L, a, b in np.round(lab_of(rgb), 3).tolist()]


def _place(view: View, x: float, y: float) -> tuple[float, float]:
    """A place in the window, in pixels of the sheet as given."""
    scale = view.picture.scale
    return round(float((x + view.corner[0]) / scale), 2), round(float((y + view.corner[1]) / scale), 2)


def _numbered(reading: Reading) -> tuple[Patches, measure.Sizes]:
    """The patches in reading order part by part, and their sizes."""
    patches = reading.patches
    n = len(patches.part) - 1
    size = measure.sizes(patches.labels, n)
    order: list[int] = []
    for part in range(1, len(reading.names) + 1):
        members = [i for i in range(1, n + 1) if patches.part[i] == part]
        corners = [(float(size.label_xy[i, 0]), float(size.label_xy[i, 1])) for i in members]
        # From the part's own top: its rows must not depend on where on the sheet it lies.
        top = min((y for _, y in corners), default=0.0)
        tall = max((y for _, y in corners), default=0.0) - top
        order += [members[k] for k in reading_order([(x, y - top) for x, y in corners], tall)]
    table = np.zeros(n + 1, np.int32)
    table[order] = np.arange(1, n + 1)
    old = [0, *order]
    size = measure.Sizes(*(values[old] for values in vars(size).values()))
    return Patches(table[patches.labels], patches.colour[old], patches.part[old]), size


def _own_colours(reading: Reading, labels: np.ndarray, n: int) -> np.ndarray:
    """(n + 1, 3) sRGB of each area; an area without a pixel well inside is judged by all that are not line."""
    figure = labels > 0
    inner = reading.inner & figure
    # First what is no line, then anything: a sliver must have some colour.
    for fallback in (~reading.lines.mask & figure, figure):
        has = np.zeros(n + 1, bool)
        has[labels[inner]] = True
        if has[1:].all():
            break
        inner |= fallback & ~has[labels]
    own = reading.view.picture.own
    if reading.modelled:
        return shaded_colours(own, labels, inner, n)
    return region_colours(own, labels, inner, n, reading.view.laid)


def _palette_rgb(rgb: np.ndarray, pixels: np.ndarray, colour_of: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(colours that areas really have, by falling share, in linear light; the areas' new indices)."""
    used, index = np.unique(colour_of[1:], return_inverse=True)
    weight = np.bincount(index, pixels[1:], minlength=len(used))
    light = to_linear(rgb[1:])
    # Light adds up, code values do not: the mean of colours is taken in linear light.
    mean = np.stack([np.bincount(index, pixels[1:] * light[:, k]) / weight for k in range(3)], -1)
    order = np.argsort(-weight, kind="stable")
    rank = np.empty(len(used), int)
    rank[order] = np.arange(len(used))
    return from_linear(mean[order]), np.concatenate([[0], rank[index]])


def _edges(
    reading: Reading, labels: np.ndarray, lengths: measure.Lengths, rgb: np.ndarray, part_of: np.ndarray
) -> tuple[Edge, ...]:
    picture = reading.view.picture
    # Grain is smoothed, so the soft rim of an edge is a pixel wider.
    step = 2 if picture.noise < 0.4 else 3
    met = contacts(labels, picture.rgb, reading.lines, reading.view.trace, step)
    tones = tone_of(rgb)
    shortest = shortest_edge(reading.lines, reading.view.longest)
    long = met.sides >= shortest
    edges = []
    for (a, b), contrast, drawn in zip(
        met.pairs[long].tolist(), met.contrast[long], met.drawn_share[long], strict=True
    ):
        if part_of[a] == part_of[b] and lengths.length[a, b] >= shortest:
            gap = float(np.linalg.norm(tones[a] - tones[b]))
            soft = bool(contrast < SOFT * gap and drawn < DRAWN)
            edges.append(measure.make_edge((a, b), lengths, reading.view.picture.scale, soft))
    return tuple(edges)


def _shades(
    shades: Shades, labels: np.ndarray, part_of: np.ndarray
) -> tuple[dict[int, tuple[Shade, ...]], dict[int, int]]:
    """(The tones folded into each area, one of a kind; the area that each area of a tone is blended into.)"""
    flat, figure = labels.ravel(), float((labels > 0).sum())
    area, base = flat[shades.at], flat[shades.base_at]
    folded: dict[int, tuple[Shade, ...]] = {}
    inside = (area == base) & (area > 0)
    for i, lighter in sorted(set(zip(area[inside].tolist(), shades.lighter[inside].tolist(), strict=True))):
        these = inside & (area == i) & (shades.lighter == lighter)
        pixels = shades.pixels[these]
        rgb = from_linear(np.average(to_linear(shades.rgb[these]), axis=0, weights=pixels))
        shade = Shade("highlight" if lighter else "shadow", hex_of(rgb), _labs(rgb[None])[0], pixels.sum() / figure)
        folded[i] = (*folded.get(i, ()), shade)
    # A shade of another part is no shade: parts are painted one by one.
    apart = (area != base) & (area > 0) & (base > 0) & (part_of[area] == part_of[base])
    return folded, dict(zip(area[apart].tolist(), base[apart].tolist(), strict=True))


def _enclosers(lengths: measure.Lengths, edges: tuple[Edge, ...], n: int) -> dict[int, int]:
    neighbours: dict[int, set[int]] = {i: set() for i in range(1, n + 1)}
    for edge in edges:
        a, b = edge.areas
        neighbours[a].add(b)
        neighbours[b].add(a)
    return measure.enclosers(neighbours, _outermost(lengths))


def _outermost(lengths: measure.Lengths) -> set[int]:
    """The areas that meet the background."""
    # One pixel side may be a corner: an area is open only where more than that meets the background.
    return {b for (a, b), length in lengths.length.items() if a == 0 and length >= 2}


def _gaps(view: View, lengths: measure.Lengths, around: dict[int, int], labs: list[Lab]) -> list[int]:
    """Areas of the paper's own colour between several others: where one alone is around it, it is more likely the
    white of an eye."""
    paper = view.picture.own[::4, ::4][view.ground[::4, ::4]]
    if view.paper is None or not len(paper):
        return []
    apart = np.linalg.norm(np.array(labs) - lab_of(np.median(paper, axis=0)[None])[0], axis=1)
    held = _outermost(lengths) | around.keys()
    return [i for i in range(1, len(labs)) if i not in held and apart[i] <= AS_PAPER]


def _hints(
    blends: dict[int, int], around: dict[int, int], labs: list[Lab], size: measure.Sizes, mm: float
) -> dict[int, tuple[Hint, ...]]:
    sides = (size.bbox[:, 2:] - size.bbox[:, :2]).max(1).tolist()
    outer_ones = set(around.values())
    hints: dict[int, tuple[Hint, ...]] = {}
    for i, outer in around.items():
        hints[i] = measure.recess_or_dot(measure.Enclosed(labs[i], sides[i], labs[outer], outer, i in outer_ones), mm)
    for tone, base in blends.items():
        darker = "darker" if labs[tone][0] < labs[base][0] else "lighter"
        why = f"a {darker} tone of the colour of area {base}, with no line between"
        hints[tone] = (*hints.get(tone, ()), Hint("blend", why, base))
    return {i: h for i, h in hints.items() if h}


def _parts(
    reading: Reading, areas: tuple[Area, ...], labels: np.ndarray, part_of: np.ndarray, colour_of: np.ndarray
) -> tuple[DrawnPart, ...]:
    names = reading.names
    coarse = np.ascontiguousarray(labels[::2, ::2])
    of_pixel = part_of[coarse].astype(np.int32) * (coarse > 0)
    alike = twins(of_pixel, colour_of[coarse], len(names))
    parts = []
    for number, name in enumerate(names, 1):
        members = [a for a in areas if a.part == number - 1]
        boxes = np.array([a.bbox for a in members])
        box = (*boxes[:, :2].min(0).tolist(), *boxes[:, 2:].max(0).tolist())
        twin, mirrored = alike[number - 1]
        parts.append(
            DrawnPart(
                name,
                box,
                sum(a.pixels for a in members),
                tuple(a.id for a in members),
                None if twin is None else twin - 1,
                mirrored,
            )
        )
    return tuple(parts)
