"""What of a picture is looked at and how it becomes areas, just on either side of each rule: small drawings read whole.

Bounds are our rules (see beside each constant).
"""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.load import Loaded, load
from finishplan.drawing.model import Drawing
from finishplan.drawing.settings import ReadSettings
from finishplan.drawing.shades import toned_as
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import View, look

GREYS = tone_of(np.repeat(np.arange(256)[:, None], 3, axis=1).astype(float))[:, 0]
GREEN, RED, BLUE = (60, 140, 80), (190, 60, 50), (60, 80, 170)
Box = tuple[int, int, int, int]


def sheet(*rows: tuple[Box, tuple[int, int, int]], side: tuple[int, int] = (200, 200)) -> np.ndarray:
    """White paper with boxes (left, top, right, bottom) of those colours, later ones over earlier ones."""
    rgb = np.full((side[1], side[0], 3), 255, np.uint8)
    for (left, top, right, low), colour in rows:
        rgb[top:low, left:right] = colour
    return rgb


def grained(rgb: np.ndarray, by: float = 1.5) -> np.ndarray:
    """As a scanner sees it."""
    return np.clip(rgb - 8 + np.random.default_rng(1).normal(0, by, rgb.shape), 0, 255).astype(np.uint8)


def grey(by: float, base: int = 140) -> tuple[int, int, int]:
    """The grey that lies so much DIN99b above a base."""
    level = int(np.abs(GREYS - GREYS[base] - by).argmin())
    return level, level, level


def read(folder: Path, rgb: np.ndarray, **options: object) -> Drawing:
    Image.fromarray(rgb).save(folder / "a.png", compress_level=1)
    return read_drawing(folder / "a.png", **options)


def seen(folder: Path, rgb: np.ndarray, **options: object) -> View:
    Image.fromarray(rgb).save(folder / "a.png", compress_level=1)
    return look(folder / "a.png", load(folder / "a.png"), ReadSettings(**options))  # type: ignore[arg-type]


# --- the window and the copy that is worked on


@pytest.mark.parametrize("left", range(48, 56))
def test_the_window_begins_at_whole_blocks_and_leaves_room(left: int, tmp_path: Path) -> None:
    """Of 8 pixels, as JPEG's (ISO/IEC 10918-1), and paper enough to judge it by."""
    x = seen(tmp_path, sheet(((left, 60, left + 60, 120), GREEN))).corner[0]
    assert x % 8 == 0 and left - 24 < x <= left - 16


@pytest.mark.parametrize(
    ("name", "side", "stray", "near"), [("small", 620, 0, True), ("large", 900, 0, False), ("with dirt", 620, 9, True)]
)
def test_a_small_figure_is_looked_at_closely(name: str, side: int, stray: int, near: bool, tmp_path: Path) -> None:
    """On a sheet of more pixels than are worked on; a speck of dirt in the corner is no part of it."""
    rgb = sheet(((50, 50, 50 + side, 50 + side), GREEN), ((90, 90, 300, 300), RED), side=(1300, 1000))
    rgb[970 : 970 + stray, 1270 : 1270 + stray] = BLUE
    view = seen(tmp_path, rgb)
    assert (view.picture.scale == 1) == near
    if near:
        assert 1.18 * side < view.longest < 1.3 * side


# --- colours that are seen


@pytest.mark.parametrize(("side", "colours"), [(4, 2), (5, 3)])
def test_quiet_pixels_that_make_a_colour(side: int, colours: int, tmp_path: Path) -> None:
    """Those inside a spot: four, or nine."""
    rgb = sheet(((30, 30, 170, 170), GREEN), ((90, 90, 90 + side, 90 + side), RED))
    assert len(seen(tmp_path, rgb).classes.rgb) == colours


@pytest.mark.parametrize(("side", "colours"), [((6, 5), 2), ((9, 8), 3)])
def test_quiet_pixels_that_make_a_colour_of_a_scan(side: tuple[int, int], colours: int, tmp_path: Path) -> None:
    """A ten-thousandth of the picture, of 400 x 400: grain makes more of no colour."""
    rgb = sheet(((30, 30, 370, 370), GREEN), ((90, 90, 90 + side[0], 90 + side[1]), RED), side=(400, 400))
    assert len(seen(tmp_path, rgb, kind="scan").classes.rgb) == colours


# --- from colours to areas


@pytest.mark.parametrize(("side", "areas"), [(4, 1), (8, 2)])
def test_specks_of_a_scan(side: int, areas: int, tmp_path: Path) -> None:
    rgb = grained(sheet(((30, 30, 170, 170), GREEN), ((90, 90, 90 + side, 90 + side), RED)))
    assert len(read(tmp_path, rgb).areas) == areas


@pytest.mark.parametrize(("wide", "areas"), [(12, 1), (30, 3)])
def test_a_tinge_as_narrow_as_compression_spreads_it(wide: int, areas: int, tmp_path: Path) -> None:
    """JPEG with halved colour spreads a hue over 16 pixels (ISO/IEC 10918-1); as light as what it lies on."""
    rgb = grained(sheet(((20, 20, 180, 180), (120, 130, 110)), ((90, 20, 90 + wide, 180), (130, 127, 110))))
    assert len(read(tmp_path, rgb).areas) == areas


@pytest.mark.parametrize(("flat", "read_"), [(0.1, False), (0.45, True)])
def test_a_figure_of_hardly_any_even_colour_is_none(flat: float, read_: bool, tmp_path: Path) -> None:
    rgb = sheet(((50, 50, 150, 150), GREEN))
    dots = (np.indices((50, 50)).sum(0) % 2).repeat(2, 0).repeat(2, 1)
    below = 50 + round(100 * flat)
    rgb[below:150, 50:150] = np.array([GREEN, RED], np.uint8)[dots[below - 50 :]]
    if read_:
        assert read(tmp_path, rgb).areas
        return
    with pytest.raises(InputError, match="no areas of even colour"):
        read(tmp_path, rgb)


@pytest.mark.parametrize(("bare", "told"), [(0.035, False), (0.08, True)])
def test_what_lies_on_the_background_of_a_parts_map(bare: float, told: bool, tmp_path: Path) -> None:
    right, side = 180 - round(160 * bare), (280, 280)
    parts = sheet(((20, 20, 100, 180), (200, 40, 40)), ((100, 20, right, 180), (40, 40, 200)), side=side)
    Image.fromarray(parts).save(tmp_path / "map.png")
    drawing = read(tmp_path, sheet(((20, 20, 180, 180), GREEN), side=side), parts_map=tmp_path / "map.png")
    assert any("background" in note for note in drawing.notes) == told


def modelled(share: float, apart: float, folder: Path) -> int:
    """Colours that two greys so far apart make, beside a green of which that share is shaded softly."""
    rgb = sheet(((20, 20, 80, 98), grey(0)), ((20, 102, 80, 180), grey(apart)), ((84, 20, 180, 180), GREEN))
    right, light = 84 + round(160 * share), np.linspace(1.35, 0.65, 160)[:, None]
    rgb[20:180, 84:right] = np.clip(np.array(GREEN) * light, 0, 255)[:, None].repeat(right - 84, 1)
    return sum(abs(c.lab[1]) + abs(c.lab[2]) < 2 for c in read(folder, rgb).palette)


@pytest.mark.parametrize(
    ("share", "apart", "colours"), [(0.2, 3.4, 2), (0.62, 3.4, 1), (0.62, 6.2, 1), (0.62, 12.0, 2)]
)
def test_a_soft_light_over_the_figure_is_on_every_area(
    share: float, apart: float, colours: int, tmp_path: Path
) -> None:
    """Where a third of it is shaded softly, two areas of one paint lie in more or less light."""
    assert modelled(share, apart, tmp_path) == colours


@pytest.mark.parametrize(("wide", "shade"), [(40, 1), (200, 2)])
def test_a_third_of_the_figure_is_shaded_or_it_is_not(wide: int, shade: int, tmp_path: Path) -> None:
    """Two greys beside a shaded green, and so much of an even blue."""
    rgb = sheet(
        *(((20, 20, 80, 98), grey(0)), ((20, 102, 80, 180), grey(3.4)), ((184, 20, 184 + wide, 180), BLUE)),
        side=(204 + wide, 200),
    )
    light = np.linspace(1.35, 0.65, 160)[:, None]
    rgb[20:180, 84:180] = np.clip(np.array(GREEN) * light, 0, 255)[:, None].repeat(96, 1)
    assert sum(abs(c.lab[1]) + abs(c.lab[2]) < 2 for c in read(tmp_path, rgb).palette) == shade


@pytest.mark.parametrize(("apart", "colours"), [(8.0, 1), (14.0, 2)])
def test_a_hand_presses_on_more_or_less(apart: float, colours: int, tmp_path: Path) -> None:
    """Two greys in strokes that vary by 9 steps: one pencil's, unless they are far apart."""
    rgb = sheet(((20, 20, 98, 180), grey(0)), ((102, 20, 180, 180), grey(apart))).astype(float)
    strokes = 9 * np.sin(2 * np.pi * np.mgrid[:200, :200][1] / 8)
    rgb += (strokes * (rgb[..., 0] < 250))[..., None]
    assert len(read(tmp_path, grained(np.clip(rgb, 0, 255))).palette) == colours


@pytest.mark.parametrize(("high", "areas"), [(4, 1), (6, 2)])
def test_a_strip_finer_than_the_grain_of_a_scan(high: int, areas: int, tmp_path: Path) -> None:
    rgb = sheet(((30, 30, 170, 170), GREEN), ((40, 90, 140, 90 + high), RED))
    assert len(read(tmp_path, rgb, kind="scan", lines="none").areas) == areas


@pytest.mark.parametrize(("fall", "white", "taken"), [(0.2, 255, True), (0.45, 255, True), (0.2, 225, False)])
def test_a_gap_in_less_light_is_still_paper(fall: float, white: int, taken: bool, tmp_path: Path) -> None:
    """The light falls off over the sheet, and the colours are taken as they are."""
    rgb = sheet(
        *(((20, 20, 150, 200), GREEN), ((150, 20, 240, 200), RED), ((135, 90, 165, 120), (white,) * 3)),
        side=(420, 220),
    )
    lit = rgb * (1 - fall * np.abs(np.mgrid[:220, :420][1] - 300) / 300)[..., None]
    drawing = read(tmp_path, grained(lit), kind="scan", paper_white="off")
    assert any("taken for gaps" in note for note in drawing.notes) == taken


@pytest.mark.parametrize(("lined", "soft"), [(0.22, True), (0.45, False)])
def test_a_soft_border_with_a_line_over_part_of_it(lined: float, soft: bool, tmp_path: Path) -> None:
    share = np.clip((np.arange(180) - 90) / 20 + 0.5, 0, 1)
    rgb = sheet(((20, 20, 200, 200), GREEN), side=(220, 220))
    rgb[20:200, 20:200] = np.rint(np.array(GREEN) + share[:, None] * np.array([110, -60, 60]))[None]
    rgb[20 : 20 + round(180 * lined), 108:112] = 15
    rgb[20:24, 20:200] = rgb[196:200, 20:200] = rgb[20:200, 20:24] = rgb[20:200, 196:200] = 15
    assert [edge.soft for edge in read(tmp_path, rgb).edges] == [soft]


def test_a_picture_is_upright_unless_told() -> None:
    """Orientation 1 of Exif 2.32 (CIPA DC-008)."""
    rgb = np.random.default_rng(1).integers(0, 256, (20, 30, 3)).astype(np.uint8)
    assert np.array_equal(Loaded("a.png", (30, 20), 1.0, Image.fromarray(rgb)).rgb, rgb)


@pytest.mark.parametrize(("shaded", "found"), [(2, 0), (3, 1)])
def test_what_lies_in_shadow_altogether(shaded: int, found: int) -> None:
    """A region of the very tone that a larger base has as a shade, where three bases have one."""
    coats, shades = [(200, 60, 60), (60, 180, 70), (70, 80, 210)], [(140, 42, 42), (42, 126, 49), (49, 56, 147)]
    rgb = np.array([(0, 0, 0), *coats, *shades[:shaded], shades[0]], float)
    base = np.array([0, 1, 2, 3, *range(1, shaded + 1), 4 + shaded])
    labels = np.repeat(np.arange(1, len(base)), [90, 90, 90, *[30] * shaded, 20])[None]
    assert len(toned_as(labels, rgb, base).orphans(2.2)) == found


@pytest.mark.parametrize(("number", "told"), [(4, False), (6, True)])
def test_many_colours_on_hardly_any_of_a_scan_are_doubtful(number: int, told: bool, tmp_path: Path) -> None:
    """Each on three thousandths of the figure: shadow, grain or a table sooner than paint."""
    spots = [RED, BLUE, (230, 210, 60), (120, 60, 140), (240, 150, 160), (30, 30, 40)][:number]
    boxes = [((40 + 45 * k, 150, 57 + 45 * k, 167), colour) for k, colour in enumerate(spots)]
    rgb = sheet(((20, 20, 320, 320), GREEN), *boxes, side=(340, 340))
    notes = read(tmp_path, rgb, kind="scan", lines="none").notes
    assert any("colours lie on under" in note for note in notes) == told
