"""What to do on both sides of every edge, in words and as lines on a picture."""

import dataclasses

import pytest
from small_plans import Size, make_plan

from finishplan.order.model import EdgeOrder, Pass, PassWork
from finishplan.plan.edge_words import edge_marks, edge_notes
from finishplan.plan.plan import Plan


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
    assert notes(one_pass(2, 2, kind="dot"), dot) == "(2,): Dot it on top of 1."
    blend = EdgeOrder((1, 2), 1, 2, "blend", 3.0, "", pass_no=2)
    assert notes(one_pass(2, 2, kind="blend"), blend) == "(2,): Feather softly into 1."
    same = EdgeOrder((1, 2), 1, 2, "lap", 3.0, "", pass_no=1)
    assert notes(one_pass(1, 1, 2), same) == "(2,): Paint straight across into 1."
    again = EdgeOrder((1, 2), 1, 2, "recut", 3.0, "", pass_no=5)
    assert notes(one_pass(5, 1, kind="recut"), again) == "(1,): Touch up the line against 2."


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


def test_the_picture_has_a_line_where_the_words_have_one() -> None:
    """Cut and touched up: firm; lapped and shaded: soft; a dot has none."""
    cut = EdgeOrder((3, 7), 7, 3, "cut", 20.0, "", lap_mm=0.8, pass_no=2)
    again = EdgeOrder((3, 7), 7, 3, "recut", 20.0, "", pass_no=5)
    shade = EdgeOrder((3, 9), 9, 3, "blend", 20.0, "", pass_no=2)
    dot = EdgeOrder((3, 8), 3, 8, "dot", 3.0, "", pass_no=4)
    edges = (cut, shade, dot)
    first, second, third = one_pass(1, 7), one_pass(2, 3, edges=((3, 7), (3, 9))), one_pass(5, 3, kind="recut")
    assert edge_marks(first, edges, first.work) == ((), ((3, 7),))
    assert edge_marks(second, edges, second.work) == (((3, 7),), ((3, 9),))
    assert edge_marks(third, (again,), third.work) == (((3, 7),), ())
    assert edge_marks(one_pass(4, 8, kind="dot"), edges, one_pass(4, 8, kind="dot").work) == ((), ())


@pytest.mark.parametrize("seed", range(3))
def test_the_second_side_of_every_settled_edge_is_told(seed: int) -> None:
    check_settled(make_plan(seed, Size(2, 16, 6, 1)))


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
