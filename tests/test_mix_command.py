"""What `finishplan mix` and `finishplan box` say: hazards, how pre-mixes are made, what is out of reach."""

import json
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from finishplan.cli import run_command

HERITAGE = str(Path(__file__).parents[1] / "palettes" / "heritage-oil.csv")


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[str, str]:
    """Standard output and standard error of a command that succeeds."""
    assert run_command([*arguments]) == 0
    out, err = capsys.readouterr()
    return out, err


def test_mix_tells_the_hazards_of_its_paints(capsys: pytest.CaptureFixture[str]) -> None:
    """Minium, chrome yellow and lead white hold lead, vermilion mercury (their chemistry)."""
    out, err = told(capsys, "mix", "#c8742a", "--table", HERITAGE, "--no-cache")
    assert "vermilion: mercury, poisonous" in out and "chrome yellow, deep: lead" in out
    assert "historical: for study" in err and "vermilion (mercury)" in err and "(lead)" in err
    out, err = told(capsys, "mix", "#c8742a", "--table", HERITAGE, "--no-cache", "--json")
    (recipe,) = json.loads(out)
    assert any("mercury" in h for h in recipe["hazards"]) and any("lead" in h for h in recipe["hazards"])
    assert "historical: for study" in err
    _, err = told(capsys, "mix", "#c8742a", "--table", HERITAGE, "--no-cache", "--quiet")
    assert "vermilion (mercury)" in err


def test_hazards_are_of_the_paints_used_pre_mixes_included(capsys: pytest.CaptureFixture[str]) -> None:
    out, err = told(capsys, "mix", "#e0e8f8", "#2a2a2c", "--no-cache", "--json")
    light, dark = json.loads(out)
    assert any(h.startswith("titanium white: ") for h in light["hazards"])
    assert not any(h.startswith("titanium white: ") for h in dark["hazards"])
    assert "historical" not in err


@pytest.mark.parametrize("command", ["plan", "run"])
def test_plan_and_run_warn_of_a_historical_table(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = Image.new("RGB", (240, 240), "#ffffff")
    ImageDraw.Draw(picture).ellipse((40, 40, 200, 200), fill="#c8742a")
    picture.save(tmp_path / "a.png")
    (tmp_path / "box.toml").write_text('table = "heritage-oil.csv"\n')
    for name in ("heritage-oil.csv", "heritage-oil.toml"):
        (tmp_path / name).write_bytes((Path(HERITAGE).parent / name).read_bytes())
    out = ["--out", str(tmp_path / "out")] if command == "plan" else []
    _, err = told(
        capsys, command, str(tmp_path / "a.png"), "--paints", str(tmp_path / "box.toml"), *out, "--quiet", "--no-cache"
    )
    assert "historical: for study" in err and "(lead)" in err
