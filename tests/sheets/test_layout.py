"""Columns that are read down, and tasks brought together."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_plans import Size, make_plan

from finishplan.sheets.look import Look
from finishplan.sheets.page import Block, in_columns, pages_of
from finishplan.sheets.task_rows import task_rows

LOOK = Look()


def items(depths: list[float], width: float) -> tuple[list[Block], list[tuple[int, float, float]]]:
    """Blocks of these depths that note (number, left, top) where each is drawn."""
    drawn: list[tuple[int, float, float]] = []

    def block(k: int, deep: float) -> Block:
        def draw(canvas: Any, left: float, top: float) -> None:
            drawn.append((k, left, top))

        return Block(width, deep, draw)

    return [block(k, d) for k, d in enumerate(depths)], drawn


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(8, 120), min_size=1, max_size=150), st.integers(1, 4))
def test_columns_are_read_down_and_nothing_is_lost(depths: list[float], columns: int) -> None:
    blocks, drawn = items(depths, 50)
    found: list[tuple[int, int, float, float]] = []
    for number, page in enumerate(pages_of(LOOK, "a list", blocks, columns)):
        for placed in page.placed:
            placed.block.draw(None, placed.left, placed.top)
        found += [(k, number, left, top) for k, left, top in drawn]
        drawn.clear()
    assert [k for k, *_ in found] == list(range(len(depths)))
    places = [(page, round(left, 3), -round(top, 3)) for _, page, left, top in found]
    assert places == sorted(places)
    for k, _, _, top in found:
        assert top <= LOOK.top + 0.02 and top - depths[k] >= LOOK.bottom - 0.02


def test_columns_end_level() -> None:
    blocks, _ = items([14.0] * 30, 50)
    assert in_columns(blocks, 3, 300).height == pytest.approx(140)


@pytest.mark.parametrize("painters", [1, 3])
def test_every_task_is_told_once_in_working_order(painters: int) -> None:
    tasks = make_plan(3, Size(2, 14, 6, 7, painters)).run.tasks
    found = task_rows(sorted(tasks, key=lambda t: t.start_min))
    told = [t for row in found if row.kind != "wait" for t in row.tasks]
    assert sorted(told, key=repr) == sorted((t for t in tasks if t.kind != "change"), key=repr)
    assert [row.start_min for row in found] == sorted(row.start_min for row in found)
    for row in found:
        assert len({(t.painter, t.pass_no, t.coat, t.kind) for t in row.tasks}) == 1
