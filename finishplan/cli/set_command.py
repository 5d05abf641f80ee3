"""finishplan set: edits of a job file without opening it, and the words that the shell offers for them."""

import difflib
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.basics.files import is_file, printable, write_whole
from finishplan.basics.text_files import text_of, toml_of
from finishplan.cli import terminal
from finishplan.drawing.stored import NAME, load_kept
from finishplan.job.edit import edited, path_of, whole_of
from finishplan.job.in_place import key_of
from finishplan.job.job import Job, job_path
from finishplan.job.keys import FLAGS, KEYS, TREATS, Key
from finishplan.job.read import LONGEST_JOB, TOP, job_in, parse_job
from finishplan.job.values import value_of
from finishplan.scheme.build import build_scheme
from finishplan.scheme.reread import reread


def set_keys(job: Path, told: list[str], *, quiet: bool) -> None:
    """Edit a job file, in place and only as told, and show the lines that changed. Raises InputError."""
    path = job_in(job)
    text = text_of(path, LONGEST_JOB, "a job file (TOML)")
    file, new, remarks = printable(path.name), text, list[str]()
    # A file that was wrong before is told as such, not blamed on the edit.
    parse_job(text, file=file)
    for one in told:
        key, sign, value = one.partition("=")
        if not sign:
            cure = "write it as hood.flags=recess; hood.flags= takes it out"
            raise InputError("there is no '=' in it", where=one[:60], cure=cure)
        edits, replaced = _edits(key.strip(), value, new, file)
        new = edited(new, edits, file)
        remarks += replaced
    # All edits together: a mix may be told its recipe before its areas.
    _check_recipes(parse_job(text, path.parent, file), parse_job(new, path.parent, file), path)
    _check_against_reading(path, new, file)
    if new != text:
        write_whole(path, new)
    if not quiet:
        for line in [*changed_lines(text, new), *remarks] or ["nothing to change"]:
            terminal.say(f"{file}: {line}")


def _value(key: str, said: str, text: str, file: str) -> object:
    path = path_of(key, text, file)
    if path[-1] == "name" and path[0] in ("areas", "parts", "mixes"):
        return said.strip()
    row = KEYS["cuts"]["points"] if path[-1] == "cut" else key_of(path)
    return value_of(row if isinstance(row, Key) else KEYS["areas"][path[-1]], said, key)


def _edits(key: str, told: str, text: str, file: str) -> tuple[dict[str, object], list[str]]:
    """The edit, with the key that it stands in for taken out, and what to say of that: a mix has a target or a
    recipe."""
    if not told.strip() and whole_of(key, text, file):
        return {key: None}, []
    value = _value(key, told, text, file)
    section, thing, last = (*path_of(key, text, file), "", "")[:3]
    other = {"target": "recipe", "recipe": "target"}.get(last, "")
    there = toml_of(text, file).get("mixes", {}).get(thing, {})
    if section != "mixes" or value is None or other not in there:
        return {key: value}, []
    # A mix has one of them; a maker who sets the second has changed their mind about the first.
    return {f"mixes.{thing}.{other}": None, key: value}, [f"(taken out) the {other} of {thing}: its {last} stands in"]


def _check_recipes(old: Job, new: Job, path: Path) -> None:
    """Refuse at once a paint that the box has not, in a recipe that is new, where the box is known: the job names it,
    or was planned with it. Raises InputError."""
    recipes = {name: mix.recipe for name, mix in new.mixes.items() if mix.recipe}
    fresh = {name: drops for name, drops in recipes.items() if name not in old.mixes or old.mixes[name].recipe != drops}
    named = new.paints.own or new.paints.file or new.paints.table
    # A job that was never planned may yet be given another box with --paints.
    if not fresh or not (named or is_file(path.parent / NAME)):
        return
    from finishplan.paint.box import load_box
    from finishplan.paint.given import paints_meant

    paints = new.paints
    table, file = job_path(new, paints.table, "paints.table"), job_path(new, paints.file, "paints.file")
    box = load_box(table, paints.own, file)
    for name, drops in fresh.items():
        paints_meant(drops, box, f"mixes.{name}.recipe")


def _check_against_reading(path: Path, text: str, file: str) -> None:
    """Refuse at once what the next plan would refuse, where the last reading is at hand. Raises InputError."""
    kept = load_kept(path.parent / NAME)
    if kept is not None:
        job = parse_job(text, path.parent, file)
        build_scheme(reread(kept.drawing, job, kept.small, same_picture=True).drawing, job)


def changed_lines(old: str, new: str) -> list[str]:
    """The lines of a new text that its old one had not, or '(taken out) ...'."""
    lines = difflib.ndiff(old.splitlines(), new.splitlines())
    told = [line for line in lines if line[:2] in ("+ ", "- ") and line[2:].strip()]
    added = [line[2:] for line in told if line[0] == "+"]
    # A changed line shows in its new form alone; only an edit that adds none shows what went.
    return added or [f"(taken out) {line[2:]}" for line in told]


def offered(job: Path | None, begun: str) -> list[str]:
    """What the shell may complete: keys of areas by name, of groups and sections, then values."""
    if job is None:
        return []
    try:
        found = parse_job(job_in(job).read_text(encoding="utf-8"))
    # Asked by the shell while a line is typed: an error would be written into it.
    except (OSError, UnicodeDecodeError, InputError):
        return []
    names = [a.name for a in found.areas.values() if a.name] + [str(i) for i, a in found.areas.items() if not a.name]
    key, sign, _ = begun.partition("=")
    if sign:
        last = key.rpartition(".")[2]
        values = {"flags": FLAGS, "treat": TREATS}.get(last) or (names if last in _HOLD_AREAS else ("true", "false"))
        words = [f"{key}={value}" for value in values]
    else:
        words = [f"{name}.{k}=" for name in names for k in ("name", *KEYS["areas"], "cut")]
        words += [f"{s}.{k}=" for s in TOP for k in KEYS[s] if s not in ("areas", "parts", "mixes", "edges", "cuts")]
        groups = {"parts": found.parts, "mixes": found.mixes}
        words += [f"{s}.{name}.{k}=" for s, held in groups.items() for name in held for k in ("name", *KEYS[s])]
    return [word for word in words if word.startswith(begun)]


_HOLD_AREAS = ("areas", "blend_into", "before", "swallow", "join", "first", "leads")
