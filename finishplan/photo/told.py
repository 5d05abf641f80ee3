"""How a learned tube differs from the table's paint, and what a photograph did not show, in plain words."""

import math
from collections.abc import Mapping

from finishplan.basics.words import listed
from finishplan.photo.model import LearnedTube, Shot

ALIKE = 0.15
"""A strength within so much of the table's, in logarithm, is as good as the same (common practice: a drop in seven)."""
HUE_STEP = 1.5
"""L*a*b* units of the full strength's or the tint's colour that are worth telling (our rule)."""


_SHARES = {0.28: "a quarter", 0.4: "a third", 0.6: "half", 0.85: "two thirds"}
"""Up to which share what is said (our rule)."""


_KINDS = {"full": "neat", "tint": "tint", "thin": "thin coat", "bar": "printed black"}


def not_read(shot: Shot, names: Mapping[str, str]) -> str:
    """'yellow ochre neat (glares) and black thin coat (bare)' of the fields left out; names: paint -> its name."""
    said = [f"{names.get(f.paint, '')} {_KINDS.get(f.kind, f.kind)} ({why})".strip() for f, why in shot.left_out]
    return listed(said, most=6)


def difference(tube: LearnedTube) -> str:
    """'a third weaker and a little redder', or 'as the table has it'."""
    said = [word for word in (_strength(tube.strength), _hue(tube)) if word]
    if tube.begun:
        return f"like {tube.begun}" + (f", {' and '.join(said)}" if said else "")
    return " and ".join(said) if said else "as the table has it"


def _strength(factor: float) -> str:
    if abs(math.log(factor)) < ALIKE:
        return ""
    amount = factor - 1 if factor > 1 else 1 - factor
    most = next((most for most in _SHARES if amount <= most), None)
    if factor > 1:
        return "half as strong again" if most == 0.6 else f"{_SHARES[most]} stronger" if most else "twice as strong"
    return "half as strong" if most == 0.6 else f"{_SHARES[most]} weaker" if most else "much weaker"


def _hue(tube: LearnedTube) -> str:
    """The larger of the changes along red-green, yellow-blue and light-dark of its tint."""
    L, a, b = (x - y for x, y in zip(tube.tint_lab, tube.table_tint_lab, strict=True))
    words = {"redder": a, "greener": -a, "yellower": b, "bluer": -b, "lighter": L / 2, "darker": -L / 2}
    word, most = max(words.items(), key=lambda item: item[1])
    if most < HUE_STEP:
        return ""
    return f"{'a little ' if most < 4 else '' if most < 9 else 'much '}{word}"
