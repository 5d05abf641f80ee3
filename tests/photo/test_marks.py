"""The page found in whole photographs, against the perspective that the simulated photograph was made with."""

import cv2
import numpy as np
import pytest
import simulated as sim
from judged import BOX, IDS, PAGE

from finishplan.basics.errors import InputError
from finishplan.photo.card import card_pages
from finishplan.photo.layout import MARKS, CardPage, card_json
from finishplan.photo.marks import Placed, find_page, placed_by
from finishplan.photo.patches import read_page, unsure_fields

PX = 6.0


def true_places(page: CardPage, at: sim.View) -> tuple[np.ndarray, np.ndarray]:
    """Every field's corners in mm and in pixels, by the four-point perspective itself."""
    w, h = page.size
    H = cv2.getPerspectiveTransform(np.float32([[0, 0], [w, 0], [w, h], [0, h]]), at.corners.astype(np.float32))
    mm = np.array([c for f in page.fields for c in f.rect.corners])
    px = np.c_[mm, np.ones(len(mm))] @ H.T
    return mm, px[:, :2] / px[:, 2:]


@pytest.mark.parametrize(("size", "lamps"), [((3000, 4000), ("LED-B3",)), ((1500, 2000), ("A", "D65", "FL11"))])
def test_every_whole_card_is_found_to_half_a_millimetre(size: tuple[int, int], lamps: tuple[str, ...]) -> None:
    rng, off = np.random.default_rng(size[0]), []
    for lamp in lamps:
        mine, at = sim.tubes(IDS, rng), sim.view(rng, size)
        picture = sim.photo_of(PAGE, mine, rng, lamp=lamp, view=at, px_per_mm=PX)
        placed = find_page(picture, [PAGE])
        mm, px = true_places(PAGE, at)
        off.append(np.linalg.norm(placed.pixels(mm) - px, axis=1) / placed.px_per_mm)
        shot, _ = read_page(picture, placed)
        assert len(shot.fields) >= len(PAGE.fields) - 3
    assert np.percentile(off, 95) <= 0.5


def test_a_card_on_its_side_is_found() -> None:
    rng = np.random.default_rng(3)
    picture = sim.photo_of(PAGE, sim.tubes(IDS, rng), rng, px_per_mm=PX)
    upright = read_page(picture, find_page(picture, [PAGE]))[0]
    letter = card_pages(BOX, "letter")[0]
    assert find_page(picture, [letter, PAGE]).page is find_page(picture, [PAGE, letter]).page is PAGE
    turned = np.ascontiguousarray(np.rot90(picture))
    aside = read_page(turned, find_page(turned, [PAGE]))[0]
    assert aside.fields == upright.fields and np.abs(aside.rgb - upright.rgb).max() < 0.01


def test_layout_as_data_fits_the_page() -> None:
    said = card_json(PAGE)
    assert len(said["marks"]) == MARKS and len({m["number"] for m in said["marks"]}) == MARKS
    assert {m["dictionary"] for m in said["marks"]} == {"DICT_4X4_250"} and "top left" in said["units"]
    # What goes in, by volume: 1 drop in 9 of white is a tenth; every thin coat lies over printed black.
    for field in said["fields"]:
        tenth = {field["paint"]: 0.1, BOX.white: 0.9}
        assert field["parts"] == tenth or field["share"] != 0.1
        assert (field["coat_um"] is not None) == (field["kind"] == "thin") and (field["kind"] != "thin" or field["bar"])
    w, h = said["size_mm"]
    rects = [f["rect"] for f in said["fields"]] + [m["rect"] for m in said["marks"]] + said["paper"]
    assert all(x >= 5 and y >= 5 and x + dx <= w - 5 and y + dy <= h - 5 for x, y, dx, dy in rects)
    apart = [(a, b) for i, a in enumerate(rects) for b in rects[:i]]
    assert all(
        a[0] >= b[0] + b[2] or b[0] >= a[0] + a[2] or a[1] >= b[1] + b[3] or b[1] >= a[1] + a[3] for a, b in apart
    )


def rolled_page(radius_mm: float, hidden: int) -> tuple[Placed, np.ndarray]:
    """A page rolled on an upright cylinder before a pinhole 350 mm above it, its first marks hidden; and how far the
    corners of its fields (n, 4) lie from where they are thought, in mm."""
    half, focal = np.array(PAGE.size) / 2, 1.2 * 2500

    def seen(mm: np.ndarray) -> np.ndarray:
        turn = (mm[:, 0] - half[0] - 15) / radius_mm  # the ridge is 15 mm beside the middle
        x, high = radius_mm * np.sin(turn) + 15, radius_mm * (np.cos(turn) - 1)
        return focal * np.c_[x, mm[:, 1] - half[1]] / (350 - high)[:, None] + (1500, 2000)

    marks = {m.number: seen(np.array(m.rect.corners)) for m in PAGE.marks[hidden:]}
    page = placed_by(PAGE, marks, (4000, 3000))
    mm = np.array([c for f in PAGE.fields for c in f.rect.corners])
    return page, (np.linalg.norm(page.pixels(mm) - seen(mm), axis=1) / page.px_per_mm).reshape(-1, 4)


def test_a_page_that_rolls_is_found_as_paper_rolls() -> None:
    """Paper keeps its length (a developable surface): on a cylinder of 300 mm its sides rise by 18 mm."""
    page, off = rolled_page(300.0, hidden=0)
    assert page.worst_mm < 0.1 and off.max() < 0.2 and not unsure_fields(page)
    _, flat = rolled_page(1e6, hidden=1)
    assert flat.max() < 0.02


def test_of_a_rolled_page_with_hidden_marks_only_what_is_sure_is_read() -> None:
    page, off = rolled_page(300.0, hidden=2)
    try:
        unsure = unsure_fields(page)
    except InputError as error:
        assert "bends more than its marks can tell" in str(error)
        return
    read = [o.max() for f, o in zip(PAGE.fields, off, strict=True) if f.field not in unsure]
    assert max(read) < 0.5


def test_no_bare_paper_is_read_where_words_stand() -> None:
    for paper in ("a4", "letter"):
        page = card_pages(BOX, paper)[0]
        words = page.free
        assert words is not None and words.y + words.h <= page.size[1] - 20
        assert all(
            r.y + r.h <= words.y or r.x >= words.x + words.w or r.y > words.y + words.h for r in page.paper if r.x > 20
        )
