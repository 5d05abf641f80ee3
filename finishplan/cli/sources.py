"""What a command works on: a drawing or a job, with the options that were given laid over it."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from finishplan.job.options import option_of, overlaid, sections_of
from finishplan.plan.inputs import Sources, find_sources, with_box

FILES = {"paints": "paints.file", "table": "paints.table", "parts_map": "figure.parts_map", "book": "paints.book"}
"""Options that name files, and the keys for which they stand."""


def before(source: Path, out: Path | None, what: str = "plan") -> Path | None:
    """The folder into which a drawing may have been planned before; None for a job file, which is its own."""
    # A job file is its own: no earlier plan is laid under it.
    return None if source.suffix.lower() == ".toml" else out or Path(f"{source.stem}-{what}")


def sources_of(source: Path, folder: Path | None, given: Mapping[str, Any], *, fresh: bool = False) -> Sources:
    """The sources with the options laid over the job file. folder: where the drawing may have been planned into before;
    given: option -> value, as the command got them. Raises InputError."""
    sections, files = sections_of(given), {key: given.get(name) for name, key in FILES.items()}
    found = find_sources(source, folder, fresh=fresh)
    options = {key: f"--{name.replace('_', '-')}" for name, key in FILES.items()}
    options |= {f"{name}.{key}": option_of(key) for name, keys in sections.items() for key in keys}
    values = files | {f"{name}.{key}": value for name, keys in sections.items() for key, value in keys.items()}
    laid = replace(
        found,
        job=overlaid(found.job, sections),
        table=files["paints.table"] or found.table,
        parts_map=files["figure.parts_map"] or found.parts_map,
        book=files["paints.book"] or found.book,
        options={**found.options, **{key: options[key] for key, value in values.items() if value is not None}},
    )
    # Found by its place, unasked: it changes recipes, so it is said.
    if laid.book is not None and not files["paints.book"] and not laid.job.paints.book:
        said = f"The mix book {laid.book} lies there and is used; --book takes another."
        laid = replace(laid, said=(*laid.said, said))
    # Last, as it may put aside what the job says is owned.
    paints = files["paints.file"]
    return laid if paints is None else with_box(laid, paints)
