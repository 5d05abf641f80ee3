"""The sheet in a photograph: found where it is one, left alone where it is none, and read as the page itself."""

from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from benchmarks.sketches.draw import sketch
from benchmarks.sketches.photograph import Scene, photographed
from benchmarks.sketches.score import score
from benchmarks.sketches.tabletop import aslant
from benchmarks.sketches.truth import Sketch
from PIL import Image, ImageDraw

from finishplan.drawing import read_drawing
from finishplan.drawing.shadow import without_shadows
from finishplan.drawing.sheet import NOTE, find_sheet, straightened, true_size

pytestmark = pytest.mark.filterwarnings("ignore:Conversion from CIE-LAB")
LONGER = 800


@cache
def page(seed: int) -> Sketch:
    return sketch("line art", seed, LONGER)


def true_corners(photo: Sketch) -> np.ndarray:
    height, width = photo.regions.shape
    flat = np.array([[(0, 0), (width, 0), (width, height), (0, height)]], np.float32)
    assert photo.to_photo is not None
    corners: np.ndarray = cv2.perspectiveTransform(flat, photo.to_photo)[0]
    return corners


@pytest.mark.parametrize("seed", range(2))
def test_corners_lie_within_half_a_percent(seed: int) -> None:
    photo = photographed(page(seed), seed)
    found = find_sheet(photo.rgb)
    assert found is not None
    assert np.abs(found - true_corners(photo)).max() < 0.005 * max(photo.rgb.shape)


def test_a_corner_out_of_the_picture() -> None:
    photo = photographed(page(1), 3, Scene(cut=True))
    height, width = photo.rgb.shape[:2]
    true = true_corners(photo)
    out = (true < 0).any(1) | (true > [width, height]).any(1)
    found = find_sheet(photo.rgb)
    assert found is not None and 1 <= out.sum() <= 3
    assert np.abs(found - true)[~out].max() < 0.005 * max(photo.rgb.shape)


def test_a_straightened_sheet_is_the_page() -> None:
    photo = photographed(page(2), 2, Scene(noise=0))
    corners = true_corners(photo)
    flat = straightened(photo.rgb, corners)
    assert flat.shape[1::-1] == tuple(round(side) for side in true_size(corners, photo.rgb.shape[1::-1]))
    regions = photo.regions
    labels = cv2.resize(regions.astype(np.uint8), flat.shape[1::-1], interpolation=cv2.INTER_NEAREST)
    inside = cv2.erode((labels == 1).astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    assert flat[inside].std(0).max() < 12


@pytest.mark.parametrize("seed", range(6))
def test_a_page_seen_aslant_keeps_its_proportions(seed: int) -> None:
    """The true corners under a pinhole camera tilted by 10 to 40 degrees, for a page of any proportions and an A4."""
    rng, size = np.random.default_rng(seed), (900, 1200)
    for page in ((1000, 1000 * rng.uniform(0.6, 1.6)), (210, 297)):
        flat = np.array([[(0, 0), (page[0], 0), page, (0, page[1])]], np.float32)
        corners = cv2.perspectiveTransform(flat, aslant(rng, page, size))[0]
        width, height = true_size(corners, size)
        assert width / height == pytest.approx(page[0] / page[1], rel=0.03)


def test_a_photographed_page_reads_as_the_page(tmp_path: Path) -> None:
    photo = photographed(page(4), 4)
    photo.picture.save(tmp_path / "a.jpg", quality=85)
    drawing = read_drawing(tmp_path / "a.jpg")
    tally = score(photo, drawing)
    assert drawing.kind == "photo" and NOTE in drawing.notes
    assert drawing.sheet is not None
    assert drawing.size == tuple(round(side) for side in true_size(np.array(drawing.sheet), photo.rgb.shape[1::-1]))
    assert tally.recall == 1 and tally.areas > 0.8 and tally.pairs_found > 0.8


def card(outline: bool) -> np.ndarray:
    """A screen drawing of a card that lies on a table."""
    picture = Image.new("RGB", (900, 700), (120, 150, 170))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 500, 900, 700), fill=(90, 70, 60))
    draw.polygon([(120, 90), (780, 110), (760, 620), (100, 600)], (250, 247, 240), (30, 30, 30) if outline else None, 7)
    draw.ellipse((300, 220, 580, 470), fill=(200, 70, 50))
    return np.asarray(picture)


def noisy(rgb: np.ndarray, fall: float = 0.2) -> np.ndarray:
    """As a scanner or a lamp would have it, all over."""
    rng = np.random.default_rng(5)
    light = np.linspace(1, 1 - fall, rgb.shape[1])[None, :, None]
    return np.clip(rgb * light + rng.normal(scale=2, size=rgb.shape), 0, 255).astype(np.uint8)


def on_blue(seed: int) -> np.ndarray:
    drawn = page(seed)
    return np.where((drawn.regions > 0)[..., None], drawn.rgb, np.array([120, 160, 190])).astype(np.uint8)


@pytest.mark.parametrize(
    ("name", "rgb"),
    [
        ("a card drawn on a screen", card(outline=False)),
        ("a card with an outline", card(outline=True)),
        ("a scan of a card with an outline", noisy(card(outline=True), 0.0)),
        ("a scan of a drawing on white", noisy(page(3).rgb, 0.03)),
        ("a scan of a drawing on blue", noisy(on_blue(3))),
        ("a robot of boxes on blue", on_blue(2)),
        ("a photo without a table", photographed(page(5), 5, Scene(table=False)).rgb),
    ],
)
def test_what_is_no_sheet_is_left_alone(name: str, rgb: np.ndarray) -> None:
    assert find_sheet(rgb) is None, name


def test_a_white_sheet_on_a_white_desk_beside_a_black_mug() -> None:
    rng = np.random.default_rng(4)
    desk = np.full((900, 700, 3), 218.0)
    cv2.circle(desk, (640, 60), 70, (6, 6, 6), -1)
    corners = np.array([(120, 170), (560, 150), (600, 760), (90, 740)])
    cv2.fillConvexPoly(desk, corners, (241, 241, 241))
    cv2.circle(desk, (340, 450), 120, (120, 60, 40), -1)
    lit = desk * np.linspace(1, 0.9, 700)[None, :, None] + rng.normal(scale=1.5, size=desk.shape)
    found = find_sheet(np.clip(lit, 0, 255).astype(np.uint8))
    assert found is not None and np.abs(found - corners).max() < 5


def test_a_soft_shadow_is_lit_and_grey_paint_is_not() -> None:
    """A band of shade over the paper, of 30 %, and a painted grey disc of the same tone beside it."""
    share = 1 / (1 + np.exp(-(np.arange(600) - 400) / 8.0))
    rgb = np.full((400, 600, 3), 255.0) * (1 - 0.3 * share[None, :, None])
    y, x = np.ogrid[:400, :600]
    disc = (x - 180) ** 2 + (y - 200) ** 2 < 70**2
    rgb[disc] = 178
    lit = without_shadows(rgb.astype(np.uint8))
    assert lit[~disc].min() > 244
    inside = (x - 180) ** 2 + (y - 200) ** 2 < 60**2
    assert np.abs(lit[inside].astype(int) - 178).max() < 8
