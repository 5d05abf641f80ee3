"""Every default of the settings against the range a maker would give (tests/reference/makers-figures.csv)."""

import dataclasses

import pytest
from ranges import in_the_middle, ranges

from finishplan.job.job import PaintsJob, PartJob
from finishplan.job.settings import POT_LIFE_MIN, Labour, Method, OwnTiming, Resin, Room, RunSettings, StepSettings
from finishplan.paint.settings import MixSettings

RANGES = ranges("makers-figures.csv")
SETTINGS = {c.__name__: c for c in (Method, Labour, Room, RunSettings, OwnTiming, StepSettings, Resin, MixSettings)}
EFFORT = {("RunSettings", "search_s")}
"""How long is searched says nothing of makers."""


def is_number(default: object) -> bool:
    return isinstance(default, int | float) and not isinstance(default, bool) and default != 0


def test_no_default_is_without_a_range() -> None:
    found = {(name, f.name) for name, c in SETTINGS.items() for f in dataclasses.fields(c) if is_number(f.default)}
    assert found - EFFORT == set(RANGES)


@pytest.mark.parametrize(("settings", "field"), RANGES)
def test_a_default_is_what_a_maker_would_say(settings: str, field: str) -> None:
    assert in_the_middle(float(getattr(SETTINGS[settings], field)), *RANGES[settings, field])


def test_the_job_file_starts_from_the_same_figures() -> None:
    for name in ("max_paints", "max_parts", "within", "drop_ml"):
        assert getattr(PaintsJob(), name) == getattr(MixSettings(), name)
    assert PartJob().copies == 1 and PartJob().surface_factor == 1.0, "one of each, a smooth form"


def test_resin_is_mixed_one_to_one_by_mass_unless_told() -> None:
    assert Resin(10.0).ratio == (1.0, 1.0)


def test_a_pot_keeps_a_week_on_a_wet_palette_and_an_evening_in_a_dish() -> None:
    """Common practice: lidded and wet 4 to 10 days, open 2 to 6 hours."""
    assert in_the_middle(POT_LIFE_MIN["wet"] / 1440, 4, 10) and in_the_middle(POT_LIFE_MIN["dish"] / 60, 2.5, 6)
