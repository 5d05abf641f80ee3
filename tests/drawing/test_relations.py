"""What must not change a reading: scale, mirror image, quarter turns, the strength of a file's compression, the run."""

import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from PIL import Image

from finishplan.drawing import read_drawing
from finishplan.drawing.model import Area, Drawing

from .generator import DEGRADED, difference, draw
from .scoring import area_at, score_reading

pytestmark = pytest.mark.filterwarnings("ignore:Conversion from CIE-LAB")
SIZE = (400, 320)
FEW = settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def read(image: Image.Image, suffix: str = ".png", **options: int) -> Drawing:
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"drawing{suffix}"
        image.save(path, **options)
        return read_drawing(path, height_mm=60)


def summary(drawing: Drawing) -> tuple[object, ...]:
    """What the numbers of the areas and the size of the picture have no part in."""
    hexes = {a.id: a.hex for a in drawing.areas}
    return (
        sorted(c.hex for c in drawing.palette),
        sorted(hexes.values()),
        sorted(tuple(sorted((hexes[e.areas[0]], hexes[e.areas[1]]))) for e in drawing.edges if e.length_px > 12),
        len(drawing.parts),
    )


def colour(area: Area) -> np.ndarray:
    return np.array([list(bytes.fromhex(area.hex[1:]))])


def hex_pairs(drawing: Drawing) -> dict[tuple[str, ...], float]:
    hexes = {a.id: a.hex for a in drawing.areas}
    return {tuple(sorted((hexes[e.areas[0]], hexes[e.areas[1]]))): e.length_px for e in drawing.edges}


@FEW
@given(st.integers(0, 10_000), st.sampled_from([2, 3]))
def test_enlarging_the_drawing(seed: int, times: int) -> None:
    drawn = draw(seed, SIZE)
    small = read(drawn.picture)
    large = read(drawn.picture.resize((SIZE[0] * times, SIZE[1] * times), Image.Resampling.BICUBIC))
    assert [p.name for p in small.parts] == [p.name for p in large.parts]
    for a in (a for a in small.areas if a.share >= 0.005):
        b = large.areas[area_at(large, *(v * times for v in a.label_xy)) - 1]
        assert difference(colour(a), colour(b))[0, 0] < 1
        assert a.part == b.part
        assert b.share == pytest.approx(a.share, abs=0.004)
        assert b.wide_px == pytest.approx(a.wide_px * times, rel=0.12, abs=4 * times)
    found = {pair for pair, length in hex_pairs(small).items() if length > 12}
    assert len(found) <= len(hex_pairs(large))


@FEW
@given(st.integers(0, 10_000), st.sampled_from(["mirror", "flip", "turn"]))
def test_mirroring_and_turning(seed: int, way: str) -> None:
    drawn = draw(seed, SIZE)
    turned = {
        "mirror": Image.Transpose.FLIP_LEFT_RIGHT,
        "flip": Image.Transpose.FLIP_TOP_BOTTOM,
        "turn": Image.Transpose.ROTATE_180,
    }[way]
    assert summary(read(drawn.picture)) == summary(read(drawn.picture.transpose(turned)))


@FEW
@given(st.integers(0, 10_000))
def test_more_paper_round_the_figure(seed: int) -> None:
    drawn = draw(seed, SIZE)
    wider = Image.new("RGB", (SIZE[0] + 60, SIZE[1] + 40), "white")
    wider.paste(drawn.picture, (30, 20))
    one, two = read(drawn.picture), read(wider)
    assert summary(one)[:2] == summary(two)[:2]
    assert sum(a.pixels for a in one.areas) == pytest.approx(sum(a.pixels for a in two.areas), rel=0.002)


@FEW
@given(st.integers(0, 10_000))
def test_exchanging_colours_renames_them_only(seed: int) -> None:
    """Red and blue exchanged in the picture are exchanged in the reading: nothing hangs on the order of colours."""
    drawn = draw(seed, SIZE, ink_px=0, shading=False)
    one = read(drawn.picture)
    two = read(Image.fromarray(np.ascontiguousarray(drawn.rgb[..., ::-1])))
    swapped = [f"#{a.hex[5:7]}{a.hex[3:5]}{a.hex[1:3]}" for a in two.areas]
    assert [a.hex for a in one.areas] == swapped
    assert np.array_equal(one.labels, two.labels)


@FEW
@given(st.integers(0, 10_000), st.integers(88, 96))
def test_jpeg_of_flat_art(seed: int, quality: int) -> None:
    drawn = draw(seed, SIZE, ink_px=0, shading=False)
    score = score_reading(drawn, read(drawn.picture, ".jpg", quality=quality, subsampling=0), 2.0)
    assert score.found == score.colours
    assert score.invented == 0


@FEW
@given(st.integers(0, 10_000), st.sampled_from(sorted(DEGRADED)))
def test_every_reading_hangs_together(seed: int, kind: str) -> None:
    drawing = read(DEGRADED[kind](draw(seed, SIZE), seed).picture)
    ids = [a.id for a in drawing.areas]
    assert ids == list(range(1, len(ids) + 1))
    assert set(np.unique(drawing.labels)) - {0} == set(ids)
    assert sum(a.share for a in drawing.areas) == pytest.approx(1)
    assert sum(c.share for c in drawing.palette) == pytest.approx(1)
    assert [a.part for a in drawing.areas] == sorted(a.part for a in drawing.areas)
    for area in drawing.areas:
        assert area_at(drawing, *area.label_xy) == area.id
        assert 0 < area.narrow_px <= area.wide_px
        assert area.id in drawing.palette[area.colour].areas
        assert area.id in drawing.parts[area.part].areas
        assert area.pixels == pytest.approx((drawing.labels == area.id).sum() / drawing.scale**2)
    for edge in drawing.edges:
        a, b = edge.areas
        assert a < b and drawing.areas[a - 1].part == drawing.areas[b - 1].part
        assert edge.length_px > 0 and 0 <= edge.straightness <= 1


def test_the_same_bytes_in_every_run(tmp_path: Path) -> None:
    DEGRADED["photo"](draw(11, SIZE), 11).picture.save(tmp_path / "a.png")
    code = (
        "import hashlib, json, sys; from pathlib import Path; from finishplan.drawing import read_drawing\n"
        "from finishplan.drawing.export import drawing_json\n"
        "d = read_drawing(Path(sys.argv[1]))\n"
        "print(hashlib.sha256(json.dumps(drawing_json(d)).encode() + d.labels.tobytes()).hexdigest())"
    )
    digests = set()
    for seed, threads in (("0", "1"), ("77", "2")):
        env = {**os.environ, "PYTHONHASHSEED": seed, "OMP_NUM_THREADS": threads, "OPENBLAS_NUM_THREADS": threads}
        command = [sys.executable, "-c", code, str(tmp_path / "a.png")]
        digests.add(subprocess.run(command, env=env, capture_output=True, check=True).stdout)
    assert len(digests) == 1
