"""What can be wrong with a job file: one line names file and key, with the cure; exit code 2, nothing half made."""

import json
import tomllib
from pathlib import Path

import pytest
from refusals import drawing, tell

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import toml_of
from finishplan.cli.main import run_command

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


NAMED = {
    "[run]\nstart_at = '25:00'": "my.toml: run.start_at: '25:00' is not a time of day",
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
    "a section twice": (("plan", "twice.toml"), "[parts.a] stands twice (at line 4, column 9); keep only one of them"),
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
