"""What can be wrong with a command and its options: one line with the cure, exit code 2, nothing half made."""

import json
import re
import shutil
from pathlib import Path

import pytest
from refusals import drawing, tell

import finishplan
from finishplan.basics.errors import InputError
from finishplan.cli.main import run_command


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


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["pln"], "No such command 'pln'. Did you mean 'plan'? See --help"),
        (["mix"], "mix: no colour is named; write one as '#d9a02a', or show a book with --book"),
        (["set"], "Missing argument 'JOB'; see --help"),
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


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["--version"]) == 0
    assert capsys.readouterr().out == f"finishplan {finishplan.__version__}\n"


@pytest.mark.parametrize("colour", ["red", "#12345", "lab(1 2)", "lab(120 0 0)", "lab(nan 0 0)", "lab(a b c)"])
def test_a_colour_that_is_none(colour: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert re.search(f"'{re.escape(colour)}' is not a (surface )?colour", tell(capsys, "mix", colour))


@pytest.mark.parametrize("volume", ["much", "0ml", "-3ml", "1e9ml", "4l"])
def test_a_volume_that_is_none(volume: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "is not a volume" in tell(capsys, "mix", "#c8742a", f"--volume={volume}")


def test_a_run_of_many_litres_is_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two hundred large castings, sprayed, take over ten litres of one mix."""
    (tmp_path / "a.toml").write_text('[parts."part A"]\nsurface_cm2 = 3000\n')
    given = ["--castings", "200", "--airbrush", "--out", str(tmp_path / "out"), "--json"]
    assert run_command(["plan", str(drawing(tmp_path / "a.png")), *given]) == 0
    assert max(m["ml_run"] for m in json.loads(capsys.readouterr().out)["mixes"]) > 10_000


def test_capitals_of_words_do_not_matter(tmp_path: Path) -> None:
    given = ["--paper", "A4", "--finish", "Matt", "--sheets", "Parts, CARDS", "--paper-white", "AUTO"]
    out = tmp_path / "out"
    assert run_command(["plan", str(drawing(tmp_path / "a.png")), "--out", str(out), "--quiet", *given]) == 0
    assert (out / "painting-order-sheets-parts-cards.pdf").exists()
    assert run_command(["mix", "#808080", "--finish", "GLOSS", "--volume", "4 ML", "--quiet"]) == 0


def test_debug_shows_the_traceback(tmp_path: Path) -> None:

    with pytest.raises(InputError):
        run_command(["plan", str(tmp_path / "none.png"), "--debug"])
