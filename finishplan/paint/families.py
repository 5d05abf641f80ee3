"""Exact search by CIEDE2000 for a few colours, without an index: whole families of recipes are ruled out by a bound.

A family: some ingredients in several of the parts that a hand can take. Its shares lie in the simplex in which each
ingredient has at least its least share in any of these recipes. At a wavelength K/S of a mixture is a ratio of two sums
that are linear in the shares, so it is largest and smallest at corners of the simplex, and the reflectance with it.
X, Y and Z are sums of reflectances with weights that are not negative, and L*a*b* rises and falls with them: a box of
L*a*b* that holds the family, for which `nearest.lower_bound` holds. A family that it does not rule out is halved.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import saunderson
from finishplan.colour.light import lab_from_xyz, rough_delta_e, xyz
from finishplan.paint.nearest import ROUNDING, lower_bound
from finishplan.paint.recipes import Floats, Group, Indices, lab_blocks
from finishplan.paint.shelf import Shelf

Array = NDArray[np.float64]
_MOST_LIGHT = 1.75
"""S_L of ISO/CIE 11664-6 is less than this: it is largest at L* = 0 and 100."""
_FEW = 60
"""Recipes of a family that are computed as quickly as their bounds (our numerical step)."""


def within_limit(shelf: Shelf, groups: tuple[Group, ...], aims: Array, limit: float) -> list[Indices]:
    """For each aim (m, 3), L*a*b*, the rows of the recipes within the limit of it, and of a few a little farther away
    (ROUNDING)."""
    found, start, limit = [[np.zeros(0, np.int64)] for _ in aims], 0, limit + ROUNDING
    for group in groups:
        search = _Search(shelf, group, aims, limit)
        for rows, lab in search.near(np.arange(len(group.combos)), np.arange(len(group.parts))):
            for near, aim in zip(found, aims, strict=True):
                light = np.flatnonzero(np.abs(lab[:, 0] - aim[0]) <= _MOST_LIGHT * limit)
                near.append(start + rows[light[rough_delta_e(lab[light], aim) <= limit]])
        start += len(group)
    return [np.concatenate(rows) for rows in found]


@dataclass(frozen=True, eq=False)
class _Search:
    """A search in one group for aims (m, 3)."""

    shelf: Shelf
    group: Group
    aims: Array
    limit: float

    @cached_property
    def shares(self) -> Array:
        """(parts, k) of the ingredients."""
        shares: Array = self.group.parts / self.group.parts.sum(axis=1, keepdims=True)
        return shares

    @cached_property
    def films(self) -> tuple[Floats, Floats]:
        """K and S (ingredients, 31), of which ratios alone count, so that float32 keeps their digits."""
        scale = self.shelf.S.max()
        return (self.shelf.K / scale).astype(np.float32), (self.shelf.S / scale).astype(np.float32)

    def near(self, combos: Indices, ways: Indices) -> Iterator[tuple[Indices, Floats]]:
        """Rows of the group and L*a*b* of the recipes in these combos and ways (places in its combos and parts) that
        are not ruled out."""
        left = combos[self._may_reach(combos, ways)]
        if len(ways) > _FEW and len(left):
            shares = self.shares[ways]
            order = ways[np.argsort(shares[:, np.ptp(shares, axis=0).argmax()], kind="stable")]
            for half in np.array_split(order, 2):
                yield from self.near(left, half)
        elif len(left):
            rows, at = (left[:, None] * len(self.group.parts) + ways).ravel(), 0
            chosen = Group(self.group.combos[left], self.group.parts[ways])
            for lab in lab_blocks(self.shelf.K, self.shelf.S, (chosen,), self.shelf.k1, self.shelf.k2):
                yield rows[at : at + len(lab)], lab
                at += len(lab)

    def _may_reach(self, combos: Indices, ways: Indices) -> NDArray[np.bool_]:
        """(c,) whether a recipe of these combos in these ways may lie within the limit of an aim."""
        (low, high), found = self._boxes(combos, ways), np.zeros(len(combos), np.bool_)
        most = _MOST_LIGHT * self.limit
        for aim in self.aims:
            light = (low[:, 0] <= aim[0] + most) & (high[:, 0] >= aim[0] - most)
            asked = np.flatnonzero(light & ~found)
            found[asked] = lower_bound(aim, low[asked], high[asked]) <= self.limit
        return found

    def _boxes(self, combos: Indices, ways: Indices) -> tuple[Array, Array]:
        """(c, 3) the least and the largest L*, a*, b* of each family."""
        shelf, least = self.shelf, self.shares[ways].min(axis=0)
        dark, bright = (xyz(saunderson(r, shelf.k1, shelf.k2)) for r in self._inside(combos, least.astype(np.float32)))
        # L* is largest where Y is, a* where X is largest and Y least, b* where Y is largest and Z least.
        lit = lab_from_xyz(np.stack([dark[:, 0], bright[:, 1], dark[:, 2]], axis=1))
        shaded = lab_from_xyz(np.stack([bright[:, 0], dark[:, 1], bright[:, 2]], axis=1))
        redder = np.array([False, True, False])
        return np.where(redder, lit, shaded), np.where(redder, shaded, lit)

    def _inside(self, combos: Indices, least: Floats) -> tuple[Floats, Floats]:
        """(c, 31) the least and the largest reflectance inside the film, over the corners. least: (k,) shares."""
        own = [[film[i] for i in self.group.combos[combos].T] for film in self.films]
        some = [np.sum([share * v for share, v in zip(least, of, strict=True)], axis=0) for of in own]
        rest, dark, bright = 1 - least.sum(), np.float32(1), np.float32(0)
        for K, S in zip(*own, strict=True):  # each corner has the rest of one ingredient
            absorbs, scatters = some[0] + rest * K, some[1] + rest * S
            r = scatters / (absorbs + scatters + np.sqrt(absorbs * (absorbs + 2 * scatters)))
            dark, bright = np.minimum(dark, r), np.maximum(bright, r)
        return np.asarray(dark), np.asarray(bright)
