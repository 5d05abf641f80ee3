"""finishplan keep: mixes of a plan in the book, a corrected one as it came out, and what is said of a bad book."""

import json
import tomllib
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from finishplan.cli.main import run_command
from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.paint.book_palette import read_gpl

OWN = ("PW6", "PY43", "burnt-sienna", "PB29", "PBk9")
JOB = f"""
[figure]
drawing = "a.png"
name = "Newt"
date = "2026-03-14"
height_mm = 60
[paints]
own = {json.dumps(OWN)}
max_paints = 3
[mixes.mustard]
areas = [1]
poured = {{ "PY43" = 6, "PW6" = 2 }}
came_out = "lab(64.2 12.1 44.0)"
[mixes.slate]
areas = [2]
"""
BAD = {
    '[mixes.leaf]\nrecipe = { "unobtainium" = 1 }': "mixes.leaf.recipe: no paint 'unobtainium'",
    "[mixes.leaf]\nrecipe = {}": "mixes.leaf.recipe: {} is not a recipe",
    '[mixes.leaf]\nrecipe = { "PW6" = 1 }\n[mixes.Leaf]\nrecipe = { "PW6" = 1 }': "'Leaf' and 'leaf' are one name",
    '[mixes.leaf]\nrecipe = { "PW6" = 1 }\ncolour = "#ffffff"': "mixes.leaf: unknown key 'colour'",
    "[paints]\nown = []": "unknown key 'paints'",
}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    picture = Image.new("RGB", (160, 200), "white")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((40, 30, 120, 100), fill="#c29a4c")
    pen.rectangle((40, 100, 120, 170), fill="#5f6f8c")
    picture.save(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text(JOB)
    return tmp_path / "my.toml"


def test_a_corrected_mix_is_kept_as_it_came_out_and_the_others_as_predicted(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gpl = job.with_name("m.gpl")
    assert run_command(["keep", str(job), "--gpl", str(gpl), "--json"]) == 0
    told = {m["name"]: m for m in json.loads(capsys.readouterr().out)}
    book = tomllib.loads(job.with_name("mixes.toml").read_text("utf-8"))["mixes"]
    assert list(book) == list(told) == ["mustard", "slate"]
    assert book["mustard"]["recipe"] == {"yellow-ochre": 3, "titanium-white": 1}  # 6 and 2 were poured
    assert book["mustard"]["lab"] == pytest.approx([64.2, 12.1, 44.0]) and book["mustard"]["came_out"] is True
    assert book["slate"].get("came_out", False) is False
    assert {one["date"] for one in book.values()} == {"2026-03-14"}
    assert all(len(one["used"]) == 1 and one["used"][0].startswith("Newt: ") for one in book.values())
    colours = dict(read_gpl(gpl.read_text("utf-8"), "m.gpl"))
    for name, one in book.items():
        assert float(delta_e(lab_from_hex(colours[name]), one["lab"])) < 0.6
    assert run_command(["mix", str(gpl), "--book", str(job.with_name("mixes.toml")), "--json"]) == 0
    mixed = json.loads(capsys.readouterr().out)
    assert {m["target"] for m in (mixed if isinstance(mixed, list) else mixed["mixes"])} == set(colours.values())


def test_mixes_of_paints_that_the_box_lacks_are_told(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job.with_name("mixes.toml").write_text('[mixes.leaf]\nrecipe = { "PG7" = 1, "PY43" = 4 }  # mine\n')
    assert run_command(["keep", str(job), "slate"]) == 0
    said = capsys.readouterr().out
    assert said.rstrip().endswith("mixes.toml: slate")
    text = job.with_name("mixes.toml").read_text("utf-8")
    assert "# mine" in text and set(tomllib.loads(text)["mixes"]) == {"leaf", "slate"}
    box = job.with_name("box.toml")
    box.write_text(f"own = {json.dumps(OWN)}")
    assert run_command(["mix", "--book", str(job.with_name("mixes.toml")), "--paints", str(box)]) == 0
    shown = capsys.readouterr()
    assert "slate" in shown.out and "leaf" in shown.err and "phthalo green" in shown.err


@pytest.mark.parametrize("text", BAD)
def test_a_bad_book_is_one_line_and_stays_as_it_was(text: str, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = job.with_name("mixes.toml")
    book.write_text(text)
    assert run_command(["keep", str(job)]) == 2
    said = capsys.readouterr().err.strip()
    assert "\n" not in said and str(book) in said and BAD[text] in said and "; " in said
    assert book.read_text() == text


def test_a_mix_that_is_not_there_is_refused(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["keep", str(job), "mustrd"]) == 2
    said = capsys.readouterr().err
    assert "MIX: no mix is called 'mustrd'" in said and "mustard" in said and not job.with_name("mixes.toml").exists()
