"""Edits of a job file in place: what is not named stays as its maker wrote it, comments, order and spelling.

A key is told by its path: `run.castings`, `parts.head.areas`, `mixes.maroon.target`, `edges.hood - face.treat`; an
area's by its name or number alone: `hood.flags`, `12.name`, `coat.cut`.
"""

from collections.abc import Mapping
from typing import Any

from finishplan.basics.errors import InputError, near, nearest
from finishplan.basics.text_files import toml_of
from finishplan.job.blocks import without_thing
from finishplan.job.in_place import Path, with_values
from finishplan.job.keys import KEYS
from finishplan.job.names import Names
from finishplan.job.read import TOP, parse_job
from finishplan.job.rename import renamed
from finishplan.job.strokes import with_stroke, without_strokes

GROUPS = ("mixes", "parts", "edges")
"""Sections of which one thing can be taken out whole."""


def edit_job(text: str, edits: Mapping[str, Any], file: str = "job") -> str:
    """The text of a job file with these keys set, None taking one out; checked as a whole when all are made.

    `name` of an area, a part or a mix renames it everywhere; `cut` of an area adds a stroke, None takes its strokes
    out, and `cuts` and None all there are; `mixes.maroon`, `parts.head` or `edges.3-5` alone and None takes the whole
    out. Raises InputError as `parse_job`, and for a key that there is not.
    """
    text = edited(text, edits, file)
    parse_job(text, file=file)
    return text


def edited(text: str, edits: Mapping[str, Any], file: str = "job") -> str:
    """As `edit_job`, the outcome not checked yet: more edits are to come."""
    # Kept until the text itself has to change: reading it to be edited is the slow part, once for all of them.
    plain: dict[Path, Any] = {}
    for said, value in edits.items():
        if value is None and (group := whole_of(said, text, file)):
            text, plain = with_values(text, plain), {}
            text = _without(text, group, file)
            continue
        path = path_of(said, text, file)
        rename = path[0] in ("areas", "parts", "mixes") and path[2] == "name"
        if not rename and path[-1] != "cut":
            plain[path] = value
            continue
        text, plain = with_values(text, plain), {}
        text = renamed(text, (path[0], path[1]), value, file) if rename else _with_cut(text, path[1], value, file)
    return with_values(text, plain)


def path_of(said: str, text: str, file: str = "job") -> Path:
    """('run', 'castings') of 'run.castings', ('areas', 'hood', 'flags') of 'hood.flags': section, thing, key.

    Raises InputError, its place the key as told, for a section, a thing or a key that there is not.
    """
    home, _, key = said.strip().rpartition(".")
    section, _, thing = home.partition(".")
    if section in ("parts", "areas", "mixes", "edges", "steps") and thing:
        known = [*KEYS["steps.KEY" if section == "steps" else section]]
        path: Path = (section, thing, key)
    elif section in TOP and section not in ("parts", "areas", "mixes", "edges", "cuts"):
        known = [*KEYS[home]] if home in KEYS else []
        path = (*home.split("."), key)
    elif (home or key) in (*GROUPS, "cuts"):
        cures = {"cuts": "write hood.cut='0.1,0.2 0.3,0.4'; cuts= takes all strokes back"}
        cures |= {"edges": "write 'edges.hood - face.treat=lap'"}
        name = key if home else "name"
        cure = cures.get(home or key, f"write {home or key}.{name}.areas=..., or {home or key}.{name}= to take it out")
        raise InputError("nothing there to set", where=said, cure=cure)
    else:
        names = Names(toml_of(text, file).get("areas", {}), file)
        if home not in names.number and not home.isdigit():
            # Where one area's name is near, that was meant; else it may be a section as well.
            meant = [*names.number] if len(near(home or said, [*names.number])) == 1 else [*names.number, *TOP]
            cure = nearest(home or said, meant)
            raise InputError(f"no area and no section is called '{(home or said)[:60]}'", where=said, cure=cure)
        known, path = [*KEYS["areas"]], ("areas", home, key)
    # Told like keys, though none of the file: renaming changes a header, a cut is a table of [[cuts]].
    also = {"areas": ("name", "cut"), "parts": ("name",), "mixes": ("name",)}.get(path[0], ())
    if key not in (*known, *also):
        raise InputError(f"unknown key '{key[:60]}'", where=said, cure=nearest(key, [*known, *also]))
    if path[0] == "areas":
        # `colour` is what was drawn, by which the area is found again; a maker who sets one means the target.
        path = ("areas", _header(path[1], text, file, said), "target" if key == "colour" else key)
    return path


def whole_of(said: str, text: str, file: str = "job") -> Path | None:
    """('mixes', 'maroon') of 'mixes.maroon', ('cuts',) of 'cuts': what is taken out whole, where there is one."""
    section, _, thing = said.strip().partition(".")
    if said.strip() == "cuts":
        return ("cuts",)
    there = section in GROUPS and thing in toml_of(text, file).get(section, {})
    return (section, thing) if there else None


def _without(text: str, whole: Path, file: str) -> str:
    """The text without what is taken out whole."""
    if whole == ("cuts",):
        return without_strokes(text, None, file)
    # By lines where it can be: tomlkit would take the comments behind it along.
    left = without_thing(text, whole[0], whole[1])
    return with_values(text, {whole: None}) if left is None else left


def _header(area: str, text: str, file: str, said: str) -> str:
    """The header of an area in the file; its number where it has none yet."""
    names = Names(toml_of(text, file).get("areas", {}), file)
    number = int(area) if area.isdigit() else names.of(area, said)
    return names.header.get(number, str(number))


def _with_cut(text: str, area: str, points: Any, file: str) -> str:
    """The text with a stroke through an area, or without any for None."""
    if points is not None:
        return with_stroke(text, area, points)
    names = Names(toml_of(text, file).get("areas", {}), file)
    number = next((n for n, header in names.header.items() if header == area), None)
    return without_strokes(text, int(area) if number is None else number, file)
