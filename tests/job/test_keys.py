"""The one table of keys: what parser, settings, written file and the lists for readers have in common."""

import dataclasses
import re
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from finishplan.basics.errors import InputError
from finishplan.job.job import AreaJob, Cut, EdgeJob, FigureJob, Job, MixJob, PaintsJob, PartJob
from finishplan.job.keys import KEYS, header_of, key_rows
from finishplan.job.options import overlaid
from finishplan.job.read import parse_job
from finishplan.job.settings import Labour, Method, OwnTiming, Resin, Room, RunSettings, StepChange, StepSettings
from finishplan.job.values import LISTS, PLACES, value_of

ROOT = Path(__file__).parents[2]
HELD_IN = {
    "figure": FigureJob, "parts": PartJob, "areas": AreaJob, "mixes": MixJob, "edges": EdgeJob, "cuts": Cut,
    "paints": PaintsJob, "paints.dry": OwnTiming, "method": Method, "labour": Labour, "room": Room, "run": RunSettings,
    "steps": StepSettings, "steps.KEY": StepChange, "resin": Resin,
}  # fmt: skip
ELSEWHERE = {"paints": {"dry"}, "steps": {"changes"}, "parts": {"within"}}
"""Fields that are sections of their own, or are told in another key."""


@pytest.mark.parametrize("section", KEYS)
def test_a_section_has_a_key_for_every_setting(section: str) -> None:
    fields = {f.name for f in dataclasses.fields(HELD_IN[section])}
    assert KEYS[section].keys() == fields - ELSEWHERE.get(section, set())


@pytest.mark.parametrize("section", KEYS)
def test_every_key_says_what_it_is_and_takes_its_own_default(section: str) -> None:
    for name, key in KEYS[section].items():
        assert key.comment and key.comment[-1] not in ".;" and "\n" not in key.comment
        default: Any = list(key.default) if isinstance(key.default, tuple) else key.default
        if default not in (None, "", []):
            assert key.check(default, name) == key.default


@pytest.mark.parametrize(("section", "key", "said"), [
    ("areas", "before", "face, 3"), ("areas", "flags", "recess,first"), ("parts", "after", "head"),
    ("paints", "own", "PW6, PY43"), ("run", "starts", "0,1440"), ("resin", "ratio", "100, 90"),
])  # fmt: skip
def test_a_list_may_be_told_with_commas(section: str, key: str, said: str) -> None:
    items = tuple(int(v) if v.isdigit() else v for v in said.replace(" ", "").split(","))
    assert value_of(KEYS[section][key], said, key) == items


def test_no_list_is_left_out_of_those_told_with_commas() -> None:
    """A key takes a list where an empty one will do."""
    taking = set()
    for key in (key for section in KEYS.values() for key in section.values()):
        with suppress(InputError):
            taking |= {key.name} if key.check([], "") == () else set()
    assert taking <= {*LISTS, *PLACES} and len(taking) > 5


def test_no_other_key_and_no_other_section_is_known() -> None:
    for section in ("figure", "method", "labour", "room", "run", "steps", "resin"):
        with pytest.raises(InputError, match="unknown key"):
            parse_job(f"[{section}]\nnonsense = 1")


def test_an_option_left_out_leaves_the_default_of_the_job() -> None:
    sections = {name: dict.fromkeys(KEYS[name]) for name in ("figure", "method", "room", "run")}
    assert overlaid(Job(), sections) == Job()


def test_the_list_for_readers_is_the_table() -> None:
    """Where this fails: put `key_rows()` of finishplan/job/keys.py between the two marks."""
    text = (ROOT / "finishplan/job/README.md").read_text(encoding="utf-8")
    assert text.split("<!-- keys -->\n")[1].split("\n<!-- end of keys -->")[0] == "\n".join(key_rows())


def test_the_readme_names_every_key_in_the_row_of_its_section() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = {row.split("|")[1].strip(): row.split("|")[2] for row in readme.splitlines() if row.startswith("| `[")}
    for section, keys in KEYS.items():
        row = next(row for head, row in rows.items() if f"`{header_of(section)}`" in head)
        assert keys.keys() <= set(re.findall(r"`(\w+)`", row)), section
