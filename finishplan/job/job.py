"""The job file (TOML): what the maker says about the figure, and its checks. Every error names file, key and cure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any, Literal

from finishplan.basics.checks import (
    HEX,
    Check,
    choice,
    colour,
    dated,
    list_of,
    number,
    pair,
    section,
    shown,
    text,
    whole,
    yes_no,
)
from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import inside, printable
from finishplan.basics.text_files import text_of, toml_of
from finishplan.job.settings import (
    Flag,
    Gloss,
    Labour,
    Method,
    OwnTiming,
    Resin,
    Room,
    RunSettings,
    StepChange,
    StepSettings,
    Treat,
)

LONGEST_JOB = 2_000_000
"""Bytes; a job file of a thousand areas has about 60,000."""


@dataclass(frozen=True)
class FigureJob:
    """The figure and how its drawing is read. height_mm None: taken as USUAL_HEIGHT_MM, and said."""

    name: str = ""
    date: str = ""
    drawing: str = ""
    height_mm: float | None = None
    finish: Gloss = "satin"
    colours: int | None = None
    paper_white: Literal["auto", "off"] = "auto"
    parts_map: str = ""


@dataclass(frozen=True)
class PartJob:
    """One part. areas None: those of the drawn piece of that name. Its surface is surface_cm2, else the mesh's, else
    the drawing's times the form factor surface_factor; mass_g only sets a floor. height_mm: of this piece as drawn,
    fixes the scale."""

    areas: tuple[int, ...] | None = None
    height_mm: float | None = None
    surface_factor: float = 1.0
    surface_cm2: float | None = None
    mesh: str = ""
    mass_g: float | None = None
    copies: int = 1
    glue_faces: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class AreaJob:
    """One area: what the maker calls it, where it belongs, the colour wanted, and how it is treated."""

    name: str = ""
    part: str = ""
    target: str = ""
    mix: str = ""
    flags: tuple[Flag, ...] = ()
    blend_into: int | None = None


@dataclass(frozen=True)
class EdgeJob:
    """One edge: the treatment and the side to be laid first, where the maker wishes it otherwise."""

    treat: Treat | None = None
    first: int | None = None


@dataclass(frozen=True)
class PaintsJob:
    """The paints owned and how recipes are chosen. kind: the row of the drying table. merge: CIEDE2000 within which
    drawn colours share a mix."""

    table: str = ""
    own: tuple[str, ...] | None = None
    file: str = ""
    kind: str = ""
    max_paints: int = 4
    max_parts: int = 12
    merge: float = 2.0
    dry: OwnTiming | None = None


@dataclass(frozen=True)
class Job:
    """Everything the maker may say, with every default. folder: where relative paths start; file: for messages."""

    figure: FigureJob = FigureJob()
    parts: dict[str, PartJob] = field(default_factory=dict)
    areas: dict[int, AreaJob] = field(default_factory=dict)
    edges: dict[tuple[int, int], EdgeJob] = field(default_factory=dict)
    paints: PaintsJob = PaintsJob()
    method: Method = Method()
    labour: Labour = Labour()
    room: Room = Room()
    run: RunSettings = RunSettings()
    steps: StepSettings = StepSettings()
    resin: Resin | None = None
    folder: Path = Path()
    file: str = "job"


FLAGS = ("recess", "dot", "blend", "bare", "first", "last")
TREATS = ("lap", "cut", "dot", "blend")
GLOSSES = ("matt", "satin", "gloss")
PRIMERS = ("auto", "white", "light grey", "mid grey", "black")
_NAME = text(80, empty=False)
_ID = whole(1, 100_000)


def _primer(value: Any, where: str) -> str:
    """One of PRIMERS in any capitals, 'light-grey' and 'light gray' too, or '#rrggbb'."""
    said = re.sub(r"[\s_-]+", " ", value.strip().lower()).replace("gray", "grey") if isinstance(value, str) else ""
    if said in PRIMERS:
        return said
    if said.startswith("#") or re.fullmatch(HEX, said):
        return colour(value, where)
    cure = "use one of: " + ", ".join(PRIMERS) + ', or write a colour as "#rrggbb"'
    raise InputError(f"{shown(value)} is no primer known here", where=where, cure=cure)


SPEC: dict[str, dict[str, Check]] = {
    "figure": {
        "name": text(120),
        "date": dated(text(40)),
        "drawing": text(400, empty=False),
        "height_mm": number(5, 2000, "mm"),
        "finish": choice(*GLOSSES),
        "colours": whole(1, 64),
        "paper_white": choice("auto", "off"),
        "parts_map": text(400, empty=False),
    },
    "parts": {
        "areas": list_of(_ID),
        "height_mm": number(1, 2000, "mm"),
        "surface_factor": number(0.2, 10),
        "surface_cm2": number(0.01, 1e5, "cm2"),
        "mesh": text(400, empty=False),
        "mass_g": number(0.01, 1e5, "g"),
        "copies": whole(1, 1000),
        "glue_faces": list_of(_NAME),
        "after": list_of(_NAME),
    },
    "areas": {
        "name": text(80),
        "part": _NAME,
        "target": colour,
        "mix": text(80, empty=False),
        "flags": list_of(choice(*FLAGS)),
        "blend_into": _ID,
    },
    "edges": {"treat": choice(*TREATS), "first": _ID},
    "paints": {
        "table": text(400, empty=False),
        "own": list_of(_NAME),
        "file": text(400, empty=False),
        "kind": text(40, empty=False),
        "max_paints": whole(1, 4),
        "max_parts": whole(1, 16),
        "merge": number(0, 20, "CIEDE2000"),
    },
    "dry": {
        "touch_min": number(0.2, 10_000, "minutes"),
        "temperature_c": number(5, 40, "degrees C"),
        "humidity_pct": number(5, 95, "%"),
        "dry_um": number(2, 200, "micrometres of dry film"),
    },
    "method": {
        "tool": choice("brush", "airbrush"),
        "coat_um": number(2, 200, "micrometres of dry film"),
        "spray_um": number(2, 200, "micrometres of dry film"),
        "primer": _primer,
        "max_coats": whole(1, 20),
        "undercoat": yes_no,
        "lap_mm": number(0, 10, "mm"),
        "primer_kind": text(40, empty=False),
        "varnish_kind": text(40, empty=False),
    },
    "labour": {f.name: number(0, 1000, "minutes") for f in fields(Labour)},
    "room": {
        "temperature_c": number(0, 45, "degrees C"),
        "humidity_pct": number(1, 100, "%"),
        "air_speed_m_s": number(0, 5, "m/s"),
        "dryer": yes_no,
    },
    "run": {
        "castings": whole(1, 2000),
        "first_ready_min": number(0, 1e6, "minutes"),
        "cadence_min": number(0, 1e5, "minutes"),
        "per_shot": whole(1, 1000),
        "painters": whole(1, 20),
        "session_min": number(10, 1440, "minutes"),
        "starts": list_of(number(0, 1e7, "minutes")),
        "day_min": number(10, 1e5, "minutes"),
        "rack": whole(1, 100_000),
        "mix_life_min": number(5, 1e5, "minutes"),
        "loss": number(1, 20),
        "search_s": number(0, 600, "seconds"),
        "fewest_changes": yes_no,
        "start_at": dated(text(10)),
    },
    "steps": {
        "primer_coats": whole(0, 5),
        "varnish_coats": whole(0, 5),
        "spray_m_s": number(0, 50, "m/s"),
        "density": number(0.3, 20, "g/cm3"),
    },
    "step": {
        "skip": yes_no,
        "text": text(300, empty=False),
        "minutes": number(0, 1e4, "minutes"),
        "wait_min": number(0, 1e6, "minutes"),
    },
    "resin": {
        "part_g": number(0.01, 1e5, "g"),
        "waste_g": number(0, 1e5, "g"),
        "ratio": pair(number(0.01, 1000)),
        "margin": number(0, 5),
        "first_margin": number(0, 5),
        "pigment_pct": number(0, 50, "%"),
        "pigment_excess": number(0, 5),
        "mould_life": whole(1, 100_000),
        "silicone_g": number(0.1, 1e6, "g"),
        "hardener_pct": number(0.1, 100, "%"),
        "silicone_density": number(0.3, 20, "g/cm3"),
    },
}


def load_job(path: Path) -> Job:
    """Read and check a job file. Raises InputError for anything in it that cannot be used."""
    source = text_of(path, LONGEST_JOB, "a job file (TOML)")
    return parse_job(source, path.resolve().parent, printable(path.name))


def parse_job(source: str, folder: Path = Path(), file: str = "job") -> Job:
    """A checked Job from TOML text; paths in it must stay in `folder`. Raises InputError, where: file, key."""
    data = toml_of(source, file)
    known = [k for k in SPEC if k not in ("dry", "step")]
    if {"own", "paint"} & data.keys() and not data.keys() & set(known):
        cure = f"give the drawing instead, and the box with --paints {file}"
        raise InputError("is a paint box, not a job file", where=file, cure=cure)
    for key, value in data.items():
        homes = [name for name, keys in SPEC.items() if key in keys and name in known]
        if key not in known and homes and not isinstance(value, dict):
            cure = f"write [{homes[0]}] in a line above it"
            raise InputError(f"'{key}' stands outside its section", where=file, cure=cure)
        if key not in known:
            raise InputError(f"unknown section '{key[:60]}'", where=file, cure=nearest(key, known))
    paints = dict(_table(data, "paints", file))
    dry = paints.pop("dry", None)
    steps = dict(_table(data, "steps", file))
    changes = {key: steps.pop(key) for key in list(steps) if isinstance(steps[key], dict)}
    resin = _section(data, "resin", file)
    job = Job(
        figure=FigureJob(**_section(data, "figure", file)),
        parts={
            _NAME(name, f"{file}: parts"): PartJob(**section(part, SPEC["parts"], f"{file}: parts.{name[:80]}"))
            for name, part in _table(data, "parts", file).items()
        },
        areas={
            _area_key(key, file): AreaJob(**section(area, SPEC["areas"], f"{file}: areas.{key[:20]}"))
            for key, area in _table(data, "areas", file).items()
        },
        edges=_edges(_table(data, "edges", file), file),
        paints=PaintsJob(**section(paints, SPEC["paints"], f"{file}: paints"), dry=_dry(dry, file)),
        method=Method(**_section(data, "method", file)),
        labour=Labour(**_section(data, "labour", file)),
        room=Room(**_section(data, "room", file)),
        run=RunSettings(**_section(data, "run", file)),
        steps=StepSettings(
            {key: StepChange(**section(c, SPEC["step"], f"{file}: steps.{key[:40]}")) for key, c in changes.items()},
            **section(steps, SPEC["steps"], f"{file}: steps"),
        ),
        resin=Resin(**_needing(resin, "part_g", f"{file}: resin")) if resin else None,
        folder=folder,
        file=file,
    )
    _check_across(job)
    return job


def overlaid(job: Job, sections: Mapping[str, Mapping[str, Any]]) -> Job:
    """The job with values of the command line in place of its own; None leaves one as it is. Checked alike: raises
    InputError."""
    for name, values in sections.items():
        given = {key: value for key, value in values.items() if value is not None}
        checked = {key: SPEC[name][key](value, option_of(key)) for key, value in given.items()}
        job = replace(job, **{name: replace(getattr(job, name), **checked)})
    return job


def option_of(key: str) -> str:
    """The option of the command line that stands for a key of the job file: '--humidity' for 'humidity_pct'."""
    return "--airbrush" if key == "tool" else "--" + re.sub("_(c|pct)$", "", key).replace("_", "-")


def job_path(job: Job, name: str, key: str) -> Path | None:
    """Where a path of the job file leads, None for ''. Raises InputError when it leaves the job's folder."""
    return inside(job.folder, name, where=f"{job.file}: {key}") if name else None


def _table(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise InputError(f"'{key}' is not a table", where=file, cure=f"write it as [{key}]")
    return value


def _section(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    return section(_table(data, key, file), SPEC[key], f"{file}: {key}")


def _area_key(key: str, file: str) -> int:
    if not re.fullmatch(r"[1-9][0-9]{0,5}", key):
        raise InputError(
            f"'{key[:40]}' is not an area's number", where=f"{file}: areas", cure="write [areas.5] for area 5"
        )
    return int(key)


def _edge_key(key: str, file: str) -> tuple[int, int]:
    found = re.fullmatch(r"([1-9][0-9]{0,5})-([1-9][0-9]{0,5})", key)
    if not found or found[1] == found[2]:
        raise InputError(
            f"'{key[:40]}' is not an edge",
            where=f"{file}: edges",
            cure='write [edges."3-5"] for areas 3 and 5',
        )
    a, b = sorted((int(found[1]), int(found[2])))
    return a, b


def _edges(data: dict[str, Any], file: str) -> dict[tuple[int, int], EdgeJob]:
    edges: dict[tuple[int, int], EdgeJob] = {}
    for key, edge in data.items():
        pair = _edge_key(key, file)
        if pair in edges:
            raise InputError("this edge is told twice", where=f"{file}: edges.{key[:20]}", cure="leave one of them")
        edges[pair] = _edge(key, edge, file)
    return edges


def _edge(key: str, data: Any, file: str) -> EdgeJob:
    where = f"{file}: edges.{key[:20]}"
    edge = EdgeJob(**section(data, SPEC["edges"], where))
    if edge.first is not None and edge.first not in _edge_key(key, file):
        raise InputError(
            f"area {edge.first} is not on this edge", where=f"{where}.first", cure=f"name one of {key[:20]}"
        )
    return edge


def _dry(data: Any, file: str) -> OwnTiming | None:
    if data is None:
        return None
    where = f"{file}: paints.dry"
    return OwnTiming(**_needing(section(data, SPEC["dry"], where), "touch_min", where))


def _needing(values: dict[str, Any], key: str, where: str) -> dict[str, Any]:
    if key not in values:
        raise InputError(f"{key} is missing", where=where, cure=f"write {key} = 12")
    return values


def _check_across(job: Job) -> None:
    """Rules that cross sections: an area is claimed once, and parts wait for each other without a circle."""
    _check_areas(job)
    _check_run(job)
    try:
        TopologicalSorter({name: part.after for name, part in job.parts.items()}).prepare()
    except CycleError as error:
        circle = error.args[1]
        raise InputError(
            "parts wait for each other in a circle: " + ", ".join(circle),
            where=f"{job.file}: parts.{circle[0]}.after",
            cure="take one of them out",
        ) from error


def _check_areas(job: Job) -> None:
    owner: dict[int, str] = {}
    for name, part in job.parts.items():
        for id in part.areas or ():
            if id in owner:
                raise InputError(
                    f"area {id} is claimed by '{owner[id]}' and '{name}'",
                    where=f"{job.file}: parts.{name}.areas",
                    cure="leave it in one of them",
                )
            owner[id] = name
    for id, area in job.areas.items():
        if area.part and owner.get(id, area.part) != area.part:
            raise InputError(
                f"area {id} is claimed by '{owner[id]}' and '{area.part}'",
                where=f"{job.file}: areas.{id}.part",
                cure="leave it in one of them",
            )
        for one, other in (("first", "last"), ("dot", "recess"), ("bare", "dot"), ("bare", "blend")):
            if one in area.flags and other in area.flags:
                raise InputError(
                    f"'{one}' and '{other}' contradict each other",
                    where=f"{job.file}: areas.{id}.flags",
                    cure="leave one of them",
                )


def _check_run(job: Job) -> None:
    if job.run.session_min is None and job.run.starts:
        raise InputError("starts without session_min", where=f"{job.file}: run.starts", cure="write session_min = 120")
    for key, change in job.steps.changes.items():
        if key.startswith("pass-") and (change.skip or change.minutes is not None or change.wait_min is not None):
            raise InputError(
                "a pass takes only a text here",
                where=f"{job.file}: steps.{key[:40]}",
                cure="its minutes follow from [labour], its areas from their flags",
            )
