"""Thin coats from film optics: how many it takes until the ground no longer shows, and when an undercoat pays.

A coat adds one film of the mix (Kubelka-Munk, finishplan/colour/film.py); two coats are one film twice as thick. A
ground is what lies below: the primer inside an area, the neighbour's dry colour where the cut overlaps it, the
enclosing colour under a dot. It is hidden after the smallest number of coats from which on the film is

- within HIDDEN (CIEDE2000) of the mix's own opaque film; or
- within CLOSE of it and even: no coat is laid to an even thickness, and the ground betrays itself as patches where the
  film is thin. Each coat varies by UNEVEN of its thickness, independently of the others, n coats by UNEVEN sqrt(n) of
  one; the film is even when its thin and its thick places differ by no more than HIDDEN. White over a white primer or
  a clear yellow over white lie even long before they are opaque: the ground only makes the whole area a little paler.
  `full` coats (HIDDEN from the opaque film) are told as well.

A speck has no room for patches, nor anything of its own colour beside it: within CLOSE does for a dot.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, opaque, saunderson, surface
from finishplan.colour.hiding import BRUSH_COAT_MM, HIDDEN, from_which_on
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, hex_from_lab, lab, xyz
from finishplan.job.settings import Gloss, Method, Tool
from finishplan.paint.model import Box, Ingredient, Mix, Paint

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

CLOSE = 3.0
"""CIEDE2000 that two surfaces apart from each other may differ by without being told apart (common practice)."""
UNEVEN = 0.25
"""How far a coat is thinner here and thicker there than on the whole, as a share of its thickness (our assumption)."""
MOST_TRIED = 30
"""Coats beyond which counting stops; a mix that still shows then counts as MOST_TRIED + 1."""
WORTH_COATS = 2
"""Coats an undercoat must save to be proposed where the mix alone would need no more than the most allowed."""
MOST_UNDERCOATS = 3
COAT_MM: dict[Tool, float] = {"brush": BRUSH_COAT_MM, "airbrush": 0.010}
"""Dry thickness of one thin coat (common practice)."""
DOT_COATS = 3.0
"""A dot is a bead off the point, about as thick as this many brush coats (common practice)."""


def coat_mm(method: Method, tool: Tool) -> float:
    """Dry thickness of one coat, the maker's own where given."""
    own = method.coat_um if tool == "brush" else method.spray_um
    return COAT_MM[tool] if own is None else own / 1000


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
        """(M, G, most + 1) CIEDE2000 from opaque after 0, 1, ... coats of `mm` of each mix over grounds (G, 31),
        internal."""
        thickness = mm * np.arange(most + 1)[None, None, :, None]
        laid = film(self.K[:, None, None], self.S[:, None, None], thickness, grounds[None, :, None])
        return delta_e(self.seen(laid), self.seen(self.opaque)[:, None, None])

    def patches(self, mixes: Counts, grounds: Array, coats: Counts, mm: float) -> Array:
        """(P,) CIEDE2000 between thin and thick places, each of `coats` coats of one of the mixes over (P, 31)
        grounds."""
        off = UNEVEN * np.sqrt(coats)
        thin, thick = (
            self.seen(film(self.K[mixes], self.S[mixes], mm * n[:, None], grounds)) for n in (coats - off, coats + off)
        )
        return delta_e(thin, thick)

    def coats(self, grounds: Array, mm: float, most: int = MOST_TRIED) -> Counts:
        """(M, G) coats of `mm` by the rule above, at least 1; most + 1 when even that many do not hide."""
        return self.hiding(self.curves(grounds, mm, most), grounds, mm)

    def hiding(self, curves: Array, grounds: Array, mm: float) -> Counts:
        """(M, G) coats by the rule above, of `curves` (M, G, N + 1) over grounds (G, 31); mm: one dry coat."""
        hidden = curves <= HIDDEN
        mixes, under, n = np.nonzero(~hidden & (curves <= CLOSE))
        if len(mixes):
            hidden[mixes, under, n] = self.patches(mixes, grounds[under], n, mm) <= HIDDEN
        return from_which_on(hidden)

    def one(self, mix: int) -> "Films":
        """The films of one mix alone."""
        return Films(self.K[[mix]], self.S[[mix]], self.opaque[[mix]], self.k1, self.k2)

    def needed(self, grounds: Array, mm: float, speck: bool, most: int = MOST_TRIED) -> Counts:
        """(M, G) dabs of a speck, else coats, of `mm` over grounds (G, 31); most + 1 when even so many do not hide."""
        return dabs_to_hide(self.curves(grounds, mm, most)) if speck else self.coats(grounds, mm, most)

    def seen(self, r: Array) -> Array:
        """(..., 3) L*a*b* of internal reflectances (..., 31)."""
        return lab(saunderson(r, self.k1, self.k2))

    def contrast(self, mm: float) -> Array:
        """(M,) contrast ratio of one coat of `mm` dry: Y over black / Y over white, the convention of ASTM D2805 and
        ISO 6504-3."""
        grounds = np.array([0.0, 0.98])[None, :, None]
        Y = xyz(saunderson(film(self.K[:, None], self.S[:, None], mm, grounds), self.k1, self.k2))[..., 1]
        ratio: Array = Y[:, 0] / Y[:, 1]
        return ratio


FilmsOf = Callable[[Sequence[Mix]], Films]


def films(mixes: Sequence[Mix], box: Box, finish: Gloss) -> Films:
    """The films of `mixes` as they dry under `finish`."""
    K, S = (np.stack([getattr(m, name) for m in mixes]) for name in ("K", "S"))
    k1, k2 = surface(finish, box.table.k1, box.table.k2)
    return Films(K, S, opaque(K, S), k1, k2)


def dabs_to_hide(curves: Array) -> Counts:
    """(...) dabs of a dot that bring it within CLOSE of opaque; N + 1 when even N do not. curves: (..., N + 1)
    CIEDE2000 from opaque after 0, 1, ... N dabs."""
    return from_which_on(curves <= CLOSE)


@dataclass(frozen=True, eq=False)
class Undercoat:
    """An undercoat for one mix over one ground: `coats` of mix `by`, then `over` coats of the mix, which would take
    `alone` without; saves: coats spared in all."""

    by: Mix
    coats: int
    over: int
    alone: int

    @property
    def saves(self) -> int:
        """Coats spared in all, its own counted."""
        return self.alone - self.coats - self.over


@dataclass(frozen=True, eq=False)
class Bare:
    """A mix to be laid on a ground (31,) without an undercoat: `alone` coats of `mm`; speck: a dot, of dabs."""

    mix: Mix
    ground: Array
    mm: float
    alone: int
    speck: bool = False


def undercoats_for(
    bare: Bare, open_mixes: Sequence[Mix], spare: Sequence[Mix], films_of: FilmsOf, most: int
) -> tuple[Undercoat, ...]:
    """The undercoats worth a thought, the best first; after it the best that is no darker than the mix, as it comes
    earlier of itself.

    Worth it: WORTH_COATS are saved, or the mix alone needs more than `most` coats and both together do not. A mix
    that is open anyway goes before the first of `spare` (white, then a grey) that is worth it; among open ones the
    fewest coats, then one no darker than the mix, then the nearest in colour.
    """
    if bare.alone < WORTH_COATS + 2 and bare.alone <= most:
        return ()  # two coats at least are laid with one
    own = films_of([bare.mix])
    colour, tried = own.seen(own.opaque)[0], min(bare.alone, MOST_TRIED)
    for group in ([m for m in open_mixes if m is not bare.mix], *([m] for m in spare)):
        found: list[tuple[tuple[float, ...], Undercoat]] = []
        if not group:
            continue
        beds = films_of(group)
        r = film(beds.K, beds.S, bare.mm * np.arange(1, MOST_UNDERCOATS + 1)[:, None, None], bare.ground)
        overs = own.needed(r.reshape(-1, r.shape[-1]), bare.mm, bare.speck, tried)[0].reshape(r.shape[:2])
        saves = bare.alone - overs - np.arange(1, MOST_UNDERCOATS + 1)[:, None]
        worth = (saves >= WORTH_COATS) | ((saves > 0) & (bare.alone - saves <= most) & (most < bare.alone))
        for row, k in np.argwhere(worth).tolist():
            one, seen = Undercoat(group[k], row + 1, int(overs[row, k]), bare.alone), beds.seen(r[row, k])
            darker = bool(seen[0] < colour[0])
            found.append(((one.coats + one.over, darker, one.coats, float(delta_e(seen, colour)), k), one))
        if found:
            found.sort(key=lambda f: f[0])
            lighter = next((one for key, one in found if not key[1]), found[0][1])
            return tuple(dict.fromkeys((found[0][1], lighter)))
    return ()


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
