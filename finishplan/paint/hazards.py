"""Cautions that a pigment's constitution implies, by its Colour Index generic name.

Constitution: Colour Index International, as quoted in paint makers' data sheets (from memory). The wording is
ours, the rule is physics of a bench: what is bound in a film does no harm, what is breathed or swallowed may.
The product's own safety data sheet comes first.
"""

import re
from collections.abc import Iterable

from finishplan.paint.model import Box, Mix, Paint

METALS = ("arsenic", "cadmium", "chromium", "cobalt", "lead", "mercury", "nickel", "vanadium")
"""Elements of which a paint that names one among its hazards is neither sprayed nor sanded."""

_SPRAY = "do not spray, do not sand"
_BY_CI: dict[str, tuple[str, ...]] = {
    "PO20": (f"cadmium: {_SPRAY}, keep from mouth and food",),
    "PR108": (f"cadmium: {_SPRAY}, keep from mouth and food",),
    "PY35": (f"cadmium: {_SPRAY}, keep from mouth and food",),
    "PY37": (f"cadmium: {_SPRAY}, keep from mouth and food",),
    "PB28": (f"cobalt: {_SPRAY}; may cause allergy",),
    "PB35": (f"cobalt: {_SPRAY}; may cause allergy",),
    "PB36": (f"cobalt: {_SPRAY}; may cause allergy", f"chromium: {_SPRAY}"),
    "PV14": (f"cobalt: {_SPRAY}; may cause allergy",),
    "PG50": (f"cobalt: {_SPRAY}; may cause allergy", f"nickel: {_SPRAY}; may cause allergy"),
    "PY53": (f"nickel: {_SPRAY}; may cause allergy",),
    "PG17": (f"chromium: {_SPRAY}",),
    "PG18": (f"chromium: {_SPRAY}",),
    "PY184": (f"vanadium: {_SPRAY}",),
    "PY34": (f"lead and chromate, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PW1": (f"lead, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PR105": (f"lead, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PY41": (f"lead, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PR106": (f"mercury, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PG21": (f"arsenic, poisonous: {_SPRAY}, keep from mouth, food and children",),
    "PB27": ("cyanide, firmly bound: do not heat, keep from acids",),
    "PBr7": ("may hold manganese and quartz: do not breathe spray or sanding dust",),
    "PBr8": ("manganese: do not breathe spray or sanding dust",),
    "PY43": ("may hold quartz: do not breathe spray or sanding dust",),
    "PW6": ("titanium dioxide: do not breathe spray or sanding dust",),
    "PW4": ("zinc: do not breathe spray or sanding dust, keep out of drains",),
    "PBk7": ("carbon black: do not breathe spray or sanding dust",),
    "PY83": ("diarylide: do not heat above 200 C",),
}


def hazards_of(ci: str) -> tuple[str, ...]:
    """Cautions for a Colour Index generic name such as 'PB36:1'; empty for none known or an unknown name."""
    return _BY_CI.get(ci, _BY_CI.get(ci.split(":")[0], ()))


def paints_used(mixes: Iterable[Mix], box: Box) -> tuple[Paint, ...]:
    """The paints of the box that the mixes call for, pre-mixes included, in the box's order."""
    ids = {i.paint for m in mixes for i in m.recipe}
    ids |= {i.premix.into for m in mixes for i in m.recipe if i.premix is not None}
    return tuple(p for p in box.paints if p.id in ids)


def hazards_in(mixes: Iterable[Mix], box: Box) -> tuple[str, ...]:
    """'vermilion: mercury, poisonous: ...': the cautions of every paint the mixes call for, in the box's order."""
    return tuple(f"{p.name}: {hazard}" for p in paints_used(mixes, box) for hazard in p.hazards)


def historical_warning(mixes: Iterable[Mix], box: Box) -> tuple[str, ...]:
    """One line on a table that is for study only, naming the paints of the mixes that hold METALS; else nothing."""
    if not box.table.historical:
        return ()
    risky = [f"{p.name} ({', '.join(metals_of(p))})" for p in paints_used(mixes, box) if metals_of(p)]
    held = f" These mixes call for {', '.join(risky)}: do not spray, do not sand, keep from mouth, food and children."
    return (f"The table '{box.table.name}' is historical: for study, not for the bench.{held if risky else ''}",)


def metals_of(paint: Paint) -> tuple[str, ...]:
    """The METALS that a paint's hazards name."""
    said = set(re.findall(r"[a-z]+", " ".join(paint.hazards).lower()))
    return tuple(m for m in METALS if m in said)


def metals_in(mixes: Iterable[Mix], box: Box) -> tuple[str, ...]:
    """The METALS in the mixes, in alphabetical order."""
    return tuple(sorted({m for p in paints_used(mixes, box) for m in metals_of(p)}))
