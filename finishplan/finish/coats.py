"""Thin coats from film optics: how many it takes until the ground no longer shows, and when an undercoat pays.

A coat adds one film of the mix (Kubelka-Munk, finishplan/colour/film.py); two coats are one film twice as thick. A mix
hides its ground after the smallest number of coats that brings the colour within HIDDEN (CIEDE2000) of the mix's own
opaque film, and keeps it there. A ground is what lies below: the primer inside an area, the neighbour's dry colour where
the cut overlaps it, the enclosing colour under a dot.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson, surface
from finishplan.colour.light import delta_e, hex_from_lab, lab, xyz
from finishplan.drawing.model import Lab
from finishplan.finish.model import Gloss, Method, Tool
from finishplan.paint.model import Box, Ingredient, Mix, Paint

Array = NDArray[np.float64]

HIDDEN = 1.0
"""CIEDE2000 at which a ground counts as hidden: a just-visible step side by side."""
MOST_TRIED = 30
"""Coats beyond which counting stops; a mix that still shows then counts as MOST_TRIED + 1."""
WORTH_COATS = 2
"""Coats an undercoat must save to be proposed where the mix alone would need no more than the most allowed."""
MOST_UNDERCOATS = 3
COAT_UM: dict[Tool, float] = {"brush": 20.0, "airbrush": 10.0}
"""Dry thickness of one thin coat (common practice)."""
DOT_COATS = 3.0
"""A dot is a bead off the point, about as thick as this many brush coats (common practice)."""


def coat_mm(method: Method, tool: Tool) -> float:
    """Dry thickness of one coat, the maker's own where given."""
    return (method.coat_um if method.coat_um is not None else COAT_UM[tool]) / 1000


@dataclass(frozen=True, eq=False)
class Films:
    """Mixes as films under one surface. K, S: (M, 31) per mm; opaque: (M, 31) internal reflectance of thick films;
    k1, k2: Saunderson constants of the finish."""

    K: Array
    S: Array
    opaque: Array
    k1: float
    k2: float

    def curves(self, grounds: Array, mm: float, most: int = MOST_TRIED) -> Array:
        """(M, G, most + 1) CIEDE2000 from opaque after 0, 1, ... coats of `mm` of each mix over grounds (G, 31), internal."""
        thickness = mm * np.arange(most + 1)[None, None, :, None]
        r = film(self.K[:, None, None], self.S[:, None, None], thickness, grounds[None, :, None])
        own = lab(saunderson(self.opaque, self.k1, self.k2))
        return delta_e(lab(saunderson(r, self.k1, self.k2)), own[:, None, None])

    def seen(self, r: Array) -> Array:
        """(..., 3) L*a*b* of internal reflectances (..., 31)."""
        return lab(saunderson(r, self.k1, self.k2))

    def contrast(self, mm: float) -> Array:
        """(M,) contrast ratio of one coat: Y over black / Y over white, the convention of ASTM D2805 and ISO 6504-3."""
        grounds = np.array([0.0, 0.98])[None, :, None]
        Y = xyz(saunderson(film(self.K[:, None], self.S[:, None], mm, grounds), self.k1, self.k2))[..., 1]
        ratio: Array = Y[:, 0] / Y[:, 1]
        return ratio


def films(mixes: Sequence[Mix], box: Box, finish: Gloss) -> Films:
    """The films of `mixes` as they dry under `finish`."""
    K, S = (np.stack([getattr(m, name) for m in mixes]) for name in ("K", "S"))
    k1, k2 = surface(finish, box.table.k1, box.table.k2)
    return Films(K, S, opaque(K, S), k1, k2)


def coats_to_hide(curves: Array) -> NDArray[np.int64]:
    """(...) coats from curves (..., N + 1): the smallest n >= 1 from which on the ground stays hidden; N + 1 when it never is."""
    shows = curves > HIDDEN
    last = curves.shape[-1] - 1 - np.argmax(shows[..., ::-1], axis=-1)
    needed = np.where(shows.any(axis=-1), last + 1, 1)
    result: NDArray[np.int64] = np.maximum(needed, 1).astype(np.int64)
    return result


def grey_ground(reflectance: float, box: Box) -> Array:
    """(31,) internal reflectance of an even grey seen as `reflectance` (0-1)."""
    return inverse_saunderson(np.full(31, reflectance), box.table.k1, box.table.k2)


@dataclass(frozen=True, eq=False)
class Undercoat:
    """An undercoat for one mix: `coats` of mix `by`, then `over` coats of the mix; saves: coats spared in all."""

    by: Mix
    coats: int
    over: int
    saves: int
    curve: tuple[float, ...]
    open_anyway: bool


def undercoat_for(
    target: int,
    mixes: Sequence[Mix],
    spare: Sequence[Mix],
    ground: Array,
    *,
    box: Box,
    finish: Gloss,
    mm: float,
    alone: int,
    most: int,
) -> Undercoat | None:
    """The undercoat worth laying under mixes[target] on `ground` (31,), or None.

    Worth it: the mix alone needs more than `most` coats and fewer do in all, or WORTH_COATS are saved. A mix already open goes before the
    first of `spare` (white, then a grey) that is worth it; among open ones, fewest coats, then nearest in colour.
    """
    own = films([mixes[target]], box, finish)
    colour = own.seen(own.opaque)[0]
    found = []
    for rank, (open_anyway, group) in enumerate(((True, mixes), *((False, [m]) for m in spare))):
        others = [m for m in group if m is not mixes[target]]
        if not others:
            continue
        beds = films(others, box, finish)
        for n in range(1, MOST_UNDERCOATS + 1):
            r = film(beds.K, beds.S, n * mm, ground)
            curves = own.curves(r, mm)[0]
            apart = delta_e(beds.seen(r), colour)
            for k, over in enumerate(coats_to_hide(curves)):
                total = n + int(over)
                if alone - total >= (1 if alone > most else WORTH_COATS):
                    key = (rank, total, n, float(apart[k]), k)
                    found.append((key, others[k], n, int(over), curves[k], open_anyway))
    if not found:
        return None
    _, by, n, over, curve, open_anyway = min(found, key=lambda f: f[0])
    return Undercoat(by, n, over, alone - n - over, tuple(curve[: over + 1].tolist()), open_anyway)


def spare_undercoats(box: Box, finish: Gloss) -> tuple[Mix, ...]:
    """White, then a light grey (eleven white to one black), straight from the box; fewer when the box lacks them."""
    by_id = {p.id: p for p in box.paints}
    white = by_id.get(box.white or "")
    black = by_id.get(box.black or "")
    result = []
    if white is not None:
        result.append(_straight("U1", "white undercoat", ((white, 1),), box, finish))
    if white is not None and black is not None:
        result.append(_straight("U2", "grey undercoat", ((white, 11), (black, 1)), box, finish))
    return tuple(result)


def _straight(id: str, name: str, parts: Sequence[tuple[Paint, int]], box: Box, finish: Gloss) -> Mix:
    total = sum(n for _, n in parts)
    K, S = (sum(n * getattr(p, what) for p, n in parts) / total for what in ("K", "S"))
    k1, k2 = surface(finish, box.table.k1, box.table.k2)
    colour: Lab = tuple(lab(saunderson(opaque(K, S), k1, k2)).tolist())
    return Mix(
        id=id,
        name=name,
        drawn=colour,
        drawn_hex=hex_from_lab(colour),
        aim=colour,
        recipe=tuple(Ingredient(p.id, p.name, p.ci, n) for p, n in parts),
        lab=colour,
        hex=hex_from_lab(colour),
        delta_e=0.0,
        delta_e_a=0.0,
        reachable=True,
        expect_within=0.0,
        K=K,
        S=S,
        estimate=any(p.estimate for p, _ in parts),
    )
