"""From labelled pixels to the Drawing: numbers in reading order, colours, sizes, edges, hints, notes."""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing import measure
from finishplan.drawing.contacts import border_sides, contacts
from finishplan.drawing.linework import Lines, brightest, odd, square_filter
from finishplan.drawing.model import Area, Drawing, DrawnPart, Edge, Hint, Lab, PaletteColour
from finishplan.drawing.palette import region_colours
from finishplan.drawing.paper import from_linear, hex_of, to_linear
from finishplan.drawing.parts import reading_order, twins
from finishplan.drawing.tones import lab_of, tone_of
from finishplan.drawing.view import View

SHORTEST_EDGE = 5 / 1600
"""Areas that meet over less than this part of the longer side meet in a corner, not at an edge."""
CORNER = 2.0
"""The same in widths of the lines, which hide what happens in a corner."""
SOFT = 0.5
DRAWN = 0.3
"""An edge of which a line covers less than this has none."""
INK_CONTRAST = 24.0
"""Ink is darker than the areas beside it by this much in every channel, 0-255."""


@dataclass(frozen=True, eq=False)
class Patches:
    """labels: (h, w) int32, areas 1..n in any order, 0 outside. colour, part: (n + 1,) of each, colours from 0, parts
    from 1."""

    labels: np.ndarray
    colour: np.ndarray
    part: np.ndarray


@dataclass(frozen=True, eq=False)
class Reading:
    """names: of the parts. inner: (h, w) bool, pixels to judge colours by. mm: working pixels to a millimetre."""

    view: View
    lines: Lines
    patches: Patches
    names: tuple[str, ...]
    inner: np.ndarray
    mm: float
    notes: tuple[str, ...]


def describe(reading: Reading) -> Drawing:
    """Measure everything and number it."""
    patches, size = _numbered(reading)
    labels, part_of, n = patches.labels, patches.part, len(patches.part) - 1
    rgb = _own_colours(reading, labels, n)
    palette_rgb, colour_of = _palette_rgb(rgb, size.pixels, patches.colour)
    lengths = measure.lengths(labels, n)
    edges, drawn = _edges(reading, labels, lengths, rgb, part_of, n)
    around = _enclosers(lengths, edges, n)
    labs = _labs(rgb)
    inked = _inked(reading, labels, rgb)
    plain = {e.areas for e in edges if max(drawn[e.areas], inked[e.areas]) < DRAWN}
    hints = _hints(edges, plain, around, labs, size, reading.mm)
    areas = _areas(reading.view, part_of, colour_of, size, rgb, labs, around, hints)
    view = reading.view
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
        notes=reading.notes,
        origin=_place(view, 0, 0),
    )


def _areas(
    view: View,
    part_of: np.ndarray,
    colour_of: np.ndarray,
    size: measure.Sizes,
    rgb: np.ndarray,
    labs: list[Lab],
    around: dict[int, int],
    hints: dict[int, tuple[Hint, ...]],
) -> tuple[Area, ...]:
    scale, total = view.picture.scale, size.pixels[1:].sum()
    return tuple(
        Area(
            id=i,
            part=int(part_of[i]) - 1,
            colour=int(colour_of[i]),
            hex=hex_of(rgb[i]),
            lab=labs[i],
            share=float(size.pixels[i] / total),
            pixels=float(size.pixels[i] / scale**2),
            narrow_px=round(float(size.narrow[i] / scale), 2),
            wide_px=round(float(size.wide[i] / scale), 2),
            label_xy=_place(view, *size.label_xy[i]),
            bbox=(*_place(view, *size.bbox[i, :2]), *_place(view, *size.bbox[i, 2:])),
            enclosed_by=around.get(i),
            hints=hints.get(i, ()),
        )
        for i in range(1, len(part_of))
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
    for fallback in (~reading.lines.mask & figure, figure):
        has = np.zeros(n + 1, bool)
        has[labels[inner]] = True
        if has[1:].all():
            break
        inner |= fallback & ~has[labels]
    return region_colours(reading.view.picture.own, labels, inner, n)


def _palette_rgb(rgb: np.ndarray, pixels: np.ndarray, colour_of: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(colours that areas really have, by falling share, in linear light; the areas' new indices)."""
    used, index = np.unique(colour_of[1:], return_inverse=True)
    weight = np.bincount(index, pixels[1:], minlength=len(used))
    light = to_linear(rgb[1:])
    mean = np.stack([np.bincount(index, pixels[1:] * light[:, k]) / weight for k in range(3)], -1)
    order = np.argsort(-weight, kind="stable")
    rank = np.empty(len(used), int)
    rank[order] = np.arange(len(used))
    return from_linear(mean[order]), np.concatenate([[0], rank[index]])


def _edges(
    reading: Reading, labels: np.ndarray, lengths: measure.Lengths, rgb: np.ndarray, part_of: np.ndarray, n: int
) -> tuple[tuple[Edge, ...], dict[tuple[int, int], float]]:
    """The edges, and what share of each runs along a drawn line."""
    step = 2 if reading.view.picture.noise < 0.4 else 3
    found = contacts(labels, reading.view.picture.rgb, reading.lines.mask, step)
    tones = tone_of(rgb)
    shortest = max(SHORTEST_EDGE * reading.view.longest, CORNER * reading.lines.width)
    edges, drawn_share = [], {}
    for (a, b), contrast, drawn in zip(found.pairs.tolist(), found.contrast, found.drawn_share, strict=True):
        if part_of[a] != part_of[b] or lengths.length[a, b] < shortest:
            continue
        gap = float(np.linalg.norm(tones[a] - tones[b]))
        soft = bool(contrast < SOFT * gap and drawn < DRAWN)
        edges.append(measure.make_edge((a, b), lengths, reading.view.picture.scale, soft))
        drawn_share[a, b] = float(drawn)
    return tuple(edges), drawn_share


def _inked(reading: Reading, labels: np.ndarray, rgb: np.ndarray) -> dict[tuple[int, int], float]:
    """What share of each border runs past pixels darker than both its areas: ink whose thin line, blurred by a lens,
    was taken for the darker area's own colour."""
    side = odd(2 * reading.lines.width + 3)
    darkest = square_filter(brightest(reading.view.picture.rgb), side, largest=False).ravel()
    first, _, pair = border_sides(labels)
    least = INK_CONTRAST + 3 * reading.view.picture.noise
    dark = darkest[first] < rgb.max(-1)[pair].min(1) - least
    pairs, group = np.unique(pair, axis=0, return_inverse=True)
    share = np.bincount(group.ravel(), dark) / np.bincount(group.ravel())
    return {(a, b): s for (a, b), s in zip(pairs.tolist(), share.tolist(), strict=True)}


def _enclosers(lengths: measure.Lengths, edges: tuple[Edge, ...], n: int) -> dict[int, int]:
    neighbours: dict[int, set[int]] = {i: set() for i in range(1, n + 1)}
    for edge in edges:
        a, b = edge.areas
        neighbours[a].add(b)
        neighbours[b].add(a)
    roots = {b for (a, b), length in lengths.length.items() if a == 0 and length >= 2}
    return measure.enclosers(neighbours, roots)


def _hints(
    edges: tuple[Edge, ...],
    plain: set[tuple[int, int]],
    around: dict[int, int],
    labs: list[Lab],
    size: measure.Sizes,
    mm: float,
) -> dict[int, tuple[Hint, ...]]:
    """plain: the edges along which no line is drawn."""
    sides = (size.bbox[:, 2:] - size.bbox[:, :2]).max(1).tolist()
    outer_ones = set(around.values())
    hints: dict[int, list[Hint]] = {}
    for i, outer in around.items():
        found = measure.recess_or_dot(labs[i], sides[i], labs[outer], outer, mm, encloses=i in outer_ones)
        hints.setdefault(i, []).extend(found)
    for edge in edges:
        tone, base = sorted(edge.areas, key=lambda i: (size.pixels[i], i))
        if edge.areas in plain and measure.is_shadow_of(labs[tone], labs[base]):
            darker = "darker" if labs[tone][0] < labs[base][0] else "lighter"
            why = f"a {darker} tone of the colour of area {base}, with no line between"
            hints.setdefault(tone, []).append(Hint("blend", why, base))
    return {i: tuple(h) for i, h in hints.items()}


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
