"""The maker's corrections of a reading: areas joined, given to others, taken for lines or for paper.

A function from a Drawing to a Drawing. Of what a correction touches, sizes, edges and enclosures are measured
again on the labels; colours come from the areas that it was made of, as the picture is no longer at hand.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.colour.light import hex_from_lab
from finishplan.drawing.model import Area, Drawing
from finishplan.drawing.regions import GROUND, UNKNOWN, absorb
from finishplan.drawing.remeasure import palette_of, remeasured, turned


@dataclass(frozen=True)
class Corrections:
    """By the areas' numbers. into: (area, the area that takes its pixels); joined: (area, the area it is one with);
    paper, lines: areas that are none; bare: areas that are not painted."""

    into: tuple[tuple[int, int], ...] = ()
    joined: tuple[tuple[int, int], ...] = ()
    paper: tuple[int, ...] = ()
    lines: tuple[int, ...] = ()
    bare: tuple[int, ...] = ()
    file: str = "job"


def corrected(drawing: Drawing, corrections: Corrections) -> Drawing:
    """The drawing as the maker says it is meant. What is said of areas that it has not is left out.

    Raises InputError for areas of different pieces made one, and where nothing is left.
    """
    ids = {a.id for a in drawing.areas}
    gone = {i for i in (*corrections.paper, *corrections.lines) if i in ids}
    home = _homes(drawing, corrections, ids)
    if not home and not gone and not corrections.bare:
        return drawing
    if not ids - gone - home.keys():
        raise InputError("nothing of the figure is left", where=f"{corrections.file}: areas", cure="take one out")
    labels, ink = drawing.labels, drawing.ink_mask
    if gone:
        labels, ink = _without(drawing, set(corrections.paper) & ids, set(corrections.lines) & ids)
    table = np.arange(int(drawing.labels.max()) + 1, dtype=np.int32)
    for id, to in home.items():
        table[id] = to
    areas = _areas(drawing, home, gone, dict(corrections.joined))
    changed = {*home.values(), *_beside(drawing, gone)} & {a.id for a in areas}
    new = remeasured(replace(drawing, labels=table[labels], ink_mask=ink), areas, changed)
    # A number in the middle of what was a highlight would look like the highlight's own.
    new = _with_places(new, drawing, {to for id, to in home.items() if (id, to) in corrections.into})
    return _without_bare(new, set(corrections.bare))


def _with_places(new: Drawing, drawing: Drawing, homes: set[int]) -> Drawing:
    """The drawing whose areas that took in a highlight have their number where they had it, not in the highlight."""
    place = {a.id: a.label_xy for a in drawing.areas if a.id in homes}
    return replace(new, areas=tuple(replace(a, label_xy=place.get(a.id, a.label_xy)) for a in new.areas))


def _homes(drawing: Drawing, corrections: Corrections, ids: set[int]) -> dict[int, int]:
    """Each area that is made part of another, and that other, followed to its end. Raises InputError."""
    into = {a: b for a, b in (*corrections.into, *corrections.joined) if a in ids and b in ids}
    part = {a.id: a.part for a in drawing.areas}
    home = {}
    for id in into:
        to = into[id]
        # This ends: job/across.py refuses areas that go into each other in a circle.
        while to in into:
            to = into[to]
        if part[id] != part[to]:
            key = "join" if (id, into[id]) in corrections.joined else "swallow"
            what = f"areas {id} and {to} are on pieces drawn apart"
            raise InputError(what, where=f"{corrections.file}: areas.{id}.{key}", cure="name areas of one piece")
        home[id] = to
    return home


def _areas(drawing: Drawing, home: Mapping[int, int], gone: set[int], joined: Mapping[int, int]) -> list[Area]:
    """What is left, joined areas in the mean colour of both, hints that name what is gone turned or left out."""
    by_id = {a.id: a for a in drawing.areas}
    left = []
    for area in drawing.areas:
        if area.id in home or area.id in gone:
            continue
        own = [by_id[i] for i in joined if home.get(i) == area.id and i not in gone]
        if own:
            lab = np.average([a.lab for a in (area, *own)], axis=0, weights=[a.pixels for a in (area, *own)])
            L, a, b = np.round(lab, 3).tolist()
            area = replace(area, lab=(L, a, b), hex=hex_from_lab((L, a, b)))
        hints = tuple(
            h for h in area.hints if h.other is None or (h.other not in gone and home.get(h.other) != area.id)
        )
        left.append(replace(area, hints=tuple(turned(h, home) for h in hints)))
    return left


def _without(drawing: Drawing, paper: set[int], lines: set[int]) -> tuple[np.ndarray, np.ndarray]:
    """Labels and drawn lines with some areas made background, and others lines that the areas beside share."""
    held = int(drawing.labels.max()) + 1
    is_paper, is_line = np.zeros(held, bool), np.zeros(held, bool)
    is_paper[list(paper)], is_line[list(lines)] = True, True
    labels = np.where(is_paper[drawing.labels], 0, drawing.labels)
    drawn = is_line[labels]
    if drawn.any():
        marked = np.where(drawn, UNKNOWN, np.where(labels == 0, GROUND, labels)).astype(np.int32)
        labels = absorb(marked, drawn, reach=1e9)
    return labels, (drawing.ink_mask | drawn) & (labels > 0)


def _beside(drawing: Drawing, gone: set[int]) -> set[int]:
    """The areas whose outline changes when these go."""
    return {i for e in drawing.edges if gone & set(e.areas) for i in e.areas} - gone


def _without_bare(drawing: Drawing, bare: set[int]) -> Drawing:
    """The drawing whose palette has the painted areas alone."""
    if not bare:
        return drawing
    return replace(drawing, palette=palette_of(drawing.palette, [a for a in drawing.areas if a.id not in bare]))
