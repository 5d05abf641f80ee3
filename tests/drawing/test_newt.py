"""The shipped example is read as it was drawn: the truth is the drawing script's list of shapes and colours."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

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


DOTS = {"newt.png": 11, "newt-scan.jpg": 9, "newt-photo.jpg": 9}
"""Seven spots, two glints and, where they are read as areas, two nostrils."""


@pytest.mark.parametrize("file", list(DOTS))
def test_what_is_offered_for_which_area(file: str) -> None:
    """Judged as a maker would: the mouth may be hollow, spots, glints and nostrils dotted on; every tone has ink
    round it, so nothing is blended."""
    drawing = read_drawing(EXAMPLES / file)
    flags: dict[str, list[int]] = {}
    for area in drawing.areas:
        for hint in area.hints:
            flags.setdefault(hint.flag, []).append(area.id)
    assert flags.keys() == {"recess", "dot"}
    by_id = {a.id: a for a in drawing.areas}
    assert [nearest_drawn(by_id[i].hex)[0] for i in flags["recess"]] == ["#a4566b"]
    dots = [by_id[i] for i in flags["dot"]]
    assert {nearest_drawn(a.hex)[0] for a in dots} <= {"#ee7b2d", "#ffffff", "#17131a"}
    assert len(dots) == DOTS[file] and max(a.share for a in dots) < 0.0015


def overlaps(flat: Drawing, other: Drawing) -> np.ndarray:
    """(areas of flat + 1, areas of other + 1) pixels in common, each part laid on its like by its box."""
    shared = np.zeros((len(flat.areas) + 1, len(other.areas) + 1), int)
    for one, two in zip(flat.parts, other.parts, strict=True):
        cuts = [_cut(flat, one.areas, one.bbox), _cut(other, two.areas, two.bbox)]
        size = cuts[0].shape[::-1]
        cuts[1] = np.asarray(Image.fromarray(cuts[1]).resize(size, Image.Resampling.NEAREST))
        np.add.at(shared, tuple(cuts), 1)
    return shared


def _cut(drawing: Drawing, areas: tuple[int, ...], box: tuple[float, ...]) -> np.ndarray:
    x, y = drawing.origin
    left, top, right, bottom = (round((v - o) * drawing.scale) for v, o in zip(box, (x, y, x, y), strict=True))
    labels = drawing.labels[top:bottom, left:right]
    return np.where(np.isin(labels, areas), labels, 0).astype(np.int32)


@pytest.mark.parametrize(
    ("file", "kind", "lost", "invented"),
    [("newt-scan.jpg", "scan", 2, 0), ("newt-photo.jpg", "photo", 2, 2)],
)
def test_scan_and_photo_show_the_same_figure(newt: Drawing, file: str, kind: str, lost: int, invented: int) -> None:
    """Each area of the flat drawing is found once, in its place and colour, up to the paper's tint and the marker's
    streaks. What remains: both nostrils go with the ink, and the photograph adds a bit or two of the lantern's bars."""
    drawing = read_drawing(EXAMPLES / file)
    assert drawing.kind == kind and len(drawing.parts) == 4
    shared = overlaps(newt, drawing)
    best, back = shared[1:, 1:].argmax(1), shared[1:, 1:].argmax(0)
    gaps = [
        float(delta_e(np.array(area.lab), np.array(drawing.areas[k].lab)))
        for area, k in zip(newt.areas, best, strict=True)
    ]
    matched = [i for i, k in enumerate(best) if back[k] == i and shared[i + 1, k + 1] > 0]
    missing = [newt.areas[i] for i in range(len(newt.areas)) if i not in matched]
    extra = [a for a in drawing.areas if a.id - 1 not in {best[i] for i in matched}]
    assert len(missing) <= lost and {nearest_drawn(a.hex)[0] for a in missing} <= {"#17131a"}
    assert len(extra) <= invented and all(a.share < 0.001 for a in extra)
    for i in matched:
        most = max(newt.areas[i].pixels * newt.scale**2, 1)
        assert shared[i + 1, best[i] + 1] > 0.5 * most, f"area {newt.areas[i].id} is out of its place"
        assert gaps[i] < (10 if newt.areas[i].lab[0] < 30 else 6), f"area {newt.areas[i].id} in another colour"
