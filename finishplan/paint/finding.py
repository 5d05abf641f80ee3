"""From what a maker calls a paint to a paint of the table: its id, its common name, its Colour Index name.

A Colour Index name that nobody measured leads to the measured paint that lies nearest where the table names one; else
no other pigment is guessed.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

from finishplan.basics.errors import NAMED, InputError, nearest
from finishplan.basics.words import listed
from finishplan.paint.hazards import hazards_of
from finishplan.paint.model import ColourTable, Paint, StandIn

_JOB_KEY = "paints.own"
_CI = r"([PN](?:Bk|Br|B|G|M|O|R|V|W|Y))[0-9]+(?::[0-9]+)?"
"""A Colour Index name: pigment or natural, hue, number (Colour Index International)."""


def found_paints(table: ColourTable, names: Sequence[str], where: str) -> list[Paint]:
    """The paints of these names, each measured paint once. Raises InputError that tells all unclear names at once, each
    with its choices."""
    # All at once: a maker with five unclear names should not have to run the program five times.
    found, wrong = dict[str, Paint](), list[InputError]()
    for name in names:
        try:
            paint = find_paint(table, name, where)
        except InputError as error:
            wrong.append(error)
        else:
            found[paint.id] = _both(found[paint.id], paint) if paint.id in found else paint
    if len(wrong) == 1:
        raise wrong[0]
    if wrong:
        what = "; ".join(f"{e.what} ({e.cure})" for e in wrong)
        raise InputError(
            f"{len(wrong)} unclear names: {what}", where=where, key=key_at(where), cure="write an id or add a [[paint]]"
        )
    return list(found.values())


def key_at(where: str) -> str:
    """The job's key, where the paints are not told in a box file."""
    return "" if where else _JOB_KEY


def _both(one: Paint, other: Paint) -> Paint:
    """Two names of one measured paint: the measured one goes before a stand-in, with the cautions of both."""
    first = other if one.taken_as else one
    return replace(first, hazards=tuple(dict.fromkeys((*one.hazards, *other.hazards))))


def find_paint(table: ColourTable, name: str, where: str = "") -> Paint:
    """The table's paint of that id, common name or Colour Index name. Raises InputError, naming the nearest."""
    # By id and common name first, which are one paint's alone; several paints may bear one Colour Index name.
    slug = slug_of(name)
    for paint in table.paints:
        if slug in (paint.id, slug_of(paint.name)):
            return paint
    written = "".join(name.lower().split())
    same = [p for p in table.paints if p.ci and p.ci.lower() == written]
    if len(same) == 1:
        return same[0]
    if same:
        ids = ", ".join(p.id for p in same)
        raise InputError(
            f"{name.strip()} is the Colour Index name of several paints",
            where=where,
            key=key_at(where),
            cure=f"write the id, one of: {ids}",
        )
    # Only where nothing of that name was measured.
    for row in table.stand_ins:
        if row.ci.lower() == written or slug == slug_of(row.name):
            return _stands_in(table, row)
    # By its hue, never by spelling: PY3 and PY35 are a digit apart, and only one of them holds cadmium.
    if found := re.fullmatch(_CI, written, re.IGNORECASE):
        raise _no_pigment(table, name.strip(), found[1].lower(), where)
    known = tuple(p.id for p in table.paints)
    raise InputError(
        f"no paint '{name}' in the table '{table.name}'",
        where=where,
        key=key_at(where),
        cure=nearest(name, known, NAMED),
    )


def _stands_in(table: ColourTable, row: StandIn) -> Paint:
    """The measured paint under the tube's own name, with the tube's own cautions."""
    paint = next(p for p in table.paints if p.id == row.paint)
    taken = f"{paint.name}, {paint.ci}" if paint.ci else paint.name
    hazards = hazards_of(row.ci, row.name)
    return replace(paint, name=row.name, ci=row.ci, hazards=hazards, estimate=True, taken_as=taken)


def taken_notes(paints: Sequence[Paint]) -> tuple[str, ...]:
    """Which tubes are taken for a measured paint."""
    return tuple(f"{p.name} ({p.ci}) is taken as {p.taken_as}: your tube may differ." for p in paints if p.taken_as)


def _no_pigment(table: ColourTable, name: str, hue: str, where: str) -> InputError:
    kin = dict.fromkeys(p.ci for p in table.paints if re.match(f"{hue}[0-9]", p.ci.lower()))
    cure = "add yours as [[paint]] with its colour to a box file"
    cure += f", or name one of its {len(table.paints)} paints, of this hue {listed(kin)}" if kin else ""
    return InputError(f"no paint '{name}' in the table '{table.name}'", where=where, key=key_at(where), cure=cure)


def slug_of(name: str) -> str:
    """'Phthalo blue (green shade)' -> 'phthalo-blue-green-shade'; empty if nothing is left."""
    return "-".join(re.findall(r"[a-z0-9]+", name.lower()))
