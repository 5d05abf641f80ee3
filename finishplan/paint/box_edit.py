"""A box file edited in place: bottles, stock and what is owned. Comments, order and spelling of all else stay."""

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT

from finishplan.basics.errors import InputError
from finishplan.paint.finding import find_paint, slug_of
from finishplan.paint.model import ColourTable

NEW_BOX = "# The paint box: what you own, what is left, and bottles that the colour table does not know.\n"


def with_bottle(text: str, bottle: Mapping[str, Any]) -> str:
    """The box file with one bottle more, at its end. bottle: the keys of its [[paint]], empty ones left out."""
    # Only to be refused where [[paint]] at the end would contradict what is there.
    _entries(tomlkit.parse(text))
    lines = [f"{key} = {tomlkit.item(value).as_string()}" for key, value in bottle.items() if value not in ("", None)]
    return text.rstrip("\n") + "\n\n[[paint]]\n" + "\n".join(lines) + "\n"


def without_bottle(text: str, table: ColourTable, id: str) -> str:
    """The box file without that bottle, or without what it says of that paint of the table."""
    doc = tomlkit.parse(text)
    entries = _entries(doc)
    # From behind, so that the places still to come stay right.
    for place in [k for k, one in enumerate(entries) if _id(one, table) == id][::-1]:
        del entries[place]
    return tomlkit.dumps(doc)


def with_stock(text: str, table: ColourTable, id: str, ml_left: float | None) -> str:
    """The box file with what is left of a paint, None: not told."""
    doc = tomlkit.parse(text)
    there = [one for one in _entries(doc) if _id(one, table) == id]
    if not there:
        return text if ml_left is None else with_bottle(text, {"of": id, "ml_left": _number(ml_left)})
    for one in there:
        if ml_left is None:
            one.pop("ml_left", None)
        else:
            one["ml_left"] = _number(ml_left)
    return tomlkit.dumps(doc)


def with_owned(text: str, table: ColourTable, id: str, on: bool) -> str:
    """The box file with a paint of the table in its list of those owned, or in neither that list nor an entry."""
    doc = tomlkit.parse(text)
    own = doc.get("own")
    if own is not None:
        there = [k for k, name in enumerate(own) if find_paint(table, str(name)).id == id]
        if on and not there:
            own.append(id)
        for place in [] if on else there[::-1]:
            del own[place]
    # By an entry of its own it would still be in the box.
    said = tomlkit.dumps(doc)
    return said if on else without_bottle(said, table, id)


def owning(text: str, ids: tuple[str, ...]) -> str:
    """The box file with a list of the paints owned, before all else that is said in it, where it has none."""
    if "own" in tomlkit.parse(text):
        return text
    # At the top: behind a [[paint]] the key would belong to that paint.
    listed = ", ".join(tomlkit.item(id).as_string() for id in ids)
    head, rest = _head(text)
    return f"{head}own = [{listed}]\n{rest}"


def _head(text: str) -> tuple[str, str]:
    """The comments that a file begins with, and all after them."""
    lines = text.splitlines(keepends=True)
    count = next((k for k, line in enumerate(lines) if not line.lstrip().startswith("#")), len(lines))
    return "".join(lines[:count]), "".join(lines[count:])


def _entries(doc: tomlkit.TOMLDocument) -> Any:
    """The tables [[paint]]; an empty list where there is none. Raises InputError where they are written otherwise."""
    found = doc.get("paint", [])
    if found and not isinstance(found, AoT):
        raise InputError("'paint' is not written as tables", where="paint", cure="write [[paint]] before each")
    return found


def _id(entry: Mapping[str, Any], table: ColourTable) -> str:
    """The id of the paint that an entry is of."""
    return find_paint(table, str(entry["of"])).id if "of" in entry else slug_of(str(entry.get("name", "")))


def _number(value: float) -> float | int:
    # 12, not 12.0: as the maker would write it.
    return int(value) if float(value).is_integer() else value
