"""Cautions that a pigment's constitution implies, by its Colour Index generic name or by the words on the bottle.

data/pigments.toml lists the pigments, each with what it holds, its caution and its source. What is bound in a film does
little harm, what is breathed or swallowed may. The product's own safety data sheet comes first.
"""

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from finishplan.basics.text_files import shipped_toml
from finishplan.basics.words import listed
from finishplan.paint.model import Box, Mix, Paint

METALS = (
    "antimony",
    "arsenic",
    "cadmium",
    "chromium",
    "cobalt",
    "lead",
    "manganese",
    "mercury",
    "nickel",
    "vanadium",
)
"""Elements of which a paint that names one among its hazards is neither sprayed nor sanded."""
UNKNOWN = "pigment unknown, it may hold a harmful metal: do not spray, do not sand"
"""The caution of a paint of which nobody said what pigments it holds."""
_CI_NAME = re.compile(r"\b[PN](?:Bk|Br|B|G|M|O|R|V|W|Y) ?[0-9]+(?::[0-9]+)?\b", re.IGNORECASE)
"""A Colour Index generic name: pigment or natural, hue, number, shade (Colour Index International)."""
_LOOKS_SO = re.compile(r"\b(hue|imitation|imit|free|tone|substitute)\b", re.IGNORECASE)
"""Words by which a bottle says that it only looks like the pigment in its name (common practice)."""


@cache
def pigment_facts() -> dict[str, dict[str, Any]]:
    """The tables of data/pigments.toml."""
    return shipped_toml("paint/data/pigments.toml")


@cache
def _plain() -> frozenset[str]:
    return frozenset(name.lower() for name in pigment_facts()["plain"]["names"].split())


@cache
def _rows() -> dict[str, dict[str, Any]]:
    facts = pigment_facts()
    return {ci.lower(): row for ci, row in (facts["other"] | facts["metals"]).items()}


def hazards_of(ci: str, name: str = "") -> tuple[str, ...]:
    """Cautions for a paint by its Colour Index names ('PB36:1', 'PW6, PY53') and by the words of its name.

    No Colour Index name, or one in no table: the pigment counts as unknown, and the caution says so.
    """
    pigments = ["".join(found.split()).lower() for found in _CI_NAME.findall(ci)]
    # All of them: a bottle with one pigment in no list may hold anything.
    known = bool(pigments) and all(_row(p) is not None or _is_plain(p) for p in pigments)
    cautions = [_caution(row) for p in pigments if (row := _row(p)) is not None]
    covered = {metal for p in pigments if (row := _row(p)) is not None for metal in row.get("metals", ())}
    # Not twice: what is said of a pigment says more than the word on the label.
    cautions += [text for metal, text in _by_words(name, known) if metal not in covered]
    return tuple(dict.fromkeys(cautions if known else (*cautions, UNKNOWN)))


def _row(pigment: str) -> dict[str, Any] | None:
    # A shade (PB36:1) is of the same elements as the pigment itself.
    return _rows().get(pigment) or _rows().get(pigment.split(":")[0])


def _is_plain(pigment: str) -> bool:
    return pigment.split(":")[0] in _plain()


def _caution(row: dict[str, Any]) -> str:
    subject = row.get("named") or listed(row["metals"])
    return str(subject + pigment_facts()["cautions"][row["caution"]])


def _by_words(name: str, known: bool) -> list[tuple[str, str]]:
    """(metal, caution) of the words in a name. known: the bottle's Colour Index names tell what it holds."""
    # A "cadmium hue" is sold for holding none. Where no pigment is named the word is all there is, and is believed.
    if known and _LOOKS_SO.search(name):
        return []
    facts = pigment_facts()
    words: dict[str, list[str]] = facts["metal_words"] if known else facts["metal_words"] | facts["name_words"]
    lower = " ".join(re.findall(r"[^\W\d_]+", name.lower()))
    hits = [row for word, row in words.items() if re.search(rf"\b{word}\b", lower)]
    return [(metal, metal + facts["cautions"][caution]) for metal, caution in hits]


def paints_used(mixes: Iterable[Mix], box: Box) -> tuple[Paint, ...]:
    """The paints of the box that the mixes call for, pre-mixes included, in the box's order."""
    ids = {i.paint for m in mixes for i in m.recipe}
    # What a strong paint was let down in is in the pot too.
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
    # From the words, so that the cautions a box file adds count as much as those of the list.
    said = set(re.findall(r"[a-z]+", " ".join(paint.hazards).lower()))
    return tuple(m for m in METALS if m in said)


def metals_in(mixes: Iterable[Mix], box: Box) -> tuple[str, ...]:
    """The METALS in the mixes, in alphabetical order."""
    return tuple(sorted({m for p in paints_used(mixes, box) for m in metals_of(p)}))


def kept_from_spray(mixes: Iterable[Mix], box: Box) -> tuple[str, ...]:
    """Why the mixes are not sprayed: their METALS, and the paints of which nobody knows the pigment."""
    mixes = tuple(mixes)
    unknown = [p.name for p in paints_used(mixes, box) if is_unknown(p)]
    return (*metals_in(mixes, box), *((f"an unknown pigment ({listed(unknown)})",) if unknown else ()))


def is_unknown(paint: Paint) -> bool:
    """Whether nobody said what pigments the paint holds."""
    return UNKNOWN in paint.hazards
