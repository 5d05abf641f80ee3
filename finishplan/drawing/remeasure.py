"""Numbers, sizes, edges and enclosures of a drawing whose labels were changed: only what changed is measured again."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from finishplan.drawing import measure
from finishplan.drawing.contacts import SHORTEST_EDGE
from finishplan.drawing.model import Area, Drawing, DrawnPart, Edge, Hint, PaletteColour


def remeasured(drawing: Drawing, areas: Sequence[Area], changed: Collection[int]) -> Drawing:
    """The drawing, its labels already changed, with these areas, of which those `changed` are measured again."""
    measured = {i: _measured(drawing, i) for i in changed}
    kept = [replace(a, **measured[a.id]) if a.id in measured else a for a in areas]
    total = sum(a.pixels for a in kept)
    kept = [replace(a, share=a.pixels / total) for a in kept]
    edges = _edges(drawing, {a.id: a.part for a in kept}, set(changed))
    around = _enclosers(drawing.labels, edges, [a.id for a in kept])
    kept = [replace(a, enclosed_by=around.get(a.id)) for a in kept]
    return with_parts(replace(drawing, edges=edges), kept)


def with_parts(drawing: Drawing, areas: Iterable[Area]) -> Drawing:
    """The drawing with these areas, parts that lost all of theirs left out, the palette told anew."""
    ordered = sorted(areas, key=lambda a: a.id)
    held = sorted({a.part for a in ordered})
    place = {part: k for k, part in enumerate(held)}
    parts = tuple(_part(drawing.parts[part], part, ordered, place) for part in held)
    moved = tuple(replace(a, part=place[a.part]) for a in ordered)
    return replace(drawing, areas=moved, parts=parts, palette=palette_of(drawing.palette, moved))


def palette_of(palette: Sequence[PaletteColour], areas: Sequence[Area]) -> tuple[PaletteColour, ...]:
    """The colours with the areas that have them; a colour of none stays, with none."""
    return tuple(
        replace(
            colour,
            areas=tuple(a.id for a in areas if a.colour == k),
            share=float(sum(a.share for a in areas if a.colour == k)),
        )
        for k, colour in enumerate(palette)
    )


def _part(part: DrawnPart, index: int, areas: Sequence[Area], place: Mapping[int, int]) -> DrawnPart:
    members = [a for a in areas if a.part == index]
    boxes = np.array([a.bbox for a in members])
    box = (*boxes[:, :2].min(0).tolist(), *boxes[:, 2:].max(0).tolist())
    twin = place.get(part.twin_of) if part.twin_of is not None else None
    ids = tuple(a.id for a in members)
    return replace(part, bbox=box, pixels=sum(a.pixels for a in members), areas=ids, twin_of=twin)


def _measured(drawing: Drawing, id: int) -> dict[str, Any]:
    """Sizes of one area, as fields of it."""
    rows, columns = np.nonzero(drawing.labels == id)
    top, left = int(rows.min()), int(columns.min())
    own = drawing.labels[top : rows.max() + 1, left : columns.max() + 1] == id
    size, scale = measure.sizes(own.astype(np.int32), 1), drawing.scale
    x, y = drawing.origin

    def place(at: np.ndarray) -> tuple[float, float]:
        return round(float(x + (at[0] + left) / scale), 2), round(float(y + (at[1] + top) / scale), 2)

    return {
        "pixels": float(size.pixels[1] / scale**2),
        "narrow_px": round(float(size.narrow[1] / scale), 2),
        "wide_px": round(float(size.wide[1] / scale), 2),
        "label_xy": place(size.label_xy[1]),
        "bbox": (*place(size.bbox[1, :2]), *place(size.bbox[1, 2:])),
    }


def _edges(drawing: Drawing, part_of: Mapping[int, int], changed: set[int]) -> tuple[Edge, ...]:
    """The edges, those of changed areas measured again; soft where the longer part of what they were is."""
    known = {e.areas: e for e in drawing.edges}
    edges = {e.areas: e for e in drawing.edges if set(e.areas) <= part_of.keys() - changed}
    least = SHORTEST_EDGE * max(drawing.size) * drawing.scale
    for id in sorted(changed):
        for pair, length, straight in _borders(drawing.labels, id):
            a, b = pair
            if length >= least and part_of[a] == part_of[b]:
                soft = pair in known and known[pair].soft
                edges[pair] = Edge(pair, round(length / drawing.scale, 2), round(straight, 3), soft)
    return tuple(edges[pair] for pair in sorted(edges))


def _borders(labels: np.ndarray, id: int) -> Iterable[tuple[tuple[int, int], float, float]]:
    """(pair, length, straightness) of every border of one area, in working pixels."""
    rows, columns = np.nonzero(labels == id)
    crop = labels[max(rows.min() - 1, 0) : rows.max() + 2, max(columns.min() - 1, 0) : columns.max() + 2]
    present, compact = np.unique(crop, return_inverse=True)
    numbers = present.tolist()
    shift = 0 if numbers[0] == 0 else 1  # 0 is the rim and the background, and stays so
    found = measure.lengths(compact.reshape(crop.shape) + shift, len(numbers) - 1 + shift)
    of = {k + shift: number for k, number in enumerate(numbers)}
    for (a, b), length in found.length.items():
        pair = (of.get(a, 0), of.get(b, 0))
        if id in pair and 0 not in pair:
            points = found.points.get((a, b), np.zeros((0, 2)))
            yield (min(pair), max(pair)), length, measure.straightness(points, length)


def _enclosers(labels: np.ndarray, edges: Iterable[Edge], ids: Iterable[int]) -> dict[int, int]:
    neighbours: dict[int, set[int]] = {i: set() for i in ids}
    for edge in edges:
        a, b = edge.areas
        neighbours[a].add(b)
        neighbours[b].add(a)
    framed = np.pad(labels, 1)
    outer = np.zeros(int(labels.max()) + 1, int)
    for here, there in ((np.s_[:, 1:], np.s_[:, :-1]), (np.s_[1:], np.s_[:-1])):
        for one, two in ((framed[here], framed[there]), (framed[there], framed[here])):
            outer += np.bincount(one[(one > 0) & (two == 0)], minlength=len(outer))
    return measure.enclosers(neighbours, {i for i in neighbours if outer[i] > 2})


def renumbered(drawing: Drawing, number: Mapping[int, int]) -> Drawing:
    """The drawing with other numbers for its areas: number of each, by the number before."""
    if all(a == b for a, b in number.items()):
        return drawing
    table = np.zeros(int(drawing.labels.max()) + 1, np.int32)
    table[list(number)] = list(number.values())
    areas = sorted((_with_number(a, number) for a in drawing.areas), key=lambda a: a.id)
    edges = sorted((replace(e, areas=_pair(e.areas, number)) for e in drawing.edges), key=lambda e: e.areas)
    parts = tuple(replace(p, areas=tuple(sorted(number[i] for i in p.areas))) for p in drawing.parts)
    palette = tuple(replace(c, areas=tuple(sorted(number[i] for i in c.areas))) for c in drawing.palette)
    new = replace(drawing, areas=tuple(areas), edges=tuple(edges), parts=parts, palette=palette)
    return replace(new, labels=table[drawing.labels])


def _with_number(area: Area, number: Mapping[int, int]) -> Area:
    around = None if area.enclosed_by is None else number[area.enclosed_by]
    return replace(area, id=number[area.id], enclosed_by=around, hints=tuple(turned(h, number) for h in area.hints))


def turned(hint: Hint, number: Mapping[int, int]) -> Hint:
    """The hint against an area's new number, its words too."""
    if hint.other is None or number.get(hint.other, hint.other) == hint.other:
        return hint
    new = number[hint.other]
    return replace(hint, other=new, why=hint.why.replace(f"area {hint.other},", f"area {new},"))


def _pair(areas: tuple[int, int], number: Mapping[int, int]) -> tuple[int, int]:
    a, b = sorted(number[i] for i in areas)
    return a, b
