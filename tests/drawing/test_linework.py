"""Outlines of any darkness and width are drawing, not colour; black areas and pupils are areas."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.drawing import read_drawing
from finishplan.drawing.filters import odd, thick

LEFT, RIGHT, SPOT = (226, 168, 41), (43, 154, 148), (238, 123, 45)


def outlined(width_px: float, ink: tuple[int, int, int], pupil: bool = False) -> Image.Image:
    """Two halves and a spot at 1600 px, outlined by lines of that width, anti-aliased."""
    k, size = 3, (1600, 1200)
    big = Image.new("RGB", (size[0] * k // 2, size[1] * k // 2), "white")
    pen = ImageDraw.Draw(big)
    line, (w, h) = max(1, round(width_px * k / 2)), big.size
    box = [w // 8, h // 8, w - w // 8, h - h // 8]
    pen.pieslice(box, 90, 270, fill=LEFT)
    pen.pieslice(box, -90, 90, fill=RIGHT)
    pen.line([w // 2, box[1], w // 2, box[3]], fill=ink, width=line)
    pen.ellipse(box, outline=ink, width=line)
    pen.ellipse([w // 4, h // 3, w // 3, h // 3 + w // 12], fill=SPOT, outline=ink, width=line)
    if pupil:
        pen.ellipse([w * 5 // 8, h // 2, w * 5 // 8 + w // 30, h // 2 + w // 30], fill=ink)
        pen.rectangle([w * 5 // 8, h // 3, w * 3 // 4, h * 2 // 5], fill=ink)
    return big.resize(size, Image.Resampling.LANCZOS)


@pytest.mark.parametrize("width_px", [1, 2, 3, 5, 8, 12])
@pytest.mark.parametrize("ink", [(10, 10, 12), (70, 60, 66), (120, 70, 40)])
def test_outlines_are_not_areas(width_px: float, ink: tuple[int, int, int], tmp_path: Path) -> None:
    outlined(width_px, ink).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    assert sorted(c.hex for c in drawing.palette) == sorted(["#e2a829", "#2b9a94", "#ee7b2d"])
    assert len(drawing.areas) == 3
    by_hex = {a.hex: a.id for a in drawing.areas}
    pairs = {tuple(sorted((by_hex["#e2a829"], by_hex[other]))) for other in ("#2b9a94", "#ee7b2d")}
    assert {e.areas for e in drawing.edges} == pairs
    if width_px >= 2:
        assert drawing.ink is not None
        found = np.array(list(bytes.fromhex(drawing.ink[1:])))
        assert np.abs(found - ink).max() <= (4 if width_px >= 5 else 60)


def test_the_edge_runs_along_the_middle_of_the_line(tmp_path: Path) -> None:
    outlined(12, (10, 10, 12)).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    labels, middle = drawing.labels, (drawing.size[0] / 2 - drawing.origin[0]) * drawing.scale
    row = labels[labels.shape[0] // 2]
    left = row[int(middle) - 40]
    border = int(np.flatnonzero(row == left)[-1]) + 1
    assert border == pytest.approx(middle, abs=1.5)


def test_every_pixel_of_the_figure_has_an_area_and_ink_is_absorbed(tmp_path: Path) -> None:
    outlined(8, (10, 10, 12)).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    a, b = 600 + 4 * 0, 450
    ellipse = np.pi * a * b
    assert sum(x.pixels for x in drawing.areas) == pytest.approx(ellipse, rel=0.01)
    assert drawing.ink_mask.any() and (drawing.labels[drawing.ink_mask] > 0).all()


def test_black_areas_and_pupils_are_areas(tmp_path: Path) -> None:
    ink = (10, 10, 12)
    outlined(6, ink, pupil=True).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    black = next(c for c in drawing.palette if c.hex == "#0a0a0c")
    assert len(black.areas) == 2 and drawing.ink == "#0a0a0c"


def test_outlines_broader_than_any_pen_are_found_by_the_width_told(tmp_path: Path) -> None:
    outlined(96, (10, 10, 12)).save(tmp_path / "a.png")
    assert "#0a0a0c" in [c.hex for c in read_drawing(tmp_path / "a.png").palette]
    # The spot is so small that its outline fills it: a blot 133 px broad, 1.39 or 1.48 times as broad as was told.
    for width, found in ((96, ["#e2a829", "#2b9a94"]), (90, ["#0a0a0c", "#2b9a94", "#e2a829"])):
        told = read_drawing(tmp_path / "a.png", lines=width)
        assert told.ink == "#0a0a0c" and [a.hex for a in told.areas] == found and len(told.edges) == len(found) - 1


def test_without_ink_detection_lines_are_areas(tmp_path: Path) -> None:
    outlined(12, (10, 10, 12)).save(tmp_path / "a.png")
    assert "#0a0a0c" in [c.hex for c in read_drawing(tmp_path / "a.png", lines="none").palette]


def test_thick_is_an_opening() -> None:
    from skimage.morphology import opening

    rng = np.random.default_rng(3)
    mask = np.kron(rng.random((12, 15)) < 0.6, np.ones((4, 4))).astype(np.uint8)
    mask[::7] = 0
    for side in (1, 3, 5, 7):
        assert np.array_equal(thick(mask, side) & (mask > 0), opening(mask, np.ones((side, side)), mode="min") > 0)
    assert not thick(mask, 99).any()
    assert [odd(v) for v in (0.2, 1, 2.2, 3, 3.9, 4.5)] == [1, 1, 3, 3, 3, 5]


def glinting_eyes(gap: int, line: int) -> Image.Image:
    """A face with two eyes, outlined by `line` px; `gap` px of pupil between the glint in it and its rim."""
    fine, ink, white = 4, (20, 16, 18), (255, 255, 255)
    image = Image.new("RGB", (1000 * fine, 800 * fine), "white")
    pen = ImageDraw.Draw(image)

    def disc(x: float, y: float, r: float, colour: tuple[int, int, int]) -> None:
        pen.ellipse([v * fine for v in (x - r, y - r, x + r, y + r)], fill=colour)

    disc(500, 400, 300 + line / 2, ink)
    disc(500, 400, 300 - line / 2, (60, 150, 140))
    for x in (400, 600):
        disc(x, 350, 75 + line / 2, ink)
        disc(x, 350, 75 - line / 2, white)
        disc(x, 360, 40, ink)
        aside = (40 - gap - 12) / 2**0.5
        disc(x - aside, 360 - aside, 12, white)
    return image.resize((1000, 800), Image.Resampling.BOX)


@pytest.mark.parametrize("gap", [4, 7, 10])
@pytest.mark.parametrize("line", [3, 6, 9])
def test_a_glint_close_to_the_rim_of_a_pupil(gap: int, line: int, tmp_path: Path) -> None:
    """The strip of pupil beside it is no thicker than the outlines, and yet no line."""
    glinting_eyes(gap, line).save(tmp_path / "a.png")
    areas = {a.id: a for a in read_drawing(tmp_path / "a.png").areas}
    pupils = {a.id for a in areas.values() if a.lab[0] < 20}
    glints = [a for a in areas.values() if a.hex == "#ffffff" and a.wide_px < 40]
    assert len(areas) == 7 and len(pupils) == 2
    assert {a.enclosed_by for a in glints} == pupils and len(glints) == 2
    assert all(a.wide_px == pytest.approx(24, abs=3) for a in glints)
