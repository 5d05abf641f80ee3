"""Durations, counts and lists, as a maker says them."""

import pytest

from finishplan.basics.errors import near
from finishplan.basics.words import counted, duration, listed


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0, "0 min"),
        (0.2, "under 1 min"),
        (0.6, "1 min"),
        (59.4, "59 min"),
        (59.6, "1 h"),
        (125, "2 h 05 min"),
        (23 * 60 + 59, "23 h 59 min"),
        (24 * 60, "1 d"),
        (24 * 60 + 46, "1 d 1 h"),
        (51.6 * 60, "2 d 4 h"),
        (71.9 * 60, "3 d"),
    ],
)
def test_duration(minutes: float, said: str) -> None:
    assert duration(minutes) == said


def test_a_wait_is_never_told_shorter_than_it_is() -> None:
    waits = (0.1, 1, 1.7, 26.2, 60, 60.1, 25 * 60, 25 * 60 + 1)
    said = ["1 min", "1 min", "2 min", "27 min", "1 h", "1 h 01 min", "1 d 1 h", "1 d 2 h"]
    assert [duration(m, up=True) for m in waits] == said and duration(0, up=True) == "0 min"


def test_duration_without_days() -> None:
    assert duration(4000, days=False) == "66 h 40 min"


def test_a_short_word_is_looked_for_where_words_begin() -> None:
    assert near("hod", ("method", "hood", "hood lining")) == ["hood", "hood lining"]
    assert near("red", ("shredded", "cadmium-red", "red_hood")) == ["cadmium-red", "red_hood"]
    assert near("thod", ("method", "hood")) == ["method"]


def test_counts() -> None:
    assert [counted(1, "coat"), counted(2, "coat"), counted(3, "pass")] == ["1 coat", "2 coats", "3 passes"]
    assert counted(2, "casting at once", "castings at once") == "2 castings at once"


def test_lists() -> None:
    assert [listed(range(n)) for n in range(4)] == ["", "0", "0 and 1", "0, 1 and 2"]
    assert listed("abcdefgh", most=4) == "a, b, c and 5 more"
    assert listed("abcd", most=4) == "a, b, c and d"
