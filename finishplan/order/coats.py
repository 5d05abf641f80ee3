"""Thin coats: how many a mix takes over its ground, and when an undercoat pays.

A ground is what lies below: the primer inside an area, the neighbour's dry colour where the cut overlaps it, the
enclosing colour under a dot. finishplan/colour/hiding.py tells when it is hidden. On an area of BROAD_CM2 or more at
least `least_coats` are laid, as a single coat shows the marks of the brush.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import film, opaque, saunderson, surface
from finishplan.colour.hiding import BRUSH_COAT_MM, MOST_TRIED, Films
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, hex_from_lab, lab
from finishplan.job.settings import Gloss, Method, Tool
from finishplan.paint.model import Box, Ingredient, Mix, Paint

Array = NDArray[np.float64]

BROAD_CM2 = 1.0
"""An area from which on one coat shows brush marks (common practice: never fewer than two thin coats)."""
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


FilmsOf = Callable[[Sequence[Mix]], Films]


def films(mixes: Sequence[Mix], box: Box, finish: Gloss) -> Films:
    """The films of `mixes` as they dry under `finish`."""
    K, S = (np.stack([getattr(m, name) for m in mixes]) for name in ("K", "S"))
    k1, k2 = surface(finish, box.table.k1, box.table.k2)
    return Films(K, S, opaque(K, S), k1, k2)


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
    """A mix to be laid on a ground (31,) without an undercoat: `alone` coats of `mm`, `least` whatever is under it;
    speck: a dot, of dabs."""

    mix: Mix
    ground: Array
    mm: float
    alone: int
    speck: bool
    least: int


def undercoats_for(
    bare: Bare, open_mixes: Sequence[Mix], spare: Sequence[Mix], films_of: FilmsOf, most: int
) -> tuple[Undercoat, ...]:
    """The undercoats worth a thought, the best first; after it the best that is no darker than the mix, as it comes
    earlier of itself.

    Worth it: WORTH_COATS are saved, or the mix alone needs more than `most` coats and both together do not. A mix
    that is open anyway goes before the first of `spare` (white, then a grey) that is worth it; among open ones the
    fewest coats, then one no darker than the mix, then the nearest in colour.
    """
    if bare.alone <= most and (bare.least == 1 or bare.alone < WORTH_COATS + 1 + bare.least):
        return ()  # under details a strange colour shows at the rim; and one coat at least lies under the least
    own = films_of([bare.mix])
    # Counting on beyond what the mix takes alone finds no undercoat that pays.
    colour, tried = own.seen(own.opaque)[0], min(bare.alone, MOST_TRIED)
    # One spare at a time: a grey is looked at only where white is not worth it.
    for group in ([m for m in open_mixes if m is not bare.mix], *([m] for m in spare)):
        found: list[tuple[tuple[float, ...], Undercoat]] = []
        if not group:
            # `continue`, not `break`: with no other mix open the spares still count.
            continue
        beds = films_of(group)
        r = film(beds.K, beds.S, bare.mm * np.arange(1, MOST_UNDERCOATS + 1)[:, None, None], bare.ground)
        overs = own.needed(r.reshape(-1, r.shape[-1]), bare.mm, bare.speck, tried)[0].reshape(r.shape[:2])
        # An area of this size gets as many coats even where the undercoat hides all by itself.
        overs = np.maximum(overs, bare.least)
        saves = bare.alone - overs - np.arange(1, MOST_UNDERCOATS + 1)[:, None]
        worth = (saves >= WORTH_COATS) | ((saves > 0) & (bare.alone - saves <= most) & (most < bare.alone))
        for row, k in np.argwhere(worth).tolist():
            one, seen = Undercoat(group[k], row + 1, int(overs[row, k]), bare.alone), beds.seen(r[row, k])
            # A darker undercoat breaks light before dark, so it may cost a pass of its own.
            darker = bool(seen[0] < colour[0])
            found.append(((one.coats + one.over, darker, one.coats, float(delta_e(seen, colour)), k), one))
        if found:
            found.sort(key=lambda f: f[0])
            # The second choice is for `_weighed`: tried where the first costs the mix another pass.
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
    # Parts are by volume, and K and S of a mix add up by volume.
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
