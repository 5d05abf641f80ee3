"""A job file of areas by number alone, brought to names in place."""

import re
import tomllib
from contextlib import suppress

import tomlkit

from finishplan.job.in_place import with_values
from finishplan.job.keys import JOB_VERSION


def converted(text: str) -> str:
    """A file of areas by number alone, each under its name where it has one of its own: [areas.5] name = "hood" becomes
    [areas.hood] number = 5."""
    data = tomllib.loads(text)
    if data.get("version", 1) >= JOB_VERSION:
        return text
    areas = data.get("areas", {})
    names = [t.get("name", "") for t in areas.values() if isinstance(t, dict)]
    # A header stands once: areas that share a name, or a name that is taken, keep their numbers.
    fit = {k: n for k, t in areas.items() if isinstance(t, dict) and (n := t.get("name")) and names.count(n) == 1}
    fit = {key: name for key, name in fit.items() if key.isdigit() and not name.isdigit() and name not in areas}
    # By lines, not by tomlkit: a header changes without its keys, comments and place.
    lines, header = text.splitlines(keepends=True), ""
    for no, line in enumerate(lines):
        if found := re.match(r"[ \t]*\[[ \t]*areas[ \t]*\.[ \t]*\"?(\d+)\"?[ \t]*\]", line):
            header = found[1]
            if header in fit:
                lines[no] = f"[areas.{tomlkit.key(fit[header]).as_string()}]" + line[found.end() :]
        elif re.match(r"[ \t]*\[", line):
            header = ""
        elif header in fit and re.match(r"[ \t]*name[ \t]*=", line):
            lines[no] = re.sub(r'name([ \t]*=[ \t]*)("(?:[^"\\]|\\.)*"|\'[^\']*\')', rf"number\g<1>{header}", line)
    # What the new text must say, worked out on the data; lines changed by pattern are trusted only if they say it.
    wanted = {
        fit.get(k, k): {("number" if key == "name" else key): (int(k) if key == "name" else v) for key, v in t.items()}
        if k in fit
        else t
        for k, t in areas.items()
    }
    new = "".join(lines)
    with suppress(tomllib.TOMLDecodeError):  # spelt in a way of its own: numbers do as well
        text = new if tomllib.loads(new) == data | ({"areas": wanted} if areas else {}) else text
    return _with_version(text)


def _with_version(text: str) -> str:
    if "version" in tomllib.loads(text):
        return with_values(text, {("version",): JOB_VERSION})
    # Above the first section, as TOML wants it, and below what the maker wrote on top.
    comments = re.match(r"(?:[ \t]*#[^\n]*\n)*", text)
    at = comments.end() if comments is not None else 0
    gap = "" if text[at:].startswith("\n") else "\n"
    return f"{text[:at]}version = {JOB_VERSION}\n{gap}{text[at:]}"
