"""Words on the sheets: times, ranges, and what to do on both sides of every edge."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheet_plans import Size, make_plan

from finishplan.order.model import EdgeOrder, Pass, PassWork
from finishplan.plan.plan import Plan
from finishplan.run.model import Session
from finishplan.sheets.words import (
    amount,
    clock,
    edge_notes,
    from_to,
    ml,
    names_areas,
    of_part,
    ranges,
    sentence,
    session_end,
    under_dryer,
)


@pytest.mark.parametrize(
    "value, text", [(0, "0 ml"), (0.004, "under 0.01 ml"), (0.21, "0.21 ml"), (3.44, "3.4 ml"), (119.6, "120 ml")]
)
def test_ml(value: float, text: str) -> None:
    assert ml(value) == text


def test_clock_counts_from_a_named_start() -> None:
    session = Session(2, 1440.0, 1620.0, "Sun 09:30")
    assert clock(1440.0, session) == "9:30"
    assert clock(1505.0, session) == "10:35"
    assert clock(1505.0, Session(2, 1440.0, 1620.0)) == "1:05"
    assert clock(1505.0) == "25:05"


def test_times_are_rounded_up() -> None:
    """Work that ends at 10:34:20 is told to end at 10:35, and what follows to begin then."""
    session = Session(2, 1440.0, 1620.0, "day 2, 09:30")
    assert clock(1504.33, session) == clock(1505.0, session) == "10:35"
    assert from_to(1440.0, 1504.33, session) == "9:30–10:35"


@pytest.mark.parametrize(
    "clock_of, last_min, text",
    [
        ("day 2, 09:30", 1504.33, "10:35"),
        ("09:30", 1440.0, "09:30"),
        ("22:00", 1440.0 + 121, "day 2, 00:01"),
        ("day 2, 22:00", 1440.0 + 2 * 1440, "day 4, 22:00"),
        ("", 1440.0 + 92.2, "after 1 h 33 min"),
        ("", 1440.0 + 1500, "after 25 h"),
    ],
)
def test_a_session_ends_with_its_last_task(clock_of: str, last_min: float, text: str) -> None:
    assert session_end(last_min, Session(2, 1440.0, 9999.0, clock_of)) == text


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


def one_pass(no: int, *areas: int, kind: str = "colour", edges: tuple[tuple[int, int], ...] = ()) -> Pass:
    work = tuple(PassWork(a, "head", 1, 1.0, kind) for a in areas)  # type: ignore[arg-type]
    return Pass(no, kind, "A", work, 1, "round 2", "brush", 1.0, edges)  # type: ignore[arg-type]


def notes(laid: Pass, *edges: EdgeOrder) -> str:
    return " ".join(f"{areas}: {text}" for areas, text in edge_notes(laid, edges, laid.work))


def test_both_sides_of_a_cut_are_told_and_named() -> None:
    edge = EdgeOrder((3, 7), 7, 3, "cut", 20.0, "lighter first", lap_mm=0.8, pass_no=2)
    assert notes(one_pass(1, 7), edge) == "(7,): Lap 0.8 mm over the line into 3 and thin it out."
    assert notes(one_pass(2, 3, edges=((3, 7),)), edge) == "(3,): Cut a clean line against 7."


def test_laps_of_several_widths_are_one_instruction() -> None:
    edges = [EdgeOrder((1, k), 1, k, "cut", 9.0, "", lap_mm=k / 5, pass_no=9) for k in (3, 4, 5)]
    assert notes(one_pass(1, 1), *edges) == "(1,): Lap 0.6–1 mm over the line into 3, 4 and 5 and thin it out."


def test_where_the_second_would_not_hide_it_the_first_stops() -> None:
    edge = EdgeOrder((3, 7), 7, 3, "cut", 20.0, "", pass_no=2)
    assert notes(one_pass(1, 7), edge) == "(7,): Stop at the line with 3."


def test_dots_blends_laps_and_recuts() -> None:
    dot = EdgeOrder((1, 2), 1, 2, "dot", 3.0, "", pass_no=2)
    assert "right over the place of 2" in notes(one_pass(1, 1), dot)
    assert notes(one_pass(2, 2, kind="dot"), dot) == "(2,): Set on top of 1."
    blend = EdgeOrder((1, 2), 1, 2, "blend", 3.0, "", pass_no=2)
    assert notes(one_pass(2, 2, kind="blend"), blend) == "(2,): Feather softly into 1."
    same = EdgeOrder((1, 2), 1, 2, "lap", 3.0, "", pass_no=1)
    assert notes(one_pass(1, 1, 2), same) == "(2,): Paint straight across into 1."
    again = EdgeOrder((1, 2), 1, 2, "recut", 3.0, "", pass_no=5)
    assert notes(one_pass(5, 1, kind="recut"), again) == "(1,): Cut the line against 2 again."


def test_undercoats_keep_inside() -> None:
    edge = EdgeOrder((3, 7), 7, 3, "cut", 20.0, "", lap_mm=1.0, pass_no=3)
    assert notes(one_pass(1, 7, kind="undercoat"), edge) == "(7,): Stay inside the lines."
    mixed = dataclasses.replace(
        one_pass(1, 3, 7), work=(PassWork(7, "head", 1, 1.0, "undercoat"), PassWork(8, "head", 2, 1.0))
    )
    assert "Undercoat, inside the lines." in notes(mixed, edge)


def test_areas_with_the_same_to_do_are_told_once() -> None:
    edges = [EdgeOrder((k, 9), k, 9, "cut", 9.0, "", lap_mm=1.0, pass_no=2) for k in (1, 2, 3)]
    assert notes(one_pass(1, 3, 1, 2), *edges) == "(1, 2, 3): Lap 1 mm over the line into 9 and thin it out."


def test_lines_of_other_parts_are_left_out() -> None:
    lines = ["head: by the neck", "body: by a pin", "mask 3"]
    assert of_part(lines, "head", ["head", "body"]) == ["by the neck", "mask 3"]


@pytest.mark.parametrize(
    "reason, names",
    [("undercoat for 30 coat: spares 2 coats there", True), ("opened again", False), ("130 coat; 30 coating", False),
     ("darker than 31 hood (inside): makes the line", True)],
)  # fmt: skip
def test_reasons_that_name_areas_are_known(reason: str, names: bool) -> None:
    assert names_areas(reason, [(3, "hood"), (30, "coat"), (31, "hood (inside)")]) == names


@pytest.mark.parametrize(
    "value, unit, text",
    [("1", "castings", "1 casting"), ("12", "castings", "12 castings"), ("1", "m/s", "1 m/s"), ("1", "", "1")],
)
def test_one_of_anything_is_singular(value: str, unit: str, text: str) -> None:
    assert amount(value, unit) == text


@pytest.mark.parametrize("seed", range(3))
def test_the_second_side_of_every_settled_edge_is_told(seed: int) -> None:
    check_settled(make_plan(seed, Size(2, 16, 6, 1)))


def test_the_second_side_of_every_edge_of_the_newt_is_told(newt: Plan) -> None:
    check_settled(newt)


def check_settled(plan: Plan) -> None:
    told = 0
    for edge in plan.order.edges:
        for laid in plan.order.passes:
            made_here = edge.areas in laid.edges or edge.pass_no == laid.no
            mine = [w for w in laid.work if w.area == edge.second]
            if not made_here or not mine or any(w.area == edge.first for w in laid.work):
                continue
            texts = [text for areas, text in edge_notes(laid, plan.order.edges, laid.work) if edge.second in areas]
            assert any(
                str(edge.first) in text.replace(",", " ").replace(";", " ").replace(".", " ").split() for text in texts
            ), edge
            told += 1
    assert told > 5


def test_a_task_within_one_minute_has_one_time() -> None:
    assert from_to(114.13, 114.69) == "1:55"
    assert from_to(114.13, 115.25) == "1:55–1:56"
    assert from_to(1440, 1440, Session(2, 1440.0, 1560.0, "day 2, 09:00")) == "9:00"


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        ((1.7,), "2 min under the dryer"),
        ((1.2, 2.4), "2 to 3 min under the dryer"),
        ((1.2, 1.9), "2 min under the dryer"),
        ((59, 60.5), "59 min to 1 h 01 min under the dryer"),
        ((61, 122), "1 h 01 min to 2 h 02 min under the dryer"),
    ],
)
def test_minutes_under_the_dryer_keep_their_units(minutes: tuple[float, ...], told: str) -> None:
    assert under_dryer(*minutes) == told
