"""Names of colours: what anyone would call them (common practice), and distinct."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishplan.colour.light import lab_from_hex
from finishplan.colour.names import colour_name, unique_names

labs = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("#ffffff", "white"), ("#000000", "black"), ("#777777", "grey"), ("#c1272d", "red"), ("#2a7f7a", "teal"),
        ("#4a2c1a", "brown"), ("#e87722", "orange"), ("#ffdd00", "yellow"), ("#f5ead0", "cream"), ("#b56a72", "pink"),
        ("#5c7a3a", "green"), ("#1a1a40", "navy"), ("#d9a02a", "mustard"), ("#3366cc", "blue"), ("#800080", "purple"),
    ],
)  # fmt: skip
def test_common_colours(text: str, word: str) -> None:
    assert word in colour_name(lab_from_hex(text))


@given(st.lists(labs, max_size=12))
def test_names_are_distinct(colours: list[tuple[float, float, float]]) -> None:
    names = unique_names(colours)
    assert len(names) == len(set(names)) == len(colours)


@given(st.lists(labs, min_size=3, max_size=12))
def test_a_name_told_stays_and_is_nobody_elses(colours: list[tuple[float, float, float]]) -> None:
    taken = colour_name(colours[0])
    names = unique_names(colours, {1: taken, 2: f"lighter {taken}"})
    assert names[1:3] == (taken, f"lighter {taken}")
    assert len(names) == len(set(names)) == len(colours)


@given(labs)
def test_every_colour_has_a_name(colour: tuple[float, float, float]) -> None:
    assert colour_name(colour).strip()
