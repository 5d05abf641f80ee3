"""Columns that are read down, and tasks brought together."""

from dataclasses import dataclass, field
from typing import Any

import pytest
from finishplan.sheets.columns import ReadDown
from finishplan.sheets.rows import task_rows
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.platypus import Flowable
from sheet_plans import Size, make_plan

from finishplan.sheets.look import Look


@dataclass
class Paper:
    """Notes where each item is drawn: (item, x, top)."""

    drawn: list[tuple[int, float, float]] = field(default_factory=list)


class Item(Flowable):  # type: ignore[misc]
    def __init__(self, number: int, deep: float) -> None:
        super().__init__()
        self.number, self.deep = number, deep

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return available_width, self.deep

    def drawOn(self, canvas: Any, x: float, y: float, _sW: float = 0) -> None:
        canvas.drawn.append((self.number, x, y + self.deep))


def laid_out(depths: list[float], columns: int, first_room: float) -> list[tuple[int, int, float, float, float]]:
    """(item, page, x, distance of its top from the block's top, height of the block) down to the last page."""
    look = Look()
    block, room, page = ReadDown(look, [Item(k, d) for k, d in enumerate(depths)], columns), first_room, 0
    found = []
    while True:
        high = block.wrap(look.measure, room)[1]
        pieces = [block] if high <= room else block.split(look.measure, room)
        if pieces:
            paper = Paper()
            pieces[0].canv = paper
            deep = pieces[0].wrap(look.measure, room)[1]
            assert deep <= room + 0.02
            pieces[0].draw()
            found += [(k, page, x, deep - top, deep) for k, x, top in paper.drawn]
        if pieces and len(pieces) == 1:
            return found
        block, room, page = (pieces[1] if pieces else block), look.depth, page + 1
        assert page < 200


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(8, 120), min_size=1, max_size=150), st.integers(1, 4), st.floats(0, 700))
def test_columns_are_read_down_and_nothing_is_lost(depths: list[float], columns: int, room: float) -> None:
    found = laid_out(depths, columns, room)
    assert [k for k, *_ in found] == list(range(len(depths)))
    assert [(p, x, round(top, 3)) for _, p, x, top, _ in found] == sorted(
        (p, x, round(t, 3)) for _, p, x, t, _ in found
    )
    for k, _, _, top, deep in found:
        assert top + depths[k] <= deep + 0.02


def test_columns_end_level() -> None:
    found = laid_out([14.0] * 30, 3, 700)
    assert [deep for *_, deep in found] == pytest.approx([140] * 30)


@pytest.mark.parametrize("painters", [1, 3])
def test_every_task_is_told_once_in_working_order(painters: int) -> None:
    tasks = make_plan(3, Size(2, 14, 6, 7, painters)).run.tasks
    found = task_rows(tasks)
    told = [t for s in found for t in (*([s.opening] if s.opening else []), *s.tasks, *s.dried)]
    assert sorted(told, key=repr) == sorted(tasks, key=repr)
    assert [s.start_min for s in found] == sorted(s.start_min for s in found)
    for s in found:
        assert len({(t.painter, t.pass_no, t.coat, t.kind) for t in s.tasks}) == 1
        assert s.opening is None or (s.opening.mix == s.first.mix and s.opening.end_min <= s.first.start_min)
    assert any(s.opening for s in found)
