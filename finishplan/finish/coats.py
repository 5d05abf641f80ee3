"""Thin coats from film optics: how many it takes until the ground no longer shows, and when an undercoat pays.

A coat adds one film of the mix (Kubelka-Munk, finishplan/colour/film.py); two coats are one film twice as thick. A
ground is what lies below: the primer inside an area, the neighbour's dry colour where the cut overlaps it, the
enclosing colour under a dot. It is hidden after the smallest number of coats from which on the film is

- within HIDDEN (CIEDE2000) of the mix's own opaque film; or
- within CLOSE of it, and the next 20 um would move it by less than STEP: white over a white primer, a clear yellow
  over white. Such a film never quite becomes the opaque one, and the eye gains nothing from more of it. `full` coats
  (HIDDEN) are told as well.

A speck is not seen side by side with anything of its own colour: within CLOSE does for a dot.
"""

from collections.abc import Callable, Sequence
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
"""CIEDE2000 of a just-visible step side by side."""
CLOSE = 3.0
"""CIEDE2000 that two surfaces apart from each other may differ by without being told apart (common practice)."""
STEP = 0.5
"""CIEDE2000 for each further brush coat (20 um) that nobody sees it change; thinner coats in proportion."""
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
    own = method.coat_um if tool == "brush" else method.spray_um
    return (COAT_UM[tool] if own is None else own) / 1000


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
        r = film(self.K[:, None, None], self.S[:, None, None], thickness, grounds[None, :, None])
        own = lab(saunderson(self.opaque, self.k1, self.k2))
        return delta_e(lab(saunderson(r, self.k1, self.k2)), own[:, None, None])

    def curve(self, mix: int, ground: Array, mm: float) -> Array:
        """(N + 1,) of one mix over one ground (31,)."""
        one = Films(self.K[[mix]], self.S[[mix]], self.opaque[[mix]], self.k1, self.k2)
        result: Array = one.curves(ground[None], mm)[0, 0]
        return result

    def seen(self, r: Array) -> Array:
        """(..., 3) L*a*b* of internal reflectances (..., 31)."""
        return lab(saunderson(r, self.k1, self.k2))

    def contrast(self, mm: float) -> Array:
        """(M,) contrast ratio of one coat: Y over black / Y over white, the convention of ASTM D2805 and ISO 6504-3."""
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


def coats_to_hide(curves: Array, mm: float) -> NDArray[np.int64]:
    """(...) coats of `mm` by the rule above from curves (..., N + 1): at least 1; N + 1 when even N do not hide."""
    step = STEP * mm / (COAT_UM["brush"] / 1000)
    gain = -np.diff(curves, axis=-1)
    gain = np.append(gain, gain[..., -1:], axis=-1)
    return _from_which_on((curves <= HIDDEN) | ((curves <= CLOSE) & (gain <= step)))


def full_coats(curves: Array) -> NDArray[np.int64]:
    """(...) coats that bring the film within HIDDEN of opaque; N + 1 when even N do not."""
    return _from_which_on(curves <= HIDDEN)


def dabs_to_hide(curves: Array) -> NDArray[np.int64]:
    """(...) dabs of a dot that bring it within CLOSE of opaque; N + 1 when even N do not."""
    return _from_which_on(curves <= CLOSE)


def needed(curves: Array, mm: float, speck: bool) -> NDArray[np.int64]:
    """Dabs of a speck, else coats."""
    return dabs_to_hide(curves) if speck else coats_to_hide(curves, mm)


def _from_which_on(hidden: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Index along the last axis from which on all are true, at least 1."""
    shows = ~hidden
    last = hidden.shape[-1] - 1 - np.argmax(shows[..., ::-1], axis=-1)
    result: NDArray[np.int64] = np.maximum(np.where(shows.any(axis=-1), last + 1, 1), 1).astype(np.int64)
    return result


def grey_ground(reflectance: float, box: Box) -> Array:
    """(31,) internal reflectance of an even grey seen as `reflectance` (0-1)."""
    return inverse_saunderson(np.full(31, reflectance), box.table.k1, box.table.k2)


@dataclass(frozen=True, eq=False)
class Undercoat:
    """An undercoat for one mix over one ground: `coats` of mix `by`, then `over` coats of the mix; saves: coats
    spared in all."""

    by: Mix
    coats: int
    over: int
    saves: int


@dataclass(frozen=True, eq=False)
class Bare:
    """A mix to be laid on a ground (31,) without an undercoat: `alone` coats of `mm`; speck: a dot, of dabs."""

    mix: Mix
    ground: Array
    mm: float
    alone: int
    speck: bool = False


def undercoat_for(
    bare: Bare, open_mixes: Sequence[Mix], spare: Sequence[Mix], films_of: FilmsOf, most: int
) -> Undercoat | None:
    """The undercoat worth laying, or None.

    Worth it: WORTH_COATS are saved, or the mix alone needs more than `most` coats and both together do not. A mix
    that is open anyway goes before the first of `spare` (white, then a grey) that is worth it; among open ones the
    fewest coats, then one no darker than the mix, as it comes earlier of itself, then the nearest in colour.
    """
    own = films_of([bare.mix])
    colour = own.seen(own.opaque)[0]
    for group in ([m for m in open_mixes if m is not bare.mix], *([m] for m in spare)):
        found = []
        if not group:
            continue
        beds = films_of(group)
        r = film(beds.K, beds.S, bare.mm * np.arange(1, MOST_UNDERCOATS + 1)[:, None, None], bare.ground)
        curves = own.curves(r.reshape(-1, r.shape[-1]), bare.mm)[0]
        seen, overs = beds.seen(r), needed(curves, bare.mm, bare.speck).reshape(r.shape[:2])
        for (row, k), over in np.ndenumerate(overs):
            n, saves = row + 1, bare.alone - row - 1 - int(over)
            if saves >= WORTH_COATS or (saves > 0 and n + over <= most < bare.alone):
                darker = bool(seen[row, k, 0] < colour[0])
                key = (n + int(over), darker, n, float(delta_e(seen[row, k], colour)), k)
                found.append((key, Undercoat(group[k], n, int(over), saves)))
        if found:
            return min(found, key=lambda f: f[0])[1]
    return None


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
