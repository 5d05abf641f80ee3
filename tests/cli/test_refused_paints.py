"""What can be wrong with a box of paints or a colour table, and what is said of a box that lacks something."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from refusals import drawing, tell

from finishplan.cli.main import run_command

TABLES: dict[str, tuple[Callable[[list[str]], list[str]], str]] = {
    "missing wavelength in the header": (lambda rows: [rows[0].replace(",550", ""), *rows[1:]], "550"),
    "missing value": (lambda rows: [*rows[:4], rows[4].rpartition(",")[0], *rows[5:]], "row 5"),
    "negative K": (lambda rows: [*rows[:1], re.sub(r",[0-9.e-]+$", ",-0.5", rows[1]), *rows[2:]], "-0.5"),
    "not a number": (lambda rows: [*rows[:1], re.sub(r",[0-9.e-]+$", ",much", rows[1]), *rows[2:]], "much"),
    "no rows": (lambda rows: rows[:1], "own.csv"),
}


@pytest.mark.parametrize("option", ["--paints", "--table"])
@pytest.mark.parametrize("command", [["mix", "#808080"], ["box"]], ids=lambda command: command[0])
def test_a_box_or_table_that_is_not_there_is_told_with_its_option(
    command: list[str], option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert f"finishplan: {option} none: cannot be read" in tell(capsys, *command, option, "none")


def test_a_box_given_as_an_option_stands_for_the_paints_of_the_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text('[figure]\ndrawing = "a.png"\n[paints]\nown = ["PW6", "PY43", "PB29"]\n')
    (tmp_path / "box.toml").write_text('own = ["titanium-white", "bone-black"]\n')
    given = ("--paints", str(tmp_path / "box.toml"), "--out", str(tmp_path / "out"), "--json")
    assert run_command(["plan", str(tmp_path / "my.toml"), *given]) == 0
    used = {i["paint"] for mix in json.loads(capsys.readouterr().out)["mixes"] for i in mix["recipe"] if "paint" in i}
    assert used and used <= {"titanium-white", "bone-black"}
    assert run_command(["plan", str(tmp_path / "out" / "job.toml"), "--json"]) == 0
    assert {
        i["paint"] for m in json.loads(capsys.readouterr().out)["mixes"] for i in m["recipe"] if "paint" in i
    } == used


def test_paints_named_in_the_job_and_in_its_box_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text('[figure]\ndrawing = "a.png"\n[paints]\nown = ["PW6"]\nfile = "box.toml"\n')
    (tmp_path / "box.toml").write_text('own = ["titanium-white", "bone-black"]\n')
    said = tell(capsys, "plan", tmp_path / "my.toml")
    assert "box.toml: own: the job names the paints owned too; leave one `own` of the two" in said


def test_a_file_of_another_kind_is_named_for_what_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("a.png", "a.jpg", "a.gif", "a.webp", "a.tiff"):
        assert "is a picture; give a text file" in tell(capsys, "box", "--paints", drawing(tmp_path / name))
    (tmp_path / "box.toml").write_text('own = ["PW6"]\n[[paint]]\nname = "x"\ncolour = "#a0452e"\n')
    said = tell(capsys, "plan", tmp_path / "box.toml")
    assert "is a paint box, not a job file; give the drawing instead, and the box with --paints" in said


def test_a_box_of_one_paint_is_said_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing(tmp_path / "a.png")
    (tmp_path / "a.toml").write_text('[paints]\nown = ["titanium-white"]\n')
    assert run_command(["plan", str(tmp_path / "a.png"), "--out", str(tmp_path / "out"), "--quiet"]) == 0
    assert capsys.readouterr().err.count("The box has one paint, titanium white") == 1


@pytest.mark.parametrize("own", ['"PW6"', '"titanium white", "PBk9"'])
def test_every_colour_out_of_reach_is_counted_in_one_line(
    own: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight patches of strong colour and a grey, in paints without any colour: each is far from its nearest mix."""
    picture = Image.new("RGB", (640, 240), "#ffffff")
    pen = ImageDraw.Draw(picture)
    strong = ["#d02020", "#20a040", "#2040c0", "#e0c020", "#d06010", "#802090", "#20a0b0", "#704010"]
    for number, colour in enumerate([*strong, "#808080"]):
        pen.rectangle((20 + 65 * number, 20, 85 + 65 * number, 220), fill=colour, outline="#000000", width=4)
    picture.save(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text(f'[figure]\ndrawing = "a.png"\n[paints]\nown = [{own}]\n')
    assert run_command(["plan", str(tmp_path / "my.toml"), "--out", str(tmp_path / "out"), "--json"]) == 0
    told, said = capsys.readouterr()
    drawn = {a["target"] for a in json.loads(told)["areas"]}
    (line,) = [one for one in said.splitlines() if "No mix of your paints reaches" in one]
    found = re.search(r"reaches (\d+) of (\d+) colours.*; and (\d+) more\.$", line)
    named = re.findall(r"(#[0-9a-f]{6}) \((\d+) [^)]*\), (\d+\.\d) from", line)
    assert found is not None and len({hex for hex, _, _ in named}) == 6 and {hex for hex, _, _ in named} < drawn
    missed, of, more = map(int, found.groups())
    assert (of, missed) == (len(drawn), len(named) + more)
    assert len(strong) <= missed <= len(drawn)
    far = [float(away) for _, _, away in named]
    assert far == sorted(far, reverse=True) and far[-1] > 2
    assert ("The box has no black" in said) == ("PBk9" not in own)
    tubes = r"(?:One tube of [^;.]+|Tubes of [^;.]+ together) brings? ([^;]+?), within 2\."
    brought = [pair for what in re.findall(tubes, said) for pair in re.findall(r"(#\w+) [^#]*?, now (\S+) off", what)]
    assert brought and {hex for hex, _ in brought} <= drawn
    off = {hex: away for hex, _, away in named}
    assert all(off.get(hex, away) == away and float(away) <= far[0] for hex, away in brought)


def test_a_name_of_the_colour_index_may_be_written_with_a_space(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "box.toml").write_text('own = ["pw 6", "PBk 9"]\n')
    assert run_command(["box", "--paints", str(tmp_path / "box.toml"), "--json"]) == 0
    assert [p["paint"] for p in json.loads(capsys.readouterr().out)] == ["titanium-white", "bone-black"]


@pytest.mark.parametrize(
    ("own", "said"),
    [
        (
            '"PR9999", "cobaltblue", "blak"',
            "3 unclear names: no paint 'PR9999' in the table 'artists' acrylic paints' (add yours as [[paint]]",
        ),
        (
            '"PBr7", "PW66"',
            "2 unclear names: PBr7 is the Colour Index name of several paints (write the id, one of",
        ),
        ('"white"', "did you mean 'titanium-white'?"),
        ('"titanum"', "use one of: titanium-white, buff-titanium"),
        ('"PW7"', "or name one of its 30 paints, of this hue PW6 and PW6:1"),
        ('"quartz"', "the nearest of its 30 names: "),
        ('"Cadmium"', "use one of: cadmium-orange, cadmium-red-light"),
    ],
)
def test_paints_that_the_table_has_not_are_told_together(
    own: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "box.toml").write_text(f"own = [{own}]\n")
    assert said in tell(capsys, "box", "--paints", tmp_path / "box.toml")


@pytest.mark.parametrize("name", TABLES)
def test_a_colour_table_that_is_damaged(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    damage, said = TABLES[name]
    palettes = Path(__file__).parents[2] / "palettes"
    rows = (palettes / "acrylic.csv").read_text().splitlines()
    (tmp_path / "own.csv").write_text("\n".join(damage(rows)) + "\n")
    shutil.copy(palettes / "acrylic.toml", tmp_path / "own.toml")
    message = tell(capsys, "box", "--table", tmp_path / "own.csv")
    assert "own.csv" in message and said in message


@pytest.mark.parametrize("own", ['["bone-black"]', '["titanium-white"]'], ids=["no white", "no black"])
def test_a_box_without_white_or_black_is_used_and_said(
    own: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "box.toml").write_text(f"own = {own}\n")
    assert run_command(["mix", "#808080", "--paints", str(tmp_path / "box.toml"), "--no-cache"]) == 0
    assert run_command(["box", "--paints", str(tmp_path / "box.toml")]) == 0
    said = capsys.readouterr()
    assert "white" in said.out + said.err and "black" in said.out + said.err


def test_a_file_of_its_own_that_cannot_be_used_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*given: object, **wanted: object) -> None:
        raise PermissionError(13, "Permission denied", "palettes/acrylic.csv")

    monkeypatch.setattr("finishplan.paint.box.load_box", fails)
    assert "palettes/acrylic.csv: cannot be used: Permission denied" in tell(capsys, "box")
