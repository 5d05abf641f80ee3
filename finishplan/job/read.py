"""The job file (TOML) read and checked. Every error names file, key and cure."""

from pathlib import Path
from typing import Any

from finishplan.basics.checks import section
from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import is_file, printable
from finishplan.basics.text_files import text_of, toml_of
from finishplan.job.across import check_across
from finishplan.job.job import AreaJob, Cut, EdgeJob, FigureJob, Job, MixJob, PaintsJob, PartJob
from finishplan.job.keys import JOB_VERSION, KEYS, NAME, checks_of, header_of
from finishplan.job.names import Names
from finishplan.job.settings import Labour, Method, OwnTiming, Resin, Room, RunSettings, StepChange, StepSettings

LONGEST_JOB = 2_000_000
"""Bytes; a job file of a thousand areas has about 60,000."""
TOP = tuple(name for name in KEYS if "." not in name)
"""The sections that stand by themselves."""


def job_in(path: Path) -> Path:
    """The job file of a folder; else the path itself."""
    return path / "job.toml" if is_file(path / "job.toml") else path


def load_job(path: Path) -> Job:
    """Read and check a job file. Raises InputError for anything in it that cannot be used."""
    source = text_of(path, LONGEST_JOB, "a job file (TOML)")
    return parse_job(source, path.resolve().parent, printable(path.name))


def parse_job(source: str, folder: Path = Path(), file: str = "job") -> Job:
    """A checked Job from TOML text; paths in it must stay in `folder`. Raises InputError, where: file, key."""
    data = toml_of(source, file)
    _check_sections(data, file)
    # First: all other sections tell their areas by these names.
    names = Names(_table(data, "areas", file), file)
    paints = dict(_table(data, "paints", file))
    dry = paints.pop("dry", None)
    job = Job(
        figure=FigureJob(**_section(data, "figure", file)),
        parts=_parts(_table(data, "parts", file), names),
        areas={id: _area(id, table, names) for id, table in names.tables.items()},
        mixes={
            NAME(name, f"{file}: mixes"): _mix(name, mix, names) for name, mix in _table(data, "mixes", file).items()
        },
        edges=_edges(_table(data, "edges", file), names),
        cuts=_cuts(data.get("cuts", []), names),
        paints=PaintsJob(**section(paints, checks_of("paints"), f"{file}: paints"), dry=_dry(dry, file)),
        method=Method(**_section(data, "method", file)),
        labour=Labour(**_section(data, "labour", file)),
        room=Room(**_section(data, "room", file)),
        run=RunSettings(**_section(data, "run", file)),
        steps=_steps(_table(data, "steps", file), file),
        resin=_resin(_section(data, "resin", file), file),
        folder=folder,
        file=file,
    )
    return check_across(job)


def _check_sections(data: dict[str, Any], file: str) -> None:
    version = data.get("version", JOB_VERSION)
    if isinstance(version, bool) or not isinstance(version, int) or not 1 <= version <= JOB_VERSION:
        cure = f"write version = {JOB_VERSION}, or use a newer finishplan"
        raise InputError(f"version {str(version)[:20]} is not known here", where=f"{file}: version", cure=cure)
    # Box files are TOML too, and easily given in a job's place.
    if {"own", "paint"} & data.keys() and not data.keys() & set(TOP):
        cure = f"give the drawing instead, and the box with --paints {file}"
        raise InputError("is a paint box, not a job file", where=file, cure=cure)
    for key, value in data.items():
        if key in TOP or key == "version":
            continue
        # TOML gives a key above the first header to no section: a slip that is easily made.
        homes = [name for name in TOP if key in KEYS[name]]
        if homes and not isinstance(value, dict):
            cure = f"write {header_of(homes[0])} in a line above it"
            raise InputError(f"'{key}' stands outside its section", where=file, cure=cure)
        raise InputError(f"unknown section '{key[:60]}'", where=file, cure=nearest(key, TOP))


def _table(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise InputError(f"'{key}' is not a table", where=file, cure=f"write it as [{key}]")
    return value


def _section(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    return section(_table(data, key, file), checks_of(key), f"{file}: {key}")


def _area(id: int, table: dict[str, Any], names: Names) -> AreaJob:
    where = f"{names.file}: areas.{names.header[id][:40]}"
    refs: dict[str, Any] = {
        k: names.of(table[k], f"{where}.{k}") for k in ("blend_into", "swallow", "join") if k in table
    }
    if "before" in table:
        # Names become numbers here: beyond this room a job holds numbers alone.
        refs["before"] = names.all_of(table["before"], f"{where}.before")
    for key in ("swallow", "join", "before"):
        other = refs.get(key)
        if other == id or (isinstance(other, tuple) and id in other):
            raise InputError("is the area itself", where=f"{where}.{key}", cure="name another area")
    return AreaJob(**table | refs)


def _parts(data: dict[str, Any], names: Names) -> dict[str, PartJob]:
    parts = {}
    for name, table in data.items():
        where = f"{names.file}: parts.{name[:80]}"
        part = section(table, checks_of("parts"), where)
        if (listed := part.get("areas")) is not None:
            # In the file one list, as it is one thought; here apart, as shapes wait for the drawing.
            part["areas"] = names.all_of((s for s in listed if not isinstance(s, tuple)), f"{where}.areas")
            part["within"] = tuple(s for s in listed if isinstance(s, tuple))
        parts[NAME(name, f"{names.file}: parts")] = PartJob(**part)
    return parts


def _mix(name: str, data: Any, names: Names) -> MixJob:
    where = f"{names.file}: mixes.{name[:80]}"
    mix = section(data, checks_of("mixes"), where)
    if "recipe" in mix and "target" in mix:
        cure = "keep only one of them: the colour of a recipe follows from its paints"
        raise InputError("target and recipe contradict each other", where=where, cure=cure)
    said = mix.get("areas", ())
    # Shapes are for parts: what shares a pot is chosen area by area.
    if any(isinstance(s, tuple) for s in said) or not said:
        raise InputError("needs the areas that share it", where=f"{where}.areas", cure='write areas = ["hood", 5]')
    mix["areas"] = names.all_of(said, f"{where}.areas")
    if "leads" in mix:
        mix["leads"] = names.of(mix["leads"], f"{where}.leads")
        if mix["leads"] not in mix["areas"] or {"target", "recipe"} & mix.keys():
            cure = "name one of its areas, and give neither target nor recipe"
            raise InputError("nothing there that could lead", where=f"{where}.leads", cure=cure)
    return MixJob(**mix)


def _edges(data: dict[str, Any], names: Names) -> dict[tuple[int, int], EdgeJob]:
    edges: dict[tuple[int, int], EdgeJob] = {}
    for key, table in data.items():
        where = f"{names.file}: edges.{key[:40]}"
        pair = names.edge(key)
        edge = section(table, checks_of("edges"), where)
        # `names.edge` has the pair ascending, so that 3-5 and 5-3 are one edge, told twice.
        if "first" in edge:
            edge["first"] = names.of(edge["first"], f"{where}.first")
            if edge["first"] not in pair:
                cure = f"name one of {key[:40]}"
                raise InputError(f"area {edge['first']} is not on this edge", where=f"{where}.first", cure=cure)
        if pair in edges:
            raise InputError("this edge is told twice", where=where, cure="keep only one of them")
        edges[pair] = EdgeJob(**edge)
    return edges


def _cuts(data: Any, names: Names) -> tuple[Cut, ...]:
    if not isinstance(data, list):
        raise InputError("'cuts' is not a list of tables", where=names.file, cure="write it as [[cuts]]")
    cuts = []
    for no, table in enumerate(data, 1):
        where = f"{names.file}: cuts[{no}]"
        cut = section(table, checks_of("cuts"), where)
        if "points" not in cut:
            raise InputError("points are missing", where=where, cure="write points = [[0.1, 0.2], [0.3, 0.4]]")
        area = names.of(cut["area"], f"{where}.area") if "area" in cut else None
        cuts.append(Cut(cut["points"], area))
    return tuple(cuts)


def _steps(data: dict[str, Any], file: str) -> StepSettings:
    # [steps] has plain keys and one table for each step that is changed.
    own = {key: value for key, value in data.items() if not isinstance(value, dict)}
    changes = {key: value for key, value in data.items() if isinstance(value, dict)}
    spec = checks_of("steps.KEY")
    return StepSettings(
        {key: StepChange(**section(c, spec, f"{file}: steps.{key[:40]}")) for key, c in changes.items()},
        **section(own, checks_of("steps"), f"{file}: steps"),
    )


def _resin(resin: dict[str, Any], file: str) -> Resin | None:
    return Resin(**_needing(resin, "part_g", f"{file}: resin")) if resin else None


def _dry(data: Any, file: str) -> OwnTiming | None:
    if data is None:
        return None
    where = f"{file}: paints.dry"
    return OwnTiming(**_needing(section(data, checks_of("paints.dry"), where), "touch_min", where))


def _needing(values: dict[str, Any], key: str, where: str) -> dict[str, Any]:
    if key not in values:
        raise InputError(f"{key} is missing", where=where, cure=f"write {key} = 12")
    return values
