"""The line on shared pots: what fewer or more would mean, from the numbers and the tolerance."""

from dataclasses import replace

import pytest
from small_schemes import box, mixes

from finishplan.plan.assumptions import plan_warnings, run_notes
from finishplan.plan.sharing_words import exchange
from finishplan.run.model import Run

CURVE = ((1.0, 17), (2.0, 16), (3.0, 16), (4.0, 15), (5.0, 14))


@pytest.mark.parametrize(
    "curve, within, said",
    [
        (
            ((1.0, 17), (2.0, 16), (3.0, 16), (4.0, 16), (5.0, 15)),
            3.0,
            "16 pots here. With 15 a colour would be up to 5 off (plainly different); "
            "with 17 all within 1 (just visible).",
        ),
        (CURVE, 5.0, "14 pots here. With 15 all within 4; with 16 all within 2; with 17 all within 1 (just visible)."),
        (CURVE, 1.0, "17 pots here. With 16 a colour would be up to 2 off, with 15 up to 4, with 14 up to 5 "
         "(plainly different)."),
        (CURVE[3:], 0.0, "With 15 pots a colour would be up to 4 off, with 14 up to 5 (plainly different)."),
        (((1.0, 9), (5.0, 9)), 3.0, ""),
    ],
)  # fmt: skip
def test_what_fewer_or_more_pots_would_mean(curve: tuple[tuple[float, int], ...], within: float, said: str) -> None:
    assert exchange(curve, within) == said


@pytest.mark.parametrize(("off", "warned"), [(4.0, False), (6.0, True)])
def test_a_grouped_colour_that_the_mix_plainly_misses_is_told(off: float, warned: bool) -> None:
    """5 CIEDE2000 is plainly another colour (common practice)."""
    (mix, *_) = mixes()
    shared = replace(mix, merged_hex=("#806040",), merged_off=(off,))
    assert any("as you grouped them" in line for line in plan_warnings((shared,), box(), "")) == warned


@pytest.mark.parametrize(("minutes", "told"), [(200.0, False), (400.0, True)])
def test_more_than_an_evening_in_one_stretch_is_told(minutes: float, told: bool) -> None:
    """Five hours are more than anybody sits at the bench (our rule)."""
    run = Run(1, 1, minutes, minutes, 0.0, minutes, True, (), (minutes,))
    assert bool(run_notes(run)) == told
