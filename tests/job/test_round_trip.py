"""Any sequence of edits, by command or by hand: comments stay, what was set reads back, and each edit can be undone."""

import re
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.colour.light import lab_from_hex
from finishplan.colour.names import colour_name
from finishplan.drawing.model import Mark
from finishplan.job.edit import edit_job
from finishplan.job.job import Job
from finishplan.job.offers import accepting
from finishplan.job.read import parse_job
from finishplan.job.written import Found, written

BY_HAND = """# what she wrote first
version = 2
[figure]
name = "imp"   # her name for it
# before the run
[run]
castings = 3# three
[areas]
hood = { number = 1, at = [0.1, 0.2], colour = "#d9a23a", size = 0.4 }  # mustard
2 = { at = [0.5, 0.2], colour = "#202030", size = 0.1 } # night
[areas.face] # the third
number = 3
at = [0.5, 0.6]
colour = "#2b7a94"
size = 0.5
[parts.head] # one piece
areas = ["hood", 2, 3]
# the end
"""
MARKS = tuple(
    Mark(k, at, hex, size)
    for k, at, hex, size in (
        (1, (0.1, 0.2), "#d9a23a", 0.4), (2, (0.5, 0.2), "#202030", 0.1), (3, (0.5, 0.6), "#2b7a94", 0.5),
    )
)  # fmt: skip
NAMES = st.text("abcdeéñ -'.", min_size=1, max_size=8).map(str.strip).filter(lambda s: s and not s.isdigit())
PLAIN = st.one_of(
    st.tuples(st.just("run.castings"), st.integers(1, 2000)),
    st.tuples(st.just("room.temperature_c"), st.integers(0, 45).map(float)),
    st.tuples(st.just("figure.finish"), st.sampled_from(["matt", "satin", "gloss"])),
    st.tuples(st.just("method.undercoat"), st.booleans()),
    st.tuples(st.sampled_from([f"{n}.target" for n in (1, 2, 3)]), st.sampled_from(["#010203", "#a0b0c0"])),
    st.tuples(
        st.sampled_from([f"{n}.flags" for n in (1, 2, 3)]),
        st.lists(st.sampled_from(["recess", "first"]), max_size=2, unique=True),
    ),
    st.tuples(st.just("mixes.m.areas"), st.sampled_from([[1, 2], [2], [1, 2, 3]])),
    st.tuples(st.just("steps.wash.text"), NAMES),
)  # fmt: skip
HAND = st.sampled_from(["\n# a thought\n", "\n\n", "# mine\n"])
EDITS = st.lists(st.one_of(PLAIN, st.tuples(st.sampled_from(["1.name", "2.name", "3.name"]), NAMES), HAND), max_size=5)


def comments(text: str) -> list[str]:
    """What stands behind the number signs, colours left aside."""
    return [c.strip() for c in re.findall(r"#(?![0-9a-f]{6}\")(.*)", text)]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(EDITS)
def test_edits_keep_comments_and_read_back(edits: list[object]) -> None:
    text, names = BY_HAND, {1: "hood", 2: "", 3: "face"}
    for edit in edits:
        before, kept = text, comments(text)
        if isinstance(edit, str):
            text += edit
            assert parse_job(text) == parse_job(before)
            continue
        key, value = edit  # type: ignore[misc]
        area, _, what = key.partition(".")
        if what == "name":
            if value in names.values():
                continue
            names[int(area)] = value
        text = edit_job(text, {key: value})
        assert set(kept) <= set(comments(text))
        job = parse_job(text)
        assert [job.areas[k].name for k in (1, 2, 3)] == [names[k] for k in (1, 2, 3)]
        assert edit_job(text, {key: value} if what != "name" else {}) == text, "said twice is said once"
    again = written(parse_job(text), Found(MARKS, {"head": (1, 2, 3)}), text, in_place=True)
    assert parse_job(again) == parse_job(text) and set(comments(text)) <= set(comments(again))
    assert again == text, "a plan of the same drawing changes nothing"


@settings(max_examples=30, deadline=None, derandomize=True)
@given(PLAIN)
def test_what_is_taken_out_leaves_the_job_as_it_was(edit: tuple[str, object]) -> None:
    key, value = edit
    if key == "run.castings":
        return
    there = edit_job(BY_HAND, {key: value})
    undone = edit_job(there, {key if not key.startswith("mixes") else "mixes.m": None})
    before, after = parse_job(BY_HAND), parse_job(undone)
    assert (after.areas, after.run, after.room, after.method, after.mixes) == (
        before.areas, before.run, before.room, before.method, before.mixes,
    )  # fmt: skip


def test_what_nobody_told_of_an_area_that_is_gone_is_not_made_up() -> None:
    text = BY_HAND.replace("[areas.face]", "ghost = { at = [0.9, 0.1] }\n[areas.face]")
    ghost = Mark(4, (0.9, 0.1), "", 0.0)
    (line,) = (r for r in written(parse_job(text), Found(MARKS, {}, (ghost,)), text).splitlines() if "ghost" in r)
    assert line == "ghost = { number = 4, at = [0.9, 0.1] }  # not found in this drawing"
    assert parse_job(written(Job(), Found(MARKS, {}, (ghost,)))).areas[4].colour == ""


def test_an_area_takes_the_first_that_it_is_offered() -> None:
    taken = accepting(("dots", "shades", "gaps"), {"shades": (2, 3), "dots": (1, 2), "gaps": (4,)})
    assert taken == {"1.flags": ("dot",), "2.flags": ("dot",), "3.flags": ("blend",), "4.paper": True}


def test_the_colour_named_behind_an_area_follows_its_colour() -> None:
    """What the program wrote is made true; what the maker wrote there stays, and so does the hint."""
    new = written(Job(), Found(MARKS, {}, hints={2: "dot?"}))
    mine = re.sub(r"(?m)^(1 = .*#) .*$", r"\1 my yellow", new)
    marks = tuple(replace(m, hex="#773d89") for m in MARKS)
    again = written(parse_job(mine), Found(marks, {}), mine)
    one, two, three = (line for line in again.splitlines() if line[:4] in ("1 = ", "2 = ", "3 = "))
    name = colour_name(lab_from_hex("#773d89"))
    assert one.endswith("# my yellow") and two.endswith(f"# {name}; dot?") and three.endswith(f"# {name}")
