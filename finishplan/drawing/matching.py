"""Which area of an earlier reading each area of a later one is: one assignment over ground, place, colour, size and
neighbours."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.drawing.model import Drawing, Mark
from finishplan.drawing.registration import POINTS, SmallMap, complex_of, looked_up, moves, sampled

Array = NDArray[np.float64]
WEIGHTS = {"ground": 0.4, "colour": 0.22, "size": 0.08, "place": 0.12, "neighbours": 0.18}
"""What each likeness is worth; our rule, tried on drawings of random patches that no figure here is reported on."""
LEAST = 0.4
"""An area less like any other than this is gone."""
SURE, CLEARLY = 0.62, 0.12
"""Above SURE, and by CLEARLY above the next best of either side, a likeness is carried over without a word."""
SWALLOWED, OWN_COLOUR = 0.5, 0.7
"""Share of a lost area's ground that another has now, for it to have gone there; likeness of a colour kept."""
COLOUR_REACH = 14.0
"""CIEDE2000 at which two colours are a third alike."""
PLACE_REACH = 0.05
"""The same of places, in parts of the picture's longer side."""


@dataclass(frozen=True, eq=False)
class Likeness:
    """Earlier areas by later ones, 0 to 1, (n, m) each. total: all but the neighbours; colour; on: share of the earlier
    area's ground that is now the later one's."""

    total: Array
    colour: Array
    on: Array


@dataclass(frozen=True)
class Matching:
    """found: (earlier number, later number) pairs; doubtful: earlier numbers found, but not surely."""

    found: tuple[tuple[int, int], ...]
    doubtful: tuple[int, ...] = ()


def match(marks: tuple[Mark, ...], small: SmallMap | None, drawing: Drawing) -> Matching:
    """Find the areas again that were marked in an earlier reading. small: its map, if it was kept."""
    from scipy.optimize import linear_sum_assignment

    if not marks or not drawing.areas:
        return Matching(())
    like = _likeness(marks, small, drawing)
    alike = like.total
    beside = _neighbours(marks, small), _neighbours_now(drawing)
    # Each by itself first: whether neighbours agree can only be asked of a matching.
    rows, columns = linear_sum_assignment(-alike)
    for _ in range(2):
        agreed = WEIGHTS["neighbours"] * _agreeing(rows, columns, alike, beside)
        rows, columns = linear_sum_assignment(-(alike + agreed))
    total = alike + WEIGHTS["neighbours"] * _agreeing(rows, columns, alike, beside)
    kept = {r: c for r, c in zip(rows.tolist(), columns.tolist(), strict=True) if total[r, c] >= LEAST}
    # Before areas that grew are settled, which would make a doubtful match look sure.
    doubtful = {r for r, c in kept.items() if not _is_sure(total, r, c)}
    kept, unsure = _grown(kept, like)
    doubtful = (doubtful | unsure) & kept.keys()
    found = tuple((marks[r].id, drawing.areas[c].id) for r, c in sorted(kept.items()))
    return Matching(found, tuple(marks[r].id for r in sorted(doubtful)))


def _grown(kept: dict[int, int], like: Likeness) -> tuple[dict[int, int], set[int]]:
    """The matches where one area now has the ground of two: it is the one whose colour it has, and in doubt the one
    that was matched; those in doubt."""
    kept, unsure = dict(kept), set()
    holder = {c: r for r, c in kept.items()}
    for lost in [r for r in range(len(like.on)) if r not in kept]:
        column = int(like.on[lost].argmax())
        held = holder.get(column)
        if held is None or like.on[lost, column] < SWALLOWED or like.colour[held, column] > OWN_COLOUR:
            continue
        unsure |= {held, lost}
        if like.colour[lost, column] > OWN_COLOUR:
            del kept[held]
            kept[lost], holder[column] = column, lost
    return kept, unsure


def _is_sure(total: Array, row: int, column: int) -> bool:
    others = np.concatenate([np.delete(total[row], column), np.delete(total[:, column], row), [0.0]])
    return bool(total[row, column] >= SURE and total[row, column] - others.max() >= CLEARLY)


def _likeness(marks: tuple[Mark, ...], small: SmallMap | None, drawing: Drawing) -> Likeness:
    """How alike earlier areas are to later ones."""
    size = small.size if small is not None else drawing.size
    old = np.array([complex_of(m.at, size) for m in marks])
    shape = drawing.size
    new = np.array([complex_of((a.label_xy[0] / shape[0], a.label_xy[1] / shape[1]), shape) for a in drawing.areas])
    figure = sum(a.pixels for a in drawing.areas) / (shape[0] * shape[1])
    points = sampled(marks, small, size, figure)
    labs = np.array([lab_from_hex(m.hex) for m in marks]), np.array([a.lab for a in drawing.areas])
    sizes = np.array([m.size for m in marks]), np.array([a.share for a in drawing.areas])
    alike_in_size = np.exp(-np.abs(np.log(sizes[0][:, None] / sizes[1][None])))
    colour = _colours(*labs)
    likes = colour * alike_in_size**0.5
    moved = moves(points, old, drawing, likes, new)
    on = _on(points * moved[:, :1] + moved[:, 1:], drawing)
    ground = _ground(on, *sizes)
    best = ground.argmax(1)
    sure = ground.max(1) > 0.6
    if sure.any():  # what light and paper did to all colours alike
        labs = labs[0] + np.median((labs[1][best] - labs[0])[sure], axis=0), labs[1]
        # The shift of all colours may only help: a drawing recoloured on purpose must not lose its likeness.
        colour = np.maximum(colour, _colours(*labs))
    place = np.exp(-np.abs(old * moved[:, 0] + moved[:, 1] - new[None].T).T / PLACE_REACH)
    parts = {"ground": ground, "colour": colour, "size": alike_in_size, "place": place}
    total: Array = np.sum([WEIGHTS[name] * part for name, part in parts.items()], axis=0)
    return Likeness(total, colour, on)


def _colours(one: Array, two: Array) -> Array:
    # ln 3, so that a third is left at COLOUR_REACH.
    alike: Array = np.exp(-((np.asarray(delta_e(one[:, None], two[None])) / COLOUR_REACH) ** 2) * np.log(3))
    return alike


def _on(points: NDArray[np.complex128], drawing: Drawing) -> Array:
    """(n, m) share of each earlier area's points that lie on each later one."""
    there = looked_up(drawing, points)
    return np.stack([(there == a.id).sum(1) for a in drawing.areas], axis=1) / POINTS


def _ground(on: Array, old: Array, new: Array) -> Array:
    """(n, m) share of their common ground, 0 to 1: half of both areas together, half of the earlier one, as an area
    beside it may have gone to it. old, new: their sizes."""
    both = on * old[:, None]
    shared: Array = both / np.maximum(old[:, None] + new[None] - both, 1e-12)
    return np.clip((shared + on) / 2, 0, 1)


def _neighbours(marks: tuple[Mark, ...], small: SmallMap | None) -> NDArray[np.bool_]:
    """(n, n) which earlier areas lay side by side; without a map, the three nearest of each."""
    n = len(marks)
    beside = np.zeros((n, n), bool)
    if small is None:
        at = np.array([complex(*m.at) for m in marks])
        nearest = np.argsort(np.abs(at[:, None] - at[None]), axis=1)[:, 1:4]
        beside[np.arange(n)[:, None], nearest] = True
    else:
        row = {m.id: k for k, m in enumerate(marks)}
        # Two pixels apart: in a small map a line may leave a pixel between neighbours.
        for one, two in ((small.labels[:, 2:], small.labels[:, :-2]), (small.labels[2:], small.labels[:-2])):
            differ = (one != two) & (one > 0) & (two > 0)
            for a, b in np.unique(np.stack([one[differ], two[differ]], 1), axis=0).tolist():
                if a in row and b in row:
                    beside[row[a], row[b]] = True
    return beside | beside.T


def _neighbours_now(drawing: Drawing) -> NDArray[np.bool_]:
    column = {a.id: k for k, a in enumerate(drawing.areas)}
    beside = np.zeros((len(column), len(column)), bool)
    for edge in drawing.edges:
        a, b = (column[i] for i in edge.areas)
        beside[a, b] = beside[b, a] = True
    for area in drawing.areas:
        if area.enclosed_by in column:
            beside[column[area.id], column[area.enclosed_by]] = True
    return beside | beside.T


def _agreeing(
    rows: NDArray[np.int64], columns: NDArray[np.int64], alike: Array, beside: tuple[NDArray[np.bool_], ...]
) -> Array:
    """(n, m) what share of the neighbours of either area are each other's; half where neither has any."""
    pairs = np.zeros(alike.shape)
    # Poor matches vouch for nobody, even though the assignment gives every area one.
    good = alike[rows, columns] >= LEAST - WEIGHTS["neighbours"]
    pairs[rows[good], columns[good]] = 1
    common = beside[0].astype(float) @ pairs @ beside[1].astype(float)
    most = np.maximum(beside[0].sum(1)[:, None], beside[1].sum(1)[None])
    return np.where(most > 0, common / np.maximum(most, 1), 0.5)
