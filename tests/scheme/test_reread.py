"""A job over changed drawings: names and numbers stay with what they were given to, and what changed is told."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.model import Drawing
from finishplan.drawing.registration import looked_up_at
from finishplan.job.job import AreaJob, Job
from finishplan.job.read import parse_job
from finishplan.scheme.build import build_scheme
from finishplan.scheme.reread import Reread, reread

Shape = tuple[str, tuple[int, int, int, int], str]
FIGURE: list[Shape] = [
    ("ellipse", (60, 40, 260, 300), "#d9a23a"),
    ("rectangle", (60, 120, 260, 150), "#7a2f3a"),
    ("ellipse", (100, 70, 140, 105), "#f4f2e8"),
    ("ellipse", (180, 70, 220, 105), "#f4f2e8"),
    ("ellipse", (130, 190, 190, 250), "#2b7a94"),
    ("ellipse", (330, 80, 450, 200), "#5d7a3c"),
    ("rectangle", (370, 120, 410, 160), "#17131a"),
]
NAMES = {"#d9a23a": "hood", "#7a2f3a": "scarf", "#2b7a94": "patch", "#5d7a3c": "moss", "#17131a": "stone"}


def drawn(folder: Path, shapes: list[Shape], size: tuple[int, int] = (500, 340)) -> Drawing:
    """The reading of a sheet with these shapes."""
    sheet = Image.new("RGB", size, "#ffffff")
    pen = ImageDraw.Draw(sheet)
    for shape, box, colour in shapes:
        getattr(pen, shape)(box, fill=colour)
    sheet.save(folder / "a.png")
    return read_drawing(folder / "a.png")


def named(read: Drawing) -> tuple[Job, Reread]:
    """A job that names every area and puts the pieces on parts, as it is after its first plan."""
    first = reread(read, Job())
    areas = {}
    for mark in first.drawing.marks:
        name = f"{NAMES.get(mark.hex, 'white')} {mark.id}"
        areas[mark.id] = AreaJob(name=name, at=mark.at, colour=mark.hex, size=mark.size)
    parts = {f"piece {p.name[-1]}": p.areas for p in first.drawing.parts}
    text = "".join(f'[parts."{name}"]\nareas = {list(ids)}\n' for name, ids in parts.items())
    return replace(parse_job(text), areas=areas), first


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sheets")


@pytest.fixture(scope="module")
def first(folder: Path) -> tuple[Job, Reread]:
    return named(drawn(folder, FIGURE))


def checked(job: Job, again: Reread, but: tuple[str, ...] = ()) -> None:
    """Every number still lies on its colour."""
    for area in again.drawing.areas:
        if area.id in job.areas and job.areas[area.id].name not in but:
            assert again.drawing.palette[area.colour].hex == job.areas[area.id].colour, job.areas[area.id].name


def test_the_same_drawing_says_nothing(folder: Path, first: tuple[Job, Reread]) -> None:
    job, before = first
    again = reread(drawn(folder, FIGURE), job, before.small)
    assert again.changes is None and again.drawing.areas == before.drawing.areas


@pytest.mark.parametrize("with_map", [True, False], ids=["with the map", "its file deleted"])
def test_new_areas_get_new_numbers_and_all_others_keep_theirs(
    folder: Path, first: tuple[Job, Reread], with_map: bool
) -> None:
    job, before = first
    patched = [*FIGURE, ("ellipse", (90, 200, 120, 230), "#c83020"), ("ellipse", (345, 130, 362, 150), "#c8a0f0")]
    again = reread(drawn(folder, patched), job, before.small if with_map else None)
    most = max(job.areas)
    assert again.changes is not None and again.changes.new == (most + 1, most + 2) and not again.changes.gone
    assert again.changes.kept == tuple(sorted(job.areas))
    checked(job, again)
    part_of = {i: p.name for p in build_scheme(again.drawing, job).parts for i in p.areas}
    assert {part_of[most + 1], part_of[most + 2]} == {"piece A", "piece B"}, "each joins the part of its piece"


def test_what_is_gone_keeps_its_number_and_comes_back(folder: Path, first: tuple[Job, Reread]) -> None:
    job, before = first
    patch = next(i for i, a in job.areas.items() if a.name.startswith("patch"))
    without = reread(drawn(folder, [s for s in FIGURE if s[2] != "#2b7a94"]), job, before.small)
    assert without.changes is not None and without.changes.gone == (patch,) and not without.changes.new
    assert patch not in {a.id for a in build_scheme(without.drawing, job).areas}
    back = reread(drawn(folder, FIGURE), job, without.small)
    assert {a.id for a in back.drawing.areas} == set(job.areas)
    checked(job, back)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    st.floats(0.7, 1.4), st.integers(0, 120), st.integers(0, 60), st.booleans(), st.integers(-25, 25),
)  # fmt: skip
def test_a_page_scaled_and_shifted_and_a_piece_moved_keep_every_number(
    folder: Path, first: tuple[Job, Reread], scale: float, right: int, down: int, apart: bool, shade: int
) -> None:
    job, before = first

    def moved(x: float, y: float, ball: bool) -> tuple[float, float]:
        far = (60, 90) if apart and ball else (0, 0)
        return scale * (x + right + far[0]), scale * (y + down + far[1])

    def put(shape: Shape) -> Shape:
        kind, box, colour = shape
        ball = box[0] > 300
        corners = *moved(box[0], box[1], ball), *moved(box[2], box[3], ball)
        rgb = [int(np.clip(int(colour[i : i + 2], 16) + shade, 0, 255)) for i in (1, 3, 5)]
        left, top, end, bottom = (round(v) for v in corners)
        return kind, (left, top, end, bottom), "#" + "".join(f"{v:02x}" for v in rgb)

    size = (round(scale * 720), round(scale * 520))
    again = reread(drawn(folder, [put(s) for s in FIGURE], size), job, before.small)
    assert {a.id for a in again.drawing.areas} == set(job.areas)
    for area in before.drawing.areas:
        x, y = moved(*area.label_xy, area.label_xy[0] > 300)
        assert looked_up_at(again.drawing, (x / size[0], y / size[1])) == area.id


def test_another_figure_is_not_taken_for_a_redraw(folder: Path, first: tuple[Job, Reread]) -> None:
    other: list[Shape] = [
        ("rectangle", (20 + 60 * k, 20, 60 + 60 * k, 320), f"#{40 * k + 40:02x}90f0") for k in range(5)
    ]
    with pytest.raises(InputError, match="hardly any of the areas of job is in it"):
        reread(drawn(folder, other), first[0], first[1].small)
    few = [*FIGURE[4:6], *other]
    with pytest.raises(InputError, match="hardly any of the areas of job is in it"):
        reread(drawn(folder, few), first[0], first[1].small)


def test_a_stroke_goes_with_its_piece(folder: Path, first: tuple[Job, Reread]) -> None:
    job, _ = first
    hood = max(id for id, a in job.areas.items() if a.name.startswith("hood"))
    cut = parse_job(f"[[cuts]]\narea = {hood}\npoints = [[0.28, 0.5], [0.28, 0.95]]\n", file="job").cuts
    half = replace(job, cuts=cut)
    before = reread(drawn(folder, FIGURE), half)
    assert before.changes is not None and len(before.changes.new) == 1
    areas = dict(job.areas) | {
        m.id: AreaJob(name=f"half {m.id}", at=m.at, colour=m.hex, size=m.size) for m in before.drawing.marks
    }
    half = replace(half, areas=areas)
    wide = [(kind, (box[0] + 150, box[1], box[2] + 150, box[3]), colour) for kind, box, colour in FIGURE]
    again = reread(drawn(folder, wide, (700, 340)), half, before.small)
    assert {a.id for a in again.drawing.areas} == {a.id for a in before.drawing.areas}
    assert again.cuts[0].points[0][0] == pytest.approx((0.28 * 500 + 150) / 700, abs=0.02)


def test_a_stroke_of_an_area_parts_that_area_alone(folder: Path, first: tuple[Job, Reread]) -> None:
    """Across the patch and far into the hood: a stroke of the patch leaves the hood whole; a second stroke, of a piece
    that the first one made, is held against the places told before it; one that misses its area is refused."""
    job, before = first
    by_name = {a.name.split()[0]: id for id, a in job.areas.items()}
    read = drawn(folder, FIGURE)

    def cuts(*told: tuple[int, float, float]) -> Job:
        text = "".join(f"[[cuts]]\narea = {id}\npoints = [[{x}, 0.5], [{x}, {low}]]\n" for id, x, low in told)
        return replace(job, cuts=parse_job(text).cuts)

    def pixels(found: Reread) -> dict[int, float]:
        return {a.id: a.pixels for a in found.drawing.areas}

    one = reread(read, cuts((by_name["patch"], 0.31, 1.0)), before.small, same_picture=True)
    changed = {id for id, n in pixels(one).items() if n != pixels(before).get(id)}
    assert len(changed) == 2 and by_name["patch"] in changed and one.changes is not None
    (piece,) = one.changes.new
    (mark,) = (m for m in one.drawing.marks if m.id == piece)
    twice = cuts((by_name["patch"], 0.31, 1.0), (by_name["hood"], 0.2, 1.0))
    twice = replace(twice, areas=dict(twice.areas) | {piece: AreaJob(at=mark.at, colour=mark.hex, size=mark.size)})
    two = reread(read, twice, one.small, same_picture=True)
    assert {id for id, n in pixels(two).items() if n != pixels(one).get(id)} >= {by_name["hood"]}
    assert pixels(two)[piece] == pixels(one)[piece] and len(two.drawing.areas) == len(one.drawing.areas) + 1
    with pytest.raises(InputError, match=r"cuts\[1\]: the stroke does not cross area .* moss .*; it lies over .* hood"):
        reread(read, cuts((by_name["moss"], 0.2, 1.0)), before.small, same_picture=True)
    with pytest.raises(InputError, match=r"area 99 is not in this drawing"):
        reread(read, cuts((99, 0.2, 1.0)), before.small, same_picture=True)


def test_parts_are_told_by_rectangle_and_outline(folder: Path, first: tuple[Job, Reread]) -> None:
    right, left = "[[[0.6, 0], [1, 1]]]", "[[[0, 0], [0.6, 0], [0.6, 1], [0, 1], [0.1, 0.5]]]"
    job = parse_job(f"[parts.right]\nareas = {right}\n[parts.left]\nareas = {left}")
    drawing = first[1].drawing
    parts = {p.name: p.areas for p in build_scheme(drawing, job).parts}
    by_name = {a.name.split()[0]: id for id, a in first[0].areas.items()}
    assert set(parts["right"]) == {by_name["moss"], by_name["stone"]}
    assert by_name["hood"] in parts["left"] and not set(parts["left"]) & set(parts["right"])


def test_heights_of_all_parts_give_one_scale_and_contradictions_are_told(first: tuple[Job, Reread]) -> None:
    drawing = first[1].drawing
    tall = {p.name: p.bbox[3] - p.bbox[1] for p in drawing.parts}
    ids = {p.name: list(p.areas) for p in drawing.parts}

    def scheme(of: dict[str, float], figure: str = ""):  # type: ignore[no-untyped-def]
        parts = "".join(f'[parts."{n}"]\nareas = {ids[n]}\nheight_mm = {mm}\n' for n, mm in of.items())
        return build_scheme(drawing, parse_job(f"[figure]\n{figure}\n{parts}"))

    a, b = tall
    agreed = scheme({a: tall[a] * 0.2, b: tall[b] * 0.2})
    assert agreed.mm_per_px == pytest.approx(0.2) and not agreed.warnings and not agreed.guessed
    near = scheme({a: tall[a] * 0.2, b: tall[b] * 0.214})
    assert not near.warnings, "heights read off a ruler may each be three or four percent off"
    torn = scheme({a: tall[a] * 0.2, b: tall[b] * 0.25})
    assert 0.2 < torn.mm_per_px < 0.25 and "contradict each other" in torn.warnings[0]
    each = scheme({a: tall[a] * 0.2, b: tall[b] * 0.25}, 'scale = "part"')
    heights = {p.name: p.height_mm for p in each.parts}
    assert heights[a] == pytest.approx(tall[a] * 0.2) and heights[b] == pytest.approx(tall[b] * 0.25)
    assert not each.warnings
    assert "Sizes are guessed" in build_scheme(drawing, Job()).guessed
    whole = build_scheme(drawing, parse_job("[figure]\nheight_mm = 70"))
    assert "height of the whole figure, and its pieces are drawn apart" in whole.guessed


@pytest.mark.parametrize(("left", "same"), [(2, False), (3, True)])
def test_a_drawing_with_hardly_any_of_the_areas_is_of_something_else(
    left: int, same: bool, folder: Path, first: tuple[Job, Reread]
) -> None:
    """Three of seven is more than a third of them, two is less."""
    job, before = first
    others: list[Shape] = [
        ("rectangle", (20 + 65 * i, 300, 50 + 65 * i, 330), c)
        for i, c in enumerate(("#c83020", "#c8a0f0", "#30c0e0", "#e0e020", "#804000"))
    ]
    kept = [FIGURE[4], FIGURE[5], FIGURE[6]][:left]
    changed = drawn(folder, [*kept, *others[: 7 - left]])
    if same:
        assert reread(changed, job, before.small).changes is not None
        return
    with pytest.raises(InputError, match="hardly any of the areas"):
        reread(changed, job, before.small)
