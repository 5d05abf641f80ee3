"""The mix book: the maker's proven mixes, kept from figure to figure in a TOML file.

[mixes.mustard]
recipe = { "yellow-ochre" = 6, "phthalo-blue-green-shade 1:49 in titanium-white" = 1 }
lab = [62.1, 9.3, 48.0]
came_out = true            # lab is that of its dab; false: as predicted
date = "2026-03-14"
used = ["The Lamplighter Newt: coat"]
note = ""
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit

from finishplan.basics.checks import dated, list_of, number, section, shown, text, whole, yes_no
from finishplan.basics.errors import InputError
from finishplan.basics.text_files import text_of, toml_of
from finishplan.basics.words import listed
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab
from finishplan.paint.finding import find_paint
from finishplan.paint.model import Box, ColourTable, Ingredient, Mix
from finishplan.paint.search import Recipe
from finishplan.paint.sharing import Known
from finishplan.paint.shelf import Shelf

_MOST_BYTES = 1_000_000
_LET_DOWN = r"(?P<paint>.+?) 1:(?P<of>[0-9]{1,6}) in (?P<into>.+)"
_HEAD = (
    "# The mix book: mixes that proved themselves, kept by `finishplan keep`. Drops of each paint; the rest is yours."
)
_EXAMPLE = 'write recipe = { "titanium-white" = 6, "yellow-ochre" = 2 }, in drops'


@dataclass(frozen=True)
class Part:
    """Whole drops of a paint (id); of: let down before, 1 to so many parts of the paint `into`; 0: as it comes."""

    paint: str
    drops: int
    into: str = ""
    of: int = 0


@dataclass(frozen=True)
class BookMix:
    """One mix. lab: L*a*b* D65 as it came out, or as predicted, None where it is not told; used: where."""

    name: str
    recipe: tuple[Part, ...]
    lab: Lab | None = None
    came_out: bool = False
    date: str = ""
    used: tuple[str, ...] = ()
    note: str = ""

    @property
    def paints(self) -> frozenset[str]:
        """The ids of all its paints, those that others are let down in too."""
        return frozenset(id for p in self.recipe for id in (p.paint, p.into) if id)


def load_book(path: Path, table: ColourTable) -> tuple[BookMix, ...]:
    """The mixes of a book, their paints by the table. Raises InputError: the file, the mix, what is wrong, the cure."""
    return parse_book(text_of(path, _MOST_BYTES, "a mix book (TOML)"), table, str(path))


def parse_book(said: str, table: ColourTable, file: str) -> tuple[BookMix, ...]:
    """The mixes of a book's text, see `load_book`."""
    data = toml_of(said, file)
    if data.keys() - {"mixes"}:
        key = min(data.keys() - {"mixes"})
        raise InputError(
            f"unknown key '{key[:60]}'", where=file, cure="write each mix under its name, as [mixes.mustard]"
        )
    entries = data.get("mixes", {})
    if not isinstance(entries, dict) or not all(isinstance(e, dict) for e in entries.values()):
        raise InputError(
            "'mixes' is not a table of mixes", where=file, cure="write each under its name, as [mixes.mustard]"
        )
    seen: dict[str, str] = {}
    for name in entries:
        # Names are told apart by eye at the bench, where neither case nor spaces count.
        other = seen.setdefault(" ".join(name.casefold().split()), name)
        if other != name:
            raise InputError(f"'{name}' and '{other}' are one name", where=file, cure="rename one")
    return tuple(_entry(name, entry, table, f"{file}: mixes.{name}") for name, entry in entries.items())


def _entry(name: str, entry: Mapping[str, Any], table: ColourTable, where: str) -> BookMix:
    def recipe(value: Any, at: str) -> tuple[Part, ...]:
        return _recipe(value, table, at)

    line = text(200)
    keys = {
        "recipe": recipe,
        "lab": _lab_of,
        "came_out": yes_no,
        "date": dated(text(40)),
        "used": list_of(line),
        "note": text(400),
    }
    # The name is a key of the file, which `section` does not check.
    text(80, empty=False)(name, where)
    if "recipe" not in entry:
        raise InputError("has no recipe", where=where, cure=_EXAMPLE)
    return BookMix(name, **section(entry, keys, where))


def _lab_of(value: Any, where: str) -> Lab:
    if not isinstance(value, list) or len(value) != 3:
        raise InputError(f"{shown(value)} is not a colour", where=where, cure="write L*, a*, b*, as [62.1, 9.3, 48.0]")
    L, a, b = (
        number(low, high)(v, where) for v, (low, high) in zip(value, ((0, 100), *[(-150, 150)] * 2), strict=True)
    )
    return L, a, b


def _recipe(value: Any, table: ColourTable, where: str) -> tuple[Part, ...]:
    if not isinstance(value, dict) or not value:
        raise InputError(f"{shown(value)} is not a recipe", where=where, cure=_EXAMPLE)
    drops = whole(1, 1000)
    parts = tuple(_part(said, drops(n, f"{where}.{said}"), table, where) for said, n in value.items())
    # By id, not as written: "PW6" and "titanium white" are one paint.
    if len({(p.paint, p.into, p.of) for p in parts}) < len(parts):
        raise InputError("names a paint twice", where=where, cure="name each once")
    return parts


def _part(said: str, drops: int, table: ColourTable, where: str) -> Part:
    found = re.fullmatch(_LET_DOWN, said)
    if found is None:
        return Part(find_paint(table, said, where).id, drops)
    paint, into = (find_paint(table, found[key], where).id for key in ("paint", "into"))
    return Part(paint, drops, into, whole(1, 10_000)(int(found["of"]), where))


def known_mixes(book: Sequence[BookMix], shelf: Shelf, box: Box) -> tuple[Known, ...]:
    """The book's mixes that can be made of the box, as recipes of the shelf with their colours."""
    place = {p.id: k for k, p in enumerate(box.paints)}
    found = []
    for mix in book:
        rows = [_on_shelf(p, shelf, place) for p in mix.recipe]
        if None in rows:
            continue
        ingredients = np.array(rows, np.int64)
        parts = np.array([p.drops for p in mix.recipe])
        # 2 : 4 in the book is 1 : 2 on the shelf.
        parts //= np.gcd.reduce(parts)
        seen = lab(shelf.seen(ingredients[None], parts[None]))[0]
        # Only a dab that was looked at is better than the prediction for this box.
        look = np.array(mix.lab) if mix.lab is not None and mix.came_out else seen
        found.append(Known(mix.name, Recipe(ingredients, parts, 0.0, 0.0), look))
    return tuple(found)


def _on_shelf(part: Part, shelf: Shelf, place: Mapping[str, int]) -> int | None:
    """Which ingredient of the shelf it is; None where the box lacks a paint or makes no such pre-mix."""
    if part.paint not in place or (part.of and part.into not in place):
        return None
    into = place[part.into] if part.of else -1
    rows = np.flatnonzero((shelf.paint == place[part.paint]) & (shelf.of == part.of) & (shelf.into == into))
    return int(rows[0]) if len(rows) else None


def book_warnings(book: Sequence[BookMix], box: Box) -> tuple[str, ...]:
    """Which mixes of the book need paints that the box lacks, in one line."""
    owned = {p.id for p in box.paints}
    names = {p.id: p.name for p in box.table.paints}
    lacking = [(m.name, sorted(m.paints - owned)) for m in book if m.paints - owned]
    told = [f"{name} ({listed([names.get(id, id) for id in missing])})" for name, missing in lacking]
    return (f"Your mix book holds mixes whose paints the box lacks: {listed(told, 6)}.",) if told else ()


def book_mix(mix: Mix, name: str, came_out: Lab | None, date: str, used: tuple[str, ...]) -> BookMix:
    """What the book keeps of a plan's mix. came_out: the colour of its dab, None: as predicted."""
    recipe = tuple(_part_of(i) for i in mix.recipe)
    L, a, b = (round(v, 2) for v in came_out or mix.lab)
    return BookMix(name, recipe, (L, a, b), came_out is not None, date, used)


def drops_parts(drops: Sequence[tuple[str, int]], table: ColourTable) -> tuple[Part, ...]:
    """Drops of paints, by whatever name, as parts of a book's recipe. Raises InputError for an unknown paint."""
    return tuple(Part(find_paint(table, paint).id, n) for paint, n in drops)


def _part_of(ingredient: Ingredient) -> Part:
    pre = ingredient.premix
    return Part(ingredient.paint, ingredient.parts, pre.into if pre else "", pre.of if pre else 0)


def with_mixes(said: str, mixes: Sequence[BookMix]) -> str:
    """The book's text with these mixes put in, those of the same name anew but for the maker's note and the places
    where they were used before; all else as it stands. said: '' begins a book."""
    doc = tomlkit.parse(said or f"{_HEAD}\n")
    entries = doc.setdefault("mixes", tomlkit.table(is_super_table=True))
    for mix in mixes:
        entry = entries.get(mix.name)
        if entry is None:
            entry = tomlkit.table()
            entries[mix.name] = entry
        # Places where it was used before stay: the book is the maker's, not the plan's.
        used = tuple(dict.fromkeys((*entry.get("used", ()), *mix.used)))
        recipe = tomlkit.inline_table()
        for part in mix.recipe:
            recipe[f"{part.paint} 1:{part.of} in {part.into}" if part.of else part.paint] = part.drops
        values = {"recipe": recipe, "lab": list(mix.lab or ()), "came_out": mix.came_out, "date": mix.date}
        # An empty note is written all the same: a line for the maker to fill in.
        for key, value in (values | {"used": list(used)} | {"note": entry.get("note", mix.note)}).items():
            if value or isinstance(value, bool) or key == "note":
                entry[key] = value
    return tomlkit.dumps(doc)


def looks(book: Sequence[BookMix], shelf: Shelf, box: Box) -> tuple[tuple[BookMix, Lab], ...]:
    """Each mix with its colour: as it came out, else as predicted of the box's paints, else as the book says; those of
    unknown colour are left out."""
    known = {k.name: k.lab for k in known_mixes(book, shelf, box)}
    found = []
    for mix in book:
        if mix.name in known:
            L, a, b = known[mix.name].tolist()
            found.append((mix, (L, a, b)))
        elif mix.lab is not None:
            found.append((mix, mix.lab))
    return tuple(found)


def closest(aimed: Sequence[Lab], shown: Sequence[tuple[BookMix, Lab]]) -> tuple[tuple[str, float], ...]:
    """For each colour aimed at the name of the book's nearest mix and its CIEDE2000; shown: as `looks` gives it, one at
    least."""
    far = delta_e(np.array(aimed)[:, None], np.array([look for _, look in shown]))
    return tuple((shown[int(row.argmin())][0].name, float(row.min())) for row in far)
