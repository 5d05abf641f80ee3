"""What lies on paper and is no part of the figure: flecks, a ruling, what lies along the edge, a paper's own colour."""

import cv2
import numpy as np
import pytest
from PIL import Image

from finishplan.drawing.load import Loaded
from finishplan.drawing.paper import prepare
from finishplan.drawing.sheet import find_sheet
from finishplan.drawing.stray import at_edge, calmed, rim, thin_and_dark, unruled

WHITE, BLUE = 250, (60, 90, 170)


def sheet(height: int = 300, width: int = 400) -> np.ndarray:
    return np.full((height, width, 3), WHITE, np.uint8)


def test_flecks_go_and_a_line_stays() -> None:
    """Bare flecks of two pixels over a twentieth of a dark fill, a line of three pixels across it and the paper."""
    rng, rgb = np.random.default_rng(1), sheet()
    cv2.rectangle(rgb, (60, 60), (340, 240), BLUE, -1)
    for y, x in zip(rng.integers(70, 228, 500), rng.integers(70, 328, 500), strict=True):
        rgb[y : y + 2, x : x + 2] = WHITE
    assert (rgb[70:230, 70:330] == WHITE).all(2).mean() > 0.04
    cv2.line(rgb, (20, 150), (380, 150), (10, 10, 10), 3)
    quiet = calmed(rgb, 4.0)
    assert (quiet[70:140, 70:330] == BLUE).all(2).mean() > 0.99
    assert (quiet[150, 20:380] < 30).all()
    assert (quiet[80:140, 60:62] == BLUE).all() and (quiet[80:140, 56:58] == WHITE).all()


def test_a_line_is_thin_and_dark_and_a_dark_fill_is_not() -> None:
    rgb = sheet()
    cv2.rectangle(rgb, (60, 60), (200, 240), (40, 40, 60), -1)
    cv2.line(rgb, (230, 40), (380, 260), (40, 40, 60), 4)
    dark = thin_and_dark(rgb, 11)
    assert not dark[60:241, 60:201].any() and dark[150, 290:320].any()
    filled = (rgb[..., 0] == 40) & (np.arange(400) < 210)
    assert rim(filled, 4)[150, 60:64].all() and not rim(filled, 4)[150, 66:195].any()


@pytest.mark.parametrize("squared", [True, False])
def test_a_ruling_is_no_paint(squared: bool) -> None:
    rgb = sheet()
    for at in range(7, 300, 24):
        rgb[at : at + 2] = (196, 214, 238)
    for at in range(7, 400, 24) if squared else ():
        rgb[:, at : at + 2] = (196, 214, 238)
    cv2.circle(rgb, (200, 150), 60, BLUE, -1)
    cv2.circle(rgb, (200, 150), 60, (40, 40, 40), 3)
    plain = unruled(rgb)
    away = np.hypot(*np.mgrid[-150:150, -200:200])
    assert (plain[away > 75] == WHITE).mean() > 0.99
    assert (plain[away < 50] == BLUE).all() and (plain[(away > 59) & (away < 60)] < 60).all()


def test_pale_lines_of_a_figure_are_no_ruling() -> None:
    rgb = sheet()
    cv2.circle(rgb, (200, 150), 80, (200, 210, 230), 2)
    assert unruled(rgb) is rgb


def test_a_finger_at_the_edge_is_left_out_and_a_figure_cut_off_there_is_not() -> None:
    ground = np.ones((300, 400), bool)
    ground[100:220, 140:260] = False
    figure = ~ground
    finger = np.zeros_like(ground)
    finger[130:160, 350:400] = True
    corner = np.zeros_like(ground)
    corner[:12, :12] = True
    stray = at_edge(ground & ~finger & ~corner)
    assert stray[finger | corner].all() and not stray[figure].any()
    cut_off = np.ones((300, 400), bool)
    cut_off[120:300, 100:300] = False
    assert not at_edge(cut_off).any()


PAPER_WHITE = 249
"""Code value of 95 % of the light (IEC 61966-2-1): what paper sends back."""


def test_brown_paper_keeps_its_colour_and_cream_is_brought_to_white() -> None:
    """Under a light that falls off by a third: on brown paper all is as it was where the light fell."""
    rng, fall = np.random.default_rng(2), np.linspace(1, 0.66, 400)[None, :, None] ** (1 / 2.2)
    for paper, kept in (((196, 165, 125), True), ((250, 240, 215), False)):
        rgb = np.full((300, 400, 3), paper, float)
        rgb[100:200, 120:280] = (70, 90, 150)
        lit = np.clip(rgb * fall + rng.normal(scale=2, size=rgb.shape), 0, 255).astype(np.uint8)
        picture = prepare(Loaded("a.jpg", (400, 300), 1.0, Image.fromarray(lit)))
        assert picture.kind == "photo"
        far = picture.own[20:80, 340:390].reshape(-1, 3).mean(0)
        assert np.abs(far - (paper if kept else PAPER_WHITE)).max() < 5
        painted = picture.own[110:190, 130:270].reshape(-1, 3).mean(0)
        assert not kept or np.abs(painted - (70, 90, 150)).max() < 8


@pytest.mark.parametrize("turn", [0.4, 1.2])
def test_a_sheet_on_a_striped_cloth(turn: float) -> None:
    rng, (y, x) = np.random.default_rng(3), np.mgrid[:600, :800]
    stripes = (np.sin((x * np.cos(turn) + y * np.sin(turn)) / 6) > 0)[..., None]
    table = np.where(stripes, (200, 190, 60), (40, 70, 40)).astype(np.float32)
    corners = np.array([(180, 90), (640, 130), (600, 520), (150, 470)])
    cv2.fillConvexPoly(table, corners, (240, 240, 236))
    cv2.circle(table, (400, 310), 90, (150, 60, 40), -1)
    photo = table * np.linspace(1, 0.85, 800)[None, :, None] + rng.normal(scale=2, size=table.shape)
    found = find_sheet(np.clip(photo, 0, 255).astype(np.uint8))
    assert found is not None and np.abs(found - corners).max() < 5
