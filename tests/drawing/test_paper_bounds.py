"""Paper, its light and what compression and hands leave on it, just on either side of each rule."""

import numpy as np
import pytest
from PIL import Image

from finishplan.drawing.load import Loaded
from finishplan.drawing.paper import PaperField, from_linear, prepare, ringing
from finishplan.drawing.regions import background
from finishplan.drawing.shadow import without_shadows

from .small_drawings import classes_of


def stepped(step: int, ripple_at: int) -> np.ndarray:
    """Rows of 200 with an edge at column 60, and a ripple of 3 steps so many columns beyond it."""
    row = np.full(120, 200, np.uint8)
    row[60:] -= np.uint8(step)
    row[60 + ripple_at] += 3
    return np.tile(row[None, :, None], (64, 1, 3))


@pytest.mark.parametrize(
    ("name", "step", "ripple_at", "told"),
    [
        ("beside a hard edge", 60, 6, True),
        ("in the blocks of 8 pixels that JPEG works in (ISO/IEC 10918-1)", 60, 7, True),
        ("in the soft rim that enlarging leaves", 60, 2, False),
        ("beside a step of a shading", 18, 6, False),
        ("beside an edge that is just one", 30, 6, True),
    ],
)
def test_ripples_that_compression_leaves(name: str, step: int, ripple_at: int, told: bool) -> None:
    assert (ringing(stepped(step, ripple_at)) > 0.05) == told


def whitened(rgb: np.ndarray) -> int:
    """The median of green over the picture once its paper is at white; 0 where no paper is found."""
    field = PaperField.fit(rgb)
    return 0 if field is None else int(np.median(field.divide(rgb)[..., 1]))


def sheet(level: int = 235, side: int = 320) -> np.ndarray:
    rgb = np.full((side, side, 3), level, np.uint8)
    rgb[120:200, 120:200] = (60, 120, 90)
    return rgb


def test_a_scanner_leaves_a_dark_rim() -> None:
    """Of one pixel in a hundred; what lies within is the paper."""
    rgb = sheet()
    rgb[:4], rgb[-4:], rgb[:, :4], rgb[:, -4:] = 30, 30, 30, 30
    assert whitened(rgb) >= 254


def test_ruled_paper_has_the_colour_between_its_lines() -> None:
    """Lines of two pixels, twelve apart."""
    rgb = sheet()
    rgb[:, ::12] = rgb[:, 1::12] = 30
    found = PaperField.fit(rgb)
    assert found is not None and found.hex == "#ebebeb"


@pytest.mark.parametrize(
    ("hollow", "slope", "shade", "side", "top"), [(0.0, 0.6, 0.7, 140, 0), (0.6, 0.3, 0.6, 180, 60)]
)
def test_a_pale_figure_that_runs_off_the_sheet(hollow: float, slope: float, shade: float, side: int, top: int) -> None:
    """The light is found though half of the rim is no paper."""
    y, x = np.mgrid[:240, :240] / 120 - 1
    rgb = from_linear(0.9 * np.exp(-hollow * (x**2 + y**2) - slope * x))[..., None].repeat(3, 2)
    rgb[top : top + side, :side] *= (shade, 0.98 * shade, shade)
    found = PaperField.fit(np.rint(rgb).astype(np.uint8))
    assert found is not None
    white = found.divide(np.rint(rgb).astype(np.uint8))
    assert np.abs(255.0 - white[:, side:, 1]).mean() < 4


def shaded(by: float, flecks: float = 0.0) -> np.ndarray:
    """A square whose lightness runs in waves of 12 pixels, with flecks of 4 steps on so many of its pixels."""
    x, rgb = np.mgrid[:240, :240][1], np.full((240, 240, 3), 255.0)
    rgb[30:210, 30:210] = (150 + by * np.sin(2 * np.pi * x / 12))[30:210, 30:210, None]
    flecked = np.random.default_rng(1).random((240, 240)) < flecks
    flecked[:30], flecked[210:], flecked[:, :30], flecked[:, 210:] = False, False, False, False
    return np.rint(rgb + 4 * flecked[..., None]).astype(np.uint8)


@pytest.mark.parametrize(("by", "flecks", "streaked"), [(2.0, 0.0, False), (6.0, 0.0, True), (2.0, 0.02, False)])
def test_soft_shading_made_on_a_screen_is_no_streak(by: float, flecks: float, streaked: bool) -> None:
    """It varies by a step or so and bends at few pixels: a marker's bands by more, chalk at most of them."""
    rgb = shaded(by, flecks)
    assert (prepare(Loaded("a.png", (240, 240), 1.0, Image.fromarray(rgb))).streaks > 0) == streaked


def test_the_rim_of_a_shadow_on_a_page() -> None:
    """A twentieth of the page wide it is a shadow's: the page is white again, and 43 % of the light came back."""
    x = np.mgrid[:640, :640][1]
    ramp = np.clip((x - 192) / 30, 0, 1) * np.clip((282 - x) / 30, 0, 1)
    rgb = np.rint(255 * np.exp(-0.45 * ramp / 2.2))[..., None].repeat(3, 2).astype(np.uint8)
    assert rgb.min() < 215 and without_shadows(rgb).min() > 245


@pytest.mark.parametrize(
    ("ground", "bit", "bare"), [(180, 180, True), (180, 183, True), (180, 187, False), (245, 245, False)]
)
def test_toned_paper_shows_through_the_figure(ground: int, bit: int, bare: bool) -> None:
    """White may be paint, and grey or brown of the ground's very colour is the ground."""
    cls, grey = np.zeros((120, 120), int), np.full((120, 120), ground)
    cls[30:90, 30:90], grey[30:90, 30:90] = 1, 90
    cls[50:70, 50:70], grey[50:70, 50:70] = 0, bit
    classes = classes_of(cls, ((70.0, 0.0, 0.0), (40.0, 20.0, 0.0)))
    rgb = grey[..., None].repeat(3, 2).astype(np.uint8)
    assert background(classes, rgb, None)[60, 60] == bare and background(classes, rgb, None)[5, 5]
