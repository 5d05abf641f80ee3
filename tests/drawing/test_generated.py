"""Drawings of known truth, flat and degraded: a sample of what benchmarks/measure_reading.py runs at length."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from finishplan.drawing import read_drawing
from finishplan.drawing.model import Drawing

from .generator import DEGRADED, Drawn, draw
from .quantisers import QUANTISERS
from .scoring import Score, area_at, score_colours, score_reading

pytestmark = pytest.mark.filterwarnings("ignore:Conversion from CIE-LAB")
FLAT_LIMIT, DEGRADED_LIMIT = 2.0, 5.0


SEEDS, SIZE = range(1000, 1006), (800, 640)


@cache
def flat(seed: int) -> Drawn:
    return draw(seed, SIZE)


def read(image: Image.Image, folder: Path) -> Drawing:
    image.save(folder / "drawn.png")
    return read_drawing(folder / "drawn.png")


def test_flat_drawings(tmp_path: Path) -> None:
    total = Score()
    for seed in SEEDS:
        drawn = flat(seed)
        total += score_reading(drawn, read(drawn.picture, tmp_path), FLAT_LIMIT)
    assert total.colours > 40 and total.borders > 80
    assert total.found == total.colours
    assert total.invented == 0
    assert total.met == total.borders
    assert total.false_borders == 0


@pytest.mark.parametrize("kind", DEGRADED)
def test_degraded_drawings(kind: str, tmp_path: Path) -> None:
    total, kinds = Score(), set()
    for seed in SEEDS:
        drawn = DEGRADED[kind](flat(seed), seed)
        drawing = read(drawn.picture, tmp_path)
        total += score_reading(drawn, drawing, DEGRADED_LIMIT)
        kinds.add(drawing.kind)
    assert kinds == {{"marker": "flat"}.get(kind, kind)}
    assert total.found >= 0.95 * total.colours
    assert total.invented <= 0.03 * total.listed
    assert total.met >= 0.95 * total.borders


@pytest.mark.parametrize("name", QUANTISERS)
def test_general_quantisers_do_worse_even_when_told_the_number(name: str) -> None:
    total = Score()
    for seed in range(1000, 1003):
        drawn = DEGRADED["photo"](draw(seed, (400, 320)), seed)
        given = len(drawn.true_colours()) + 1 + (drawn.ink is not None)
        total += score_colours(drawn, QUANTISERS[name](drawn.rgb, given, drawn), DEGRADED_LIMIT)
    assert total.found < 0.95 * total.colours


def test_an_accent_of_a_twentieth_of_a_percent_is_a_colour(tmp_path: Path) -> None:
    pixels = np.full((800, 1000, 3), 255, np.uint8)
    pixels[100:700, 100:900] = (60, 120, 90)
    y, x = np.ogrid[:800, :1000]
    pixels[(x - 400) ** 2 + (y - 300) ** 2 <= 0.0005 * 480_000 / np.pi] = (250, 240, 120)
    drawing = read(Image.fromarray(pixels), tmp_path)
    assert [c.hex for c in drawing.palette] == ["#3c785a", "#faf078"]
    glint = drawing.areas[drawing.palette[1].areas[0] - 1]
    assert glint.enclosed_by == drawing.palette[0].areas[0]


def test_specks_are_folded_in_and_counted(tmp_path: Path) -> None:
    pixels = np.full((800, 1000, 3), 255, np.uint8)
    pixels[100:700, 100:900] = (60, 120, 90)
    for x in (200, 350, 500):
        pixels[300:302, x : x + 2] = (250, 240, 120)
    drawing = read(Image.fromarray(pixels), tmp_path)
    assert len(drawing.areas) == 1
    assert any("specks" in note and note.endswith(": 3") for note in drawing.notes)


@pytest.mark.parametrize("height_mm", [20, 40, 80])
def test_the_size_said_of_specks_is_the_one_that_decides(height_mm: int, tmp_path: Path) -> None:
    """Spots of 1 to 16 pixels on a figure 600 pixels high: what is folded in is no larger than the note says."""
    folded = []
    for side in (1, 2, 3, 5, 8, 12, 16):
        pixels = np.full((800, 280, 3), 255, np.uint8)
        pixels[100:700, 60:220] = (60, 120, 90)
        pixels[300 : 300 + side, 120 : 120 + side] = (250, 240, 120)
        Image.fromarray(pixels).save(tmp_path / "a.png")
        drawing = read_drawing(tmp_path / "a.png", height_mm=height_mm)
        said = [float(note.split(" mm")[0].split()[-1]) for note in drawing.notes if "specks" in note]
        assert not said or len(drawing.areas) == 1
        assert all(side * height_mm / 600 <= mm + 0.05 for mm in said)
        folded += said
    assert len(set(folded)) == 1


def test_speck_size_follows_the_height_of_the_figure(tmp_path: Path) -> None:
    pixels = np.full((800, 1000, 3), 255, np.uint8)
    pixels[100:700, 100:900] = (60, 120, 90)
    pixels[300:309, 300:309] = (250, 240, 120)
    Image.fromarray(pixels).save(tmp_path / "a.png")
    dot = read_drawing(tmp_path / "a.png", height_mm=60).areas[0]
    assert dot.wide_px == 9
    assert [(hint.flag, hint.other) for hint in dot.hints] == [("dot", 2)]
    assert len(read_drawing(tmp_path / "a.png", height_mm=15).areas) == 1


def test_soft_shading_does_not_split_an_area(tmp_path: Path) -> None:
    pixels = np.full((600, 800, 3), 255, np.uint8)
    ramp = np.linspace(1, 0.72, 640)[None, :, None]
    pixels[100:500, 80:720] = np.rint(np.array([200, 150, 90]) * ramp).astype(np.uint8)
    drawing = read(Image.fromarray(pixels), tmp_path)
    assert len(drawing.areas) == 1


@pytest.mark.parametrize("soft", [False, True])
def test_a_drawn_shadow_is_offered_as_a_blend(soft: bool, tmp_path: Path) -> None:
    share = np.clip((np.arange(640) - 420) / 30, 0, 1) if soft else (np.arange(640) >= 430).astype(float)
    base, shadow = np.array([200, 150, 90]), np.array([160, 118, 68])
    pixels = np.full((600, 800, 3), 255, np.uint8)
    pixels[100:500, 80:720] = np.rint(base + (shadow - base) * share[None, :, None]).astype(np.uint8)
    read(Image.fromarray(pixels), tmp_path)
    drawing = read_drawing(tmp_path / "drawn.png", shading="own mix")
    assert [c.hex for c in drawing.palette] == ["#c8965a", "#a07644"]
    dark = drawing.areas[drawing.palette[1].areas[0] - 1]
    assert [(h.flag, h.other) for h in dark.hints] == [("blend", drawing.palette[0].areas[0])]
    assert drawing.edges[0].soft is soft


def test_the_number_of_colours_can_be_forced(tmp_path: Path) -> None:
    drawn = flat(1001)
    drawn.picture.save(tmp_path / "a.png")
    found = len(read_drawing(tmp_path / "a.png").palette)
    assert found > 4
    assert len(read_drawing(tmp_path / "a.png", colours=4).palette) == 4
    more = read_drawing(tmp_path / "a.png", colours=found + 5)
    assert len(more.palette) == found and any("asked for" in n for n in more.notes)


@pytest.mark.parametrize(
    ("name", "options"),
    [("a.jpg", {"quality": 75}), ("a.jpg", {"quality": 92}), ("a.webp", {"quality": 80})],
)
@pytest.mark.parametrize(
    ("paper", "seeds"), [((255, 255, 255), (502, 503)), ((0, 0, 0), (503, 504)), ((214, 226, 240), (503, 504))]
)
def test_lossy_compression_makes_no_colour(
    name: str, options: dict[str, int], paper: tuple[int, int, int], seeds: tuple[int, int], tmp_path: Path
) -> None:
    total = Score()
    for seed in seeds:
        drawn = draw(seed, SIZE, paper=paper)
        drawn.picture.save(tmp_path / name, **options)
        total += score_reading(drawn, read_drawing(tmp_path / name), DEGRADED_LIMIT)
    assert total.found == total.colours
    assert total.invented <= 0.03 * total.listed
    assert total.met >= 0.95 * total.borders


def test_a_small_figure_on_a_large_sheet_keeps_its_small_areas(tmp_path: Path) -> None:
    drawn = draw(4, (1000, 800))
    sheet = Image.new("RGB", (4000, 3000), "white")
    sheet.paste(drawn.picture, (700, 900))
    near, far = read(drawn.picture, tmp_path), read(sheet, tmp_path)
    assert far.size == (4000, 3000)
    assert len(far.areas) == len(near.areas)
    for one in near.areas:
        two = far.areas[area_at(far, one.label_xy[0] + 700, one.label_xy[1] + 900) - 1]
        assert two.hex == one.hex
        assert two.wide_px == pytest.approx(one.wide_px, rel=0.1, abs=2)


@pytest.mark.parametrize("paper", [(255, 255, 255), (236, 224, 200)])
def test_paper_between_several_areas_is_offered_as_a_gap_and_no_white_else(
    paper: tuple[int, int, int], tmp_path: Path
) -> None:
    pixels = np.full((600, 800, 3), paper, np.uint8)
    pixels[100:250, 100:700], pixels[250:500, 100:300] = (60, 120, 90), (170, 60, 50)
    pixels[250:500, 500:700], pixels[400:500, 300:500] = (200, 150, 60), (60, 60, 140)  # round paper, 250:400, 300:500
    pixels[130:220, 150:260] = paper  # within one area, as the white of an eye
    pixels[150:200, 400:600] = (250, 120, 20)
    drawing = read(Image.fromarray(pixels), tmp_path)
    told = [(a.bbox, h.flag) for a in drawing.areas for h in a.hints if h.flag == "paper"]
    assert told == [((300.0, 250.0, 500.0, 400.0), "paper")]
