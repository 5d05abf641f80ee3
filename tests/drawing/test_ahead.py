"""Decoding begun before the reading: the same picture, once, and only while its file stays as it was."""

import subprocess
import sys
import threading
import time
import zlib
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from finishplan.basics.errors import InputError
from finishplan.drawing import ahead
from finishplan.drawing.ahead import decode_ahead, decoded_ahead
from finishplan.drawing.load import load

NEWT = Path(__file__).resolve().parents[2] / "examples" / "newt.png"


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "newt.png"
    path.write_bytes(NEWT.read_bytes())
    return path


def test_the_picture_is_that_of_the_file_and_given_once(drawing: Path) -> None:
    decode_ahead(drawing)
    found = decoded_ahead(drawing)
    assert found is not None
    with Image.open(drawing) as reference:
        assert found.mode == reference.mode
        assert ImageChops.difference(found.convert("RGB"), reference.convert("RGB")).getbbox() is None
    assert decoded_ahead(drawing) is None


def test_a_file_saved_anew_is_decoded_anew(drawing: Path) -> None:
    decode_ahead(drawing)
    Image.new("RGB", (40, 30), "red").save(drawing)
    assert decoded_ahead(drawing) is None
    assert load(drawing).size == (40, 30)


def test_what_cannot_be_decoded_is_told_by_the_reading(drawing: Path) -> None:
    drawing.write_bytes(drawing.read_bytes()[:20_000])
    decode_ahead(drawing)
    with pytest.raises(InputError, match="damaged or cut short"):
        load(drawing)


@pytest.mark.parametrize("what", ["no file", "a folder", "a JPEG", "too large"])
def test_nothing_is_begun(what: str, drawing: Path, tmp_path: Path) -> None:
    path = {"no file": tmp_path / "none.png", "a folder": tmp_path}.get(what, drawing)
    if what == "a JPEG":
        Image.new("RGB", (40, 30)).save(path, "JPEG")
    decode_ahead(path, 0.001 if what == "too large" else 100)
    assert not ahead._begun
    assert decoded_ahead(path) is None


def test_two_at_once_leave_the_clock_of_threads_as_it_was(drawing: Path) -> None:
    usual = sys.getswitchinterval()
    for _ in range(3):
        decode_ahead(drawing)
    assert decoded_ahead(drawing) is not None
    while sys.getswitchinterval() != usual and any("ThreadPool" in t.name for t in threading.enumerate()):
        time.sleep(0.01)
    assert sys.getswitchinterval() == usual


def test_what_pillow_warns_of_is_not_printed(drawing: Path, tmp_path: Path) -> None:
    """An animation of no frames (acTL, W3C PNG third edition, 11.3.6.1)."""
    raw = drawing.read_bytes()
    chunk = b"acTL" + bytes(8)
    drawing.write_bytes(raw[:33] + (8).to_bytes(4, "big") + chunk + zlib.crc32(chunk).to_bytes(4, "big") + raw[33:])
    command = [sys.executable, "-m", "finishplan", "areas", str(drawing), "--out", str(tmp_path / "out"), "--quiet"]
    done = subprocess.run(command, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
