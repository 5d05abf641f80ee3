"""Primer tones as grounds, and which of them makes the run cheapest.

A primer is an even grey: white reflects 0.85, light grey 0.55, mid grey 0.20, black 0.045 (common practice for matt
primers; L* about 94, 79, 52 and 25). A primer of the maker's own colour is given the smoothest spectrum of that colour.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.words import counted, duration
from finishplan.colour.film import inverse_saunderson
from finishplan.colour.light import hex_from_lab, lab, lab_from_hex, weights, xyz, xyz_from_lab
from finishplan.order.model import Primer
from finishplan.paint.model import Box
from finishplan.paint.settings import BLACK_PRIMER, WHITE_PRIMER

Array = NDArray[np.float64]

TONES = {"white": WHITE_PRIMER, "light grey": 0.55, "mid grey": 0.20, "black": BLACK_PRIMER}
NEAR = 1.05
"""A primer whose minutes of the run lie within a twentieth of the cheapest's is as cheap: minutes are not known more
closely. Of those the lightest is taken on which no more coats are laid than on the cheapest (our rule): light colours
stay clear on it, and nobody lays five coats of yellow over grey to save a minute."""
BARE = "bare casting"
BARE_HEX = "#e9e4d4"
"""A cast resin without pigment: off-white (common practice)."""


@dataclass(frozen=True, eq=False)
class Tone:
    """A primer that may be chosen. reflectance: its Y / 100; ground: (31,) internal reflectance under paint; own: the
    maker's own colour."""

    name: str
    hex: str
    reflectance: float
    ground: Array
    own: bool = False


def tones(wish: str, box: Box, coats: int = 1) -> tuple[Tone, ...]:
    """The grounds to weigh: the maker's wish first where it is not 'auto', then the four usual primers. Without a coat
    of primer the bare casting alone, of the colour wished or of resin. Raises InputError for an unknown primer."""
    # An even grey: a primer reflects all of its spectrum alike, so its level is all there is to know.
    usual = [_tone(name, np.full(31, R), box) for name, R in TONES.items()]
    wish = wish.strip().lower()
    if wish == "auto" and coats:
        return tuple(usual)
    if wish in TONES and coats:
        return tuple(sorted(usual, key=lambda t: t.name != wish))
    if wish in ("auto", *TONES):
        return (replace(_tone(BARE_HEX, smooth_reflectance(lab_from_hex(BARE_HEX)), box), name=BARE),)
    if not re.fullmatch(r"#([0-9a-f]{3}|[0-9a-f]{6})", wish):
        cure = f"{nearest(wish, ('auto', *TONES))} or write a colour as '#rrggbb'"
        raise InputError(f"unknown primer '{wish}'", key="method.primer", cure=cure)
    own = _tone(wish, smooth_reflectance(lab_from_hex(wish)), box)
    return (replace(own, own=True), *usual) if coats else (replace(own, name=BARE),)


def _tone(name: str, R: Array, box: Box) -> Tone:
    return Tone(name, hex_from_lab(lab(R)), float(xyz(R)[1] / 100), inverse_saunderson(R, box.table.k1, box.table.k2))


def smooth_reflectance(colour: Sequence[float]) -> Array:
    """(31,) the smoothest reflectance of that L*a*b*: least squared steps from band to band, XYZ as constraints
    (Lagrange's equations), kept within 0.01-0.99."""
    W, step = weights(), np.diff(np.eye(31), axis=0)
    # Stationary point of squared steps under three linear constraints; the last three unknowns are the multipliers.
    system = np.block([[2 * step.T @ step, W], [W.T, np.zeros((3, 3))]])
    solved = np.linalg.solve(system, np.concatenate([np.zeros(31), xyz_from_lab(colour)]))
    # No pigment leaves these limits; a vivid colour of the maker's then comes out a little duller.
    result: Array = np.clip(solved[:31], 0.01, 0.99)
    return result


class Weighed(Protocol):
    """What is known of a primer: its minutes of the run, and the coats laid on one casting over all areas."""

    @property
    def tone(self) -> Tone:
        """The primer."""

    @property
    def minutes(self) -> float:
        """Painter's minutes of the run."""

    @property
    def laid(self) -> int:
        """Coats laid on one casting, summed over the areas."""


def chosen(best: Weighed, others: Sequence[Weighed], castings: int, wished: bool, coats: int) -> Primer:
    """The primer with its runner-up, the cheapest of `others`. wished: the maker named it; coats: of primer."""
    # Rounded, so that minutes equal but for the last digits give the first primer, not a chance one.
    runner = min(others, key=lambda o: round(o.minutes, 3), default=best)
    return Primer(
        name=best.tone.name,
        hex=best.tone.hex,
        reflectance=best.tone.reflectance,
        minutes=best.minutes,
        runner_up=runner.tone.name if others else "",
        runner_up_minutes=runner.minutes,
        why=_why(best, runner, castings, wished),
        coats=coats,
    )


def _why(best: Weighed, runner: Weighed, castings: int, wished: bool) -> str:
    """Why this primer: only what it spares, as the run's own total counts more than these minutes do."""
    name, other = best.tone.name, runner.tone.name
    if name == BARE:
        return "none: the bare casting is the ground"
    start = f"{name}, as you asked" if wished else name
    gap, over = runner.minutes - best.minutes, f" over {castings} castings" if castings > 1 else ""
    work = duration(abs(gap), days=False)
    # Half a minute in a whole run is no difference.
    if not wished and gap < -0.5:
        fewer = f", with {counted(runner.laid - best.laid, 'coat')} fewer" if runner.laid > best.laid else ""
        dearer = f"{work} ({100 * -gap / runner.minutes:.0f} %) more work{over} than those on {other}"
        return f"{start}: its coats take {dearer}; taken as the lighter{fewer}"
    if abs(gap) <= 0.5:
        return f"{start}: coats on {other} would take as long"
    if gap < 0:
        return f"{start}: coats on {other} would take {work} less work{over}"
    return f"{start}: its coats take {work} less work{over} than those on {other}"
