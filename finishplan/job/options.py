"""The options of the command line that stand for keys of the job file."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from finishplan.job.job import Job
from finishplan.job.keys import KEYS


def overlaid(job: Job, sections: Mapping[str, Mapping[str, Any]]) -> Job:
    """The job with values of the command line in place of its own; None leaves one as it is. Checked alike: raises
    InputError."""
    for name, values in sections.items():
        given = {key: value for key, value in values.items() if value is not None}
        checked = {key: KEYS[name][key].check(value, option_of(key)) for key, value in given.items()}
        job = replace(job, **{name: replace(getattr(job, name), **checked)})
    return job


OFFERED = (
    "figure.height_mm", "figure.colours", "figure.paper_white", "figure.lines", "figure.kind", "figure.shading",
    "figure.finish", "paints.max_paints",
    "paints.max_parts", "paints.within", "method.primer", "method.tool", "room.temperature_c",
    "room.humidity_pct", "room.dryer",
    "run.castings", "run.painters",
)  # fmt: skip
"""Keys that have an option of their own."""


def sections_of(given: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Section -> key -> value, of options by the names of a command's parameters; None where one was not given."""
    sections: dict[str, dict[str, Any]] = {}
    for path in OFFERED:
        section, key = path.split(".")
        # Options are called as their keys, so none has to be listed twice.
        value = given.get(option_of(key).lstrip("-").replace("-", "_"))
        if key == "tool":
            value = "airbrush" if value else None
        elif key in ("finish", "kind", "shading", "lines", "paper_white") and isinstance(value, str):
            value = value.lower()
        # A flag that is not given is no 'no': the job's yes stands.
        sections.setdefault(section, {})[key] = None if value is False else value
    return sections


def option_of(key: str) -> str:
    """The option of the command line that stands for a key of the job file: '--humidity' for 'humidity_pct'."""
    return "--airbrush" if key == "tool" else "--" + re.sub("_(c|pct)$", "", key).replace("_", "-")
