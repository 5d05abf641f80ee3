"""Writes a job file: complete, commented, ready to edit and to run again."""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from finishplan.basics.text_files import shipped_toml
from finishplan.drawing.model import Area, Drawing
from finishplan.job.job import AreaJob, Job, PartJob
from finishplan.job.keys import FLAGS, KEYS, TREATS
from finishplan.job.parts import grouped, parts_of_areas
from finishplan.paint.model import Box

SEAL = "# Written by finishplan; sha256 of the lines above: "
"""Last line of a job file as written; a file whose lines no longer match it was edited by its maker."""


def job_toml(job: Job, drawing: Drawing, names: Mapping[int, str] | None = None, box: Box | None = None) -> str:
    """The job as a TOML file with every key: those in force as values, the unset ones as comments. names: of
    areas that the maker gave none, by number. box None: no paint box is named."""
    lines = [
        "# Job file of finishplan: edit, save, run `finishplan plan` on it again.",
        "# Every key is optional. Lines that start with # are off.",
        "",
        *_section("figure", asdict(job.figure) | {"name": job.figure.name or Path(drawing.source).stem}),
        *_section("paints", _paints(job, box)),
        *([] if job.paints.dry is None else _section("paints.dry", asdict(job.paints.dry))),
        *_section("method", asdict(job.method)),
        *_section("labour", asdict(job.labour)),
        *_section("room", asdict(job.room)),
        *_section("run", asdict(job.run)),
        *_steps(job),
        *_resin(job),
        *_parts(job, drawing),
        *_areas(job, drawing, names or {}),
        *_edges(job, drawing),
    ]
    return seal("\n".join(lines) + "\n")


def seal(text: str) -> str:
    """The text with its seal as last line."""
    return f"{text}{SEAL}{hashlib.sha256(text.encode()).hexdigest()}\n"


def edited(text: str) -> bool:
    """Whether a job file differs from what was written, by its seal."""
    body, mark, _ = text.rpartition(SEAL)
    return not mark or seal(body) != text


def toml_value(value: Any) -> str:
    """A Python value as TOML. Text is quoted as in JSON, whose escapes TOML shares."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return "[" + ", ".join(toml_value(v) for v in value) + "]"


def _section(header: str, values: dict[str, Any]) -> list[str]:
    spec = header.split(".")[0]
    return [f"[{header}]", *(_line(spec, key, value) for key, value in values.items() if key != "dry"), ""]


def _line(spec: str, key: str, value: Any, comment: str = "") -> str:
    off = value is None or value in ("", (), frozenset())
    row = KEYS.get(spec, {}).get(key)
    note = comment or (row.comment if row is not None and spec != "parts" else "")
    line = f"{'# ' if off else ''}{key} = {'' if value is None else toml_value(value)}".rstrip()
    return f"{line}  # {note}" if note else line


def _paints(job: Job, box: Box | None) -> dict[str, Any]:
    values = asdict(job.paints)
    if box is not None and not job.paints.file:
        values["own"] = tuple(p.id for p in box.paints)
    return values


def _steps(job: Job) -> Iterator[str]:
    yield "# The finishing job around the painting; change one step as [steps.KEY] skip, text, minutes, wait_min."
    yield "# Keys: " + ", ".join(shipped_toml("bench/data/steps.toml")) + ", pass-1, pass-2 ..."
    steps = job.steps
    yield from _section("steps", {f.name: getattr(steps, f.name) for f in fields(steps) if f.name != "changes"})
    for key, change in steps.changes.items():
        values = {k: v for k, v in asdict(change).items() if v is not None and v is not False}
        yield from _section(f"steps.{_key(key)}", values)


def _resin(job: Job) -> Iterable[str]:
    if job.resin is not None:
        return _section("resin", asdict(job.resin))
    return [
        "# Resin for the run: [resin] part_g = 38, waste_g = 9, ratio = [1, 1], mould_life = 40, silicone_g = 400",
        "",
    ]


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else toml_value(name)


def _parts(job: Job, drawing: Drawing) -> Iterator[str]:
    yield "# The parts. Rename a part by changing its header; an area belongs to the part that lists it."
    for name, ids in grouped(parts_of_areas(drawing, job)).items():
        yield f"[parts.{_key(name)}]"
        part = job.parts.get(name, PartJob())
        for key, value in (asdict(part) | {"areas": ids}).items():
            yield _line("parts", key, value, "paint these parts first" if key == "after" and not value else "")
        yield ""


def _areas(job: Job, drawing: Drawing, names: Mapping[int, str]) -> Iterator[str]:
    yield "# The areas, numbered as on the numbered drawing. flags: " + ", ".join(FLAGS)
    for area in drawing.areas:
        said = job.areas.get(area.id, AreaJob())
        yield f"[areas.{area.id}]"
        yield _line("areas", "name", said.name or names.get(area.id, ""))
        yield _line("areas", "target", said.target, "" if said.target else f"drawn {drawing.palette[area.colour].hex}")
        yield _line("areas", "mix", said.mix, "" if said.mix else "two areas or more that name one mix share it")
        yield _line("areas", "flags", said.flags, "; ".join(_offers(area)))
        if said.blend_into is not None:
            yield _line("areas", "blend_into", said.blend_into)
        yield ""


def _offers(area: Area) -> Iterable[str]:
    for hint in area.hints:
        into = f", into {hint.other}" if hint.other is not None else ""
        yield f'offered: "{hint.flag}"{into} ({hint.why})'


def _edges(job: Job, drawing: Drawing) -> Iterator[str]:
    example = next((e.areas for e in drawing.edges), (1, 2))
    yield f'# The edges, where you want one otherwise: [edges."{example[0]}-{example[1]}"]'
    yield f"# treat = {toml_value(TREATS[0])}  # {', '.join(TREATS)}"
    yield f"# first = {example[0]}"
    yield ""
    for (a, b), edge in job.edges.items():
        yield from _section(f'edges."{a}-{b}"', {k: v for k, v in asdict(edge).items() if v is not None})
