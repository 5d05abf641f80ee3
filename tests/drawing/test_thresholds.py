"""Rules of the reading bracketed: what lies just on either side of a bound, on arrays and pictures of a few pixels.

The bounds are our rules unless a source is named beside them or beside the constant.
"""

import struct
import zlib
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageDraw, ImageOps
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab

from finishplan.basics.errors import InputError
from finishplan.drawing import measure, read_drawing
from finishplan.drawing.cast import cast_light
from finishplan.drawing.contacts import shortest_edge, shortest_fold
from finishplan.drawing.details import InnerLine, inner_lines, stroke_note, told
from finishplan.drawing.linework import Lines, Sheet, faint_lines
from finishplan.drawing.load import Loaded, load, scale_for
from finishplan.drawing.model import Detail, Drawing
from finishplan.drawing.palette import group_colours, region_colours, shaded_colours
from finishplan.drawing.paper import is_even, prepare, streaks
from finishplan.drawing.parts import twins
from finishplan.drawing.parts_map import read_parts_map
from finishplan.drawing.registration import carried
from finishplan.drawing.shades import BARE, OUTLINED
from finishplan.drawing.shadow import bare, without_shadows
from finishplan.drawing.sheet import find_sheet, straightened, true_size
from finishplan.drawing.soft_shades import soft_tones
from finishplan.drawing.strokes import Stroke, parted
from finishplan.drawing.tones import Fineness, classify, tone_of
from finishplan.drawing.view import Tuning

INK = (20, 16, 18)


def picture(folder: Path, pixels: np.ndarray, **options: object) -> Drawing:
    Image.fromarray(pixels).save(folder / "a.png", compress_level=1)
    return read_drawing(folder / "a.png", **options)


def canvas(size: tuple[int, int] = (220, 220), paper: int = 255) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", size, (paper,) * 3)
    return image, ImageDraw.Draw(image)


# --- what an enclosed area suggests


def hint(longer: float, L: float = 20.0) -> str:
    """At 10 pixels to a millimetre, inside a light area."""
    found = measure.recess_or_dot(measure.Enclosed((L, 0.0, 0.0), longer, (80.0, 0.0, 0.0), 1), 10.0)
    return found[0].flag if found else ""


def test_dots_and_hollows() -> None:
    """A round 2 touches 2.2 mm at once (common practice): a dot is one or two touches."""
    assert [hint(v) for v in (16, 28, 33, 55, 64)] == ["dot", "dot", "", "", "recess"]
    assert [hint(90, L) for L in (22, 35, 41)] == ["recess", "recess", ""]


def test_widths_are_right_to_a_pixel_on_a_large_map() -> None:
    labels = np.zeros((700, 640), np.int32)
    for i, wide in enumerate((15, 17, 19, 21), 1):
        labels[100:600, 100 * i : 100 * i + wide] = i
    found = measure.sizes(labels, 4)
    assert found.wide[1:] == pytest.approx([15, 17, 19, 21], abs=0.6)


# --- strokes inside an area


def stroke(length: int, width: int) -> tuple[InnerLine, ...]:
    mask = np.zeros((60, 80), bool)
    mask[30 : 30 + width, 10 : 10 + length] = True
    rgb = np.full((60, 80, 3), 200, np.uint8)
    return inner_lines(np.ones((60, 80), np.int32), Lines(mask, float(width), np.array(INK)), rgb)


def test_what_is_long_enough_to_be_a_stroke() -> None:
    assert [len(stroke(v, 6)) for v in (14, 24)] == [0, 1]
    assert [len(stroke(v, 1)) for v in (9, 14)] == [0, 1]


def test_a_place_tells_the_stroke_that_lies_near() -> None:
    (one,) = stroke(40, 2)
    assert told((one,), [(20.0, 46.0)], 1000) == (one,) and told((one,), [(20.0, 56.0)], 1000) == ()


def test_strokes_in_four_areas_are_named_and_hatching_last() -> None:
    def strokes(area: int, number: int) -> list[Detail]:
        return [Detail(area, (10.0 * i, 5.0), 90.0 - 10 * area - i, 2.0, "#000000", True) for i in range(number)]

    (note,) = stroke_note((*strokes(1, 4), *strokes(2, 3), *(d for a in (3, 4, 5) for d in strokes(a, 1))), (100, 100))
    named = [int(part.split()[0].rstrip(",")) for part in note.split("in area ")[1:]]
    assert named == [2, 3, 4, 5] and "3 in area 2, the longest at [0, 0.05]" in note and "4 in 1 other area" in note


# --- borders


def test_how_long_a_border_must_be() -> None:
    """Areas that meet over a crossing of outlines only are no neighbours: about twice the width of thin ones, less than
    one of bold ones; without lines a corner of a few pixels."""
    none = np.zeros((4, 4), bool)
    assert (
        4 <= shortest_edge(Lines(none, 1.0, None), 1600) <= 7 and 2 <= shortest_edge(Lines(none, 0.5, None), 800) <= 4
    )
    assert 15 <= shortest_edge(Lines(none, 10.0, np.array(INK)), 1600) <= 25
    assert 36 <= shortest_fold(Lines(none, 60.0, np.array(INK))) <= 60


def test_widths_of_bold_outlines() -> None:
    """3.5 % of the picture is broader than any pen (our rule); told ones may be half as wide again."""
    sheet = Sheet(np.zeros((2, 2, 3), np.uint8), np.zeros((2, 2), bool), 3, 1600)
    assert [sheet.fits(v) for v in (5, 9, 30, 55, 68, 76)] == [False, True, True, True, True, False]
    by_word = replace(sheet, told=20.0)
    assert [by_word.fits(v) for v in (11, 14, 28, 34)] == [False, True, True, False]
    assert 11 <= sheet.widest <= 17


# --- colours


def greys(*levels: float) -> np.ndarray:
    return np.array([[v, v, v] for v in levels], float)


def grey_apart(base: int, by: float) -> int:
    """The grey level that lies `by` DIN99b above a base."""
    tones = tone_of(greys(*range(256)))[:, 0]
    return int(np.abs(tones - tones[base] - by).argmin())


def test_what_counts_for_the_colour_of_a_region() -> None:
    for by, counted in ((2.3, True), (4.5, False)):
        rgb = np.full((20, 20, 3), 120, np.uint8)
        rgb[:, 12:] = grey_apart(120, by)
        ones = np.ones((20, 20), int)
        colour = region_colours(rgb, ones, ones > 0, 1)[1, 0]
        assert (colour > 121) == counted


def test_the_colour_of_a_soft_shading_is_the_mean_without_its_gloss() -> None:
    """Judged by scikit-image's CIE Lab and CIEDE2000: a fill shaded by 12 L* either way, a third glossy."""
    laid = np.array([50.0, 45.0, 20.0])
    lab = np.tile(laid, (30, 90, 1))
    lab[..., 0] += np.linspace(-12, 12, 90)
    lab[:10] = lab[:10] * [1, 0.5, 0.5] + [12, 0, 0]
    rgb = np.rint(255 * lab2rgb(lab)).astype(np.uint8)
    ones = np.ones(rgb.shape[:2], int)
    got = [rgb2lab(f(rgb, ones, ones > 0, 1)[None, 1:] / 255)[0, 0] for f in (shaded_colours, region_colours)]
    off = deltaE_ciede2000(np.tile(laid, (2, 1)), np.array(got))
    assert off[0] < 2 < off[1]


def test_colours_that_nobody_tells_apart_are_one_though_more_were_asked_for() -> None:
    two = [len(set(group_colours(greys(120, grey_apart(120, by)), np.ones(2), 2.2, 2))) for by in (0.75, 1.5)]
    assert two == [1, 2]


def classes_of(*shares: tuple[tuple[int, int, int], int], faint: float = 0.0) -> tuple[int, np.ndarray]:
    """(how many colours were found, the class of each column) of columns of colours."""
    row = np.concatenate([np.tile(np.uint8([c]), (n, 1)) for c, n in shares])
    rgb = np.tile(row[None], (10, 1, 1))
    found = classify(rgb, np.ones(rgb.shape[:2], bool), Fineness(2.0, 4.5, 9, faint))
    return len(found.rgb), found.of_pixel[0]


def test_what_compression_made_of_a_colour_is_none() -> None:
    near = (grey_apart(120, 8.0),) * 3
    rare, frequent = (classes_of(((120,) * 3, 1000), (near, n), faint=12.0)[0] for n in (45, 90))
    assert (rare, frequent) == (1, 2)


def test_pixels_far_from_every_colour_belong_to_none() -> None:
    """Rims and specks: seen, but with no quiet place of their own."""
    for by, known in ((9.0, True), (15.0, False)):
        rgb = np.full((40, 40, 3), 120, np.uint8)
        rgb[20, 20] = grey_apart(120, by)
        quiet = np.ones((40, 40), bool)
        quiet[18:23, 18:23] = False
        found = classify(rgb, quiet, Fineness(2.0, 4.5, 9))
        assert (found.of_pixel[20, 20] != found.unsure) == known


# --- tones of a base


@pytest.mark.parametrize(
    ("likeness", "tone", "holds"),
    [
        ("outlined", (58.5, 38, 0), False),
        ("outlined", (57.5, 38, 0), True),
        ("outlined", (45, 11, 0), True),
        ("outlined", (45, 8, 0), False),
        ("outlined", (45, 36, 17), True),
        ("outlined", (45, 28, 28), False),
        ("outlined", (75, 1, 0), False),
        ("outlined", (75, 4, 0), True),
        ("bare", (57.6, 38, 0), False),
        ("bare", (56.5, 38, 0), True),
        ("bare", (50, 16, 0), False),
        ("bare", (50, 20, 0), True),
        ("bare", (50, 40, 7), True),
        ("bare", (50, 38, 13), False),
    ],
)
def test_how_far_a_shade_may_be_from_its_base(likeness: str, tone: tuple[float, float, float], holds: bool) -> None:
    """CIE Lab of tones of a base of L* 60, a* 40."""
    rule = {"outlined": OUTLINED, "bare": BARE}[likeness]
    assert rule.holds(np.array([tone], float), np.array([[60.0, 40, 0]]))[0] == holds


def test_a_tinge_that_says_nothing() -> None:
    grey = np.array([[60.0, 0, 0]])
    assert OUTLINED.holds(np.array([[50.0, 5, 0]]), grey)[0] and not OUTLINED.holds(np.array([[50.0, 7, 0]]), grey)[0]


# --- a shadow multiplied over the colours

BASES = np.array([[200.0, 60, 60], [60, 180, 70], [70, 80, 210], [220, 200, 60]])


def cast(light: float, number: int = 4, off: float = 0.0) -> bool:
    rgb = np.vstack([BASES[:number], BASES[:number] * light])
    for i in range(number):
        rgb[number + i, 1] += off * (i % 2)
    pairs = np.arange(number)
    return cast_light(rgb, pairs, pairs + number) is not None


def test_how_dark_a_cast_shadow_may_be() -> None:
    assert [cast(k) for k in (0.24, 0.36, 0.7, 0.89, 0.95)] == [False, True, True, True, False]


def test_three_colours_under_one_light_make_a_shadow() -> None:
    assert [cast(0.7, n) for n in (2, 3)] == [False, True]


def test_a_shade_with_a_tinge_of_its_own_lies_under_no_common_light() -> None:
    """Code values of green of every second shade off by so much: 3 DIN99b, and more than 8."""
    for by, same in ((8.0, True), (30.0, False)):
        rgb = np.vstack([BASES[1:], BASES[1:] * 0.7])
        rgb[[3, 4, 5], 1] += (by, 0.0, -by)
        assert (cast_light(rgb, np.arange(3), np.arange(3) + 3) is not None) == same


def test_a_channel_too_dark_says_nothing_of_the_light() -> None:
    for level, known in ((16.0, False), (30.0, True)):
        rgb = np.array([[200, level, 90], [90, 200, level], [level, 90, 200]])
        assert (cast_light(np.vstack([rgb, rgb * 0.7]), np.arange(3), np.arange(3) + 3) is not None) == known


# --- parts


def test_how_alike_twins_are() -> None:
    for other, twin in ((0.06, True), (0.2, False)):
        of_pixel, colour = np.zeros((80, 200), int), np.zeros((80, 200), int)
        of_pixel[8:72, 10:74], of_pixel[8:72, 110:174] = 1, 2
        colour[8 : 8 + round(64 * other), 110:174] = 1
        assert (twins(of_pixel, colour, 2)[1][0] == 1) == twin


def parts_in(folder: Path, image: Image.Image, figure: np.ndarray, name: str = "map.png", **how: object) -> list[str]:
    image.save(folder / name, **how)
    found = read_parts_map(folder / name, image.size, (0, 0, 1, 1), figure, np.zeros(figure.shape, bool))
    return [colour for colour, _ in found.named]


def test_a_colour_of_a_parts_map_has_a_thousandth_of_it(tmp_path: Path) -> None:
    for pixels, counted in ((28, False), (60, True)):
        image, pen = canvas((200, 200))
        pen.rectangle((20, 20, 180, 180), fill="#208040")
        pen.rectangle((60, 60, 60 + pixels // 4 - 1, 63), fill="#c02020")
        figure = np.asarray(image)[..., 0] < 250
        assert ("#c02020" in parts_in(tmp_path, image, figure)) == counted


def test_how_far_the_background_of_a_map_may_run_under_the_figure(tmp_path: Path) -> None:
    for inside, ground in ((0.07, True), (0.14, False)):
        image, pen = canvas((200, 200))
        pen.rectangle((0, 0, 100, 199), fill="#208040")
        pen.rectangle((100, 0, 150, 199), fill="#2040c0")
        figure = np.zeros((200, 200), bool)
        figure[:, : 151 + round(49 * inside)] = True
        figure[:5] = False
        image.paste("#208040", (0, 0, 101, 200))
        image.paste("#ffffff", (0, 0, 200, 3))
        said = parts_in(tmp_path, image, figure)
        assert ("#ffffff" not in said) == ground


@pytest.mark.parametrize("quality", [60, 90])
def test_a_parts_map_saved_as_jpeg(quality: int, tmp_path: Path) -> None:
    image, pen = canvas((240, 240))
    for i, colour in enumerate(("#c02020", "#c04828", "#2040c0", "#208040")):
        pen.rectangle((20 + 50 * i, 20, 69 + 50 * i, 220), fill=colour)
    pen.rectangle((30, 100, 60, 130), fill="#e0c020")
    figure = np.asarray(image).min(2) < 240
    assert len(parts_in(tmp_path, image, figure, "map.jpg", quality=quality)) == 5


# --- a stroke of the maker's that parts an area


def test_what_a_stroke_cuts_off(tmp_path: Path) -> None:
    image, pen = canvas((200, 200))
    pen.rectangle((50, 50, 150, 150), fill="#208040")
    drawing = picture(tmp_path, np.asarray(image))

    def cut(leg: float) -> int:
        return len(parted(drawing, [Stroke(((50 / 200, (50 + leg) / 200), ((50 + leg) / 200, 50 / 200)))]).areas)

    assert cut(8.0) == 2
    with pytest.raises(InputError, match="parts no area"):
        cut(2.6)


# --- the kind of picture, its paper and its light


def toned(range8: float, noise: float = 0.0, size: tuple[int, int] = (120, 160)) -> np.ndarray:
    rng = np.random.default_rng(1)
    x = np.mgrid[: size[0], : size[1]][1]
    light = 240 - range8 * x / size[1]
    rgb = np.repeat(light[..., None], 3, axis=2) + rng.normal(0, noise, (*size, 3)) * (noise > 0)
    rgb[40:80, 50:110] = (60, 120, 90)
    return np.clip(np.rint(rgb), 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("mixed", "drawn"), [(0.02, True), (0.12, False)])
def test_a_pale_figure_on_a_dark_ground_is_no_sheet_on_a_table(mixed: float, drawn: bool) -> None:
    """The ground of a photograph is of no one value; mixed: share of its pixels that are a step off."""
    rgb = np.full((200, 160, 3), 40, np.uint8)
    rgb[40:160, 40:120] = (248, 205, 202)
    rgb[80:120, 60:100] = (180, 165, 135)
    rgb[np.random.default_rng(0).random(rgb.shape[:2]) < mixed] += 1
    assert is_even(rgb) == drawn


def test_paper_of_flat_art_is_even() -> None:
    assert is_even(toned(2.2)) and not is_even(toned(6.0))


def loaded(rgb: np.ndarray) -> Loaded:
    return Loaded("a.png", rgb.shape[1::-1], 1.0, Image.fromarray(rgb))


def test_a_photograph_is_lit_less_evenly_than_a_scan() -> None:
    """Linear light: 240 to 233 is 6 % darker, to 224 it is 14 %."""
    assert prepare(loaded(toned(7.5, 3.0))).kind == "scan" and prepare(loaded(toned(18.0, 3.0))).kind == "photo"


def test_strokes_of_one_marker_leave_streaks_and_edges_do_not() -> None:
    for step, seen in ((34, True), (60, False)):
        rgb = np.full((400, 400, 3), 150, np.uint8)
        rgb[:, (np.arange(400) // 8) % 2 == 0] = 150 - step
        assert (streaks(rgb) > 5) == seen


def tuning(**how: object) -> Tuning:
    plain = prepare(loaded(toned(0.0)))
    return Tuning.of(replace(plain, **how))


def test_when_colours_are_told_apart_tightly() -> None:
    clean = tuning(noise=0.0, streaks=0.0, ringing=0.0)
    assert tuning(noise=0.3, streaks=0.4, ringing=0.09) == clean
    assert tuning(noise=0.6) != clean and tuning(streaks=1.5) != clean and tuning(ringing=0.2, streaks=0.0) != clean
    assert 8 < tuning(ringing=0.2).faint < 18 and clean.faint == 0


def logs(rgb: float | np.ndarray) -> np.ndarray:
    """(60, 60, 3) logarithms of light of bare paper at the rim, something else in the middle."""
    values = np.zeros((60, 60, 3), np.float32)
    values[20:40, 20:40] = rgb
    return values


def test_where_paper_ends_and_paint_begins() -> None:
    """From pixel to pixel: a shadow has soft edges, paint has hard ones."""
    for step, walked in ((0.04, True), (0.07, False)):
        ramp = np.cumsum(np.where((np.arange(60) > 20) & (np.arange(60) <= 26), -step, 0))
        values = np.repeat(np.tile(ramp[None], (60, 1))[..., None], 3, axis=2).astype(np.float32)
        values[:, 30:] = values[0, 29]
        values[[0, -1], 22:] = -0.5
        values[:, -1] = -0.5
        values[0, 22:], values[-1, 22:] = -0.6, -0.6
        assert bare(np.ascontiguousarray(values))[25:35, 40].all() == walked


def walk(level: float, tinge: float = 0.0) -> np.ndarray:
    """Paper at the rim that falls by small steps to `level` in the middle."""
    y, x = np.mgrid[:140, :140]
    inward = np.minimum.reduce([x, y, 139 - x, 139 - y]) / 60
    values = np.repeat((np.minimum(inward, 1) * level)[..., None], 3, axis=2)
    values[..., 0] += np.minimum(inward, 1) * tinge
    return bare(np.ascontiguousarray(values.astype(np.float32)))


def test_how_dark_and_how_tinged_a_shadow_may_be() -> None:
    assert walk(-0.9)[70, 70] and not walk(-1.15)[70, 70]
    assert walk(-0.4, 0.11)[70, 70] and not walk(-0.4, 0.18)[70, 70]


def test_a_rim_in_deep_shadow_is_no_place_to_begin() -> None:
    for level, begun in ((-0.28, True), (-0.42, False)):
        assert bare(np.full((40, 40, 3), level, np.float32)).any() == begun


def test_when_shadows_are_lit_up() -> None:
    y, x = np.mgrid[:120, :160]
    soft = np.exp(-(((x - 80) / 40.0) ** 2) - ((y - 60) / 40.0) ** 2)
    for deepest, lit in ((0.02, False), (0.5, True)):
        rgb = np.rint(255 * np.exp(-deepest / 2.2 * soft))[..., None].repeat(3, 2).astype(np.uint8)
        white = without_shadows(rgb)
        assert (white.min() > 250 and white.min() > rgb.min()) == lit
    for bare_share, done in ((0.06, False), (0.14, True)):
        rgb = np.full((120, 160, 3), 60, np.uint8)
        edge = round(160 * bare_share)
        rgb[:, :edge] = np.rint(255 * np.exp(-0.3 * np.linspace(0, 1, 120) ** 2))[:, None, None]
        assert (without_shadows(rgb) != rgb).any() == done


# --- a sheet on a table


def on_table(
    quad: list[tuple[float, float]], step: float = 0.5, slope: float = 0.1, frame: float = 0.0
) -> np.ndarray | None:
    """What is found of a sheet with those corners, in a picture of 360 x 270 pixels; step: of the logarithm of light
    from table to paper; slope: how it falls over the picture; frame: depth of a dark line drawn along the sides."""
    k = 4
    log = np.full((270 * k, 360 * k), -step - 0.2, np.float32)
    corners = np.rint(np.array(quad) * k).astype(np.int32)
    cv2.fillConvexPoly(log, corners, -0.2)
    if frame:
        cv2.polylines(log, [corners], True, -0.2 - frame, 2 * k)
    log = cv2.resize(log, (360, 270), interpolation=cv2.INTER_AREA)
    log -= slope * np.linspace(0, 1, 360, dtype=np.float32)
    rgb = np.rint(255 * np.exp(log / 2.2))[..., None].repeat(3, 2).astype(np.uint8)
    return find_sheet(rgb)


def box(left: float, top: float, right: float, low: float) -> list[tuple[float, float]]:
    return [(left, top), (right, top), (right, low), (left, low)]


PLAIN = box(60, 40, 300, 230)


@pytest.mark.parametrize(
    ("name", "quad", "how", "seen"),
    [
        ("plain", PLAIN, {}, True),
        ("step above the least", PLAIN, {"step": 0.14}, True),
        ("step below it", PLAIN, {"step": 0.06}, False),
        ("light as of any photograph", PLAIN, {"slope": 0.07}, True),
        ("light too even", PLAIN, {"slope": 0.035}, False),
        ("a fourth of the picture", box(100, 60, 270, 203), {}, True),
        ("less than a fifth", box(100, 60, 235, 185), {}, False),
        ("most of the picture", box(12, 10, 348, 262), {}, True),
        ("long", box(40, 60, 330, 195), {}, True),
        ("too long", box(20, 80, 345, 200), {}, False),
        ("aslant", [(90, 40), (310, 40), (270, 230), (50, 230)], {}, True),
        ("no rectangle", [(150, 40), (340, 40), (215, 230), (25, 230)], {}, False),
        ("a drawn frame", PLAIN, {"step": 0.12, "frame": 0.9}, False),
        ("the same, faint", PLAIN, {"step": 0.12, "frame": 0.2}, True),
    ],
)
def test_what_is_a_sheet(name: str, quad: list[tuple[float, float]], how: dict[str, float], seen: bool) -> None:
    found = on_table(quad, **how)
    assert (found is not None) == seen
    if found is not None:
        assert np.abs(found - np.array(quad)).max() < 4


@pytest.mark.parametrize(("ratio", "taken"), [(1.43, 2**0.5), (1.475, 1.475), (1.31, 11 / 8.5), (1.25, 1.25)])
def test_a_sheet_of_a_series(ratio: float, taken: float) -> None:
    """ISO 216: 1 to the root of 2; ANSI/ASME Y14.1: 8.5 x 11 in."""
    low, wide = 1500.0, 1500.0 * ratio
    corners = np.array(box(300, 200, 300 + wide, 200 + low))
    w, h = true_size(corners, (3000, 2000))
    assert w / h == pytest.approx(taken, rel=1e-3)


def test_the_rim_of_a_straightened_sheet_is_made_of_what_is_beside_it() -> None:
    """Of 1000 pixels 5 are frayed, 14 away something is drawn."""
    rgb = np.full((800, 1000, 3), 230, np.uint8)
    rgb[:6], rgb[-6:], rgb[:, :6], rgb[:, -6:] = 40, 40, 40, 40
    rgb[300:500, 14:20] = 90
    flat = straightened(rgb, np.array(box(0, 0, 1000, 800)))
    assert flat[:, 500].min() > 200 and flat[400, 15:19].max() < 120


# --- sizes


def test_working_copies() -> None:
    assert scale_for((1180, 750)) == 1 and scale_for((1400, 800)) < 0.95
    soft = Loaded("a", (1800, 980), 0.5, Image.new("L", (8, 8))).finer()
    assert soft.scale == 1 and Loaded("a", (2200, 1200), 0.5, Image.new("L", (8, 8))).finer().scale < 0.95


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_turned_photograph_is_read_upright(turn: int, tmp_path: Path) -> None:
    """Orientation and exposure time as Exif 2.32 (CIPA DC-008) numbers them, against Pillow's own turning."""
    rgb = np.random.default_rng(1).integers(0, 256, (20, 30, 3)).astype(np.uint8)
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = turn
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.ExposureTime] = 0.01
    Image.fromarray(rgb).save(tmp_path / "a.png", exif=exif)
    seen = load(tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        assert np.array_equal(seen.rgb, np.asarray(ImageOps.exif_transpose(image)))
    assert seen.camera


def test_pictures_up_to_a_hundred_megapixels(tmp_path: Path) -> None:
    """A PNG of one pixel that says it is larger."""
    Image.new("L", (1, 1)).save(tmp_path / "a.png")
    data = (tmp_path / "a.png").read_bytes()
    for side, large in ((7400, False), (10_200, True)):
        head = data[12:16] + struct.pack(">II", side, side) + data[24:29]
        (tmp_path / "a.png").write_bytes(data[:12] + head + struct.pack(">I", zlib.crc32(head)) + data[33:])
        with pytest.raises(InputError) as error:
            read_drawing(tmp_path / "a.png")
        assert ("megapixels" in str(error.value)) == large


def test_places_carried_by_what_lies_near() -> None:
    """Of two groups that moved apart a place goes with the one beside it; what goes its own way counts little."""
    left = np.array([0.1 + 0.1j, 0.2 + 0.1j, 0.1 + 0.2j, 0.2 + 0.2j])
    then = np.concatenate([left, left + 0.35])
    now = np.concatenate([left + 0.05, left + 0.35 + 0.1j])
    (place,) = carried(np.array([0.15 + 0.15j]), then, now)
    assert abs(place - (0.2 + 0.15j)) < 0.006
    astray = now.copy()
    astray[0] += 0.03j
    (place,) = carried(np.array([0.15 + 0.15j]), then[:4], astray[:4])
    assert abs(place - (0.2 + 0.15j)) < 0.004


# --- small drawings read whole


def test_one_colour_lines_alone_and_nothing(tmp_path: Path) -> None:
    for dark, said in ((38, "one colour all over"), (60, "no areas of even colour")):
        pixels = np.full((120, 120, 3), 255, np.uint8)
        pixels[20:100:16, 20:100] -= np.uint8(dark)
        with pytest.raises(InputError, match=said):
            picture(tmp_path, pixels)


def two_tones(step: float, ramp: int, tmp_path: Path) -> Drawing:
    """Two greens, the second `step` of the way to a far one, with a border of `ramp` pixels."""
    share = np.clip((np.arange(180) - 90) / max(ramp, 1) + 0.5, 0, 1) if ramp else (np.arange(180) >= 90) * 1.0
    row = np.array([60, 140, 80]) + step * share[:, None] * np.array([110, -60, 60])
    pixels = np.full((220, 220, 3), 255, np.uint8)
    pixels[20:200, 20:200] = np.rint(row)[None]
    return picture(tmp_path, pixels)


def test_hard_and_soft_borders(tmp_path: Path) -> None:
    assert [e.soft for e in two_tones(1.0, 0, tmp_path).edges] == [False]
    assert [[e.soft for e in two_tones(1.0, v, tmp_path).edges] for v in (8, 20)] == [[False], [True]]


@pytest.mark.parametrize(("off", "taken"), [(9, True), (20, False)])
def test_a_gap_is_as_white_as_the_paper(off: int, taken: bool, tmp_path: Path) -> None:
    """Steps of 0-255 of grey from white paper: 20 are 7 L*."""
    image, pen = canvas()
    pen.rectangle((20, 20, 110, 200), fill="#208040")
    pen.rectangle((110, 20, 200, 200), fill="#c02020")
    pen.rectangle((92, 92, 128, 128), fill=(255 - off,) * 3)
    drawing = picture(tmp_path, np.asarray(image))
    assert any("taken for gaps" in note for note in drawing.notes) == taken


def test_a_figure_is_80_mm_high_unless_told(tmp_path: Path) -> None:
    """A spot of 0.3 mm, the narrowest a fine brush fills (common practice), is 5 pixels of 1400."""
    pixels = np.full((1440, 120, 3), 255, np.uint8)
    pixels[20:1420, 20:100] = (60, 120, 90)
    pixels[700:707, 50:57] = (250, 240, 120)
    assert [len(picture(tmp_path, pixels, height_mm=v).areas) for v in (None, 40)] == [2, 1]
    pixels[700:707, 53:57] = (60, 120, 90)
    assert len(picture(tmp_path, pixels).areas) == 1


def test_soft_shades_need_a_part_and_a_step_of_their_own() -> None:
    labels = np.ones((120, 120), np.int32)

    def shades(dark: int, share: float) -> int:
        rgb = np.full((120, 120, 3), 140, np.uint8)
        rgb[:60] = grey_apart(140, 4.0)
        rgb[:, : round(120 * share)] = dark
        return int(soft_tones(labels, rgb, 3)[0].max()) - 1

    assert shades(grey_apart(140, -9.0), 0.03) < shades(grey_apart(140, -9.0), 0.12)


@pytest.mark.parametrize(("side", "shades"), [(20, 0), (30, 1)])
def test_a_shade_worth_a_glaze(side: int, shades: int) -> None:
    """Of specks of 3 pixels, a square of eight."""
    rgb = np.full((120, 120, 3), grey_apart(140, 1.0), np.uint8)
    rgb[40 : 40 + side, 40 : 40 + side] = grey_apart(140, -20.0)
    assert int(soft_tones(np.ones((120, 120), np.int32), rgb, 3)[0].max()) == 1 + shades


def test_faint_lines_need_contrast_and_length() -> None:
    rgb = np.full((80, 80, 3), 200, np.uint8)
    for dark, found in ((30, False), (60, True)):
        lined = rgb.copy()
        lined[20:60:8, 10:70] -= np.uint8(dark)
        assert (faint_lines(lined, np.ones((80, 80), bool))[1] is not None) == found
