"""A job file edited in place: an edit touches its own line, names follow everywhere, comments and order stay."""

import difflib
import tomllib

import pytest

from finishplan.basics.errors import InputError
from finishplan.job.edit import edit_job
from finishplan.job.read import parse_job

JOB = """# The lamplighter's job file, as she wrote it.
version = 2

[figure]
name = "Newt"   # the name
height_mm = 76

# how many, and when
[run]
castings = 12  # a dozen
painters=1

[areas]  # kept in this order
hood = { number = 1, at = [0.1, 0.2], colour = "#aabbcc", size = 0.1 }  # the mustard one
2 = { at = [0.3, 0.2], colour = "#aabbcc", size = 0.2 }
'left eye' = { number = 3, swallow = "hood" }

# parts
[parts.head]
areas = ["hood", 2]   # of the head
after = ["body"]

[parts.body]
areas = [7]

[edges."hood - 2"]
first = "hood"
"""


def changed(edits: dict[str, object]) -> tuple[list[str], list[str]]:
    """The lines that an edit takes out and puts in."""
    lines = difflib.ndiff(JOB.splitlines(), edit_job(JOB, edits).splitlines())
    told = [line for line in lines if line[0] in "+-"]
    return [t[2:] for t in told if t[0] == "-"], [t[2:] for t in told if t[0] == "+"]


@pytest.mark.parametrize(
    ("key", "value", "out", "into"),
    [
        ("run.castings", 13, "castings = 12  # a dozen", "castings = 13  # a dozen"),
        ("run.painters", 2, "painters=1", "painters=2"),
        ("figure.name", "Eft", 'name = "Newt"   # the name', 'name = "Eft"   # the name'),
        (
            "hood.flags",
            ("recess",),
            'hood = { number = 1, at = [0.1, 0.2], colour = "#aabbcc", size = 0.1 }  # the mustard one',
            'hood = { number = 1, at = [0.1, 0.2], colour = "#aabbcc", size = 0.1, flags = ["recess"] }'
            "  # the mustard one",
        ),
        (
            "left eye.swallow",
            None,
            "'left eye' = { number = 3, swallow = \"hood\" }",
            "'left eye' = { number = 3 }",
        ),
    ],
)
def test_an_edit_of_one_key_changes_one_line(key: str, value: object, out: str, into: str) -> None:
    assert changed({key: value}) == ([out], [into])


def test_a_new_key_is_put_with_those_of_its_section() -> None:
    assert changed({"figure.finish": "gloss"}) == ([], ['finish = "gloss"  # varnish: matt, satin, gloss'])
    assert edit_job(JOB, {"figure.finish": "gloss"}).index("finish =") < JOB.index("# how many")


def test_a_value_that_is_there_already_changes_nothing() -> None:
    assert edit_job(JOB, {"run.castings": 12, "parts.head.after": ("body",), "run.rack": None}) == JOB


def test_an_area_is_renamed_wherever_it_is_named() -> None:
    new = edit_job(JOB, {"hood.name": "cowl"})
    assert "hood" not in new.replace("# the hood", "") and new.count("cowl") == 5
    before, after = parse_job(JOB), parse_job(new)
    assert after.areas[1].name == "cowl" and after.areas[3].swallow == 1
    assert (before.parts, before.edges) == (after.parts, after.edges)


def test_a_number_gets_a_name_and_keeps_its_number() -> None:
    job = parse_job(
        edit_job(edit_job(JOB, {"hood.before": ["left eye", 7]}), {"2.name": "face", "left eye.name": "eye"})
    )
    assert job.areas[1].before == (3, 7)
    job = parse_job(edit_job(JOB, {"2.name": "face", "7.name": "belly"}))
    assert job.areas[2].name == "face" and job.areas[2].at == (0.3, 0.2) and job.areas[7].name == "belly"
    assert job.parts["body"].areas == (7,) and job.edges.keys() == {(1, 2)}


def test_a_part_is_renamed_where_others_wait_for_it() -> None:
    job = parse_job(edit_job(JOB, {"parts.body.name": "trunk"}))
    assert job.parts.keys() == {"head", "trunk"} and job.parts["head"].after == ("trunk",)


def test_groups_strokes_and_edges_are_told_by_name() -> None:
    edits = {
        "mixes.maroon.areas": ("hood", "left eye"),
        "mixes.maroon.target": "#703040",
        "edges.hood - 2.treat": "lap",
        "hood.cut": ((0.1, 0.1), (0.2, 0.3)),
        "2.colour": "#010203",
    }
    job = parse_job(edit_job(JOB, edits))
    assert job.areas[1].mix == job.areas[3].mix == "maroon" and job.areas[3].target == "#703040"
    assert job.edges[1, 2].treat == "lap" and job.cuts[0].area == 1 and job.areas[2].target == "#010203"
    assert parse_job(edit_job(edit_job(JOB, edits), {"hood.cut": None})).cuts == ()
    led = {"mixes.maroon.areas": ("hood", "left eye"), "mixes.maroon.leads": "left eye"}
    assert parse_job(edit_job(JOB, led)).mixes["maroon"].leads == 3
    for wrong in ({"mixes.maroon.leads": "2"}, {"mixes.maroon.target": "#703040"}):
        with pytest.raises(InputError, match=r"mixes\.maroon\.leads: nothing there that could lead"):
            edit_job(JOB, led | wrong)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("hod.flags", ("recess",), "did you mean 'hood'?"),
        ("hood.flag", ("recess",), "did you mean 'flags'?"),
        ("runs.castings", 2, "did you mean 'run'?"),
        ("run.castings", 0, "write a whole number from 1"),
        ("hood.name", "left eye", "'left eye' is taken"),
        ("hood.name", "12", "is a number, not a name"),
        ("hood.swallow", "left eye", "circle"),
        ("mixes.maroon.areas", ("hood", "wart"), "no area is called 'wart'"),
        ("99.flags", ("dott",), "did you mean 'dot'?"),
    ],
)
def test_an_edit_that_cannot_be_is_refused_with_its_cure(key: str, value: object, said: str) -> None:
    with pytest.raises(InputError) as raised:
        edit_job(JOB, {key: value})
    assert said in str(raised.value) and "\n" not in str(raised.value)


def test_sections_in_any_order_and_spelling_are_edited() -> None:
    text = '[areas.1]\nname = "hood"\n[run]\ncastings = 2\n[areas."2"] # b\nname = "face"\n[room]\n'
    new = edit_job(text, {"hood.flags": ("recess",), "face.name": "snout", "run.painters": 2})
    assert tomllib.loads(new)["areas"]["snout"] == {"number": 2} and "# b" in new
    job = parse_job(new)
    assert job.areas[1].flags == ("recess",) and job.run.painters == 2 and job.areas[2].name == "snout"


@pytest.mark.parametrize("told", ["paper = true", "line = true"])
def test_true_stays_when_another_key_of_the_area_changes(told: str) -> None:
    text = f"[areas]\n17 = {{ at = [0.1, 0.2], {told}, size = 0.1 }}\n"
    assert edit_job(text, {"17.size": 0.2}) == text.replace("size = 0.1", "size = 0.2")


def test_strokes_come_and_go_without_a_trace():
    """One stroke of two is taken back, then the last; comments between and behind stay, and so does the text at the
    end as it was."""
    one = edit_job(JOB, {"hood.cut": [[0.1, 0.1], [0.2, 0.3]]})
    two = edit_job(one + "\n# mine\n[labour]\npace = 2\n", {"2.cut": [[0.3, 0.1], [0.4, 0.3]]})
    left = edit_job(two, {"hood.cut": None})
    assert [cut.area for cut in parse_job(left).cuts] == [2] and "# mine\n[labour]" in left
    assert edit_job(left, {"2.cut": None}) == JOB + "\n# mine\n[labour]\npace = 2\n"
    assert edit_job(two, {"cuts": None}) == JOB + "\n# mine\n[labour]\npace = 2\n"
    assert edit_job(one, {"1.cut": None}) == JOB


@pytest.mark.parametrize("cuts", ["cuts = []\n", "cuts = [{ area = 2, points = [[0.1, 0.1], [0.2, 0.2]] }]\n"])
def test_strokes_told_on_one_line_can_be_read_and_edited(cuts):
    there = cuts.count("area")
    more = edit_job(cuts + JOB, {"hood.cut": [[0.1, 0.1], [0.2, 0.3]]})
    assert len(parse_job(more).cuts) == there + 1 and "[]" not in more
    left = edit_job(more, {"hood.cut": None})
    assert len(parse_job(left).cuts) == there
    assert edit_job(left, {"2.cut": None}) == JOB


def test_a_mix_is_taken_out_whole_and_the_comments_behind_it_stay():
    """Also where mixes stand in two places of the file, one of them by dotted keys."""
    tail = "\n# mine\n[labour]\npace = 2\n"
    two = JOB + "\n[mixes.a]\nareas = [2]\n" + tail + "\n[mixes.'b c']\nareas = [7]\n"
    assert edit_job(edit_job(two, {"mixes.a": None}), {"mixes.b c": None}) == JOB + tail
    dotted = JOB + tail + "\n[mixes]\na.areas = [2]\nb.areas = [7]\n"
    assert [*parse_job(edit_job(dotted, {"mixes.a": None})).mixes] == ["b"]
