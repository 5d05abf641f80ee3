"""Shapes whose measures are known, the kind of picture, the coordinates of colour, the exports, the examples."""

import csv
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.colour.lab import Lab
from finishplan.drawing import measure, read_drawing
from finishplan.drawing.export import drawing_json, palette_css, palette_csv, palette_gpl
from finishplan.drawing.model import Hint
from finishplan.drawing.paper import PaperField, from_linear, to_linear
from finishplan.drawing.tones import din99

from .generator import DEGRADED, difference, draw

pytestmark = pytest.mark.filterwarnings("ignore:Conversion from CIE-LAB")
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NEWT = (
    *("#e2a829", "#a9701f", "#2b9a94", "#6cc0a8", "#f8e6b4", "#ee7b2d", "#bf2f38", "#573524"),
    *("#a4566b", "#dd8f92", "#ffffff", "#17131a", "#b3924c", "#fff09a", "#93a366", "#5d7a3c"),
)


def mask(draw_shape: str, *at: object, size: tuple[int, int] = (400, 300), **options: object) -> np.ndarray:
    image = Image.new("L", size)
    getattr(ImageDraw.Draw(image), draw_shape)(*at, fill=1, **options)
    return np.asarray(image).astype(np.int32)


def test_widths_and_label_point_of_a_bar_and_a_disc() -> None:
    bar = measure.sizes(mask("rectangle", (50, 100, 349, 140)), 1)
    assert bar.wide[1] == pytest.approx(41, abs=1) and bar.narrow[1] == pytest.approx(41, abs=2)
    assert 100 < bar.label_xy[1, 1] < 140
    disc = measure.sizes(mask("ellipse", (100, 50, 300, 250)), 1)
    assert disc.wide[1] == pytest.approx(201, abs=3)
    assert disc.label_xy[1] == pytest.approx((200, 150), abs=2)


def test_narrow_is_the_neck_of_what_is_not_all_wide() -> None:
    shape = mask("rectangle", (20, 50, 139, 249)) | mask("rectangle", (140, 140, 379, 159))
    size = measure.sizes(shape, 1)
    assert size.wide[1] == pytest.approx(120, abs=3)
    assert size.narrow[1] == pytest.approx(20, abs=2)


@pytest.mark.parametrize("degrees", [0, 10, 30, 45, 60, 80, 90])
def test_length_of_a_straight_border_at_any_slope(degrees: int) -> None:
    y, x = np.mgrid[-150:150, -150:150]
    angle = np.deg2rad(degrees)
    inside = x**2 + y**2 <= 140**2
    labels = np.where(inside, np.where(x * np.sin(angle) - y * np.cos(angle) > 0, 1, 2), 0).astype(np.int32)
    found = measure.lengths(labels, 2)
    assert found.length[1, 2] == pytest.approx(280, rel=0.06)
    assert measure.straightness(found.points[1, 2], found.length[1, 2]) > 0.93


def test_length_of_a_circle_and_its_straightness() -> None:
    labels = np.where(mask("ellipse", (100, 50, 300, 250)), 1, 2).astype(np.int32)
    found = measure.lengths(labels, 2)
    assert found.length[1, 2] == pytest.approx(np.pi * 201, rel=0.02)
    assert measure.straightness(found.points[1, 2], found.length[1, 2]) == pytest.approx(1 / np.pi, rel=0.05)


def test_enclosers_of_nested_areas() -> None:
    """Face 1 holds eye white 2, which holds iris 3 and, beside it, glint 4, which touches both; hood 5 is outside."""
    touching = {1: {2, 5}, 2: {1, 3, 4}, 3: {2, 4}, 4: {2, 3}, 5: {1}}
    assert measure.enclosers(touching, {5}) == {1: 5, 2: 1, 3: 2, 4: 2}
    assert measure.enclosers(touching, {1, 5}) == {2: 1, 3: 2, 4: 2}


def hints(lab: Lab, longer: float, around: Lab, encloses: bool = False) -> tuple[Hint, ...]:
    """Of an area in another, 13 pixels to a millimetre."""
    return measure.recess_or_dot(measure.Enclosed(lab, longer, around, 1, encloses), 13)


def test_recess_and_dot_are_only_suggested_inside_something_lighter() -> None:
    face, mouth, black = (60.0, -30.0, 10.0), (45.0, 45.0, 20.0), (8.0, 0.0, 0.0)
    assert hints(mouth, 90, face)[0].flag == "recess"
    assert hints(black, 90, face)[0].flag == "recess"
    assert hints(black, 10, face)[0].flag == "dot"
    assert hints(black, 50, face) == ()
    assert hints(black, 90, face, True) == ()
    assert hints(black, 10, face, True) == ()
    assert hints(mouth, 90, face, True)[0].flag == "recess"
    assert hints(face, 90, black) == ()
    assert hints((80.0, 0.0, 60.0), 90, face) == ()


def test_din99b_against_colour_science() -> None:
    """Cui and others (2002), table 1, as colour-science implements it."""
    from colour.models import Lab_to_DIN99

    lab = np.random.default_rng(4).uniform([1, -90, -90], [99, 90, 90], (200, 3))
    assert din99(lab) == pytest.approx(np.asarray(Lab_to_DIN99(lab, method="DIN99b")), abs=1e-6)


def test_srgb_curve_against_colour_science() -> None:
    from colour.models import eotf_inverse_sRGB, eotf_sRGB

    values = np.arange(256.0)
    assert to_linear(values) == pytest.approx(eotf_sRGB(values / 255), abs=1e-9)
    assert from_linear(np.linspace(0, 1, 99)) == pytest.approx(255 * eotf_inverse_sRGB(np.linspace(0, 1, 99)), abs=1e-9)


def test_light_on_the_paper_is_found_and_divided_out() -> None:
    y, x = np.mgrid[:300, :400] / 300
    light = np.stack([0.9 - 0.2 * x, 0.85 - 0.2 * x + 0.05 * y, 0.7 - 0.15 * x], -1)
    rgb = np.rint(from_linear(light)).astype(np.uint8)
    rgb[80:220, 100:300] = np.rint(from_linear(light[80:220, 100:300] * (0.5, 0.2, 0.1))).astype(np.uint8)
    field = PaperField.fit(rgb)
    assert field is not None and field.unevenness == pytest.approx(0.3, abs=0.05)
    even = field.divide(rgb)
    assert even[:60].min() >= 252
    assert difference(even[150, 110:290:20], np.rint(from_linear(np.array([[0.5, 0.2, 0.1]])))).max() < 1.0


@pytest.mark.parametrize(("kind", "expected"), [("scan", "scan"), ("photo", "photo"), ("marker", "flat")])
def test_the_kind_of_picture_is_told(kind: str, expected: str, tmp_path: Path) -> None:
    drawn = DEGRADED[kind](draw(21, (600, 450)), 21)
    drawn.picture.save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    assert drawing.kind == expected
    if expected != "flat":
        assert any("brought to white" in note for note in drawing.notes)
        untouched = read_drawing(tmp_path / "a.png", paper_white="off")
        assert any("left as it is" in note for note in untouched.notes)
        lightest = [max(c.lab[0] for c in d.palette) for d in (untouched, drawing)]
        assert lightest[0] < lightest[1]


@pytest.mark.parametrize(
    ("name", "kind", "limit"),
    [("newt.png", "flat", 0.5), ("newt-scan.jpg", "scan", 5.5), ("newt-photo.jpg", "photo", 5.5)],
)
def test_the_lamplighter_newt(name: str, kind: str, limit: float) -> None:
    """Its sixteen colours are those that examples/draw_newt.py paints with; it is drawn in four pieces."""
    drawing = read_drawing(EXAMPLES / name, height_mm=60)
    assert drawing.kind == kind
    assert len(drawing.parts) == 4
    listed = np.array([list(bytes.fromhex(c.hex[1:])) for c in drawing.palette])
    true = np.array([list(bytes.fromhex(c[1:])) for c in NEWT])
    assert len(drawing.palette) == len(NEWT)
    gaps = difference(true, listed).min(1)
    # ink and black come out lighter than drawn, as on real scans: nothing tells how dark they were
    assert (gaps[true.sum(1) > 100] <= limit).all() and gaps.max() < 10
    flags = {h.flag for a in drawing.areas for h in a.hints}
    assert {"recess", "dot"} <= flags


def test_palette_in_open_formats_and_the_reading_as_json(tmp_path: Path) -> None:
    draw(21, (400, 300)).picture.save(tmp_path / "my drawing.png")
    drawing = read_drawing(tmp_path / "my drawing.png")
    gpl = palette_gpl(drawing).splitlines()
    assert gpl[0] == "GIMP Palette" and gpl[1] == "Name: my drawing.png"
    rows = gpl[4:]
    assert len(rows) == len(drawing.palette)
    for row, colour in zip(rows, drawing.palette, strict=True):
        assert bytes(int(v) for v in row.split("\t")[0].split()).hex() == colour.hex[1:]
    css = re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6});", palette_css(drawing))
    assert [value for _, value in css] == [c.hex for c in drawing.palette]
    assert len({name for name, _ in css}) == len(css)
    table = list(csv.DictReader(io.StringIO(palette_csv(drawing))))
    assert [row["hex"] for row in table] == [c.hex for c in drawing.palette]
    assert sum(float(row["share"]) for row in table) == pytest.approx(1, abs=1e-4)
    data = json.loads(json.dumps(drawing_json(drawing)))
    assert {"kind", "palette", "ink", "paper", "areas", "edges", "parts", "notes"} <= data.keys()
    assert {"areas", "length_px", "soft"} <= data["edges"][0].keys()
    assert [a["id"] for a in data["areas"]] == [a.id for a in drawing.areas]
