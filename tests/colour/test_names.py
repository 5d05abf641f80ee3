"""Names of colours: what anyone would call them (common practice), and distinct."""

import math

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


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("#504845", "dark brownish grey"), ("#5b504f", "dark brownish grey"), ("#8b8589", "mid purplish grey"),
        ("#4e5755", "dark greenish grey"), ("#51585e", "dark bluish grey"), ("#848482", "mid grey"),
        ("#555555", "dark grey"), ("#3a2a20", "very dark brown"), ("#3e322c", "very dark brown"), ("#222222", "black"),
        ("#17131a", "black"),
    ],
)  # fmt: skip
def test_dark_and_leaning_greys(text: str, name: str) -> None:
    """Greys and near-blacks as the ISCC-NBS names have them (centroids of Kelly and Judd, NBS Special Publication 440,
    1976: 64 brownish, 156 and 192 dark greenish and bluish, 233 purplish, 265 to 267 grey to black, 62 greyish brown;
    from memory), and two dark browns of a drawing, as drawn and as mixed."""
    assert colour_name(lab_from_hex(text)) == name


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("#8b0000", "red"), ("#800000", "red"), ("#b22222", "red"), ("#841b2d", "red"), ("#79443b", "br"),
        ("#6b3a2a", "brown"), ("#3e1d1e", "brown"), ("#8b4513", "brown"), ("#a0522d", "brown"),
    ],
)  # fmt: skip
def test_dark_reds_and_browns(text: str, word: str) -> None:
    """darkred, maroon, firebrick, saddlebrown and sienna of CSS (W3C, CSS Color 4), 13 deep red, 43 moderate and 44
    dark reddish brown of ISCC-NBS (as above; 43 may be brick red), and a leather."""
    assert word in colour_name(lab_from_hex(text))


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("#2298ba", "blue"), ("#4682b4", "blue"), ("#20b2aa", "teal"), ("#008080", "teal"),
        ("#708090", "dusky slate blue"), ("#191970", "very dark navy blue"), ("#5f9ea0", "dusky teal"),
    ],
)  # fmt: skip
def test_blues_and_teals(text: str, name: str) -> None:
    """steelblue, lightseagreen, teal, slategray, midnightblue and cadetblue of CSS (W3C, CSS Color 4): common practice
    what a painter calls them; slategray is the greyest blue there is."""
    assert colour_name(lab_from_hex(text)).removeprefix("dark ").removeprefix("deep ") == name


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("#ff69b4", "pink"), ("#ffff58", "yellow"), ("#f4ba64", "apricot"), ("#ffa07a", "peach"), ("#7c5a4e", "brown"),
        ("#9d6d31", "golden brown"), ("#4e406e", "violet"), ("#1a1a40", "navy"), ("#dc143c", "red"),
        ("#c71585", "magenta"),
    ],
)  # fmt: skip
def test_pinks_yellows_browns_and_violets(text: str, word: str) -> None:
    """hotpink, lightsalmon, crimson, mediumvioletred of CSS; the others as painters call them (common practice)."""
    assert word in colour_name(lab_from_hex(text))


def test_two_of_a_name_are_told_apart_truly() -> None:
    """'Lighter' and 'darker' only where no third is called dark, and never before another such word."""
    teals = [lab_from_hex(h) for h in ("#3fa7a0", "#27877e", "#344341")]
    names = unique_names([teals[0], teals[1]])
    assert names == ("lighter teal", "darker teal")
    assert "darker teal" not in unique_names(teals)
    browns = unique_names([lab_from_hex("#6b3a2a"), lab_from_hex("#4a2c1a")])
    assert browns[0].endswith("brown") and "darker" not in browns[1]


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


@pytest.mark.parametrize(
    ("keyword", "text"),
    [
        ("teal", "#008080"), ("salmon pink", "#fa8072"), ("navy", "#000080"), ("magenta", "#c71585"),
        ("aqua", "#40e0d0"), ("mint green", "#66cdaa"), ("lavender", "#b8a9e8"), ("violet", "#9a4fc0"),
    ],
)  # fmt: skip
def test_colours_as_the_web_names_them(keyword: str, text: str) -> None:
    """Keywords of CSS Color Module Level 4 (W3C) or, for lavender and violet, what paint of that name looks like."""
    assert keyword in colour_name(lab_from_hex(text))


def test_where_a_grey_leans() -> None:
    """From a chroma of 3 a grey is told by its hue, and on the pink side of red it is reddish (our choice)."""
    assert colour_name((50.0, 2.6, 0.6)) == "mid grey"
    assert colour_name((50.0, 3.4, 0.8)) == "mid reddish grey"
    assert colour_name((70.0, 4.2, -1.2)) == "light pinkish grey"


@pytest.mark.parametrize(
    ("hue", "chroma", "clear"), [(14, 37, True), (14, 30, False), (150, 30, False), (150, 40, True), (330, 27, False)]
)
def test_what_is_clear_and_what_is_dull(hue: float, chroma: float, clear: bool) -> None:
    """Mid tones: a red or green of chroma 37 is one to anyone, one of 30 is dull (common practice)."""

    def name(chroma: float) -> str:
        a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
        return colour_name((52.0, a, b))

    assert (name(chroma) == name(65.0)) == clear
