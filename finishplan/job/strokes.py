"""The strokes of a job file, [[cuts]]: one added for an area, those of an area or all taken back."""

import re
from typing import Any

import tomlkit
from tomlkit.items import Array

from finishplan.basics.text_files import loaded
from finishplan.job.blocks import without_block
from finishplan.job.in_place import listed
from finishplan.job.names import Names

_HEADER = re.compile(r"^[ \t]*\[\[[ \t]*(?:cuts|\"cuts\"|'cuts')[ \t]*\]\]", re.MULTILINE)


def with_stroke(text: str, area: str, points: Any) -> str:
    """The text with one stroke more through an area, told by its header."""
    if loaded(text).get("cuts") == []:
        text = _without_key(text)
    # A number as a number, a name in quotes, as the maker would write them.
    name = tomlkit.item(int(area) if area.isdigit() else area).as_string()
    stroke = tomlkit.item(listed(points)).as_string()
    # TOML lets no [[cuts]] follow a list that is written on one line: the stroke goes into that list.
    if "cuts" in loaded(text) and not _HEADER.search(text):
        doc: Any = tomlkit.parse(text)
        doc["cuts"].append(tomlkit.parse(f"x = {{ area = {name}, points = {stroke} }}")["x"])
        return tomlkit.dumps(doc)
    return f"{text.rstrip()}\n\n[[cuts]]\narea = {name}\npoints = {stroke}\n"


def without_strokes(text: str, area: int | None, file: str) -> str:
    """The text without the strokes of an area, by its number; without any for None."""
    names = Names(loaded(text).get("areas", {}), file)
    cuts = loaded(text).get("cuts", [])
    gone = [k for k, cut in enumerate(cuts) if area is None or _is_of(cut, area, names, file)]
    # From the last, so that the places of those before stay.
    for k in gone[::-1]:
        text = _without(text, k)
    return _without_key(text) if loaded(text).get("cuts") == [] else text


def _is_of(cut: dict[str, Any], area: int, names: Names, file: str) -> bool:
    return "area" in cut and names.of(cut["area"], f"{file}: cuts") == area


def _without(text: str, number: int) -> str:
    """The text without one stroke."""
    data = loaded(text)
    left = [cut for k, cut in enumerate(data["cuts"]) if k != number]
    wanted = {key: value for key, value in data.items() if key != "cuts"} | ({"cuts": left} if left else {})
    if (without := without_block(text, _HEADER, wanted)) is not None:
        return without
    doc: Any = tomlkit.parse(text)  # a list of tables on one line
    del doc["cuts"][number]
    return tomlkit.dumps(doc)


def _without_key(text: str) -> str:
    doc = tomlkit.parse(text)
    if isinstance(doc.get("cuts"), Array):
        doc.remove("cuts")
    return tomlkit.dumps(doc)
