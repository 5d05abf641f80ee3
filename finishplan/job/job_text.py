"""Writes a job file: complete, commented, ready to edit and to run again."""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from finishplan.basics.text_files import shipped_toml
from finishplan.drawing.model import Area, Drawing
from finishplan.job.job import FLAGS, GLOSSES, PRIMERS, TREATS, AreaJob, Job, PartJob
from finishplan.paint.model import Box
from finishplan.scheme.build import grouped, parts_of_areas
from finishplan.scheme.model import Scheme

SEAL = "# Written by finishplan; sha256 of the lines above: "
"""Last line of a job file as written; a file whose lines no longer match it was edited by its maker."""

WHAT = {
    "figure.date": "printed on the sheets as written here",
    "figure.height_mm": "of the figure; a [parts.NAME] height_mm is surer when pieces are drawn apart",
    "figure.finish": "varnish: " + ", ".join(GLOSSES),
    "figure.colours": "number of colours to read; without it the number is found",
    "figure.paper_white": "auto or off: bring a scan or photo to paper white",
    "figure.parts_map": "picture with one flat colour a part, beside this file",
    "paints.own": "ids or Colour Index names; `finishplan box` lists them",
    "paints.file": "a box file with your own bottles",
    "paints.table": "another colour table",
    "paints.kind": "acrylic or heavy-body",
    "paints.max_paints": "1 to 4 paints in a mix",
    "paints.max_parts": "whole parts in a mix",
    "paints.merge": "colours closer than this (CIEDE2000) share one mix",
    "method.tool": "brush or airbrush (broad passes sprayed)",
    "method.coat_um": "dry thickness of one brushed coat; without it that of the kind of paint",
    "method.spray_um": "dry thickness of one sprayed coat; without it 10",
    "method.primer": ", ".join(PRIMERS) + ' or "#rrggbb"',
    "method.max_coats": "more than this and an undercoat is proposed",
    "method.lap_mm": "how far a first colour runs over the line, thinned out",
    "method.primer_kind": "row of the drying table: aerosol-primer, brush-primer",
    "method.varnish_kind": "row of the drying table: varnish-water, varnish-solvent, varnish-aerosol",
    "steps.spray_m_s": "air speed of a spray where it meets the piece",
    "labour.change_min": "wash the brush and open the next mix",
    "room.air_speed_m_s": "a still room 0.1, a fan 0.5",
    "room.dryer": "may a hair dryer be used",
    "run.first_ready_min": "when the first casting can be primed: cured, cleaned and masked",
    "run.cadence_min": "minutes between pulls of the mould; 0: all are there at the start",
    "run.session_min": "length of a session at the bench; without it one stretch",
    "run.starts": "session starts in minutes from the first; empty: every day_min",
    "run.rack": "how many castings the rack holds; without it all",
    "run.mix_life_min": "how long a mix stays workable on the palette",
    "run.loss": "ml of paint mixed for each ml that stays on the piece",
    "run.search_s": "effort of the search; 2 may find a large run a little shorter",
    "run.fewest_changes": "rather wait than wash the brush; else the run ends as soon as can be",
    "run.start_at": 'time of day at which the run begins, as "09:00"; empty: times from the start',
}


def job_toml(job: Job, drawing: Drawing, scheme: Scheme | None = None, box: Box | None = None) -> str:
    """The job as a TOML file with every key: those in force as values, the unset ones as comments. With the
    drawing alone (scheme and box None) areas get the colours as drawn and no paint box is named."""
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
        *_parts(job, drawing, scheme),
        *_areas(job, drawing, scheme),
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
    note = comment or WHAT.get(f"{spec}.{key}", "")
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


def _parts(job: Job, drawing: Drawing, scheme: Scheme | None) -> Iterator[str]:
    areas = {p.name: p.areas for p in scheme.parts} if scheme else grouped(parts_of_areas(drawing, job))
    yield "# The parts. Rename a part by changing its header; an area belongs to the part that lists it."
    for name, ids in areas.items():
        yield f"[parts.{_key(name)}]"
        part = job.parts.get(name, PartJob())
        for key, value in (asdict(part) | {"areas": ids}).items():
            yield _line("parts", key, value, "paint these parts first" if key == "after" and not value else "")
        yield ""


def _areas(job: Job, drawing: Drawing, scheme: Scheme | None) -> Iterator[str]:
    yield "# The areas, numbered as on the numbered drawing. flags: " + ", ".join(FLAGS)
    names = {a.id: a.name for a in scheme.areas} if scheme else {}
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
