"""What is an outline: lines round the figure, bold ones, and the paper between its parts; just on either side of each
bound. Bounds are our rules (see beside each constant)."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.drawing import read_drawing
from finishplan.drawing.linework import Lines, Sheet, find_lines
from finishplan.drawing.model import Drawing
from finishplan.drawing.outlines import settled
from finishplan.drawing.tones import Classes, tone_of

INK, GREEN, RED, BLUE = (16, 14, 18), (70, 150, 80), (200, 60, 50), (70, 90, 190)


def read(image: Image.Image, folder: Path, **options: object) -> Drawing:
    image.save(folder / "a.png", compress_level=1)
    return read_drawing(folder / "a.png", **options)


def classes_of(rgb: np.ndarray) -> Classes:
    """One class for every colour."""
    colours, index = np.unique(rgb.reshape(-1, 3), axis=0, return_inverse=True)
    tone = np.vstack([tone_of(colours.astype(float)), [1e3] * 3])
    return Classes(index.reshape(rgb.shape[:2]).astype(np.uint8), np.ones(rgb.shape[:2], bool), colours * 1.0, tone)


def ringed(share: float, paper: tuple[int, int, int] = (255, 255, 255)) -> tuple[np.ndarray, np.ndarray]:
    """((200, 200, 3) six patches with a dark line along that share of the figure's outline, (200, 200) where it is)."""
    rgb, mask = np.full((200, 200, 3), paper, np.uint8), np.zeros((200, 200), bool)
    for i, colour in enumerate((GREEN, RED, BLUE, RED, BLUE, GREEN)):
        rgb[40 + 60 * (i // 3) : 100 + 60 * (i // 3), 40 + 40 * (i % 3) : 80 + 40 * (i % 3)] = colour
    for k in range(3):
        for side in (mask, mask.T, mask[::-1], mask.T[:, ::-1]):
            side[40 + k, 40 : 40 + round(120 * share)] = True
    rgb[mask] = INK
    return rgb, mask


@pytest.mark.parametrize(
    ("share", "paper", "kept"), [(0.75, 255, True), (0.45, 255, False), (0.45, 40, True), (0.45, 90, False)]
)
def test_outlines_run_round_the_figure_where_that_can_be_seen(share: float, paper: int, kept: bool) -> None:
    rgb, mask = ringed(share, (paper,) * 3)
    found = Lines(mask, 3.0, np.array(INK, float))
    ground = np.ones(mask.shape, bool)
    ground[40:160, 40:160] = False
    assert (settled(found, classes_of(rgb), Sheet(rgb, ground, 3, 200)).rgb is not None) == kept


def found_in(image: Image.Image) -> np.ndarray | None:
    """The colour of the lines on a white sheet of 400 pixels."""
    rgb = np.asarray(image)
    return find_lines(classes_of(rgb), Sheet(rgb, (rgb == 255).all(2), 3, 400)).rgb


def test_a_small_figure_in_a_bold_outline() -> None:
    """An outline is more than twice as long as the figure is wide, a bar between two patches is not."""
    ring, bar = (Image.new("RGB", (400, 400), "white") for _ in range(2))
    ImageDraw.Draw(ring).rectangle((100, 100, 148, 148), fill=GREEN, outline=INK, width=15)
    ImageDraw.Draw(bar).rectangle((100, 100, 160, 116), fill=INK)
    for top in (88, 117):
        ImageDraw.Draw(bar).rectangle((120, top, 131, top + 11), fill=GREEN)
    assert found_in(ring) is not None and found_in(bar) is None


def frame(hole: tuple[int, int, int], paper: tuple[int, int, int], eye: bool = False, half: int = 20) -> Image.Image:
    """Four bars round a hole of twice `half` pixels; eye: a hole in one bar alone."""
    image = Image.new("RGB", (400, 400), paper)
    pen, low, high = ImageDraw.Draw(image), 200 - half, 200 + half
    for box, colour in (((60, 60, 340, low - 1), GREEN), ((60, high, 340, 340), BLUE)):
        pen.rectangle(box, fill=colour)
    pen.rectangle((60, low, low - 1, high - 1), fill=RED)
    pen.rectangle((high, low, 340, high - 1), fill=(230, 180, 60))
    pen.rectangle((low, low, high - 1, high - 1), fill=hole)
    if eye:
        pen.rectangle((90, 80, 120, 110), fill=hole)
    return image


@pytest.mark.parametrize(
    ("off", "eye", "areas"),
    [(0, False, 4), (1, False, 4), (24, False, 5), (0, True, 6)],
)
def test_white_between_several_areas_is_a_gap_where_nothing_else_is_white(
    off: int, eye: bool, areas: int, tmp_path: Path
) -> None:
    drawing = read(frame((255 - off,) * 3, (255, 255, 255), eye), tmp_path)
    assert len(drawing.areas) == areas
    assert any("taken for gaps" in note for note in drawing.notes) == (areas == 4)


@pytest.mark.parametrize(
    ("half", "button", "paper", "gap"),
    [
        (34, False, 255, True),
        (36, False, 255, False),
        (20, True, 255, False),
        (36, False, 240, True),
    ],
)
def test_white_that_is_large_or_borders_inner_areas_is_paint(
    half: int, button: bool, paper: int, gap: bool, tmp_path: Path
) -> None:
    """A hole of 5.9 % of the figure and one of 6.6 %; a button that lies inside the figure; on a tinted ground nothing
    is painted in its very colour. What is paint is offered as paper."""
    ground = (paper, 255, paper)
    image = frame(ground, ground, half=half)
    if button:
        ImageDraw.Draw(image).rectangle((190, 150, 240, 210), fill=(90, 60, 150))
    drawing = read(image, tmp_path)
    assert len(drawing.areas) == 4 + button + (not gap)
    assert any("taken for gaps" in note for note in drawing.notes) == gap
    assert gap or [h.flag for a in drawing.areas for h in a.hints if h.flag == "paper"] == ["paper"]


def test_a_gap_that_the_maker_calls_paint(tmp_path: Path) -> None:
    drawing = read(frame((255, 255, 255), (255, 255, 255)), tmp_path, details=((0.5, 0.5),))
    assert len(drawing.areas) == 5 and not any("taken for gaps" in note for note in drawing.notes)


def test_three_gaps_are_told_by_their_places(tmp_path: Path) -> None:
    def told(number: int) -> str:
        image = Image.new("RGB", (140 + 100 * number, 300), "white")
        pen = ImageDraw.Draw(image)
        pen.rectangle((40, 20, 100 + 100 * number, 120), fill=GREEN)
        pen.rectangle((40, 180, 100 + 100 * number, 280), fill=BLUE)
        for i in range(number + 1):
            pen.rectangle((40 + 100 * i, 121, 100 + 100 * i, 179), fill=RED)
        (note,) = (n for n in read(image, tmp_path).notes if "taken for gaps" in n)
        return note

    assert told(3).count("[0.") == 3 and "more" not in told(3) and "and 1 more" in told(4)


@pytest.mark.parametrize(("grey", "off", "areas"), [(190, 0, 4), (190, 2, 4), (190, 8, 6), (225, 0, 6)])
def test_a_toned_ground_shows_wherever_it_has_its_colour(grey: int, off: int, areas: int, tmp_path: Path) -> None:
    """In one area alone, too; light paper may be the white of an eye."""
    assert len(read(frame((grey - off,) * 3, (grey,) * 3, eye=True), tmp_path).areas) == areas
