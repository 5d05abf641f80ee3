"""Corrections of a reading: pixels go where the maker says, what is measured anew is what a reading would measure."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.corrections import Corrections, corrected
from finishplan.drawing.model import Drawing
from finishplan.drawing.registration import small_map
from finishplan.drawing.remeasure import remeasured, renumbered
from finishplan.drawing.stored import Kept, kept_bytes, load_kept, reading_key
from finishplan.drawing.strokes import Stroke, crossed, parted

FACE, EYE, GLINT, BROW, BALL = "#60a040", "#202030", "#f0f0f8", "#3050a0", "#c83020"


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A green face with an eye, a glint in it and a blue brow across it, and a red ball by itself."""
    sheet = Image.new("RGB", (400, 240), "#ffffff")
    pen = ImageDraw.Draw(sheet)
    pen.ellipse((20, 20, 220, 220), fill=FACE)
    pen.rectangle((20, 60, 220, 74), fill=BROW)
    pen.ellipse((90, 110, 150, 170), fill=EYE)
    pen.ellipse((110, 120, 126, 136), fill=GLINT)
    pen.ellipse((280, 80, 380, 180), fill=BALL)
    path: Path = tmp_path_factory.mktemp("face") / "face.png"
    sheet.save(path)
    return path


@pytest.fixture(scope="module")
def face(picture: Path) -> Drawing:
    return read_drawing(picture)


def of(drawing: Drawing, hex: str) -> list[int]:
    """The areas drawn in a colour, the largest first."""
    found = [a for a in drawing.areas if drawing.palette[a.colour].hex == hex]
    return [a.id for a in sorted(found, key=lambda a: -a.pixels)]


def pixels(drawing: Drawing, id: int) -> float:
    return next(a.pixels for a in drawing.areas if a.id == id)


def test_measured_again_a_reading_is_as_it_was(face: Drawing) -> None:
    again = remeasured(face, face.areas, {a.id for a in face.areas})
    assert again.edges == face.edges and again.parts == face.parts and again.palette == face.palette
    for one, two in zip(face.areas, again.areas, strict=True):
        assert (one.enclosed_by, one.bbox, one.hints) == (two.enclosed_by, two.bbox, two.hints)
        assert two.pixels == pytest.approx(one.pixels) and two.wide_px == pytest.approx(one.wide_px, abs=2)


def test_a_highlight_that_is_swallowed_gives_its_pixels_and_leaves_the_numbering(face: Drawing) -> None:
    (glint,), (eye,) = of(face, GLINT), of(face, EYE)
    new = corrected(face, Corrections(into=((glint, eye),)))
    assert {a.id for a in new.areas} == {a.id for a in face.areas} - {glint}
    assert pixels(new, eye) == pytest.approx(pixels(face, eye) + pixels(face, glint))
    assert sum(a.share for a in new.areas) == pytest.approx(1)
    assert [a.label_xy for a in new.areas if a.id == eye] == [a.label_xy for a in face.areas if a.id == eye]
    assert all(glint not in e.areas for e in new.edges) and not (new.labels == glint).any()
    assert not next(c for c in new.palette if c.hex == GLINT).areas


def test_areas_that_a_line_parts_are_joined_across_it(face: Drawing) -> None:
    one, *others = of(face, FACE)
    (brow,) = of(face, BROW)
    new = corrected(face, Corrections(joined=tuple((o, one) for o in others), lines=(brow,)))
    assert of(new, FACE) == [one] and BROW not in {new.palette[a.colour].hex for a in new.areas}
    total = sum(pixels(face, i) for i in (one, *others, brow))
    assert pixels(new, one) == pytest.approx(total)
    assert new.ink_mask[face.labels == brow].all(), "what is no paint is a drawn line"


def test_what_is_paper_is_no_part_of_the_figure(face: Drawing) -> None:
    (ball,) = of(face, BALL)
    new = corrected(face, Corrections(paper=(ball,)))
    assert [p.name for p in new.parts] == ["part A"] and not (new.labels == ball).any()
    assert sum(a.pixels for a in new.areas) == pytest.approx(sum(a.pixels for a in face.areas) - pixels(face, ball))
    with pytest.raises(InputError, match="nothing of the figure is left"):
        corrected(face, Corrections(paper=tuple(a.id for a in face.areas)))


def test_what_is_bare_leaves_the_palette_and_stays_an_area(face: Drawing) -> None:
    (ball,) = of(face, BALL)
    new = corrected(face, Corrections(bare=(ball,)))
    assert new.areas == face.areas and not next(c for c in new.palette if c.hex == BALL).areas


def test_pieces_drawn_apart_are_not_made_one(face: Drawing) -> None:
    with pytest.raises(InputError, match=r"job: areas\.\d+\.swallow: areas \d+ and \d+ are on pieces drawn apart"):
        corrected(face, Corrections(into=((of(face, BALL)[0], of(face, EYE)[0]),)))


def test_a_correction_of_what_is_not_there_changes_nothing(face: Drawing) -> None:
    assert corrected(face, Corrections(into=((98, 99),), paper=(97,))) is face


@pytest.mark.parametrize("points", [((0.71, 0.5), (0.94, 0.5)), ((0.74, 0.5), (0.9, 0.55))], ids=["across", "short"])
def test_a_stroke_parts_an_area_and_runs_on_to_its_border(
    face: Drawing, points: tuple[tuple[float, float], ...]
) -> None:
    (ball,) = of(face, BALL)
    new = parted(face, [Stroke(points, crossed(face, points)[0])])
    (free,) = {a.id for a in new.areas} - {a.id for a in face.areas}
    assert free == max(a.id for a in face.areas) + 1
    assert pixels(new, ball) + pixels(new, free) == pytest.approx(pixels(face, ball))
    assert pixels(new, free) > 0.35 * pixels(face, ball), "in two halves, nearly"
    assert (ball, free) in {e.areas for e in new.edges}
    same = [a for a in face.areas if a.id != ball]
    assert [(a.id, a.pixels) for a in new.areas if a.id not in (ball, free)] == [(a.id, a.pixels) for a in same]


def test_a_stroke_that_parts_nothing_is_refused(face: Drawing) -> None:
    for points in (((0.6, 0.05), (0.65, 0.05)), ((0.8, 0.5), (0.8001, 0.5))):
        with pytest.raises(InputError, match="the stroke parts no area"):
            parted(face, [Stroke(points)])


def test_other_numbers_are_the_same_drawing(face: Drawing) -> None:
    number = {a.id: 2 * a.id + 5 for a in face.areas}
    new = renumbered(face, number)
    assert [a.id for a in new.areas] == sorted(number.values())
    back = renumbered(new, {b: a for a, b in number.items()})
    assert back.areas == face.areas and back.edges == face.edges and (back.labels == face.labels).all()
    (glint,) = of(new, GLINT)
    for hint in next(a for a in new.areas if a.id == glint).hints:
        assert hint.other is None or hint.other in number.values()


def test_a_kept_reading_is_the_reading(face: Drawing, picture: Path, tmp_path: Path) -> None:
    key = reading_key([picture], (None, "auto"))
    assert key != reading_key([picture], (3, "auto"))
    data = kept_bytes(Kept(key, "p", face, small_map(face)))
    path = tmp_path / "kept.npz"
    path.write_bytes(data)
    back = load_kept(path)
    assert back is not None and back.key == key and back.drawing.areas == face.areas
    assert back.drawing.edges == face.edges and back.drawing.parts == face.parts and back.drawing.notes == face.notes
    assert np.array_equal(back.drawing.labels, face.labels) and np.array_equal(back.drawing.ink_mask, face.ink_mask)
    for damaged in (b"", data[: len(data) // 2], b"PK" + bytes(99), data.replace(b"labels", b"lebals")):
        path.write_bytes(damaged)
        assert load_kept(path) is None, "whatever is wrong with it, it counts as none"
