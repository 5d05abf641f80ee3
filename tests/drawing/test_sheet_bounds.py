"""The sheet in a photograph, just on either side of each rule: grey pictures of 360 x 270 pixels.

Bounds are our rules (see beside each constant) unless a source is named.
"""

import cv2
import numpy as np
import pytest

from finishplan.drawing.sheet import find_sheet, proportion, true_size

Quad = list[tuple[float, float]]
Blob = tuple[float, float, float, float, float]
PAPER = -0.2


def box(left: float, top: float, right: float, low: float) -> Quad:
    return [(left, top), (right, top), (right, low), (left, low)]


def scene(
    quad: Quad,
    step: float = 0.5,
    slope: float = 0.1,
    *,
    blobs: tuple[Blob, ...] = (),
    frame: tuple[float, float] = (0.0, 1.0),
    shadow: tuple[float, float, float, float] = (0, 0, 1, 0),
    times: int = 1,
) -> np.ndarray:
    """A sheet on a table `step` darker; slope: how the light falls over the picture; blobs: left, top, width, height,
    light of what lies on it; frame: how much darker a line is drawn, and at how much of the sheet's size; shadow: x, y,
    reach and depth; times: how much larger the picture is."""
    k, w, h = 3 * times, 360 * times, 270 * times
    log = np.full((270 * k, 360 * k), PAPER - step, np.float32)
    corners = np.array(quad) * k
    cv2.fillConvexPoly(log, np.rint(corners).astype(np.int32), PAPER)
    inner = (corners - corners.mean(0)) * frame[1] + corners.mean(0)
    if frame[0]:
        cv2.polylines(log, [np.rint(inner).astype(np.int32)], True, PAPER - frame[0], 2 * k)
    for left, top, wide, high, light in blobs:
        log[round(top * k) : round((top + high) * k), round(left * k) : round((left + wide) * k)] = light
    log = cv2.resize(log, (w, h), interpolation=cv2.INTER_AREA) - slope * np.linspace(0, 1, w, dtype=np.float32)
    y, x = np.mgrid[:h, :w] / times
    log -= shadow[3] * np.exp(-((x - shadow[0]) ** 2 + (y - shadow[1]) ** 2) / (2 * shadow[2] ** 2))
    return np.clip(np.rint(255 * np.exp(log / 2.2)), 0, 255)[..., None].repeat(3, 2).astype(np.uint8)


def is_seen(quad: Quad, rgb: np.ndarray) -> bool:
    found = find_sheet(rgb)
    return found is not None and bool(np.abs(found - np.array(quad)).max() < 4)


TURNED = [(7.7, 50.8), (324.3, 24.6), (341.1, 227.6), (24.5, 253.9)]
TILTED = [(88.4, 37.2), (326.9, 99.8), (289.6, 242.0), (51.1, 179.5)]
PLAIN = box(60, 40, 300, 230)


def ring(light: float, wide: float = 9.0) -> tuple[Blob, ...]:
    """A bright desk, a shadow round the sheet of so many pixels, and the sheet of that light."""
    return (
        (0, 0, 360, 270, 0.0),
        (60 - wide, 40 - wide, 240 + 2 * wide, 190 + 2 * wide, -1.0),
        (60, 40, 240, 190, light),
    )


@pytest.mark.parametrize(
    ("name", "quad", "how", "seen"),
    [
        ("on a dark table, a little turned", TURNED, {"step": 2.76, "slope": 0.3}, True),
        (
            "sides that converge by 20 degrees",
            [(118.2, 24.8), (211.1, 12.5), (297.4, 237.9), (93.3, 264.8)],
            {"step": 1.2, "slope": 0.3},
            True,
        ),
        (
            "sides that converge by 36 degrees, seen steeply from near by",
            [(34.5, 49.7), (325.0, 26.5), (269.8, 225.9), (109.7, 243.4)],
            {"step": 1.2, "slope": 0.3},
            True,
        ),
        (
            "more than half of one side hidden",
            TILTED,
            {"step": 1.2, "slope": 0.05, "blobs": ((258.7, 121.3, 99, 99, -0.7), (284.5, 147.1, 48, 48, -2.0))},
            False,
        ),
        ("a fourth of one side hidden", TILTED, {"step": 1.2, "blobs": ((284.5, 147.1, 36, 36, -2.0),)}, True),
        (
            "a faint line drawn inside",
            [(32.0, 107.5), (260.1, 47.8), (294.3, 178.3), (66.1, 238.0)],
            {"step": 0.3, "slope": 0.3, "frame": (0.244, 0.94)},
            True,
        ),
        (
            "a hand's shadow over half of it",
            box(32, 39.5, 344.8, 243.9),
            {"step": 2.0, "slope": 0.3, "shadow": (97.6, 169.2, 99.3, 1.09)},
            True,
        ),
        (
            "hardly inside the picture",
            box(45.2, 3.8, 354.2, 238.7),
            {"step": 0.12, "slope": 0.3},
            True,
        ),
        ("half of it printed dark, to near the rim", PLAIN, {"blobs": ((65, 130, 230, 95, -1.0),)}, False),
        ("a corner of it", PLAIN, {"blobs": ((220, 180, 75, 45, -1.0),)}, True),
        ("in light that falls to a quarter", PLAIN, {"slope": 1.5}, True),
        ("somewhat darker than the desk, in a shadow's ring", PLAIN, {"blobs": ring(-0.25)}, True),
        ("much darker than the desk", PLAIN, {"blobs": ring(-0.5)}, False),
        ("with a thin dark line along its sides", PLAIN, {"step": 0.12, "frame": (0.5, 1.0)}, True),
        (
            "a line drawn well inside, on a dark table",
            [(56.0, 74.6), (272.5, 33.4), (299.6, 176.0), (83.1, 217.1)],
            {"step": 2.0, "slope": 0.3, "frame": (0.278, 0.9)},
            True,
        ),
        ("a corner out of the picture", [(60, 40), (372, 40), (345, 230), (60, 230)], {}, True),
        ("hardly a fourth of a side in it", [(60, 40), (410, 40), (345, 230), (60, 230)], {}, False),
    ],
)
def test_a_sheet_on_a_table(name: str, quad: Quad, how: dict[str, object], seen: bool) -> None:
    assert is_seen(quad, scene(quad, **how)) == seen  # type: ignore[arg-type]


def test_a_shadow_on_a_table_as_light_is_no_line_round_the_sheet() -> None:
    rgb = scene(PLAIN, step=0.0, times=4)
    sheet = np.zeros(rgb.shape[:2], np.float32)
    sheet[160:920, 240:1200] = 1
    shade = 1 - 0.5 * cv2.GaussianBlur(sheet, (0, 0), 10) * (1 - sheet)
    assert is_seen([(4 * x, 4 * y) for x, y in PLAIN], (rgb * shade[..., None]).astype(np.uint8))


def test_corners_are_measured_on_a_large_copy() -> None:
    """To a pixel and a half of 1440, a thousandth."""
    quad = [(61.3, 40.7), (300.1, 44.2), (297.7, 230.2), (58.2, 226.9)]
    found = find_sheet(scene(quad, times=4))
    assert found is not None and np.abs(found - 4 * np.array(quad)).max() < 1.5


def seen_from(focal: float, tilt: float, turn: float, ratio: float = 1.5) -> np.ndarray:
    """(4, 2) corners, from the middle of a picture whose longer side is 1, of a sheet of that ratio photographed with
    that focal length: tilted backwards and turned by so many degrees."""
    flat = np.array([(-ratio / 2, -0.5, 0), (ratio / 2, -0.5, 0), (ratio / 2, 0.5, 0), (-ratio / 2, 0.5, 0)])
    (ct, st), (cp, sp) = ((np.cos(a), np.sin(a)) for a in np.radians((turn, tilt)))
    round_axis = np.array([[ct, 0, st], [0, 1, 0], [-st, 0, ct]])
    back = np.array([[1, 0, 0], [0, cp, -sp], [0, sp, cp]])
    x, y, z = (flat @ round_axis.T @ back.T + [0, 0, 2.5 * focal]).T
    return focal * np.stack([x / z, y / z], 1)


@pytest.mark.parametrize("focal", [0.65, 1.0, 1.7])
def test_proportions_by_the_focal_length_that_the_sides_tell(focal: float) -> None:
    """Zhang and He (2007): exact where both pairs of sides converge."""
    assert proportion(seen_from(focal, 25, 20), 1.0) == pytest.approx(1.5, rel=1e-6)


def test_a_phone_looks_where_the_sides_do_not_tell() -> None:
    """One pair of sides parallel: 28 mm on 36 (common practice)."""
    assert proportion(seen_from(28 / 36, 30, 0), 1.0) == pytest.approx(1.5, rel=0.01)


def test_a_focal_length_that_no_camera_has_is_a_slip_of_the_corners() -> None:
    """0.4 of the longer side, 14 mm: the usual one is taken, by which such a sheet looks longer."""
    assert abs(proportion(seen_from(0.4, 25, 20), 1.0) / 1.5 - 1) > 0.02


@pytest.mark.parametrize(("ratio", "taken"), [(1.443, 2**0.5), (1.32, 11 / 8.5)])
def test_a_sheet_within_a_fortieth_of_a_series_is_one(ratio: float, taken: float) -> None:
    """ISO 216; ANSI/ASME Y14.1."""
    corners = np.array(box(300, 200, 300 + 1500 * ratio, 1700))
    w, h = true_size(corners, (3000, 2000))
    assert w / h == pytest.approx(taken, rel=1e-3)
