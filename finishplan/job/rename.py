"""Renaming an area, a part or a mix in a job file: its header, and every place that names it."""

import re
from typing import Any

import tomlkit

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import loaded
from finishplan.job.blocks import reads_as
from finishplan.job.checks import NUMBER
from finishplan.job.in_place import with_values
from finishplan.job.keys import NAME

REFERENCES = {
    "areas": ("areas", "blend_into", "before", "swallow", "join", "first", "area", "leads"),
    "parts": ("after", "part"),
    "mixes": ("mix",),
}
"""Keys that hold names of areas, of parts, of mixes."""


def renamed(text: str, thing: tuple[str, str], name: Any, file: str = "job") -> str:
    """The text with an area, a part or a mix (section, header) called otherwise, wherever it is named. An area of which
    the file knows the number alone gets a line of its own. Raises InputError for a name that is taken or none."""
    section, old = thing
    new = _checked(text, section, old, name, file)
    data = loaded(text)
    there = data.get(section, {})
    number = there.get(old, {}).get("number", int(old) if section == "areas" and re.fullmatch(NUMBER, old) else None)
    if section == "areas" and old not in there:
        return with_values(text, {("areas", new, "number"): number}, comments=False)
    # What other places call it: the key `name` where there is one, else the header.
    before = there[old].get("name", old) if section == "areas" else old
    # By its line: a table taken out and put in again under another name would lose its place and its comments.
    text = _with_header(text, section, old, new, file)
    if section == "areas":
        text = _with_number(text, new, number)
        for edge in data.get("edges", {}):
            halves = [new if half.strip() == before else half.strip() for half in edge.split(" - ")]
            if len(halves) == 2 and " - ".join(halves) != edge:
                text = _with_header(text, "edges", edge, " - ".join(halves), file)
    if not _is_named(loaded(text), REFERENCES[section], before):  # reading a text to be edited takes long
        return text
    doc = tomlkit.parse(text)
    _follow(doc, REFERENCES[section], before, new)
    return tomlkit.dumps(doc)


def _checked(text: str, section: str, old: str, name: Any, file: str) -> str:
    where = f"{file}: {section}.{old[:40]}.name"
    new = str(NAME(name, where)).strip()
    if section == "areas" and re.fullmatch("[0-9]+", new):
        raise InputError(f"'{new}' is a number, not a name", where=where, cure="add a word to it")
    taken = loaded(text).get(section, {})
    names = {key: table.get("name", key) for key, table in taken.items() if isinstance(table, dict)}
    if any(new in (key, said) for key, said in names.items() if key != old):
        raise InputError(f"'{new}' is taken", where=where, cure="choose another name")
    return new


def _key(name: str) -> str:
    return tomlkit.key(name).as_string()


def _with_header(text: str, section: str, old: str, new: str, file: str) -> str:
    """The text with one header or one line's key written otherwise, checked to change nothing else."""
    # Bare or in either quotes, whichever way the maker wrote it.
    spelt = "|".join(re.escape(s) for s in {old, f'"{old}"', f"'{old}'", _key(old)})
    forms = (
        rf"^(?P<a>[ \t]*\[[ \t]*{section}[ \t]*\.[ \t]*)(?:{spelt})(?P<z>[ \t]*\])",
        rf"^(?P<a>[ \t]*)(?:{spelt})(?P<z>[ \t]*[=.])",
        rf"^(?P<a>[ \t]*{section}[ \t]*\.[ \t]*)(?:{spelt})(?P<z>[ \t]*[=.])",
    )
    data = loaded(text)
    # A pattern may hit a line of another section: only the change that leaves all else as it was is taken.
    wanted = data | {section: {new if key == old else key: value for key, value in data[section].items()}}
    for form in forms:
        for found in re.finditer(form, text, re.MULTILINE):
            tried = text[: found.start()] + found["a"] + _key(new) + found["z"] + text[found.end() :]
            if reads_as(tried, wanted):
                return tried
    where = f"{file}: {section}.{old[:40]}"
    raise InputError("cannot be renamed as it is written", where=where, cure=f"write it as [{section}.{_key(old)}]")


def _with_number(text: str, header: str, number: int | None) -> str:
    """The area's number kept as a key, its name as its header alone."""
    values: dict[tuple[str, ...], Any] = {("areas", header, "name"): None}
    if number is not None:
        values = {("areas", header, "number"): number} | values
    return with_values(text, values, comments=False)


def _is_named(value: Any, keys: tuple[str, ...], name: str) -> bool:
    """Whether one of these keys holds the name, alone or in a list, anywhere in a table."""
    if isinstance(value, list):
        return any(_is_named(item, keys, name) for item in value)
    if not isinstance(value, dict):
        return False
    held = (value[key] for key in keys if key in value)
    return any(one == name or (isinstance(one, list) and name in one) for one in held) or any(
        _is_named(item, keys, name) for item in value.values()
    )


def _follow(table: Any, keys: tuple[str, ...], old: str, new: str) -> None:
    """Write the new name wherever one of these keys holds the old one, alone or in a list; in place."""
    for key, value in list(table.items()):
        if isinstance(value, dict):
            _follow(value, keys, old, new)
        elif isinstance(value, list) and key in keys:
            for i, item in enumerate(value):
                if item == old:
                    value[i] = new
        elif isinstance(value, list):
            for item in value:
                if isinstance(item, dict):
                    _follow(item, keys, old, new)
        elif key in keys and value == old:
            table[key] = new
