"""What can be wrong with what a user gives, and what they see: one line with the cure, exit code 2, nothing half made.

The rows of the table in DEVELOPERS.md. Each runs the command line.
"""

import json
import os
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time
import tomllib
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

import finishplan
from finishplan.basics.errors import InputError
from finishplan.basics.text_files import toml_of
from finishplan.cli.commands import run_command
from finishplan.drawing.stored import NAME, load_kept


def drawing(path: Path, format: str | None = None) -> Path:
    """A small drawing that can be read."""
    picture = Image.new("RGB", (240, 240), "#ffffff")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((20, 20, 220, 220), fill="#e0a020", outline="#202020", width=4)
    pen.ellipse((80, 80, 160, 160), fill="#206090", outline="#202020", width=4)
    picture.save(path, format)
    return path


def plain(colour: str, size: tuple[int, int] = (200, 200)) -> Callable[[Path], None]:
    return lambda path: Image.new("RGB", size, colour).save(path)


def cut_short(path: Path) -> None:
    path.write_bytes(drawing(path).read_bytes()[: path.stat().st_size // 2])


def noise(width: int, height: int) -> Callable[[Path], None]:
    values = np.random.default_rng(0).integers(0, 256, (height, width, 3), dtype=np.uint8)
    return lambda path: Image.fromarray(values).save(path)


def bomb(path: Path) -> None:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", 20000, 15000, 8, 2, 0, 0, 0))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(bytes(999))) + chunk(b"IEND", b""))


def climbing_ora(path: Path) -> None:
    """An OpenRaster file whose layer lies outside it."""
    with zipfile.ZipFile(path, "w") as ora:
        ora.writestr("mimetype", "image/openraster")
        ora.writestr("stack.xml", '<image w="9" h="9"><stack><layer name="a" src="../../etc/passwd"/></stack></image>')


def locked(path: Path) -> None:
    drawing(path).chmod(0)


PICTURES: dict[str, tuple[str, Callable[[Path], object], str]] = {
    "no such file": ("a.png", lambda path: None, "no such file"),
    "zero bytes": ("a.png", lambda path: path.write_bytes(b""), "empty"),
    "not an image": ("a.png", lambda path: path.write_text("a letter"), "not a picture"),
    "truncated PNG": ("a.png", cut_short, "cut short"),
    "truncated JPEG": ("a.jpg", cut_short, "cut short"),
    "1 x 1": ("a.png", plain("#123456", (1, 1)), "too small"),
    "all white": ("a.png", plain("#ffffff"), "one colour"),
    "all one colour": ("a.png", plain("#c03020"), "one colour"),
    "noise only": ("a.png", noise(300, 300), "no areas of even colour"),
    "noise only, smaller": ("a.png", noise(240, 240), "no areas of even colour"),
    "noise only, larger": ("a.png", noise(800, 600), "no areas of even colour"),
    "300 megapixels": ("a.png", bomb, "--max-megapixels"),
    "a folder": ("a.png", lambda path: path.mkdir(), "folder"),
    "broken OpenRaster": ("a.ora", lambda path: path.write_bytes(b"PK\3\4junk"), "broken"),
    "OpenRaster that climbs out": ("a.ora", climbing_ora, ".ora"),
}

JOBS = {
    "no drawing named": ("", "names no drawing"),
    "drawing outside the folder": ('drawing = "../a.png"', "leads out of the folder"),
    "drawing by absolute path": ('drawing = "/etc/passwd"', "leads out of the folder"),
    "area that does not exist": ('drawing = "a.png"\n[areas.99]\nname = "x"', "area 99 does not exist"),
    "part of areas that do not exist": ('drawing = "a.png"\n[parts.a]\nareas = [1, 99]', "area 99 does not exist"),
    "dot with an edge that is lapped": (
        'drawing = "a.png"\n[areas.2]\nflags = ["dot"]\n[edges."1-2"]\ntreat = "lap"',
        "area 2 is flagged dot, so its edge cannot be 'lap'",
    ),
    "edge that does not exist": ('drawing = "a.png"\n[edges."1-99"]\ntreat = "lap"', "do not touch"),
    "part without areas": ('drawing = "a.png"\n[parts.tail]\nsurface_factor = 1.1', "part 'tail' has no areas"),
    "part after one that is not": (
        'drawing = "a.png"\n[parts.a]\nareas = [1]\nafter = ["b"]',
        "part 'b' does not exist",
    ),
    "misspelt part of an area": (
        'drawing = "a.png"\n[parts.body]\nareas = [1]\n[areas.2]\npart = "bdy"',
        "part 'bdy' does not exist; give a new part its own [parts.NAME], or did you mean 'body'?",
    ),
    "blended into itself": ('drawing = "a.png"\n[areas.1]\nblend_into = 1', "areas.1.blend_into: areas 1 and 1 do not"),
    "blended into another part": (
        'drawing = "a.png"\n[parts.a]\nareas = [1]\n[parts.b]\nareas = [2]\n[areas.1]\nblend_into = 2',
        "areas.1.blend_into: areas 1 and 2 are on different parts",
    ),
    "a mix that one area names": ('drawing = "a.png"\n[areas.1]\nmix = "skin"', "only this area names the mix 'skin'"),
    "an edge told twice": (
        'drawing = "a.png"\n[edges."2-1"]\ntreat = "cut"\n[edges."1-2"]\ntreat = "lap"',
        "told twice",
    ),
    "an area told twice": ('drawing = "a.png"\n[areas]\n1.name = "x"\n01.name = "y"', "is not an area's number"),
    "everything bare": (
        'drawing = "a.png"\n[areas]\n1.flags = ["bare"]\n2.flags = ["bare"]',
        "every area is left bare",
    ),
    "unknown paint": ('drawing = "a.png"\n[paints]\nown = ["titanum-white"]', "titanium-white"),
    "empty box": ('drawing = "a.png"\n[paints]\nown = []', "box is empty"),
    "unknown kind of paint": ('drawing = "a.png"\n[paints]\nkind = "acryl"', "acrylic"),
    "primer in place of paint": ('drawing = "a.png"\n[paints]\nkind = "aerosol-primer"', "acrylic"),
    "paint in place of primer": ('drawing = "a.png"\n[method]\nprimer_kind = "acrylic"', "primer"),
    "a pass that cannot be skipped": ('drawing = "a.png"\n[steps.pass-1]\nskip = true', "only a text"),
    "starts without sessions": ('drawing = "a.png"\n[run]\nstarts = [0, 600]', "session_min"),
    "unknown step": ('drawing = "a.png"\n[steps.wsh]\nskip = true', "wash"),
    "mesh that is none": ('drawing = "a.png"\n[parts."part A"]\nmesh = "a.stl"', "a.stl"),
    "air full of water": ('drawing = "a.png"\n[room]\nhumidity_pct = 100', "humidity"),
    "box file that is none": ('drawing = "a.png"\n[paints]\nfile = "a.stl"', "a.stl"),
}

TABLES: dict[str, tuple[Callable[[list[str]], list[str]], str]] = {
    "missing wavelength in the header": (lambda rows: [rows[0].replace(",550", ""), *rows[1:]], "550"),
    "missing value": (lambda rows: [*rows[:4], rows[4].rpartition(",")[0], *rows[5:]], "row 5"),
    "negative K": (lambda rows: [*rows[:1], re.sub(r",[0-9.e-]+$", ",-0.5", rows[1]), *rows[2:]], "-0.5"),
    "not a number": (lambda rows: [*rows[:1], re.sub(r",[0-9.e-]+$", ",much", rows[1]), *rows[2:]], "much"),
    "no rows": (lambda rows: rows[:1], "own.csv"),
}


def tell(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run a command that must be refused; the one line it says."""
    assert run_command([str(a) for a in arguments]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and err.startswith("finishplan: ")
    return err


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_that_cannot_be_read(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, make, said = PICTURES[name]
    make(tmp_path / file)
    message = tell(capsys, "plan", tmp_path / file, "--out", tmp_path / "out", "--quiet")
    assert said in message and file in message
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("folder", [".", "/", ".."])
@pytest.mark.parametrize("command", ["plan", "areas", "run"])
def test_a_folder_by_its_short_name(command: str, folder: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "this is a folder, not a drawing" in tell(capsys, command, folder)


@pytest.mark.parametrize(
    ("command", "file"), [("plan", "areas.png"), ("areas", "palette.png"), ("plan", "page-01.png")]
)
def test_a_drawing_with_the_name_of_a_result_is_not_overwritten(
    command: str, file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = drawing(tmp_path / file).read_bytes()
    png = ["--png"] if file.startswith("page") else []
    assert f"{file}: is read, and would be over" in tell(capsys, command, tmp_path / file, "--out", tmp_path, *png)
    assert [p.name for p in tmp_path.iterdir()] == [file] and (tmp_path / file).read_bytes() == before


def test_a_table_with_the_name_of_a_result_is_not_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "box.toml").write_text('table = "run.csv"\n')
    for kind in ("csv", "toml"):
        shutil.copy(Path(finishplan.__file__).parents[1] / f"palettes/acrylic.{kind}", tmp_path / f"run.{kind}")
    before = (tmp_path / "run.csv").read_bytes()
    seen = drawing(tmp_path / "a.png")
    assert "run.csv: is read" in tell(capsys, "run", seen, "--paints", tmp_path / "box.toml", "--out", tmp_path)
    assert (tmp_path / "run.csv").read_bytes() == before


@pytest.mark.parametrize("name", JOBS)
def test_a_job_that_does_not_fit(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, said = JOBS[name]
    folder = tmp_path / "deep"
    folder.mkdir()
    drawing(folder / "a.png")
    (folder / "a.stl").write_bytes(b"solid nothing")
    (folder / "my.toml").write_text(f"[figure]\n{source}\n")
    assert said in tell(capsys, "plan", folder / "my.toml", "--out", tmp_path / "out", "--quiet")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("--castings", "0"),
        ("--castings", "many"),
        ("--temperature", "nan"),
        ("--humidity", "150"),
        ("--primer", "whitish"),
        ("--paper", "a5"),
        ("--sheets", "order,cards"),
        ("--detail", "most"),
        ("--part", "wing"),
        ("--finish", "shiny"),
        ("--colours", "-1"),
        ("--paints", "nothing.toml"),
        ("--table", "nothing.csv"),
        ("--sheets", "run", "--part", "part A"),
        ("--no-such-option",),
        ("--max-megapixels", "-5"),
        ("--max-megapixels", "0"),
        ("--max-megapixels", "9" * 5000),
        ("--out", ""),
        ("--out", " "),
    ],
    ids=lambda arguments: " ".join(arguments)[:40],
)
def test_an_option_that_cannot_be(
    arguments: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    message = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet", *arguments)
    assert arguments[0].lstrip("-") in message or arguments[-1] in message
    assert "internal error" not in message and "Exceeds" not in message
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("option", "value", "cure"),
    [
        ("--castings", "six", "'six' is not a whole number; write the digits alone, as --castings 6"),
        ("--temperature", "70F", "'70F' is not a number; write it in degrees C, without the unit, as --temperature 21"),
        ("--height-mm", "8cm", "'8cm' is not a number; write it in millimetres, without the unit"),
        ("--finish", "shiny", "'shiny' is not known; use one of: matt, satin, gloss"),
        ("--primer", "grey", "'grey' is no primer known here; use one of: auto, white, light grey, mid grey, black"),
    ],
)
def test_an_option_is_refused_in_plain_words_with_the_cure(
    option: str, value: str, cure: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cure in tell(capsys, "plan", drawing(tmp_path / "a.png"), "--quiet", option, value)


NAMED_OPTIONS: dict[tuple[str, ...], str] = {
    ("--humidity", "100"): "finishplan: --humidity: in air of 100 % humidity no waterborne coat dries; ",
    ("--humidity", "0"): "finishplan: --humidity: 0 is out of range; write a number from 1 to 100 (%)",
    ("--temperature", "-1"): "finishplan: --temperature: -1 is out of range; ",
    ("--temperature", "18,5"): "finishplan: --temperature: '18,5' is not a number; write 18.5",
    ("--painters", "2_0"): "finishplan: --painters: '2_0' is not a whole number; ",
    ("--castings", "9" * 5000): "finishplan: --castings: a number of too many digits; ",
    ("--paints", "none.toml"): "finishplan: --paints none.toml: cannot be read: No such file",
    ("--paints", "a.png"): "finishplan: --paints a.png: is a picture; ",
    ("--paints", " "): "finishplan: --paints: a name is missing; write one, as --paints box.toml, or ",
}
OF_THE_PLAN: dict[tuple[str, ...], str] = {
    ("--table", "none.csv"): "finishplan: --table none.csv: cannot be read: No such file",
    ("--table", "oil.csv"): "finishplan: --table with my.toml: paints.own: no paint 'titanium-white'",
    ("--parts-map", "none.png"): "finishplan: --parts-map none.png: no such file; check its name",
    ("--parts-map", "."): "finishplan: --parts-map .: this is a folder",
    ("--height-mm", "1e6"): "finishplan: --height-mm: 1000000.0 is out of range; ",
    ("--height-mm", "2000"): "finishplan: --height-mm with my.toml: run.pot_life_min: mixing and one coat ",
    ("--colours", "1"): "finishplan: --colours with my.toml: areas.2: area 2 does not exist; ",
}


@pytest.mark.parametrize(
    ("command", "given"),
    [("plan", given) for given in (*NAMED_OPTIONS, *OF_THE_PLAN)] + [("run", given) for given in NAMED_OPTIONS],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, tuple) else value,
)
def test_what_an_option_gave_is_not_blamed_on_the_job_file(
    command: str,
    given: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    drawing(tmp_path / "a.png")
    for kind in ("csv", "toml"):
        shutil.copy(Path(__file__).parents[2] / f"palettes/heritage-oil.{kind}", f"oil.{kind}")
    job = '[figure]\ndrawing = "a.png"\nheight_mm = 70\n[paints]\nown = ["titanium-white"]\n'
    Path("my.toml").write_text(
        job
        + "[room]\nhumidity_pct = 40\ntemperature_c = 20\n"
        + "[run]\ncastings = 2\npainters = 1\npalette = 'dish'\n[areas.2]\nname = 'x'\n"
    )
    assert tell(capsys, command, "my.toml", *given).startswith({**NAMED_OPTIONS, **OF_THE_PLAN}[given])


@pytest.mark.parametrize("option", ["--paints", "--table"])
@pytest.mark.parametrize("command", [["mix", "#808080"], ["box"]], ids=lambda command: command[0])
def test_a_box_or_table_that_is_not_there_is_told_with_its_option(
    command: list[str], option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert f"finishplan: {option} none: cannot be read" in tell(capsys, *command, option, "none")


@pytest.mark.parametrize(
    ("key", "line"),
    [
        ("figure.drawing", 'drawing = "none.png"'),
        ("figure.parts_map", 'drawing = "a.png"\nparts_map = "none.png"'),
        ("paints.file", 'drawing = "a.png"\n[paints]\nfile = "none.png"'),
        ("paints.table", 'drawing = "a.png"\n[paints]\ntable = "none.png"'),
        ("parts.part A.mesh", 'drawing = "a.png"\n[parts."part A"]\nmesh = "none.png"'),
    ],
)
def test_a_file_of_the_job_that_is_not_there_is_told_with_its_key(
    key: str, line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text(f"[figure]\n{line}\n")
    assert f"finishplan: my.toml: {key}: {tmp_path.resolve() / 'none.png'}: " in tell(
        capsys, "plan", tmp_path / "my.toml"
    )


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


NAMED = {
    "[run]\nstart_at = '25:00'": "my.toml: run.start_at: '25:00' is no time of day",
    "[run]\nsession_min = 120\nstarts = [0, 60]": "my.toml: run.session_min, starts: ",
    "[run]\nsession_min = 60\nday_min = 30": "my.toml: run.session_min, day_min: ",
    "[run]\npot_life_min = 1": "my.toml: run.pot_life_min: ",
    "[run]\nsession_min = 10": "my.toml: run.session_min: ",
    "[steps.wsh]\nskip = true": "my.toml: steps.wsh: no step is called 'wsh'",
    "[room]\nhumidity_pct = 100": "my.toml: room.humidity_pct: ",
    "[paints]\nown = ['titanum-white']": "my.toml: paints.own: ",
    "[paints]\nown = ['PW66']": "my.toml: paints.own: ",
    "[paints]\nown = []": "my.toml: paints.own: the paint box is empty",
    "[paints]\nfile = 'colour.toml'": "colour.toml, paint 1: colour: '#12345g' is not a colour",
    "[paints]\nfile = 'own.toml'": "own.toml: own: no paint 'titanum-white'",
    "[paints]\nfile = 'empty.toml'": "empty.toml: own: the paint box is empty",
    "[paints]\nfile = 'of.toml'": "of.toml, paint 1: of: no paint 'titanum-white'",
}


@pytest.mark.parametrize("job", NAMED)
def test_file_and_key_are_named(job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text(f'[figure]\ndrawing = "a.png"\n{job}\n')
    (tmp_path / "colour.toml").write_text('[[paint]]\nname = "x"\ncolour = "#12345g"\n')
    (tmp_path / "own.toml").write_text('own = ["titanum-white"]\n')
    (tmp_path / "empty.toml").write_text("own = []\n")
    (tmp_path / "of.toml").write_text('[[paint]]\nof = "titanum-white"\n')
    assert NAMED[job] in tell(capsys, "run", tmp_path / "my.toml", "--quiet")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["pln"], "No such command 'pln'. Did you mean 'plan'? See --help"),
        (["mix"], "Missing argument 'COLOUR...'; see --help"),
        (["mix", "#808080", "--volum", "1ml"], "No such option: --volum (Possible options: --volume); see --help"),
    ],
    ids=str,
)
def test_a_line_of_refusal_ends_as_a_sentence_does(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert tell(capsys, *arguments) == f"finishplan: {said}\n"


@pytest.mark.parametrize("most", [("--max-paints", "4"), ("--max-parts", "16")])
@pytest.mark.parametrize("value", ["0", "17", "many"])
def test_more_to_a_mix_than_can_be(most: tuple[str, str], value: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert f"write a whole number from 1 to {most[1]}" in tell(capsys, "mix", "#808080", most[0], value)
    assert run_command(["mix", "#808080", "--quiet", *most]) == 0


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
    assert re.search(r"One tube of [^;]+ brings? .+, now \d+\.\d off, within 2\.", said)


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
            "no paint 'PR9999' in the table 'artists' acrylic paints' (also unclear: 'co",
        ),
        (
            '"PBr7", "PW66"',
            "PBr7 is the Colour Index name of several paints (also unclear: 'PW66'); write the id, one of",
        ),
        ('"white"', "did you mean 'titanium-white'?"),
        ('"titanum"', "use one of: titanium-white, buff-titanium"),
        ('"PW7"', "or name one of its 30 paints, of this hue PW6 and PW6:1"),
        ('"Cadmium"', "use one of: cadmium-orange, cadmium-red-light"),
    ],
)
def test_paints_that_the_table_has_not_are_told_together(
    own: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "box.toml").write_text(f"own = [{own}]\n")
    assert said in tell(capsys, "box", "--paints", tmp_path / "box.toml")


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["--version"]) == 0
    assert capsys.readouterr().out == f"finishplan {finishplan.__version__}\n"


@pytest.mark.parametrize("colour", ["red", "#12345", "lab(1 2)", "lab(120 0 0)", "lab(nan 0 0)", "lab(a b c)"])
def test_a_colour_that_is_none(colour: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert re.search(f"'{re.escape(colour)}' is not a (surface )?colour", tell(capsys, "mix", colour))


@pytest.mark.parametrize("volume", ["much", "0ml", "-3ml", "1e9ml", "4l"])
def test_a_volume_that_is_none(volume: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "is not a volume" in tell(capsys, "mix", "#c8742a", f"--volume={volume}")


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


NOBODY = 65534


@contextmanager
def unprivileged(folder: Path) -> Iterator[None]:
    """As a user who may not read and write everything; `folder` stays within reach of whom root becomes here."""
    if os.getuid() != 0:
        yield
        return
    for place in (Path(finishplan.__file__), Path(sys.prefix)):
        if not all(above.stat().st_mode & 0o001 for above in place.resolve().parents):
            pytest.skip("the package or its Python lies in a folder that is root's alone: nobody else could run it")
    for above in folder.relative_to(tempfile.gettempdir()).parents:
        (Path(tempfile.gettempdir()) / above).chmod(0o711 if above.parts else 0o1777)
    folder.chmod(0o777)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="needs a system with users' ids")
def test_what_may_not_be_read_or_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    locked(tmp_path / "a.png")
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    seen = drawing(tmp_path / "b.png")
    assert run_command(["plan", str(seen), "--out", str(tmp_path / "out"), "--quiet"]) == 0  # all modules are there now
    with unprivileged(tmp_path):
        assert "permission" in tell(capsys, "plan", tmp_path / "a.png").lower()
        for out in (shut, shut / "in"):
            said = tell(capsys, "plan", seen, "--out", out, "--quiet")
            assert "Permission denied" in said and "--out" in said
        assert run_command(["plan", str(seen), "--out", str(tmp_path / "own"), "--quiet"]) == 0
    assert list(shut.iterdir()) == []


def test_a_file_of_its_own_that_cannot_be_used_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*given: object, **wanted: object) -> None:
        raise PermissionError(13, "Permission denied", "palettes/acrylic.csv")

    monkeypatch.setattr("finishplan.paint.box.load_box", fails)
    assert "palettes/acrylic.csv: cannot be used: Permission denied" in tell(capsys, "box")


@pytest.mark.parametrize("command", [["box"], ["box", "--json"], ["--help"]], ids=" ".join)
def test_a_reader_who_leaves_early(command: list[str]) -> None:
    """As in `finishplan box | head -1`: no word of complaint."""
    read, write = os.pipe()
    os.close(read)
    running = [sys.executable, "-m", "finishplan", *command]
    done = subprocess.run(running, stdout=write, stderr=subprocess.PIPE, text=True, check=False)
    os.close(write)
    assert (done.returncode, done.stderr) == (0, "")


def test_an_output_folder_that_is_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "out").write_text("mine")
    assert "--out" in tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Every write goes to a device without room, as on a full disk."""
    monkeypatch.setattr(
        "finishplan.basics.files.new_beside", lambda path: (os.open("/dev/full", os.O_WRONLY), f"{path.parent}/.gone")
    )
    said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert "No space left" in said
    assert list((tmp_path / "out").iterdir()) == []


def test_a_path_with_spaces_and_other_letters(tmp_path: Path) -> None:
    folder = tmp_path / "mein Entwurf ä ł 図"
    folder.mkdir()
    assert run_command(["plan", str(drawing(folder / "Möwe 1.png")), "--out", str(folder / "öut"), "--quiet"]) == 0
    assert {"painting-order.pdf", "plan.json", "areas.png", "job.toml"} <= {p.name for p in (folder / "öut").iterdir()}


def test_a_linked_output_keeps_its_link(tmp_path: Path) -> None:
    target = tmp_path / "elsewhere.json"
    target.write_text("old")
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").symlink_to(target)
    assert run_command(["plan", str(drawing(tmp_path / "a.png")), "--out", str(out), "--quiet"]) == 0
    assert (out / "plan.json").is_symlink() and target.read_text().startswith("{")


def test_two_runs_at_once_into_one_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from finishplan.cli.outputs import writing

    with writing(tmp_path / "out"):
        said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert "another finishplan" in said
    assert list((tmp_path / "out").iterdir()) == []


def test_a_lock_that_cannot_be_had(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("finishplan.cli.outputs.tempfile.gettempdir", lambda: str(tmp_path / "nowhere"))
    (tmp_path / "nowhere").write_text("a file in place of the folder for temporary files")
    said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert "cannot hold the folder" in said and ".lock" in said


FOLDERS_IN_THE_WAY = ("plan.json", "painting-order.pdf", "areas.png", "job.toml")


@pytest.mark.parametrize("name", FOLDERS_IN_THE_WAY)
def test_a_folder_in_place_of_a_file_leaves_all_as_it_was(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    (out / name).mkdir(parents=True)
    said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", out, "--quiet")
    assert f"{name}: a folder stands where this file is to be; move it away" in said
    assert [p.name for p in out.iterdir()] == [name]


def check_whole(folder: Path) -> set[str]:
    """The names of the files in the folder, each of which is parsed; none may be a temporary one."""
    import tomllib

    import pypdf

    parse: dict[str, Callable[[Path], object]] = {
        ".json": lambda path: json.loads(path.read_text()),
        ".toml": lambda path: tomllib.loads(path.read_text()),
        ".pdf": lambda path: [page.extract_text() for page in pypdf.PdfReader(path, strict=True).pages],
        ".png": lambda path: Image.open(path).load(),
        ".npz": load_kept,
    }
    parse[".pg"] = parse[".png"]
    paths = list(folder.rglob("*")) if folder.exists() else []
    for path in paths:
        parse[path.suffix](path)
    return {path.name for path in paths} - {NAME}


def group(leader: int) -> list[int]:
    """The processes of this process group that still run."""
    found = []
    for one in Path("/proc").glob("[0-9]*"):
        try:
            state, _, of = (one / "stat").read_text().rpartition(")")[2].split()[:3]
        except OSError:  # gone by now
            continue
        if int(of) == leader and state not in "ZX":
            found.append(int(one.name))
    return found


def left_over(leader: int) -> list[int]:
    """The processes of this group that do not end: on a busy machine one that was killed takes a moment to be gone."""
    for _ in range(500):
        if not group(leader):
            break
        time.sleep(0.01)
    return group(leader)


def heeds(process: "subprocess.Popen[bytes]") -> bool:
    """Whether the program has set its own answer to SIGTERM, as it does first of all."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    caught = re.search(r"^SigCgt:\s*([0-9a-f]+)$", status, re.MULTILINE)
    return caught is not None and bool(int(caught[1], 16) >> (signal.SIGTERM - 1) & 1)


def wait_for(what: Callable[[], bool], process: "subprocess.Popen[bytes]") -> None:
    while process.poll() is None and not what():
        time.sleep(0.002)


WHOLE_PLAN = {"painting-order.pdf", "plan.json", "areas.png", "job.toml", "drawing.png"}
needs_proc = pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux' /proc")


def begun(folder: Path, job: str = "") -> "subprocess.Popen[bytes]":
    """A plan being made into folder/out, leader of a group of its own, heeding signals."""
    drawing(folder / "a.png")
    (folder / "a.toml").write_text(job)
    running = [sys.executable, "-m", "finishplan", "plan", "a.png", "--out", "out", "--quiet"]
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder / "cache")}
    process = subprocess.Popen(
        running, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    wait_for(lambda: heeds(process), process)
    return process


@needs_proc
@pytest.mark.parametrize("moment", [0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, "folder", "file"])
def test_interrupted_at_any_moment(moment: float | str, tmp_path: Path) -> None:
    """Ctrl-C reaches the whole group: the program leaves with 130 (0 where it was done), and nothing is half done."""
    process = begun(tmp_path)
    if isinstance(moment, float):
        time.sleep(moment)
    else:
        out = tmp_path / "out"
        wait_for(lambda: out.exists() and (moment == "folder" or any(out.iterdir())), process)
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode in (0, 130) and err == b""
    assert left_over(process.pid) == []
    there = check_whole(tmp_path / "out")
    assert there in (set(), WHOLE_PLAN), "all or nothing of a folder that was empty"
    assert process.returncode == 130 or there == WHOLE_PLAN
    assert not [p for p in (tmp_path / "cache").rglob("*") if p.is_file() and p.suffix != ".npz"]


@needs_proc
@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP])
def test_no_copy_works_on_when_the_program_is_ended(end: signal.Signals, tmp_path: Path) -> None:
    """The signal goes to the program alone, in the midst of a long search in its copies."""
    process = begun(tmp_path, "[run]\ncastings = 30\nsearch_s = 120\n[room]\ndryer = true\n")
    wait_for(lambda: len(group(process.pid)) >= 3, process)
    process.send_signal(end)
    assert process.wait(timeout=60) == (-9 if end == signal.SIGKILL else 128 + end)
    assert left_over(process.pid) == []
    process.communicate()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal that can be opened by a program")
def test_interrupted_while_the_bar_is_shown_the_cursor_comes_back() -> None:
    """On a terminal: the bar hides the cursor (DEC private mode 25), its line is wiped on leaving."""
    import pty

    code = (
        "import time\nfrom finishplan.basics import signals\nfrom finishplan.cli import terminal\nsignals.heed()\n"
        "with terminal.progress(False, after_s=-1) as tell:\n    tell('drying', 0.5)\n    time.sleep(600)\n"
    )
    ours, theirs = pty.openpty()
    environment = {**os.environ, "TERM": "xterm"}
    environment.pop("NO_COLOR", None)
    process = subprocess.Popen([sys.executable, "-c", code], env=environment, stdout=theirs, stderr=theirs)
    os.close(theirs)
    shown = b""
    while b"\x1b[?25l" not in shown:
        shown += os.read(ours, 65536)
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=60) == 130
    with suppress(OSError):  # what Linux says at the end of a terminal
        while more := os.read(ours, 65536):
            shown += more
    os.close(ours)
    assert shown.endswith(b"\r\x1b[2K\x1b[?25h") and b"Traceback" not in shown


INTERRUPTED = """
import os, signal, sys
from pathlib import Path
from finishplan.basics import files
from finishplan.basics import signals
signals.heed()
where, folder = sys.argv[1], Path(sys.argv[2])
real_place, real_new = Path.replace, files.new_beside
def struck(step):
    if step == where:
        os.kill(os.getpid(), signal.SIGINT)
def place(self, target):
    struck("placing " + target.name)
    return real_place(self, target)
def new(path):
    made = real_new(path)
    struck("writing " + path.name)
    return made
Path.replace, files.new_beside = place, new
files.write_together({folder / name: "new" for name in ("a", "b", "c")})
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a signal that can be sent to oneself")
@pytest.mark.parametrize("at", [f"{step} {name}" for step in ("writing", "placing") for name in "abc"])
def test_interrupted_at_a_write_all_are_old_or_all_are_new(at: str, tmp_path: Path) -> None:
    for name in "abc":
        (tmp_path / name).write_text("old")
    done = subprocess.run([sys.executable, "-c", INTERRUPTED, at, str(tmp_path)], capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (130, b"")
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == dict.fromkeys(
        "abc", "old" if at.startswith("writing") else "new"
    )


def test_who_imports_the_package_keeps_their_handlers() -> None:
    code = (
        "import signal; of = lambda: [signal.getsignal(s) for s in (signal.SIGINT, signal.SIGTERM)]; before = of();"
        "from finishplan.cli import commands; commands.run_command(['mix', '#808080', '--quiet']); "
        "assert of() == before"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell that can close a stream")
@pytest.mark.parametrize("closed", ["2>&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_without_standard_error_the_exit_code_still_tells(closed: str, tmp_path: Path) -> None:
    run = f'"{sys.executable}" -m finishplan'
    assert subprocess.run(f"{run} plan none.png {closed}", shell=True, cwd=tmp_path, check=False).returncode == 2
    drawing(tmp_path / "a.png")
    assert subprocess.run(f"{run} plan a.png --out out {closed}", shell=True, cwd=tmp_path, check=False).returncode == 0
    assert check_whole(tmp_path / "out") == WHOLE_PLAN


def test_a_name_that_is_no_text_is_shown_with_question_marks(tmp_path: Path) -> None:
    """Latin-1 in a file name, as of an old disk: bytes that are not UTF-8."""
    if sys.platform in ("win32", "darwin"):
        pytest.skip("names of files are text here")
    name = os.fsdecode(b"m\xf6we\n.p\xf6g")
    (tmp_path / name).write_bytes(drawing(tmp_path / "a.png").read_bytes())
    for out in ("first", "again"):
        source = tmp_path / name if out == "first" else tmp_path / "first" / "job.toml"
        assert run_command(["plan", str(source), "--out", str(tmp_path / out), "--quiet"]) == 0
        assert check_whole(tmp_path / out) == WHOLE_PLAN - {"drawing.png"} | {"drawing.pg"}
        assert '"name": "m?we?"' in (tmp_path / out / "plan.json").read_text()


@pytest.mark.skipif(sys.platform == "win32", reason="names of files are text here")
def test_names_of_other_letters_where_the_system_speaks_ascii_only(tmp_path: Path) -> None:
    drawing(tmp_path / "é.png")
    (tmp_path / "my.toml").write_text('[figure]\ndrawing = "é.png"\n', encoding="utf-8")
    plain = {**os.environ, "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}
    running = [sys.executable, "-m", "finishplan", "plan", "ü.png"]
    done = subprocess.run(running, cwd=tmp_path, env=plain, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (2, b"finishplan: u.png: no such file; check the name of the drawing\n")
    for source in ("é.png", "my.toml"):
        running = [sys.executable, "-m", "finishplan", "plan", source, "--out", "öut", "--json"]
        done = subprocess.run(running, cwd=tmp_path, env=plain, capture_output=True, check=False)
        assert (done.returncode, done.stderr) == (0, b"")
        assert json.loads(done.stdout.decode("utf-8"))["figure"]["name"] == "é"
        assert check_whole(tmp_path / "öut") == WHOLE_PLAN


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
@pytest.mark.parametrize("what", ["drawing", "job", "box", "table", "parts map", "mesh", "device"])
def test_a_pipe_or_a_device_is_not_waited_for(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen, pipe = drawing(tmp_path / "a.png"), tmp_path / "pipe"
    os.mkfifo(pipe)
    os.mkfifo(tmp_path / "pipe.toml")
    os.mkfifo(tmp_path / "pipe.stl")
    (tmp_path / "mesh.toml").write_text('[figure]\ndrawing = "a.png"\n[parts."part A"]\nmesh = "pipe.stl"\n')
    given: dict[str, tuple[str | Path, ...]] = {
        "drawing": (pipe,),
        "job": (tmp_path / "pipe.toml",),
        "box": (seen, "--paints", pipe),
        "table": (seen, "--table", pipe),
        "parts map": (seen, "--parts-map", pipe),
        "mesh": (tmp_path / "mesh.toml",),
        "device": ("/dev/zero",),
    }
    said = tell(capsys, "plan", *given[what], "--out", tmp_path / "out", "--quiet")
    assert "is a pipe or a device, not a file; save it as a file" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_in_place_of_an_output_is_neither_read_nor_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out").mkdir()
    os.mkfifo(tmp_path / "out" / "job.toml")
    said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert "job.toml: a pipe or a device stands where this file is to be" in said
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["job.toml"]


TEXTS: dict[str, tuple[bytes, str]] = {
    "UTF-16": ('[figure]\nname = "x"\n'.encode("utf-16"), "is UTF-16 text; save it as UTF-8"),
    "Latin-1": (b'[figure]\nname = "M\xf6we"\n', "is not UTF-8 text; save it as UTF-8"),
    "a picture": (b"\x89PNG\r\n\x1a\n", "is a picture; give a job file (TOML)"),
    "a key of 50,000 parts": (b"figure" + b".a" * 50_000 + b" = 1\n", "line 1: a name of too many parts"),
    "one in quotes": (b"\n" + b'"a" . ' * 50_000 + b"b = 1\n", "line 2: a name of too many parts"),
    "a section of 50,000 parts": (b"[a" + b".a" * 50_000 + b"]\n", "line 1: a name of too many parts"),
    "one in a table in a line": (b"x = {a" + b".'a'" * 50_000 + b" = 1}\n", "line 1: a name of too many parts"),
    "nested deeply": (b"x = " + b"[" * 50_000, "nested too deeply"),
    "too long": (b"#" * 3_000_000, "the file is too long"),
    "5,000 digits": (b"[run]\ncastings = " + b"9" * 5000 + b"\n", "line 2: a number of too many digits"),
    "5,000 digits of 16": (b"[run]\ncastings = 0x" + b"F" * 5000 + b"\n", "run: castings: a number of too many digits"),
    "no number": (b"[run]\ncastings = true\n", "run.castings: true will not do"),
    "no height": (b"[figure]\nheight_mm = 2026-01-01\n", "figure.height_mm: 2026-01-01 is not a number"),
    "too many paints": (
        b"[paints]\nown = [" + b",".join(b'"p%d"' % k for k in range(2001)) + b"]\n",
        "paints.own: 2001 are too many; name at most 1000",
    ),
}


@pytest.mark.parametrize("name", TEXTS)
def test_a_job_file_that_is_no_text_of_ours(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data, said = TEXTS[name]
    (tmp_path / "my.toml").write_bytes(data)
    message = tell(capsys, "plan", tmp_path / "my.toml")
    assert said in message and "my.toml: " in message
    assert "sys." not in message and "datetime" not in message


DOTS = "a." * 30 + "s"


@pytest.mark.parametrize(
    "line",
    [
        f"height_mm = 80 # {DOTS}",
        f'name = "{DOTS}"',
        f"name = '{DOTS}' # '",
        f'name = "\\"{DOTS}\\\\" # "',
        f'name = """\n\'{DOTS}""\\""\n{DOTS}""""',
        f"name = '''\n\"''{DOTS}\n{DOTS}\\'''",
    ],
)
def test_points_in_a_comment_or_a_text_are_no_name(line: str) -> None:
    assert toml_of(f"{line}\nx.y = 1\n", "a.toml") == tomllib.loads(f"{line}\nx.y = 1\n")


@pytest.mark.parametrize(
    "before", ["# it's", "name = 'a' # \"", 'name = "\\"" ', "name = '''\n\"'''\n", 'name = """"a""""']
)
def test_a_name_of_many_parts_is_seen_after_any_text(before: str) -> None:
    with pytest.raises(InputError, match="a name of too many parts"):
        toml_of(f"{before}\n{DOTS} = 1\n", "a.toml")


def test_a_byte_order_mark_and_a_date_of_toml_are_read(tmp_path: Path) -> None:
    drawing(tmp_path / "a.png")
    job = '\ufeff[figure]\r\ndrawing = "a.png"\r\ndate = 2026-01-01\r\n[paints]\r\nfile = "box.toml"\r\n'
    (tmp_path / "my.toml").write_bytes(job.encode())
    (tmp_path / "box.toml").write_bytes('\ufeffown = ["PW6", "bone-black"]\r\n'.encode())
    assert run_command(["plan", str(tmp_path / "my.toml"), "--out", str(tmp_path / "out"), "--quiet"]) == 0
    assert json.loads((tmp_path / "out" / "plan.json").read_text())["figure"]["date"] == "2026-01-01"


ODD: dict[str, tuple[tuple[str, ...], str]] = {
    "a folder that a plan was written into": (
        ("plan", "made"),
        "made: this is a folder; give the job file in it, made/job",
    ),
    "a job as the box": (("plan", "a.png", "--paints", "made/job.toml"), "job.toml: is a job file, not a paint box; "),
    "metadata without its table": (
        ("plan", "a.png", "--table", "box.toml"),
        "--table box.csv: cannot be read: No such",
    ),
    "a file in place of the folder": (
        ("plan", "a.png", "--out", "a.png"),
        "a.png: cannot make the folder: a file stands",
    ),
    "a circle of links as the folder": (
        ("plan", "a.png", "--out", "loop"),
        "loop: cannot make the folder: a link to noth",
    ),
    "a circle of links as the job file": (("plan", "b.png"), "b.toml: is a link to nothing; mend or remove it"),
    "a dash of a text program": (("plan", "a.png", "\u2013castings", "3"), "write two plain hyphens: --castings"),
    "a moment before all calendars": (
        ("run", "a.png", "--out", "out", "--start", "0001-01-01T00:00+14:00"),
        "--start: '0001-01-01T00:00+14:00' is not a date and time",
    ),
    "too many recipes": (("plan", "many.toml"), "many.toml: paints.max_paints, max_parts: 49 million recipes"),
    "too many recipes for a colour": (
        ("mix", "#808080", "--paints", "many-box.toml", "--max-parts", "16"),
        "--max-paints, --max-parts: 49 million recipes",
    ),
    "a key before any section": (("plan", "key.toml"), "'castings' stands outside its section; write [run] in a line"),
    "a section twice": (("plan", "twice.toml"), "[parts.a] stands twice (at line 4, column 9); leave one of them"),
    "a key twice": (("plan", "again.toml"), "a key stands twice (at line 3, "),
    "a decimal comma": (("plan", "comma.toml"), "more than one value stands there (at line 2, "),
    "a word without quotes": (("plan", "word.toml"), "a value that cannot be read (at line 2, "),
    "a quote left open": (("plan", "open.toml"), "a text without its closing quote (at line 2, "),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_input_has_one_line_with_its_cure(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from finishplan.paint.table import load_table

    monkeypatch.chdir(tmp_path)
    every = ", ".join(f'"{p.id}"' for p in load_table(None).paints)
    texts = {
        "made/job": "[figure]\n",
        "box": 'own = ["PW6"]\n',
        "many": f'[figure]\ndrawing = "a.png"\n[paints]\nmax_parts = 16\nown = [{every}]\n',
        "many-box": f"own = [{every}]\n",
        "key": "castings = 3\n",
        "twice": '[figure]\ndrawing = "a.png"\n[parts.a]\n[parts.a]\n',
        "again": '[figure]\ndrawing = "a.png"\ndrawing = "b.png"\n',
        "comma": "[figure]\nheight_mm = 18,5\n",
        "word": "[figure]\nfinish = matt\n",
        "open": '[figure]\nfinish = "matt\n',
    }
    Path("made").mkdir()
    for stem, text in texts.items():
        Path(f"{stem}.toml").write_text(text)
    drawing(Path("a.png"))
    drawing(Path("b.png"))
    Path("b.toml").symlink_to("b.toml")
    Path("loop").symlink_to("loop")
    arguments, said = ODD[name]
    assert said in tell(capsys, *arguments)


def test_a_run_of_many_litres_is_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two hundred large castings, sprayed, take over ten litres of one mix."""
    (tmp_path / "a.toml").write_text('[parts."part A"]\nsurface_cm2 = 3000\n')
    given = ["--castings", "200", "--airbrush", "--out", str(tmp_path / "out"), "--json"]
    assert run_command(["plan", str(drawing(tmp_path / "a.png")), *given]) == 0
    assert max(m["ml_run"] for m in json.loads(capsys.readouterr().out)["mixes"]) > 10_000


def test_capitals_of_words_do_not_matter(tmp_path: Path) -> None:
    given = ["--paper", "A4", "--finish", "Matt", "--sheets", "Parts, CARDS"]
    out = tmp_path / "out"
    assert run_command(["plan", str(drawing(tmp_path / "a.png")), "--out", str(out), "--quiet", *given]) == 0
    assert (out / "painting-order-sheets-parts-cards.pdf").exists()
    assert run_command(["mix", "#808080", "--finish", "GLOSS", "--volume", "4 ML", "--quiet"]) == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_error_that_cannot_be_printed_still_has_its_exit_code(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        running = [sys.executable, "-m", "finishplan", "plan", "none.png"]
        assert subprocess.run(running, cwd=tmp_path, stderr=full, check=False).returncode == 2


@pytest.mark.skipif(sys.platform == "win32", reason="a folder in use cannot be removed there")
def test_a_folder_that_is_gone_under_ones_feet(tmp_path: Path) -> None:
    seen = drawing(tmp_path / "a.png")
    (tmp_path / "gone").mkdir()
    line = f'rmdir ../gone && "{sys.executable}" -m finishplan plan "{seen}" --quiet'
    done = subprocess.run(line, shell=True, cwd=tmp_path / "gone", capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1] == "finishplan: the folder where you are is gone; change into another"


def test_debug_shows_the_traceback(tmp_path: Path) -> None:
    from finishplan.basics.errors import InputError

    with pytest.raises(InputError):
        run_command(["plan", str(tmp_path / "none.png"), "--debug"])
