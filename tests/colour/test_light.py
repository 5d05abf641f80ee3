"""Spectra, screen colours and CIEDE2000 against published tables and reference libraries."""

import csv
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000

from finishplan.basics.errors import InputError
from finishplan.colour.light import (
    WAVELENGTHS_NM,
    delta_e,
    hex_from_lab,
    lab,
    lab_from_hex,
    lab_from_rgb8,
    lab_from_xyz,
    parse_colour,
    rough_delta_e,
    weights,
    white_xyz,
    xyz,
    xyz_from_lab,
)

REFERENCE = Path(__file__).parents[1] / "reference"


def test_ciede2000_of_sharma_wu_dalal() -> None:
    """G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30(1), 21-30 (2005), table 1, to the last printed digit."""
    lines = (REFERENCE / "ciede2000-pairs.csv").read_text().splitlines()
    rows = np.array([row[:7] for row in csv.reader(lines[3:])], dtype=float)
    assert len(rows) == 34
    np.testing.assert_allclose(delta_e(rows[:, :3], rows[:, 3:6]), rows[:, 6], atol=0.5e-4)
    np.testing.assert_allclose(delta_e(rows[:, 3:6], rows[:, :3]), rows[:, 6], atol=0.5e-4)


def test_ciede2000_is_scikit_images() -> None:
    """Half a million pairs each of near colours, of distant ones, and of a colour and its grey."""
    draw = np.random.default_rng(1)
    low, high = (0, -120, -120), (100, 120, 120)
    one = draw.uniform(low, high, (500_000, 3))
    near, far = one + draw.normal(0, 3, one.shape), draw.uniform(low, high, one.shape)
    for other in (near, far, one * (1, 0, 0)):
        np.testing.assert_allclose(delta_e(one, other), deltaE_ciede2000(one, other), atol=1e-10)
    assert delta_e(one[:5, None], far[None, :7]).shape == (5, 7)
    assert delta_e(one[0], one[0]) == 0


@pytest.mark.parametrize("illuminant", ["D65", "A"])
@pytest.mark.parametrize("chart", ["BabelColor Average", "ISO 17321-1"])
def test_colorchecker_spectra(chart: str, illuminant: str) -> None:
    """L*a*b* of the 24 patches from their measured spectra, by colour-science's implementation of ASTM E308."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS[illuminant]

    def reference(R: np.ndarray) -> np.ndarray:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return colour.sd_to_XYZ(colour.SpectralDistribution(R, WAVELENGTHS_NM), cmfs, light, method="ASTM E308")

    white = colour.XYZ_to_xy(reference(np.ones(31)))
    spectra = [np.array([sd[float(w)] for w in WAVELENGTHS_NM]) for sd in colour.SDS_COLOURCHECKERS[chart].values()]
    expected = np.array([colour.XYZ_to_Lab(reference(R) / 100, white) for R in spectra])
    assert len(spectra) == 24
    np.testing.assert_allclose(lab(np.array(spectra), illuminant), expected, atol=0.05)


def test_white_points() -> None:
    """CIE 15:2004, table T.3: D65 95.04 100 108.88, A 109.85 100 35.58; 10 nm steps cost up to 0.11."""
    np.testing.assert_allclose(white_xyz("D65"), [95.04, 100, 108.88], atol=0.11)
    np.testing.assert_allclose(white_xyz("A"), [109.85, 100, 35.58], atol=0.11)
    np.testing.assert_allclose(xyz(np.ones((2, 5, 31)))[..., 1], 100, rtol=1e-12)
    assert weights("D65").shape == (31, 3)


def test_srgb_against_colormath() -> None:
    """Screen colours to L*a*b*, by colormath's own conversion (D65, 2 degrees)."""
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, sRGBColor

    for text in ("#c8742a", "#2a7f7a", "#f5ead0", "#1a1a40", "#ff0000", "#00ff00", "#0000ff", "#777777"):
        expected = convert_color(sRGBColor.new_from_rgb_hex(text), LabColor, target_illuminant="d65").get_value_tuple()
        assert float(delta_e(lab_from_hex(text), expected)) < 0.05


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_hex_round_trip(rgb: tuple[int, int, int]) -> None:
    text = "#" + bytes(rgb).hex()
    assert hex_from_lab(lab_from_hex(text)) == text


def test_neutrals_have_no_chroma() -> None:
    grey = lab_from_rgb8(np.arange(256)[:, None] * np.ones(3, int))
    np.testing.assert_allclose(grey[:, 1:], 0, atol=1e-9)
    assert grey[255].tolist() == pytest.approx([100, 0, 0], abs=1e-9)


@given(st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100)))
def test_xyz_round_trip(colour: tuple[float, float, float]) -> None:
    from finishplan.colour.light import lab_from_xyz

    np.testing.assert_allclose(lab_from_xyz(xyz_from_lab(colour)), colour, atol=1e-6)


def test_written_colours() -> None:
    assert parse_colour("#C8742A")[1:] == ("#c8742a", True)
    assert parse_colour("lab(60 20 40)")[0] == (60, 20, 40)
    assert parse_colour(" LAB( 60, 20, -40 ) ")[0] == (60, 20, -40)
    assert parse_colour("#abc")[1] == "#aabbcc"


@pytest.mark.parametrize(
    "text", ["", "red", "#12345", "#gggggg", "lab(1 2)", "lab(nan 0 0)", "lab(101 0 0)", "lab(a b c)"]
)
def test_wrong_colours(text: str) -> None:
    with pytest.raises(InputError):
        parse_colour(text)


def test_rough_differences_are_right_to_a_thousandth() -> None:
    rng = np.random.default_rng(5)
    one, other = (rng.random((2, 20_000, 3)) * [100, 160, 160] - [0, 80, 80]).astype(np.float32)
    assert rough_delta_e(one, other).dtype == np.float32
    np.testing.assert_allclose(rough_delta_e(one, other), delta_e(one, other), atol=1e-3)


@pytest.mark.parametrize("share", [0.002, 0.006, 0.0088])
def test_near_black_lightness_is_linear(share: float) -> None:
    """CIE 015:2018: up to Y/Yn = 216/24389 L* is 24389/27 of it; above the cube root: 1 % is L* 8.99."""
    assert lab_from_xyz(share * white_xyz())[0] == pytest.approx(24389 / 27 * share)
    assert lab_from_xyz(0.01 * white_xyz())[0] == pytest.approx(8.991, abs=0.001)
