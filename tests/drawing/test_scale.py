"""Square centimetres and millimetres, where the job or an option tells a height."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from finishplan.cli.main import run_command


def two_halves(folder: Path) -> Path:
    """400 x 200 px, the left half red, the right half blue."""
    pixels = np.full((400, 600, 3), 255, np.uint8)
    pixels[100:300, 100:300] = (200, 40, 40)
    pixels[100:300, 300:500] = (40, 60, 180)
    Image.fromarray(pixels).save(folder / "halves.png")
    return folder / "halves.png"


def reading(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert run_command(["areas", *arguments, "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def check_fifty_mm_high(data: dict[str, Any]) -> None:
    """A quarter of a millimetre a pixel: each half is 50 mm x 50 mm, and they meet over 50 mm."""
    assert data["mm_per_px"] == pytest.approx(0.25)
    assert [a["cm2"] for a in data["areas"]] == [25, 25]
    for area in data["areas"]:
        assert area["narrow_mm"] == pytest.approx(50, abs=1) and area["wide_mm"] == pytest.approx(50, abs=1)
    assert [e["length_mm"] for e in data["edges"]] == [pytest.approx(50, rel=0.06)]


def test_height_by_option(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = str(two_halves(tmp_path))
    check_fifty_mm_high(reading(capsys, drawing, "--height-mm", "50", "--out", str(tmp_path / "out")))
    assert run_command(["areas", drawing, "--height-mm", "50", "--out", str(tmp_path / "out")]) == 0
    assert "25.000" in capsys.readouterr().out


@pytest.mark.parametrize("told", ["[figure]\nheight_mm = 50", '[parts."part A"]\nheight_mm = 50'])
def test_height_by_the_job_file(told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = two_halves(tmp_path)
    drawing.with_suffix(".toml").write_text(told)
    check_fifty_mm_high(reading(capsys, str(drawing), "--out", str(tmp_path / "out")))


def test_no_millimetres_where_no_height_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = reading(capsys, str(two_halves(tmp_path)), "--out", str(tmp_path / "out"))
    assert data["mm_per_px"] is None
    assert not {"cm2", "narrow_mm", "wide_mm"} & data["areas"][0].keys() and "length_mm" not in data["edges"][0]
