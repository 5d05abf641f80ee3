"""Minutes of the steps from the mould to the box against what they take a maker (tests/reference/bench-minutes.csv)."""

import pytest
from ranges import figures, in_the_middle, ranges

from finishplan.basics.text_files import shipped_toml

RANGES = ranges("bench-minutes.csv")
STEPS = shipped_toml("bench/data/steps.toml")


def test_no_step_has_minutes_without_a_range():
    assert set(figures(STEPS)) == set(RANGES)


@pytest.mark.parametrize(("step", "figure"), figures(STEPS))
def test_a_step_takes_what_it_takes_a_maker(step, figure):
    assert in_the_middle(STEPS[step][figure], *RANGES[step, figure])
