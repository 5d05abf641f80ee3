"""What `finishplan mix` and `finishplan box` say: hazards, how pre-mixes are made, what is out of reach."""

import json
import re
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from finishplan.cli.main import run_command

HERITAGE = str(Path(__file__).parents[2] / "palettes" / "heritage-oil.csv")


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[str, str]:
    """Standard output and standard error of a command that succeeds."""
    assert run_command([*arguments]) == 0
    out, err = capsys.readouterr()
    return out, err


def test_mix_tells_the_hazards_of_its_paints(capsys: pytest.CaptureFixture[str]) -> None:
    """Minium, chrome yellow and lead white hold lead, vermilion mercury (their chemistry)."""
    out, err = told(capsys, "mix", "#c8742a", "--table", HERITAGE, "--no-cache")
    assert "vermilion: mercury, poisonous" in out and "chrome yellow, deep: lead" in out
    assert "historical: for study" in err and "vermilion (mercury)" in err and "lead)" in err
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
    assert "historical: for study" in err and "lead)" in err


def test_what_is_out_of_reach_is_named_as_it_was_asked(capsys: pytest.CaptureFixture[str]) -> None:
    _, err = told(capsys, "mix", "#d9a02a", "#000000", "lab(60 110 -100)", "--no-cache", "--quiet")
    assert "reaches 2 of 3 colours, " in err and re.search(
        r": lab\(60 110 -100\), .* from .*; #000000, .* from black\.", err
    )
    assert "No paint of the table brings #000000 and lab(60 110 -100) within 2." in err
    _, err = told(capsys, "mix", "#d9a02a", "#000000", "--no-cache", "--quiet")
    assert "reaches #000000; nearest: black, " in err


def test_mix_tells_how_pre_mixes_are_made(capsys: pytest.CaptureFixture[str]) -> None:
    """24 drops of 1:499 take three of 1:49 into 27 white; one of 1:9 into 4 makes more than three of those."""
    out, _ = told(capsys, "mix", "#e8f0e4", "--no-cache")
    assert "24 phthalo green (blue shade) (1:499 in titanium white)" in out
    assert "24 drops: 1 drop into 9, one of that into 4, 3 of that into 27" in out


def test_mix_tells_where_one_pot_serves(capsys: pytest.CaptureFixture[str]) -> None:
    """Each colour asked gets a recipe of its own; those an eye could not tell apart are told."""
    out, _ = told(capsys, "mix", "#000000", "#1a1a1c", "#c1272d", "--no-cache")
    assert "#000000, #1a1a1c: mixes within 2 of each other: one pot serves" in out
    out, _ = told(capsys, "mix", "#d9a02a", "#c1272d", "--no-cache")
    assert "one pot serves" not in out


def test_box_gives_coats_and_spreading(capsys: pytest.CaptureFixture[str]) -> None:
    """White over a white primer is even at once, over black after three coats; a litre hides 4 to 9 m2 (see
    tests/paint/test_drawdown.py for the source)."""
    out, _ = told(capsys, "box")
    header = next(line for line in out.splitlines() if line.startswith("paint  "))
    white = next(line for line in out.splitlines() if line.startswith("titanium white  "))
    coats, litre = (white[header.index(column) :].split("  ")[0] for column in ("coats over white", "m2 a litre"))
    assert coats == "1, 3" and 4 <= float(litre) <= 9


def test_box_says_what_its_opacity_is_not(capsys: pytest.CaptureFixture[str]) -> None:
    """Dioxazine purple, transparent on its label, hides black and white in two coats: it swallows the light."""
    assert run_command(["box"]) == 0
    said = capsys.readouterr().out
    assert next(line for line in said.splitlines() if line.startswith("dioxazine purple")).endswith("opaque")
    assert "swallowing light, and counts as opaque here though its label says transparent" in said
