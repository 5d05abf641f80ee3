"""Every recipe of a few ingredients in whole parts, and the colour of each, computed in bounded memory."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.light import weights, white_xyz

Indices = NDArray[np.int64]
Floats = NDArray[np.float32]

_ROWS_AT_ONCE = 4096


@cache
def part_vectors(count: int, max_parts: int) -> Indices:
    """(m, count) all ways to give `count` ingredients at least one whole part each, at most `max_parts` together.

    Ways that are a multiple of a smaller one are left out. Ordered by the number of parts, then as words are.
    """

    def ways(left: int, total: int) -> Iterator[tuple[int, ...]]:
        if left == 1:
            yield (total,)
            return
        for first in range(1, total - left + 2):
            for rest in ways(left - 1, total - first):
                yield (first, *rest)

    # 2 : 4 is 1 : 2; each ratio once, in its smallest parts.
    rows = [w for total in range(count, max_parts + 1) for w in ways(count, total) if np.gcd.reduce(w) == 1]
    result = np.array(rows, dtype=np.int64).reshape(-1, count)
    result.setflags(write=False)
    return result


@dataclass(frozen=True, eq=False)
class Group:
    """Recipes of one number of ingredients: every row of combos (c, k) with every row of parts (m, k)."""

    combos: Indices
    parts: Indices

    def __len__(self) -> int:
        return len(self.combos) * len(self.parts)


def plain_groups(paints: int, max_paints: int, max_parts: int) -> tuple[Group, ...]:
    """All recipes of at most `max_paints` out of `paints` paints in at most `max_parts` parts."""
    return tuple(
        Group(np.array(list(combinations(range(paints), k)), dtype=np.int64), part_vectors(k, max_parts))
        for k in range(1, min(max_paints, paints, max_parts) + 1)
    )


def count_plain(paints: int, max_paints: int, max_parts: int) -> int:
    """How many recipes `plain_groups` would hold, without listing one of them."""
    return sum(comb(paints, k) * _count_parts(k, max_parts) for k in range(1, min(max_paints, paints) + 1))


def _count_parts(count: int, max_parts: int) -> int:
    """How many rows `part_vectors` has."""
    own: dict[int, int] = {}
    for total in range(count, max_parts + 1):
        # All ways to part the total, less those that are a multiple of a way to part one of its divisors.
        own[total] = comb(total - 1, count - 1) - sum(n for smaller, n in own.items() if total % smaller == 0)
    return sum(own.values())


def lab_blocks(
    K: NDArray[np.float64], S: NDArray[np.float64], groups: tuple[Group, ...], k1: float, k2: float
) -> Iterator[Floats]:
    """L*a*b* (rows, 3) of the recipes in order, opaque, under D65, a few thousand rows at a time.

    K, S: (ingredients, 31). r = S / (K + S + sqrt(K (K + 2 S))) is put into Saunderson's formula before dividing,
    so that float32 is enough (0.002 of a unit) and parts need not be divided by their sum.
    """
    # Divided out of K and S alike: ratios alone count, and float32 keeps its digits.
    scale = float(S.max())
    twice = ((K + 2 * S) / scale).astype(np.float32)
    absorbed = (K / scale).astype(np.float32)
    below = ((K + (1 - k2) * S) / scale).astype(np.float32)
    seen = ((1 - k1) * (1 - k2) * S / scale).astype(np.float32)
    to_xyz = (weights("D65") / white_xyz("D65")).astype(np.float32)
    ground = (k1 * to_xyz.sum(axis=0)).astype(np.float32)
    for group in groups:
        parts = group.parts.astype(np.float32)
        step = max(1, _ROWS_AT_ONCE // len(parts))
        for start in range(0, len(group.combos), step):
            combos = group.combos[start : start + step]
            # In place from here on: the matrices are large, and fresh memory costs more than the sums.
            inside = np.matmul(parts, absorbed[combos])
            inside *= np.matmul(parts, twice[combos])
            np.sqrt(inside, out=inside)
            inside += np.matmul(parts, below[combos])
            np.divide(np.matmul(parts, seen[combos]), inside, out=inside)
            yield _lab32(inside.reshape(-1, inside.shape[-1]) @ to_xyz + ground)


def _lab32(ratio: Floats) -> Floats:
    """L*a*b* of XYZ relative to white, in float32."""
    f = np.cbrt(ratio)
    small = ratio <= 216 / 24389
    f[small] = (24389 / 27 * ratio[small] + 16) / 116
    lab = np.empty_like(f)
    lab[:, 0] = 116 * f[:, 1] - 16
    lab[:, 1] = 500 * (f[:, 0] - f[:, 1])
    lab[:, 2] = 200 * (f[:, 1] - f[:, 2])
    return lab
