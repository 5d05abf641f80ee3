"""The job file as it is written beside a plan: new, or the maker's own with no more changed than has to be."""

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import Item, Table

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import toml_of
from finishplan.colour.light import lab_from_hex
from finishplan.colour.names import colour_name
from finishplan.drawing.model import Mark
from finishplan.job.convert import converted
from finishplan.job.in_place import Path, listed, tail_of, with_values
from finishplan.job.job import Cut, Job
from finishplan.job.keys import JOB_VERSION, KEYS
from finishplan.job.names import Names
from finishplan.job.read import parse_job

SEAL = "# Written by finishplan; sha256 of the lines above: "
"""Last line of a job file as written; a file whose lines no longer match it was edited by its maker."""
GONE = "not found in this drawing"
HEAD = f"""# Job file of finishplan: edit it here or with `finishplan set`, then run `finishplan plan` on it again.
# Only what is not as usual is written; `finishplan plan ... --full` writes every key, README.md lists them.
version = {JOB_VERSION}

[figure]
"""
AREAS = """
# The areas by name, or by number as on the numbered drawing. Where each lies (at), its colour and its size are how it
# is found again in a changed drawing. What else you say goes into the braces: flags = ["recess"], target = "#..."
[areas]
"""
PLAIN = ("figure", "paints", "method", "labour", "room", "run", "steps")


@dataclass(frozen=True)
class Found:
    """What a reading says of a job's areas. marks: all of them; parts: areas of each part; gone: those that are not
    there, where they were, without colour or size where nobody told it; hints: number -> what is offered; cuts: the
    strokes as they now lie."""

    marks: tuple[Mark, ...]
    parts: Mapping[str, tuple[int, ...]]
    gone: tuple[Mark, ...] = ()
    hints: Mapping[int, str] | None = None
    cuts: tuple[Cut, ...] = ()


def written(job: Job, found: Found, base: str | None = None, *, full: bool = False, in_place: bool = False) -> str:
    """The text of the job file. base: the maker's, None for a new one; job: what it is to say. full: with every key.
    in_place: it replaces the base, which stays its maker's if it was edited.

    Raises InputError for a text that cannot be edited in place.
    """
    own = in_place and base is not None and is_edited(base)
    try:
        text = base if base is not None and own else unsealed(base or HEAD)
        # Names before all else: what follows writes by headers.
        text = converted(text)
        text = _with_settings(text, job)
        # Parts first, so that in a new file the areas, of which there may be hundreds, come last.
        text = _with_areas(_with_parts(text, found), found)
        text = _with_cuts(text, found.cuts)
        text = _with_every_key(text) if full else text
        parse_job(text)
    except (tomlkit.exceptions.TOMLKitError, InputError) as error:
        cure = "write each section and each area under a header of its own, [areas.hood]"
        raise InputError(f"cannot be edited as it is written ({error})", where=job.file, cure=cure) from error
    return text if own else sealed(text)


def sealed(text: str) -> str:
    """The text with its seal as last line."""
    text = text.rstrip("\n") + "\n"
    return f"{text}{SEAL}{hashlib.sha256(text.encode()).hexdigest()}\n"


def unsealed(text: str) -> str:
    """The text without its seal."""
    return text.rpartition(SEAL)[0] or text


def is_edited(text: str) -> bool:
    """Whether a job file differs from what was written, by its seal."""
    body, mark, _ = text.rpartition(SEAL)
    # Without a seal it is not from here: it is the maker's.
    return not mark or sealed(body) != text


def _with_settings(text: str, job: Job) -> str:
    """The text with what the job says otherwise in its plain sections, and with the names of its files."""
    # Only what differs from what the text says already: the maker's spelling of the rest stays.
    there = parse_job(text, job.folder)
    values: dict[Path, Any] = {}
    for section in PLAIN:
        for key in KEYS[section]:
            old, new = (getattr(getattr(j, section), key) for j in (there, job))
            if old != new:
                values[section, key] = new if new != "" else None
    for name, part in job.parts.items():
        if part.mesh and part.mesh != there.parts[name].mesh:
            values["parts", name, "mesh"] = part.mesh
    return with_values(text, values)


def _with_parts(text: str, found: Found) -> str:
    """The text with every area in the list of its part."""
    job, names = parse_job(text), Names(toml_of(text, "job").get("areas", {}), "job")
    values: dict[Path, Any] = {}
    for name, ids in found.parts.items():
        part = job.parts.get(name)
        listed_there = part.areas if part is not None else None
        if listed_there is None:
            values["parts", name, "areas"] = [_called(i, names) for i in ids]
        # A part told by shapes takes in new areas by itself.
        elif (more := [i for i in ids if i not in listed_there]) and not (part is not None and part.within):
            there = tomllib.loads(text)["parts"][name]["areas"]
            values["parts", name, "areas"] = [*there, *(_called(i, names) for i in more)]
    return with_values(text, values, comments=False)


def _called(id: int, names: Names) -> str | int:
    name = names.tables.get(id, {}).get("name", "")
    # A name that two areas have points at neither.
    return name if name and name not in names.twice else id


def _with_areas(text: str, found: Found) -> str:
    """The text with place, colour and size of every area, and a word on those that are not there."""
    table = tomllib.loads(text).get("areas", {})
    names = Names(table, "job")
    if not table:
        lines = [_line(m, found.hints) for m in found.marks]
        # What is gone keeps its line: a later drawing may have it again, with all that was said of it.
        lines += [f"{_line(m, None)}; {GONE}" for m in found.gone]
        return text.rstrip("\n") + "\n" + AREAS + "".join(f"{line}\n" for line in lines)
    values: dict[Path, Any] = {}
    for mark in (*found.marks, *found.gone):
        header = names.header.get(mark.id, str(mark.id))
        values |= {
            ("areas", header, "at"): mark.at,
            ("areas", header, "colour"): mark.hex or None,
            ("areas", header, "size"): mark.size or None,
        }
        if mark.id in names.header and not header.isdigit():
            values["areas", header, "number"] = mark.id
    text = _with_colour_names(with_values(text, values, comments=False), table, names, found)
    return _with_gone(text, names, found)


def _line(mark: Mark, hints: Mapping[int, str] | None) -> str:
    """The line of an area that nothing else is said of."""
    at = f"[{mark.at[0]:g}, {mark.at[1]:g}]"
    about = "; ".join(filter(None, (_colour_name(mark.hex), (hints or {}).get(mark.id, ""))))
    seen = f', colour = "{mark.hex}", size = {listed(mark.size)}' if mark.hex else ""
    return f"{mark.id} = {{ at = {at}{seen} }}  # {about}"


def _with_colour_names(text: str, before: Mapping[str, Any], names: Names, found: Found) -> str:
    """The text with the colour names that were written behind the areas made true where the colour is another now; a
    comment that is not that name is its maker's and stays."""
    changed: dict[str, tuple[str, str]] = {}
    for mark in (*found.marks, *found.gone):
        header = names.header.get(mark.id, str(mark.id))
        old = before.get(header, {}).get("colour", mark.hex)
        if old != mark.hex and (before_name := _colour_name(old)) != (now := _colour_name(mark.hex)):
            changed[header] = before_name, now
    if not changed:
        return text
    doc = tomlkit.parse(text)
    for header, (before_name, now) in changed.items():
        item: Any = doc["areas"][header]
        found_there = re.fullmatch(rf"# {re.escape(before_name)}((?:;.*)?)", item.trivia.comment)
        if found_there:
            item.trivia.comment = f"# {now}{found_there[1]}"
    return tomlkit.dumps(doc)


def _colour_name(hex: str) -> str:
    return colour_name(lab_from_hex(hex)) if hex else ""


def _with_gone(text: str, names: Names, found: Found) -> str:
    there = [names.header[m.id] for m in found.marks if m.id in names.header]
    gone = [names.header.get(m.id, str(m.id)) for m in found.gone]
    # Reading a text to be edited takes long, and mostly there is nothing to do.
    if not gone and GONE not in text:
        return text
    doc = tomlkit.parse(text)
    for header, is_gone in (*((h, False) for h in there), *((h, True) for h in gone)):
        _say(doc["areas"][header], is_gone)
    return tomlkit.dumps(doc)


def _say(item: Any, gone: bool) -> None:
    """Put the word on an entry that is gone behind the maker's comment, or take it away."""
    if not isinstance(item, Item):
        return
    said = item.trivia.comment
    plain = re.sub(rf"(?:; |# ){GONE}$", "", said)
    new = (f"{plain}; {GONE}" if plain else f"# {GONE}") if gone else plain
    if new != said:
        # Where a comment goes its gap goes too, lest blanks stay at the line's end.
        item.trivia.comment, item.trivia.comment_ws = new, (item.trivia.comment_ws or "  ") if new else ""


def _with_cuts(text: str, cuts: tuple[Cut, ...]) -> str:
    """The text with its strokes where they now lie; there are as many as it has."""
    if not cuts:
        return text
    doc = tomlkit.parse(text)
    tables = doc.get("cuts", [])
    moved = False
    for table, cut in zip(tables, cuts, strict=False):
        # A stroke that has not moved keeps the maker's spelling.
        if listed(cut.points) != table["points"]:
            table["points"] = listed(cut.points)
            moved = True
    return tomlkit.dumps(doc) if moved else text


def _with_every_key(text: str) -> str:
    """The text with every key of the plain sections, those that are unset as comments."""
    job = parse_job(text)
    values: dict[Path, Any] = {}
    unset: dict[str, list[str]] = {}
    for section in PLAIN:
        for name, key in KEYS[section].items():
            value = getattr(getattr(job, section), name)
            if value in (None, "", ()):
                unset.setdefault(section, []).append(f"# {name} =  # {key.comment}")
            else:
                values[section, name] = value
    there = tomllib.loads(text)
    text = with_values(text, {path: v for path, v in values.items() if path[1] not in there.get(path[0], {})})
    doc = tomlkit.parse(text)
    for section, lines in unset.items():
        table = doc.get(section)
        if isinstance(table, Table):
            _append_comments(table, lines)
    return tomlkit.dumps(doc)


def _append_comments(table: Table, lines: Iterable[str]) -> None:
    body = table.value.body
    tail = tail_of(body)
    said = "".join(part.as_string() for _, part in tail)
    for line in lines:
        # It may stand there as a comment since the last --full.
        if line.split(" = ")[0] not in said:
            table.add(tomlkit.comment(line.removeprefix("# ")))
    body.extend(tail)
