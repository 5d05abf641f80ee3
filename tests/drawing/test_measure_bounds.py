"""Sizes, colours and parts maps, just on either side of each rule: areas of a few hundred pixels."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from finishplan.drawing.contacts import contacts
from finishplan.drawing.gaps import Bare, gaps
from finishplan.drawing.linework import Lines
from finishplan.drawing.load import Loaded
from finishplan.drawing.measure import sizes
from finishplan.drawing.palette import Laid, region_colours
from finishplan.drawing.paper import from_linear, prepare, to_linear
from finishplan.drawing.parts_map import PartsMap, read_parts_map
from finishplan.drawing.soft_shades import soft_tones
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import Tuning, View

GREYS = tone_of(np.repeat(np.arange(256)[:, None], 3, axis=1).astype(float))[:, 0]


def narrow(labels: np.ndarray) -> float:
    return float(sizes(labels.astype(np.int32), 1).narrow[1])


@pytest.mark.parametrize(("long", "least", "most"), [(100, 8, 12), (25, 50, 62)])
def test_a_brush_fits_nine_tenths_of_an_area(long: int, least: float, most: float) -> None:
    """A square of 60 pixels with a tail of 10: the tail counts where it is more than a tenth of all."""
    labels = np.zeros((80, 200), int)
    labels[10:70, 10:70] = 1
    labels[35:45, 70 : 70 + long] = 1
    assert least <= narrow(labels) <= most


def test_a_bulge_makes_a_strip_no_wider() -> None:
    """18 pixels wide, a little narrower in one place, 22 in another."""
    labels = np.zeros((40, 400), int)
    labels[10:28, 10:390] = 1
    labels[8:30, 200:222] = 1
    labels[10:28, 10:52] = 0
    labels[14:24, 10:52] = 1
    assert 17 <= narrow(labels) <= 19.5


def counted(base: int, by: float, near: float) -> bool:
    """Whether a tone that much lighter counts for a region's colour, beside the base that has most of it."""
    rgb = np.full((20, 20, 3), base, np.uint8)
    rgb[:, 12:] = int(np.abs(GREYS - GREYS[base] - by).argmin())
    ones = np.ones((20, 20), int)
    return bool(region_colours(rgb, ones, ones > 0, 1, Laid(near))[1, 0] > base + 1)


@pytest.mark.parametrize(("way", "least", "most"), [((1.0, 1.0, 1.0), 0.02, 0.04), ((1.0, 0.2, 0.1), 0.0, 0.014)])
def test_flecks_of_paper_do_not_make_a_colour_paler(way: tuple[float, ...], least: float, most: float) -> None:
    """Light adds up (Grassmann's third law), so that flecks of white shift a colour towards it; streaks pressed on more
    or less, which all its light takes part in, do so to both sides alike."""
    paint = np.array([0.4, 0.08, 0.04])
    share = np.linspace(-0.05, 0.05, 400).reshape(20, 20)[..., None]
    rgb = np.rint(from_linear(paint + 0.05 * np.array(way) + share * np.array(way))).astype(np.uint8)
    ones = np.ones((20, 20), int)
    plain, fuller = (
        to_linear(region_colours(rgb, ones, ones > 0, 1, Laid(20.0, white))[1]) for white in (None, np.ones(3))
    )
    assert least < (plain - fuller).max() < most


def view(streaks: float) -> View:
    """Of a scan with so many streaks."""
    rgb = np.full((40, 60, 3), 240, np.uint8)
    picture = replace(prepare(Loaded("a.png", (60, 40), 1.0, Image.fromarray(rgb))), kind="scan", streaks=streaks)
    empty = np.zeros((40, 60), bool)
    rest = (None, empty, None, (), None, None, ())
    return View("a.png", (60, 40), (0.0, 0.0), 60, picture, Tuning.of(picture), *rest)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("streaks", "by", "same"), [(0.5, 2.4, True), (0.5, 4.6, False), (3.0, 6.0, True), (3.0, 12.0, False)]
)
def test_what_counts_for_a_colour_by_how_it_was_laid(streaks: float, by: float, same: bool) -> None:
    """A hand presses on more or less, so that one pencil's tones lie farther apart than a print's."""
    assert counted(124, by, view(streaks).laid.near) == same


def mapped(folder: Path, rgb: np.ndarray) -> PartsMap:
    """A parts map as a JPEG sees it (ISO/IEC 10918-1), hardly compressed; all but its white rim is figure."""
    Image.fromarray(rgb).save(folder / "map.jpg", quality=100, subsampling=0)
    figure = rgb.min(2) < 240
    return read_parts_map(folder / "map.jpg", rgb.shape[1::-1], (0, 0, 1, 1), figure, np.zeros(figure.shape, bool))


def blank() -> np.ndarray:
    rgb = np.full((200, 200, 3), 255, np.uint8)
    rgb[20:180, 20:180] = (40, 120, 70)
    return rgb


@pytest.mark.parametrize(("step", "parts"), [(9, 1), (18, 2)])
def test_a_flat_colour_moved_by_compression_is_one(step: int, parts: int, tmp_path: Path) -> None:
    rgb = blank()
    rgb[20:180, 100:180] += np.uint8(step)
    assert len([1 for colour, _ in mapped(tmp_path, rgb).named if colour < "#f0"]) == parts


@pytest.mark.parametrize(("wide", "parts"), [(7, 1), (12, 2)])
def test_a_strip_narrower_than_a_block_of_compression_is_no_part(wide: int, parts: int, tmp_path: Path) -> None:
    rgb = blank()
    rgb[30:170, 90 : 90 + wide] = (200, 40, 40)
    assert len([1 for colour, _ in mapped(tmp_path, rgb).named if colour < "#f0"]) == parts


@pytest.mark.parametrize(("off", "taken"), [(60, True), (100, False)])
def test_a_fine_stroke_over_a_map(off: int, taken: bool, tmp_path: Path) -> None:
    """Ripples of compression belong to the colour they lie in, what is drawn over it does not."""
    rgb = blank()
    rgb[30:170, 90:93, 0] += np.uint8(off)
    green = next(mask for colour, mask in mapped(tmp_path, rgb).named if colour < "#f0")
    assert green[100, 91] == taken


def soft_shares(grain: float) -> tuple[float, float]:
    """Shares of a ramp over 160 greys that are its dark and its light part, under grain of two pixels."""
    noise = np.random.default_rng(1).normal(0, grain, (120, 200)).repeat(2, 0).repeat(2, 1)[:120, :200]
    grey = np.clip(np.rint(np.linspace(60, 220, 200) + noise), 0, 255).astype(np.uint8)
    found, _ = soft_tones(np.ones((120, 200), np.int32), grey[..., None].repeat(3, 2), 3)
    return float((found == 2).mean()), float((found == 3).mean())


def test_a_fifth_of_a_shading_lies_beyond_its_deviation_on_either_side() -> None:
    """1/2 - 1/(2 sqrt 3) of even shading, 21 %; of grain as of chalk on rough paper not much is lost."""
    assert soft_shares(0.0) == pytest.approx((0.211, 0.211), abs=0.03)
    assert sum(soft_shares(40.0)) > 0.26


@pytest.mark.parametrize(("below", "gap"), [(2, True), (6, False)])
def test_white_between_areas_is_a_gap(below: int, gap: bool) -> None:
    """Of the paper's very colour: two steps of 255 from it are 0.6 DIN99b, six are 1.8."""
    labels = np.ones((60, 90), np.int32)
    labels[:, 45:], labels[26:36, 40:50], labels[:5] = 2, 3, 0
    own = np.array([(0, 0, 0), (60, 140, 80), (190, 60, 50), (255 - below,) * 3], float)
    rgb = own[labels].astype(np.uint8)
    met = contacts(labels, rgb, Lines(np.zeros(labels.shape, bool), 1.0, None))
    assert gaps(labels, own, met, Bare(tone_of(np.full(3, 255.0)))).tolist() == [False, False, False, gap]


def test_paper_in_shadow_is_darker_and_of_its_hue() -> None:
    paper = Bare(tone_of(np.full(3, 252.0)), spread=0.5, shaded=6.0)
    seen = np.array([(255, 255, 255), (236, 236, 236), (215, 215, 215), (250, 250, 225)], float)
    assert paper.holds(tone_of(seen)).tolist() == [True, True, False, False]


def soft_parts(dark: np.ndarray, below: float, above: float) -> int:
    """Shades of an area that lies so much DIN99b below and above a mid grey."""
    levels = [int(np.abs(GREYS - GREYS[140] - off).argmin()) for off in (-below, above)]
    grey = np.where(dark, *levels).astype(np.uint8)
    return len(soft_tones(np.ones(grey.shape, np.int32), grey[..., None].repeat(3, 2), 3)[1]) - 2


@pytest.mark.parametrize(("high", "shades"), [(72, 0), (180, 1)])
def test_a_shade_takes_a_part_of_its_area(high: int, shades: int) -> None:
    """Of 300 x 300 a strip of 30 x 72 is 2.4 %, one of 30 x 180 is 6."""
    dark = np.zeros((300, 300), bool)
    dark[60 : 60 + high, 100:130] = True
    assert soft_parts(dark, 30.0, 0.0) == shades


@pytest.mark.parametrize(("below", "shades"), [(3.6, 0), (6.0, 1)])
def test_a_shade_that_nobody_mixes(below: float, shades: int) -> None:
    """Nine twentieths of the area in a little less light than the rest."""
    dark = np.zeros((120, 200), bool)
    dark[:, :90] = True
    assert soft_parts(dark, below, below * 9 / 11) == shades


@pytest.mark.parametrize(("side", "shades"), [(18, 0), (28, 1)])
def test_a_square_worth_a_glaze(side: int, shades: int) -> None:
    """Of eight specks, 2.4 mm, even where it is a good part of a small area."""
    dark = np.zeros((60, 60), bool)
    dark[10 : 10 + side, 10 : 10 + side] = True
    assert soft_parts(dark, 30.0, 0.0) == shades
