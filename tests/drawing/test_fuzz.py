"""Damaged files and senseless pictures: a reading or the project's own error, nothing else."""

import io
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing

from .test_formats import figure
from .test_layers_and_parts import ora, whole

SOME = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def saved(image: Image.Image, kind: str) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind)
    return buffer.getvalue()


FILES = {kind: saved(figure((60, 50)), kind) for kind in ("PNG", "JPEG", "TIFF", "WEBP", "GIF", "BMP")}
FILES["ORA"] = ora([(n, i.resize((60, 50)), m) for n, i, m in whole()], (60, 50))


def reads_or_says_why(raw: bytes) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "drawing"
        path.write_bytes(raw)
        try:
            drawing = read_drawing(path, max_megapixels=4)
        except InputError as error:
            assert str(error).isprintable() and error.cure
        else:
            assert drawing.areas and drawing.labels.max() == len(drawing.areas)


@SOME
@given(st.sampled_from(sorted(FILES)), st.data())
def test_bytes_changed_and_cut(kind: str, data: st.DataObject) -> None:
    raw = bytearray(FILES[kind])
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    reads_or_says_why(bytes(raw[: data.draw(st.integers(1, len(raw)))] if data.draw(st.booleans()) else raw))


@SOME
@given(
    st.integers(8, 40),
    st.integers(8, 40),
    st.sampled_from([1, 3, 4]),
    st.integers(1, 12),
    st.integers(1, 8),
    st.integers(0, 2**32 - 1),
)
def test_senseless_pictures(width: int, height: int, channels: int, block: int, colours: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colours, channels), np.uint8)
    blocks = palette[rng.integers(0, colours, (height // block + 1, width // block + 1))]
    pixels = blocks.repeat(block, 0).repeat(block, 1)[:height, :width]
    reads_or_says_why(saved(Image.fromarray(pixels.squeeze(-1) if channels == 1 else pixels), "PNG"))


@pytest.mark.parametrize("noise", [0, 4, 12])
def test_pictures_without_paper(noise: int, tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    four = np.array([[(180, 60, 70), (60, 130, 80)], [(226, 168, 41), (40, 70, 140)]], np.int16)
    pixels = four.repeat(100, 0).repeat(150, 1)
    pixels += rng.integers(-noise, noise + 1, pixels.shape, np.int16)
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    assert len(drawing.palette) == 4
    assert len(drawing.areas) == 4
    assert drawing.labels.all() and drawing.paper is None
