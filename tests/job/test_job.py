"""The job file: every mistake is told on one line with file, key and cure; nothing else is ever raised."""

import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.colour.light import parse_colour
from finishplan.job.job import Job
from finishplan.job.keys import KEYS
from finishplan.job.read import parse_job

MISTAKES = {
    "unknown key": ("[room]\ntemprature_c = 20", "job: room", "did you mean 'temperature_c'?"),
    "unknown section": ("[rooms]\nx = 1", "job", "did you mean 'room'?"),
    "wrong type": ('[room]\ntemperature_c = "warm"', "job: room.temperature_c", "write a number from 0 to 45"),
    "true is no number": ("[run]\ncastings = true", "job: run.castings", "write a whole number"),
    "NaN": ("[room]\nhumidity_pct = nan", "job: room.humidity_pct", "write a number"),
    "infinity": ("[figure]\nheight_mm = inf", "job: figure.height_mm", "write a number"),
    "negative": ("[run]\ncastings = -3", "job: run.castings", "from 1 to"),
    "absurd": ("[figure]\nheight_mm = 1e9", "job: figure.height_mm", "from 5 to 2000"),
    "not TOML": ("[room\n", "job", "mend that line"),
    "bad colour": ('[areas.5]\ntarget = "red"', "job: areas.5.target", 'write it as "#rrggbb"'),
    "text for a list": ('[paints]\nown = "PW6"', "job: paints.own", 'write own = ["PW6"]'),
    "texts for a list": ('[paints]\nown = "PW6, PY43"', "job: paints.own", 'write own = ["PW6", "PY43"]'),
    "number for a list": ("[parts.a]\nareas = 5", "job: parts.a.areas", "write areas = [5]"),
    "true for a list": ("[parts.a]\nareas = true", "job: parts.a.areas", "write areas = [..., ...]"),
    "bad flag": ('[areas.5]\nflags = ["reces"]', "job: areas.5.flags[1]", "did you mean 'recess'?"),
    "area no number": ("[areas.five]\n", "job: areas.five", "write number = 5 under [areas.five]"),
    "edge no pair": ('[edges."3"]\n', "job: edges", 'write [edges."3-5"]'),
    "edge with itself": ('[edges."3-3"]\n', "job: edges", 'write [edges."3-5"]'),
    "first not on edge": ('[edges."3-5"]\nfirst = 4', "job: edges.3-5.first", "name one of 3-5"),
    "claimed twice": ("[parts.a]\nareas = [1, 2]\n[parts.b]\nareas = [2]", "job: parts.b.areas", "one of them"),
    "claimed by area too": (
        '[parts.a]\nareas = [1]\n[areas.1]\npart = "b"',
        "job: areas.1.part",
        "keep it in one of them only",
    ),
    "circle of parts": (
        '[parts.a]\nafter = ["b"]\n[parts.b]\nafter = ["a"]',
        "job: parts.",
        "take one of them out",
    ),
    "flags at odds": ('[areas.1]\nflags = ["first", "last"]', "job: areas.1.flags", "keep only one of them"),
    "table for a value": ("[run.castings]\nx = 1", "job: run.castings", "whole number"),
    "value for a table": ("room = 3", "job", "write it as [room]"),
    "control character": ('[figure]\nname = "a\\u001b[2J"', "job: figure.name", "printable"),
    "listed twice": ("[parts.a]\nareas = [1, 1]", "job: parts.a.areas", "name each once"),
    "second of a pair": ("[resin]\npart_g = 1\nratio = [100, -3]", "job: resin.ratio[2]", "from 0.01"),
    "number with noughts": ("[areas.007]\n", "job: areas", "write it as on the numbered drawing, 7 for 007"),
    "claimed by area and mix": (
        '[mixes.maroon]\nareas = [1]\n[mixes.teal]\nareas = [3]\n[areas.3]\nmix = "maroon"',
        "job: mixes.teal.areas",
        "keep it in one of them only",
    ),
    "dry without time": ("[paints.dry]\nhumidity_pct = 50", "job: paints.dry", "touch_min"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told_with_place_and_cure(name: str) -> None:
    source, where, cure = MISTAKES[name]
    with pytest.raises(InputError) as raised:
        parse_job(source)
    assert raised.value.where.startswith(where)
    assert cure in raised.value.cure
    assert "\n" not in str(raised.value) and "\x1b" not in str(raised.value)


def test_an_empty_job_has_every_default() -> None:
    assert parse_job("") == Job()


@pytest.mark.parametrize("said", ["light grey", "Light Grey", "LIGHT-GREY", "light_gray"])
def test_a_primer_may_be_written_in_any_capitals(said: str) -> None:
    assert parse_job(f'[method]\nprimer = "{said}"').method.primer == "light grey"


@pytest.mark.parametrize("said", ["#A33A4a", "a33a4a", " a33a4a "])
def test_a_colour_may_lack_its_hash_sign(said: str) -> None:
    """As on the command line of `mix`."""
    job = parse_job(f'[areas.5]\ntarget = "{said}"\n[method]\nprimer = "{said}"')
    assert job.areas[5].target == job.method.primer == "#a33a4a"
    assert parse_colour(said)[1] == "#a33a4a"


def test_an_area_that_names_a_mix_takes_its_target() -> None:
    job = parse_job('[mixes.maroon]\nareas = [1]\ntarget = "#800000"\n[areas.3]\nmix = "maroon"')
    assert [(job.areas[id].mix, job.areas[id].target) for id in (1, 3)] == [("maroon", "#800000")] * 2


def test_edges_are_the_same_either_way_round() -> None:
    assert parse_job('[edges."9-2"]\ntreat = "lap"').edges.keys() == {(2, 9)}


WORDS = sorted({k for s in KEYS.values() for k in s} | set(KEYS))
LEAVES = st.one_of(
    st.integers(),
    st.floats().map(lambda f: f),
    st.booleans(),
    st.sampled_from(['"matt"', '"#a0b0c0"', '"white"', '""', "[1, 2]", '["recess", "dot"]', "1979-05-27", "[[1]]"]),
    st.text(string.printable, max_size=8).map(lambda t: "'" + t.replace("'", "").replace("\n", "") + "'"),
)


@st.composite
def job_texts(draw: st.DrawFn) -> str:
    """Job files that are nearly right: known sections and keys, any values."""
    lines = []
    for _ in range(draw(st.integers(0, 4))):
        head = draw(st.sampled_from([*KEYS, "parts.a", "parts.b", "areas.1", "areas.x", 'edges."1-2"', "paints.dry"]))
        lines.append(f"[{head}]")
        for key in draw(st.lists(st.sampled_from(WORDS), max_size=4, unique=True)):
            value = draw(LEAVES)
            lines.append(f"{key} = {str(value).lower() if isinstance(value, bool) else value}")
    return "\n".join(lines)


@settings(max_examples=300, deadline=None)
@given(st.one_of(job_texts(), st.text(max_size=200)))
def test_any_text_gives_a_job_or_the_one_error(source: str) -> None:
    try:
        assert isinstance(parse_job(source), Job)
    except InputError as error:
        assert "\n" not in str(error)
