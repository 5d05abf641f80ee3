"""The shipped example is read as it was drawn: the truth is the drawing script's list of shapes and colours."""

from pathlib import Path

import numpy as np
import pytest

from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.drawing import read_drawing
from finishplan.drawing.model import Drawing

EXAMPLES = Path(__file__).parents[2] / "examples"
INK = "#261c20"
DRAWN = {
    "#e2a829": 2,
    "#a9701f": 5,
    "#2b9a94": 6,
    "#6cc0a8": 5,
    "#f8e6b4": 5,
    "#ee7b2d": 9,
    "#bf2f38": 2,
    "#573524": 6,
    "#a4566b": 1,
    "#dd8f92": 1,
    "#ffffff": 4,
    "#17131a": 4,
    "#b3924c": 1,
    "#fff09a": 3,
    "#93a366": 1,
    "#5d7a3c": 3,
}
"""Colour -> how many areas of it the sheet shows; a pen line with one colour on both sides divides no area."""


@pytest.fixture(scope="module")
def newt() -> Drawing:
    return read_drawing(EXAMPLES / "newt.png")


def nearest_drawn(hex: str) -> tuple[str, float]:
    far = [float(delta_e(np.array(lab_from_hex(hex)), np.array(lab_from_hex(d)))) for d in DRAWN]
    return list(DRAWN)[int(np.argmin(far))], min(far)


def test_every_colour_and_no_other(newt: Drawing) -> None:
    found = [nearest_drawn(c.hex) for c in newt.palette]
    assert sorted(hex for hex, _ in found) == sorted(DRAWN)
    assert max(far for _, far in found) < 1


def test_every_area_and_no_stroke_of_the_pen(newt: Drawing) -> None:
    count = dict.fromkeys(DRAWN, 0)
    for area in newt.areas:
        count[nearest_drawn(area.hex)[0]] += 1
    assert count == DRAWN


def test_four_pieces(newt: Drawing) -> None:
    assert sorted(len(p.areas) for p in newt.parts) == [6, 6, 23, 23]


def test_glints_lie_in_the_pupils(newt: Drawing) -> None:
    by_id = {a.id: a for a in newt.areas}
    inside = [a for a in newt.areas if a.enclosed_by and nearest_drawn(by_id[a.enclosed_by].hex)[0] == "#17131a"]
    assert [nearest_drawn(a.hex)[0] for a in inside] == ["#ffffff", "#ffffff"]


def test_the_mouth_is_offered_as_a_recess(newt: Drawing) -> None:
    mouth = next(a for a in newt.areas if nearest_drawn(a.hex)[0] == "#a4566b")
    assert "recess" in {h.flag for h in mouth.hints}


@pytest.mark.parametrize(("file", "kind"), [("newt-scan.jpg", "scan"), ("newt-photo.jpg", "photo")])
def test_scan_and_photo_show_the_same_figure(file: str, kind: str) -> None:
    """Colours of 0.5 % of the figure or more, up to the paper's tint and the marker's streaks."""
    drawing = read_drawing(EXAMPLES / file)
    assert drawing.kind == kind and len(drawing.parts) == 4
    large = [c for c in drawing.palette if c.share > 0.005]
    assert sum(nearest_drawn(c.hex)[1] < 6 for c in large) >= len(large) - 1, "all but the faded black"
