"""Shadow and highlight tones, strokes inside an area, bold outlines, and what the maker may tell of them."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.paper import is_smooth, streaks

from .generator import difference

INK, COAT, SHADE, LIGHT, BOOT = (20, 16, 18), (190, 90, 60), (140, 62, 42), (224, 150, 124), (60, 90, 150)


def cel(folder: Path, line: int = 6) -> Path:
    """A coat with a shadow tone, a highlight and an eyebrow of ink, over a boot with a shadow tone of its own."""
    image = Image.new("RGB", (600, 700), "white")
    pen = ImageDraw.Draw(image)
    for box, base, shade in (((100, 60, 500, 400), COAT, SHADE), ((100, 400, 500, 640), BOOT, (40, 62, 112))):
        pen.rectangle(box, fill=base)
        pen.rectangle((box[0] + 300, box[1], box[2], box[3]), fill=shade)
        pen.rectangle(box, outline=INK, width=line)
    pen.ellipse((150, 100, 210, 150), fill=LIGHT)
    pen.line((160, 250, 320, 230), fill=INK, width=6)
    image.save(folder / "cel.png")
    return folder / "cel.png"


def test_tones_are_folded_into_the_area_they_shade(tmp_path: Path) -> None:
    drawing = read_drawing(cel(tmp_path))
    assert [a.hex for a in drawing.areas] == ["#be5a3c", "#3c5a96"]
    assert [s.kind for s in drawing.areas[0].shades] == ["shadow", "highlight"]
    assert [s.hex for s in drawing.areas[0].shades] == ["#8c3e2a", "#e0967c"]
    assert [e.areas for e in drawing.edges] == [(1, 2)]


def test_tones_with_a_mix_of_their_own(tmp_path: Path) -> None:
    drawing = read_drawing(cel(tmp_path), shading="own mix")
    by_hex = {a.hex: a for a in drawing.areas}
    assert len(by_hex) == 5 and len(drawing.palette) == 5
    for tone, base in (("#8c3e2a", "#be5a3c"), ("#e0967c", "#be5a3c"), ("#283e70", "#3c5a96")):
        assert [h.other for h in by_hex[tone].hints if h.flag == "blend"] == [by_hex[base].id]


def test_a_stroke_inside_an_area_is_offered_and_becomes_one_when_told(tmp_path: Path) -> None:
    path = cel(tmp_path)
    (brow,) = read_drawing(path).details
    assert brow.area == 1 and brow.hex == "#141012"
    assert brow.length_px == pytest.approx(161, rel=0.15) and brow.width_px == pytest.approx(6, abs=1.5)
    told = read_drawing(path, details=((brow.at[0] / 600, brow.at[1] / 700),))
    assert not told.details and [a.hex for a in told.areas].count("#141012") == 1
    assert told.areas[1].enclosed_by == 1


def pencilled(folder: Path) -> Path:
    """A coat and a boot in coloured pencil: darker streaks, bare ones and a grain over each, inked round."""
    rng = np.random.default_rng(5)
    pixels = np.full((700, 600, 3), 250.0)
    for (left, top, right, bottom), fill in (((100, 60, 500, 380), COAT), ((100, 380, 500, 640), BOOT)):
        across = np.arange(left, right) + 12 * np.sin(np.arange(top, bottom) / 70)[:, None]
        stroke = rng.normal(size=200)[(across / 9).astype(int)]
        bare = (across % 130 < 7)[..., None]
        patch = np.array(fill) * (1 + 0.09 * np.clip(stroke, -2, 2))[..., None]
        pixels[top:bottom, left:right] = np.where(bare, 250, patch)
    image = Image.fromarray(np.clip(pixels + rng.normal(scale=3, size=(700, 600, 1)), 0, 255).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    for box in ((100, 60, 500, 380), (100, 380, 500, 640)):
        pen.rectangle(box, outline=INK, width=6)
    image.save(folder / "pencil.png")
    return folder / "pencil.png"


def test_folds_shaded_on_a_screen_are_no_streaks(tmp_path: Path) -> None:
    folds = 8 * np.cos(np.arange(400) * 2 * np.pi / 24)[None, :, None]
    cloth = np.rint(np.array(COAT) + np.broadcast_to(folds, (400, 400, 1))).astype(np.uint8)
    assert streaks(cloth) >= 1 and is_smooth(cloth)
    assert not is_smooth(np.asarray(Image.open(pencilled(tmp_path))))


def test_streaks_of_a_pencil_are_neither_lines_nor_areas(tmp_path: Path) -> None:
    drawing = read_drawing(pencilled(tmp_path))
    seen = np.array([[int(c.hex[i : i + 2], 16) for i in (1, 3, 5)] for c in drawing.palette])
    assert difference(seen, np.array([COAT, BOOT])).min(0).max() < 3.5 and len(seen) == 2
    assert len(drawing.areas) <= 5 and drawing.ink is not None and int(drawing.ink[1:3], 16) < 60


def test_a_soft_shading_with_a_mix_of_its_own_has_one_dark_and_one_light_part(tmp_path: Path) -> None:
    """An even ramp: the shades begin a standard deviation from its mean, 0.58 of the way to either end."""
    ramp = np.linspace(-40, 40, 400)[None, :, None]
    pixels = np.full((500, 600, 3), 255.0)
    pixels[100:400, 100:500] = np.array(BOOT) + ramp
    Image.fromarray(pixels.astype(np.uint8)).save(tmp_path / "a.png")
    assert len(read_drawing(tmp_path / "a.png").areas) == 1
    drawing = read_drawing(tmp_path / "a.png", shading="own mix")
    (base,) = (a for a in drawing.areas if not a.hints)
    shades = [a for a in drawing.areas if a.hints]
    assert len(shades) == 2 and all(a.hints[0].other == base.id for a in shades)
    assert base.share == pytest.approx(0.58, abs=0.06) and all(0.17 < a.share < 0.25 for a in shades)


@pytest.mark.parametrize("line", [14, 22])
def test_bold_outlines_are_no_areas(line: int, tmp_path: Path) -> None:
    drawing = read_drawing(cel(tmp_path, line))
    assert [a.hex for a in drawing.areas] == ["#be5a3c", "#3c5a96"] and drawing.ink == "#141012"
    assert len(drawing.edges) == 1


def test_lines_told_as_none_are_areas(tmp_path: Path) -> None:
    assert "#141012" in [a.hex for a in read_drawing(cel(tmp_path), lines="none").areas]


@pytest.mark.parametrize("seed", range(12))
def test_any_figure_is_read_or_refused_in_a_line(seed: int, tmp_path: Path) -> None:
    """Random polygons with outlines of 0 to 6 % of the longer side."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(80, 240)), int(rng.integers(80, 240))
    image = Image.new("RGB", size, "white")
    pen, line = ImageDraw.Draw(image), round(seed / 11 * 0.06 * max(size))
    for _ in range(int(rng.integers(1, 12))):
        points = [tuple(p) for p in (rng.random((int(rng.integers(3, 8)), 2)) * size).tolist()]
        pen.polygon(points, fill=tuple(rng.integers(0, 256, 3).tolist()))
        if line:
            pen.line([*points, points[0]], fill=INK, width=line, joint="curve")
    image.save(tmp_path / "a.png")
    try:
        drawing = read_drawing(tmp_path / "a.png")
    except InputError as error:
        assert error.cure and "\n" not in str(error)
    else:
        assert drawing.labels.max() == len(drawing.areas) > 0


def test_more_patches_than_any_figure_has_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Their colours are compared each with each, so tens of thousands of specks would take gigabytes."""
    monkeypatch.setattr("finishplan.drawing.read.MOST_REGIONS", 4)
    with pytest.raises(InputError, match="6 patches of colour were found, too many"):
        read_drawing(cel(tmp_path))


@pytest.mark.parametrize(("lines", "painted"), [("auto", 0), (16, 2), (24, 0)])
def test_lone_strokes_broader_than_the_lines_told_are_paint(lines: str | int, painted: int, tmp_path: Path) -> None:
    """Of one colour, which is mixed once."""
    image = Image.new("RGB", (500, 500), "white")
    pen = ImageDraw.Draw(image)
    for box, fill in (((40, 30, 460, 240), COAT), ((40, 224, 460, 470), BOOT)):
        pen.rectangle(box, fill=fill, outline=INK, width=16)
    for top, broad in ((75, 28), (150, 16), (320, 28)):
        pen.rectangle((150, top, 350, top + broad - 1), fill=INK)
    image.save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png", lines=lines)
    assert [a.hex for a in drawing.areas].count("#141012") == painted
    assert len(drawing.palette) == 2 + (painted > 0) and sum(d.alone for d in drawing.details) == 3 - painted


@pytest.mark.parametrize(("edge", "freckles"), [(0.8, 6), (9.0, 0)])
def test_freckles_on_shaded_skin_have_an_edge_and_shadows_have_none(edge: float, freckles: int, tmp_path: Path) -> None:
    rows, columns = np.mgrid[:400, :400].astype(np.float32)
    inside = np.hypot(rows - 200, columns - 200) < 150
    skin = np.array([214, 160, 120]) * (1.08 - 0.32 * (rows / 400)[..., None])
    cover = np.zeros((400, 400), np.float32)
    for k in range(6):
        cv2.circle(cover, (130 + 28 * k, 170 + 30 * (k % 3)), 5, 1, -1)
    cover = cv2.GaussianBlur(cover, (0, 0), edge)[..., None]
    pixels = np.where(inside[..., None], skin * (1 - cover) + cover * (120, 70, 50), 255)
    Image.fromarray(np.rint(pixels).astype(np.uint8)).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    assert len(drawing.areas) == 1 + freckles and len(drawing.palette) == 1 + (freckles > 0)
    assert all(h.flag == "dot" for a in drawing.areas for h in a.hints)
