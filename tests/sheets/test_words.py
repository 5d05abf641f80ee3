"""Words on the sheets: times, ranges, amounts."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishplan.plan.well import PotMade, Well
from finishplan.run.model import Session
from finishplan.sheets.palette import pots_told
from finishplan.sheets.words import (
    amount,
    clock,
    ml,
    ranges,
    sentence,
    session_end,
)


@pytest.mark.parametrize(
    "value, text", [(0, "0 ml"), (0.004, "under 0.01 ml"), (0.21, "0.21 ml"), (3.44, "3.4 ml"), (119.6, "120 ml")]
)
def test_ml(value: float, text: str) -> None:
    assert ml(value) == text


def test_clock_counts_from_a_named_start() -> None:
    session = Session(2, 1440.0, 1620.0, at_min=1440 + 570)
    assert clock(1440.0, session) == "9:30"
    assert clock(1505.0, session) == "10:35"
    assert clock(1505.0, Session(2, 1440.0, 1620.0)) == "1:05"
    assert clock(1505.0) == "25:05"


def test_times_are_rounded_up() -> None:
    """Work that ends at 10:34:20 is told to end at 10:35, and what follows to begin then."""
    session = Session(2, 1440.0, 1620.0, at_min=1440 + 570)
    assert clock(1504.33, session) == clock(1505.0, session) == "10:35"


@pytest.mark.parametrize(
    "at_min, last_min, text",
    [
        (1440 + 570, 1504.33, "10:35"),
        (570, 1440.0, "09:30"),
        (22 * 60, 1440.0 + 121, "day 2, 00:01"),
        (1440 + 22 * 60, 1440.0 + 2 * 1440, "day 4, 22:00"),
        (None, 1440.0 + 92.2, "after 1 h 33 min"),
        (None, 1440.0 + 1500, "after 25 h"),
    ],
)
def test_a_session_ends_with_its_last_task(at_min: int | None, last_min: float, text: str) -> None:
    assert session_end(last_min, Session(2, 1440.0, 9999.0, at_min=at_min)) == text


@given(st.lists(st.integers(1, 300), min_size=1, unique=True))
def test_ranges_name_every_number_in_order(numbers: list[int]) -> None:
    back: list[int] = []
    for piece in ranges(numbers).split(", "):
        kind, _, span = piece.rpartition(" ")
        first, _, last = span.partition("–")
        back += range(int(first), int(last or first) + 1, 2 if kind else 1)
        assert kind == "" or (kind == "odd") == (int(first) % 2 == 1)
    assert back == numbers
    assert ranges(range(1, 30, 2)) == "odd 1–29" and ranges([1, 2, 3, 5]) == "1–3, 5"


def test_small_words() -> None:
    assert sentence(" keep it bare") == "Keep it bare." and sentence("Really?") == "Really?"


@pytest.mark.parametrize(
    "value, unit, text",
    [("1", "castings", "1 casting"), ("12", "castings", "12 castings"), ("1", "m/s", "1 m/s"), ("1", "", "1")],
)
def test_one_of_anything_is_singular(value: str, unit: str, text: str) -> None:
    assert amount(value, unit) == text


def test_a_pot_says_what_goes_into_it() -> None:
    """A white alone in drops; a weighed pot by paint, with its volume."""
    names = (("titanium white", "#ffffff"), ("yellow ochre", "#c08020"))
    white = PotMade(1, 0.0, (23,), (1.5,))
    large = PotMade(1, 0.0, (300, 100), (21.0, 6.5))
    well = Well(1, "A", (1,), (1,), (), names, ("", ""), ("", ""), white, (), (), ())
    assert pots_told(replace(well, ingredients=names[:1], pots=(white,)), [1], False) == "23 drops"
    twice = replace(well, ingredients=names[:1], pots=(white, white))
    assert pots_told(twice, [1], True) == "Evening 1: 23 drops (2 pots)"
    told = pots_told(replace(well, pots=(large,)), [3, 1], False)
    assert told == "20 ml: 21.0 g of titanium white + 6.5 g of yellow ochre"
    small = PotMade(1, 0.0, (15, 5), (1.0, 0.4))
    assert pots_told(replace(well, pots=(small,)), [3, 1], False) == "Pot × 5, 20 drops"
