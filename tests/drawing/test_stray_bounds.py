"""What lies on a sheet and is no part of the figure, just on either side of each rule: flecks, rulings, a table's edge.

Bounds are our rules (see beside each constant).
"""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from finishplan.drawing.load import load
from finishplan.drawing.paper import PaperField
from finishplan.drawing.settings import ReadSettings
from finishplan.drawing.stray import at_edge, calmed, unruled
from finishplan.drawing.view import EDGE_NOTE, look


def fleck_left(side: int, picture: int, streaks: float) -> bool:
    """Whether most of a light fleck with sides of so many pixels is still there."""
    rgb = np.full((picture, picture, 3), 120, np.uint8)
    rgb[100 : 100 + side, 100 : 100 + side] += 60
    return bool((calmed(rgb, streaks)[..., 0] > 150).sum() > side**2 / 3)


@pytest.mark.parametrize(
    ("side", "picture", "streaks", "left"),
    [
        (5, 400, 0.0, True),
        (3, 400, 0.0, False),
        (5, 1100, 0.0, False),
        (5, 400, 2.0, True),
        (5, 400, 4.0, False),
        (6, 400, 10.0, False),
        (8, 400, 10.0, True),
    ],
)
def test_flecks_of_rough_paper(side: int, picture: int, streaks: float, left: bool) -> None:
    """Larger ones are taken away of large pictures, and where the streaks are coarse."""
    assert fleck_left(side, picture, streaks) == left


@pytest.mark.parametrize(("steps", "left"), [(9, False), (18, True)])
def test_a_thin_dark_line_stays(steps: int, left: bool) -> None:
    rgb = np.full((100, 100, 3), 150, np.uint8)
    rgb[:, 50:52] -= np.uint8(steps)
    assert (calmed(rgb, 0.0)[50, 50, 1] < 150) == left


def ruled(darker: int = 30, apart: int = 48, margin: int = 0, paper: int = 250) -> tuple[int, int]:
    """(Steps that a ruling of 4 of 700 pixels is still darker than the paper, than a grey figure) of a ruled sheet."""
    rgb = np.full((700, 700, 3), paper, np.uint8)
    rgb[200:500, 200:500] = 180
    for y in range(40, 660, apart):
        rgb[y : y + 4, margin : 700 - margin] -= np.uint8(darker)
    found = unruled(rgb)
    at = next(y for y in range(40, 660, apart) if y > 200)
    return paper - int(found[at + 1, 100, 1]), 180 - int(found[at + 1, 300, 1])


@pytest.mark.parametrize(
    ("name", "how", "gone"),
    [
        ("pale", {}, True),
        ("of a printed margin", {"margin": 16}, True),
        ("hardly darker than paper", {"darker": 6}, False),
        ("just so dark", {"darker": 14}, True),
        ("rather dark", {"darker": 55}, True),
        ("as dark as a pen", {"darker": 95}, False),
        ("three lines", {"apart": 190}, False),
        ("on grey board", {"paper": 190}, False),
    ],
)
def test_the_ruling_of_writing_paper(name: str, how: dict[str, int], gone: bool) -> None:
    """Lines 5 to 8 mm apart (common practice); what is drawn in grey keeps its own."""
    on_paper, on_figure = ruled(**how)
    assert (on_paper == 0) == gone and on_figure == how.get("darker", 30)


def ground(*boxes: tuple[int, int, int, int]) -> np.ndarray:
    """Background but for boxes left, top, right, bottom."""
    free = np.ones((240, 240), bool)
    for left, top, right, low in boxes:
        free[top:low, left:right] = False
    return free


@pytest.mark.parametrize(
    ("name", "boxes", "stray"),
    [
        ("a table's edge", [(0, 60, 12, 180), (90, 90, 150, 150)], True),
        ("an arm cut off by the edge", [(20, 60, 100, 140), (0, 90, 20, 114), (130, 90, 190, 150)], False),
        ("a figure at the edge, a dot beside", [(0, 60, 100, 160), (150, 90, 182, 122)], False),
        ("a hand at the edge, a figure half as large", [(0, 60, 100, 160), (150, 90, 210, 150)], True),
    ],
)
def test_what_lies_along_the_edge(name: str, boxes: list[tuple[int, int, int, int]], stray: bool) -> None:
    assert at_edge(ground(*boxes))[100, 2] == stray


@pytest.mark.parametrize(("paper", "coloured"), [((232, 224, 196), False), ((120, 150, 210), True)])
def test_coloured_paper(paper: tuple[int, int, int], coloured: bool) -> None:
    """Cream under a lamp is white paper still, sugar paper is blue."""
    found = PaperField.fit(np.full((120, 160, 3), paper, np.uint8))
    assert found is not None and found.coloured == coloured


@pytest.mark.parametrize(("high", "told"), [(48, False), (140, True)])
def test_it_is_told_what_was_left_out(high: int, told: bool, tmp_path: Path) -> None:
    """A strip of 12 pixels along the edge of 500 x 700."""
    rgb = np.full((500, 700, 3), 236, np.uint8)
    rgb[150:350, 250:450] = (60, 140, 80)
    rgb[100 : 100 + high, :12] = (90, 60, 40)
    noisy = np.clip(rgb + np.random.default_rng(1).normal(0, 1.5, rgb.shape), 0, 255).astype(np.uint8)
    Image.fromarray(noisy).save(tmp_path / "a.png", compress_level=1)
    view = look(tmp_path / "a.png", load(tmp_path / "a.png"), ReadSettings(kind="photo"))
    assert (EDGE_NOTE in view.notes) == told
