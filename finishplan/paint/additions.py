"""What to add to the box: the paint that brings one colour within reach, and the fewest for a whole scheme."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError
from finishplan.basics.words import counted, listed
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab
from finishplan.paint.box import make_box, without_white_or_black
from finishplan.paint.families import within_limit
from finishplan.paint.hazards import metals_of
from finishplan.paint.model import Advice, Box, Mix, Paint
from finishplan.paint.recipes import Group, Indices, part_vectors
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import Shelf, decode, every_tier, make_shelf

Array = NDArray[np.float64]
MOST_IN_ADVICE = 3
"""Paints in the mixes considered where paints are to be added (our choice)."""
MOST_NAMED = 6
"""Colours that nothing helps, more are counted (our layout)."""


def with_paints(box: Box, ids: Sequence[str]) -> Box:
    """The box with these paints of its table added."""
    have = {p.id for p in box.paints}
    return make_box(box.table, box.paints + tuple(p for p in box.table.paints if p.id in ids and p.id not in have))


def with_all_paints(box: Box) -> Box:
    """The box with all paints of its table."""
    wide = with_paints(box, [p.id for p in box.table.paints])
    # Others are let down in the white that is there, even where a stronger one could be bought.
    return replace(wide, white=box.white or wide.white)


def paint_to_add(aims: ArrayLike, box: Box, settings: MixSettings) -> tuple[str | None, ...]:
    """For each aim (m, 3), L*a*b*, the table's paint with which a mix of at most three ingredients comes within
    settings.reach, else None. One without hazards is preferred, then the one that comes nearest."""
    wide = with_all_paints(box)
    if len(wide.paints) == len(box.paints):
        return tuple(None for _ in np.asarray(aims).reshape(-1, 3))
    shelf, owned = make_shelf(wide, settings), _owned(wide, box)
    groups, targets = _with_one_new(shelf, owned, settings), np.asarray(aims, np.float64).reshape(-1, 3)
    answers = []
    for aim, rows in zip(targets, within_limit(shelf, groups, targets, settings.reach), strict=True):
        ingredients, parts, difference = _reaching(shelf, rows, groups, aim)
        kept = difference <= settings.reach
        new = _bought(shelf, owned, ingredients, parts).max(axis=1)
        # Hazards first, then distance: a safer tube that reaches is better advice than a nearer one.
        ranked = sorted(
            (bool(wide.paints[p].hazards), d, p)
            for p, d in zip(new[kept].tolist(), difference[kept].round(2).tolist(), strict=True)
        )
        answers.append(wide.paints[ranked[0][2]].id if ranked else None)
    return tuple(answers)


def _owned(wide: Box, box: Box) -> NDArray[np.bool_]:
    """(paints of the wide box,) whether they are in the other too."""
    have = {p.id for p in box.paints}
    return np.array([p.id in have for p in wide.paints])


def _reaching(shelf: Shelf, rows: Indices, groups: tuple[Group, ...], aim: Array) -> tuple[Indices, Indices, Array]:
    width = max(g.parts.shape[1] for g in groups)
    ingredients, parts = decode(groups, rows, width)
    return ingredients, parts, delta_e(lab(shelf.seen(ingredients, parts)), aim)


def _bought(shelf: Shelf, owned: NDArray[np.bool_], ingredients: Indices, parts: Indices) -> Indices:
    """(n, 2 k) the paints not owned (index into the box) that recipes take, those they are let down in included; else
    -1."""
    # What a pre-mix is let down in must be bought too.
    used = np.where(np.tile(parts > 0, 2), np.hstack([shelf.paint[ingredients], shelf.into[ingredients]]), -1)
    result: Indices = np.where((used >= 0) & ~owned[used], used, -1)
    return result


def _with_one_new(shelf: Shelf, owned: NDArray[np.bool_], settings: MixSettings) -> tuple[Group, ...]:
    """Recipes with exactly one paint not owned: one neat with at most two owned ones, or one let down with white and
    one owned; where the white is the one not owned, one or two owned paints are let down in it."""
    every = np.arange(len(shelf.of))[:, None]
    count = (_bought(shelf, owned, every, np.ones_like(every)) >= 0).sum(axis=1)
    neat = np.flatnonzero((shelf.of == 0) & (count == 0)).tolist()
    new = np.flatnonzero((count == 1) & np.isin(shelf.into, (-1, shelf.white))).tolist()
    made = [i for i in new if owned[shelf.paint[i]]]  # let down in a white that is not owned: two may be
    combos: dict[int, list[tuple[int, ...]]] = {1: [], 2: [], 3: []}
    for i in new:
        fixed = (i,) if shelf.of[i] == 0 else (i, shelf.white)
        pool = [n for n in neat if n not in fixed]
        if i in made:
            pool += [j for j in made if j > i and shelf.paint[j] != shelf.paint[i]]
        for size in range(3 - len(fixed) + 1):
            for others in combinations(pool, size):
                combos[len(fixed) + size].append((*fixed, *others))
    most = min(3, settings.max_paints, settings.max_parts)
    return tuple(
        Group(np.array(rows, np.int64), part_vectors(size, settings.max_parts))
        for size, rows in combos.items()
        if rows and size <= most
    )


@dataclass(frozen=True)
class Additions:
    """paints: ids of the fewest paints to add; beyond: numbers of the colours that the whole table does not reach;
    takes: for each colour the ids of those among `paints` that it takes, none where it is beyond or reached already."""

    paints: tuple[str, ...]
    beyond: tuple[int, ...]
    takes: tuple[tuple[str, ...], ...] = ()


def fewest_additions(
    aims: ArrayLike,
    box: Box,
    settings: MixSettings | None = None,
    *,
    tolerance: float = 2.0,
    max_paints: int = MOST_IN_ADVICE,
) -> Additions:
    """The fewest paints of the table that, added to the box, bring every aim (m, 3) within `tolerance` (CIEDE2000).

    Every recipe of the box and the table together in at most `max_paints` ingredients is considered; the choice is an
    integer programme solved to the optimum (HiGHS through scipy). Of equally few, those without hazards.
    Raises InputError for a tolerance that is not from 0 to 20.
    """
    if not 0 <= tolerance <= 20:
        raise InputError(f"a tolerance of {tolerance}", cure="give a number from 0 to 20")
    settings = replace(settings or MixSettings(), max_paints=max_paints)
    wide = with_all_paints(box)
    targets = np.asarray(aims, np.float64).reshape(-1, 3)
    ways = _ways(targets, wide, _owned(wide, box), settings, tolerance)
    beyond = tuple(i for i, sets in enumerate(ways) if not sets)
    # An empty set: the box reaches that colour already, and nothing need be chosen for it.
    needed = [sets for sets in ways if sets and frozenset() not in sets]
    # Too small to outweigh a paint, these decide among equally few: no hazards, then the first of the table.
    costs = [1 + 1e-3 * bool(p.hazards) + 1e-6 * i for i, p in enumerate(wide.paints)]
    chosen = _fewest(needed, costs)
    least = [min((s for s in sets if s <= set(chosen)), key=lambda s: (len(s), sorted(s)), default=()) for sets in ways]
    takes = tuple(tuple(wide.paints[i].id for i in sorted(s)) for s in least)
    return Additions(tuple(wide.paints[i].id for i in chosen), beyond, takes)


def advice(mixes: Sequence[Mix], box: Box, settings: MixSettings | None = None) -> Advice | None:
    """What to add to the box so that every colour comes within reach; None when all are, and where box and table
    together make too many recipes to look at."""
    settings = settings or MixSettings()
    missed = tuple(one for m in mixes for one in m.missed)
    if not missed:
        return None
    most = min(MOST_IN_ADVICE, settings.max_paints)
    try:
        found = fewest_additions([one.aim for one in missed], box, settings, tolerance=settings.reach, max_paints=most)
        more = iter(_of_more_paints([missed[i].aim for i in found.beyond], box, settings))
    except InputError:
        # The maker asked for mixes of their own box, which can be searched: the plan must not fail for the advice.
        return None
    # Asked only of colours that no tube brings within reach: would more paints in a mix do?
    larger = tuple(i in found.beyond and next(more) for i in range(len(missed)))
    names = {p.id: _as_bought(p) for p in box.table.paints}
    tubes = tuple(tuple(names[id] for id in takes) for takes in found.takes)
    # White and black decide what is aimed at: until they are there, nothing is beyond hope.
    return Advice(missed, tubes, larger, without_white_or_black(box), settings.max_paints, settings.reach)


def _as_bought(paint: Paint) -> str:
    """'cadmium orange (PO20; holds cadmium)'."""
    # So that nobody buys cadmium unawares.
    held = f"holds {listed(metals_of(paint))}" if metals_of(paint) else ""
    told = "; ".join(filter(None, (paint.ci, held)))
    return f"{paint.name} ({told})" if told else paint.name


def additions_note(found: Advice | None, asked: Mapping[str, str] | None = None) -> str:
    """The advice in a sentence or two, '' for none. asked: hex of a drawn colour -> what to call it."""
    return " ".join(additions_told(found, asked))


def additions_told(found: Advice | None, asked: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """The same sentence by sentence."""
    if found is None:
        return ()
    called = [(asked or {}).get(one.hex, one.hex) for one in found.missed]
    rows = list(dict.fromkeys(zip(called, found.larger, found.tubes, strict=True)))
    larger = [what for what, reached, _ in rows if reached]
    beyond = [what for what, reached, tubes in rows if not reached and not tubes]
    parts = list(found.first)
    if larger:
        few = f"more than {counted(found.max_paints, 'paint')} in a mix: raise max_paints"
        parts.append(f"{listed(larger, MOST_NAMED)} would take {few}.")
    parts += [f"{tubes} {what} within {found.reach:g}." for tubes, what in _what_brings(found, called)]
    if beyond and not found.first:
        parts.append(f"No paint of the table brings {listed(beyond, MOST_NAMED)} within {found.reach:g}.")
    return tuple(parts)


def _what_brings(found: Advice, called: Sequence[str]) -> list[tuple[str, str]]:
    """('One tube of cobalt blue (PB28)', 'brings #2a5fb0, now 18.7 off, and #3a6fc0, now 12.1 off,') for each tube, and
    for those that only together bring a colour; the tube that brings the most first."""
    served: dict[tuple[str, ...], list[str]] = {}
    for one, what, tubes in zip(found.missed, called, found.tubes, strict=True):
        if tubes:
            served.setdefault(tubes, []).append(f"{what}, now {one.delta_e:.1f} off")
    rows = sorted(served.items(), key=lambda row: (len(row[0]), -len(row[1]), row[0]))
    told = []
    for tubes, colours in rows:
        many = len(tubes) > 1
        what = f"Tubes of {listed(tubes)} together" if many else f"One tube of {tubes[0]}"
        # "now 3.1 off, and": without the comma the last "now" seems to go on from there.
        once = listed(dict.fromkeys(colours), MOST_NAMED).replace(" off and ", " off, and ")
        told.append((what, f"bring{'s' * (not many)} {once},"))
    return told


def _of_more_paints(aims: Sequence[Lab], box: Box, settings: MixSettings) -> list[bool]:
    """Which of the aims box and table together reach with more paints in a mix than the settings allow."""
    if not aims or settings.max_paints >= MOST_IN_ADVICE:
        return [False] * len(aims)
    beyond = fewest_additions(aims, box, settings, tolerance=settings.reach, max_paints=MOST_IN_ADVICE).beyond
    return [i not in beyond for i in range(len(aims))]


def _ways(
    targets: Array, wide: Box, owned: NDArray[np.bool_], settings: MixSettings, tolerance: float
) -> list[set[frozenset[int]]]:
    """For each target the smallest sets of paints (by place in `wide`) not owned that bring it within the tolerance."""
    shelf = make_shelf(wide, settings)
    ways: list[set[frozenset[int]]] = [set() for _ in targets]
    for groups in every_tier(shelf, settings):
        near = within_limit(shelf, groups, targets, tolerance)
        for target, rows, sets in zip(targets, near, ways, strict=True):
            ingredients, parts, difference = _reaching(shelf, rows, groups, target)
            kept = difference <= tolerance
            bought = np.unique(_bought(shelf, owned, ingredients[kept], parts[kept]), axis=0)
            sets.update(frozenset(row) - {-1} for row in bought.tolist())
    # A set that holds another that serves would never be the cheaper one.
    return [{s for s in sets if not any(other < s for other in sets)} for sets in ways]


def _fewest(ways: list[set[frozenset[int]]], costs: list[float]) -> tuple[int, ...]:
    """The cheapest set of paints that holds one of the sets of every colour."""
    if not ways:
        return ()
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    flat = [(c, s) for c, sets in enumerate(ways) for s in sorted(sets, key=sorted)]
    paints = len(costs)
    entries = [(c, paints + k, 1.0) for k, (c, _) in enumerate(flat)]
    row = len(ways)
    for k, (_, s) in enumerate(flat):
        for paint in sorted(s):
            # Whoever takes this set must have each of its paints.
            entries += [(row, paint, 1.0), (row, paints + k, -1.0)]
            row += 1
    at_row, at_column, value = zip(*entries, strict=True)
    matrix = coo_array((value, (at_row, at_column)), shape=(row, paints + len(flat)))
    lower = np.concatenate([np.ones(len(ways)), np.zeros(row - len(ways))])
    solved = milp(
        np.concatenate([costs, np.zeros(len(flat))]),
        constraints=LinearConstraint(matrix.tocsr(), lower, np.inf),
        integrality=np.ones(paints + len(flat)),
        bounds=Bounds(0, 1),
    )
    return tuple(np.flatnonzero(solved.x[:paints] > 0.5).tolist())
