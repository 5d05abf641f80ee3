"""A maker's evening at the command line: name, group, correct, redraw, plan again, without opening the job file."""

from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

from finishplan.cli.main import run_command
from finishplan.cli.set_command import offered
from finishplan.drawing.stored import NAME
from finishplan.job.read import load_job


def sheet(path: Path, patch: bool = False) -> Path:
    """A figure with two eyes, a highlight and a mouth, and a lantern beside it."""
    picture = Image.new("RGB", (420, 260), "#ffffff")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((20, 20, 240, 240), fill="#d9a23a")
    for left in (70, 150):
        pen.ellipse((left, 80, left + 40, 120), fill="#202030")
    pen.ellipse((84, 88, 98, 102), fill="#f0f0f8")
    pen.rectangle((90, 160, 170, 185), fill="#7a2f3a")
    pen.rectangle((300, 60, 390, 200), fill="#5d7a3c")
    if patch:
        pen.ellipse((40, 130, 70, 160), fill="#2b7a94")
    picture.save(path)
    return path


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    sheet(tmp_path / "imp.png")
    assert run_command(["areas", "imp.png", "--quiet"]) == 0
    return tmp_path / "imp-areas"


def told(*arguments: str) -> None:
    assert run_command(["set", "imp-areas", *arguments, "--quiet"]) == 0


def by_colour(folder: Path) -> dict[str, list[int]]:
    """Colour -> numbers, of the areas in the job."""
    found: dict[str, list[int]] = {}
    for id, area in load_job(folder / "job.toml").areas.items():
        found.setdefault(area.colour, []).append(id)
    return found


def test_what_is_said_once_survives_a_redraw(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = by_colour(folder)
    (hood,), (mouth,), (glint,) = first["#d9a23a"], first["#7a2f3a"], first["#f0f0f8"]
    eyes = first["#202030"]
    told(f"{hood}.name=hood", f"{mouth}.name=mouth", "mouth.flags=recess", "parts.part B.name=lantern")
    told(f"{eyes[0]}.name=left eye", f"{eyes[1]}.name=right eye", f"{glint}.swallow=left eye")
    told("mixes.night.areas=left eye,right eye", "mixes.night.target=#101018", "hood.name=cowl")
    sheet(folder.parent / "imp.png", patch=True)
    capsys.readouterr()
    assert run_command(["areas", "imp.png"]) == 0
    out, err = capsys.readouterr()
    assert "the drawing has changed: 6 areas as before, 1 new (number 7)." in err
    assert "is used as you edited it" in err
    assert "cowl" in out and "lantern" in out
    job = load_job(folder / "job.toml")
    assert job.areas[hood].name == "cowl" and job.areas[mouth].flags == ("recess",)
    assert job.areas[glint].swallow == eyes[0] and job.areas[7].colour == "#2b7a94"
    assert {job.areas[i].mix for i in eyes} == {"night"} and job.areas[eyes[1]].target == "#101018"
    assert 7 in (job.parts["part A"].areas or ()) and "lantern" in job.parts


def test_the_lines_that_changed_are_shown_and_no_others_change(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (folder / "job.toml").read_text().splitlines()
    capsys.readouterr()
    assert run_command(["set", str(folder / "job.toml"), "1.name=hood"]) == 0
    after = (folder / "job.toml").read_text().splitlines()
    (new,) = [b for a, b in zip(before, after, strict=True) if a != b]
    assert new.startswith("hood = ")
    assert capsys.readouterr().out.startswith("job.toml: hood = { number = 1, at = [")


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("hood.flags", "there is no '=' in it"),
        ("nobody.flags=dot", "no area and no section is called 'nobody'"),
        ("1.flags=dott", "did you mean 'dot'?"),
        ("run.castings=many", "write a whole number from 1"),
        ("1.swallow=6", "on pieces drawn apart"),
        ("99.flags=dot", "area 99 does not exist"),
        ("1.cut=0.9,0.05 0.95,0.05", "cuts[1]: the stroke does not cross area 1"),
        ("mixes.one.areas=", "needs the areas that share it"),
        ("mixes.one.recipe=Zinc 3, PW6 1", "mixes.one.recipe: no paint 'Zinc' in the box; the nearest of its"),
        ("mixes.one=2", "mixes.one: nothing there to set; write mixes.one.areas="),
        ("cuts=0.1,0.1 0.2,0.2", "cuts: nothing there to set; write hood.cut="),
    ],
)
def test_an_edit_that_cannot_be_is_told_and_nothing_is_written(
    said: str, answer: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if said.startswith("mixes"):
        told("mixes.one.areas=1,2")
    before = (folder / "job.toml").read_bytes()
    capsys.readouterr()
    assert run_command(["set", str(folder), said]) == 2
    out, err = capsys.readouterr()
    assert answer in err and err.count("\n") == 1 and not out
    assert (folder / "job.toml").read_bytes() == before


def test_what_is_offered_is_taken_in_one_go(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["set", str(folder), "figure.height_mm=40", "--quiet"]) == 0
    capsys.readouterr()
    assert run_command(["areas", "imp-areas/job.toml"]) == 0
    assert "take it with --accept dots" in capsys.readouterr().out
    assert run_command(["areas", "imp-areas/job.toml", "--accept", "dots"]) == 0
    assert "--accept dots" not in capsys.readouterr().out
    job = load_job(folder / "job.toml")
    assert [a.colour for a in job.areas.values() if "dot" in a.flags] == ["#f0f0f8"]
    assert run_command(["areas", "imp-areas/job.toml", "--accept", "spots"]) == 2
    assert "'spots' is not offered" in capsys.readouterr().err


def test_a_mix_has_the_last_told_of_target_and_recipe(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told("mixes.night.areas=1,2", "mixes.night.target=#101018")
    capsys.readouterr()
    assert run_command(["set", "imp-areas", "mixes.night.areas=1,3", "mixes.night.recipe=bone-black 3, PW6 1"]) == 0
    assert "(taken out) the target of night" in capsys.readouterr().out
    night = load_job(folder / "job.toml").mixes["night"]
    assert not night.target and night.recipe and night.areas == (1, 3)
    told("mixes.night.target=#202028")
    night = load_job(folder / "job.toml").mixes["night"]
    assert night.target == "#202028" and not night.recipe


def test_the_folder_stands_for_the_job_in_it(folder: Path) -> None:
    told("1.name=hood")
    assert run_command(["areas", "imp-areas", "--quiet"]) == 0
    assert load_job(folder / "job.toml").areas[1].name == "hood"
    assert not (folder.parent / "imp-areas-areas").exists()


def test_a_job_that_is_no_text_is_put_aside_whole(folder: Path) -> None:
    edited = (folder / "job.toml").read_text().encode("utf-16")
    (folder / "job.toml").write_bytes(edited)
    assert run_command(["areas", "imp.png", "--fresh", "--quiet"]) == 0
    assert (folder / "job-old.toml").read_bytes() == edited and load_job(folder / "job.toml").areas


def test_a_kept_reading_saves_none_and_its_loss_harms_none(folder: Path) -> None:
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    assert run_command(["areas", "imp.png", "--quiet"]) == 0
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before
    (folder / NAME).unlink()
    assert run_command(["areas", "imp.png", "--quiet"]) == 0
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before
    (folder / NAME).write_bytes(b"no reading of ours")
    assert run_command(["areas", "imp.png", "--quiet"]) == 0
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_every_key_is_written_when_asked(folder: Path) -> None:
    assert run_command(["areas", "imp.png", "--full", "--quiet"]) == 0
    text = (folder / "job.toml").read_text()
    for line in ("castings = 1  # how many", "# session_min =", 'finish = "satin"', "# rack =", "temperature_c = 21"):
        assert line in text
    assert load_job(folder / "job.toml").run.castings == 1


def test_the_shell_is_offered_names_keys_and_values(folder: Path) -> None:
    told("1.name=hood", "mixes.night.areas=2,3")
    job = folder / "job.toml"
    assert "hood.swallow=" in offered(job, "hood.s") and "run.castings=" in offered(job, "run.c")
    assert offered(job, "hood.flags=re") == ["hood.flags=recess"]
    assert offered(job, "2.swallow=ho") == ["2.swallow=hood"] and "mixes.night.target=" in offered(folder, "mixes")
    assert offered(None, "x") == offered(folder / "none.toml", "x") == []


def test_a_job_of_numbers_alone_is_brought_to_names_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet(tmp_path / "imp.png")
    text = '# mine\n[figure]\ndrawing = "imp.png"\n[areas.1]\nname = "hood"  # the hood\nflags = ["first"]\n'
    (tmp_path / "job.toml").write_text(text)
    assert run_command(["areas", str(tmp_path / "job.toml"), "--quiet"]) == 0
    new = (tmp_path / "job.toml").read_text()
    assert "version = 2" in new and "[areas.hood]\nnumber = 1  # the hood\n" in new and new.startswith("# mine\n")
    job = load_job(tmp_path / "job.toml")
    assert job.areas[1].name == "hood" and job.areas[1].at is not None and job.areas[1].flags == ("first",)
    capsys.readouterr()
    assert run_command(["areas", str(tmp_path / "job.toml"), "--quiet"]) == 0
    assert capsys.readouterr().err == "" and (tmp_path / "job.toml").read_text() == new


def test_gaps_are_taken_as_paper(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any) -> None:
    monkeypatch.chdir(tmp_path)
    picture = Image.new("RGB", (400, 300), "#ffffff")
    pen = ImageDraw.Draw(picture)
    boxes = ((50, 50, 349, 119), (50, 120, 189, 219), (210, 120, 349, 219), (50, 220, 349, 269))
    for box, colour in zip(boxes, ("#d9a23a", "#7a2f3a", "#5d7a3c", "#202060"), strict=True):
        pen.rectangle(box, fill=colour)
    picture.save("arch.png")
    assert run_command(["areas", "arch.png", "--out", "open"]) == 0
    out = capsys.readouterr().out
    assert "taken for gaps where the paper shows" in out and "#ffffff" not in out.split("Parts")[0]
    # With a white eye the figure has white paint, and what lies between the legs may be it.
    pen.rectangle((70, 70, 99, 99), fill="#ffffff")
    picture.save("arch.png")
    assert run_command(["areas", "arch.png"]) == 0
    assert "take it with --accept gaps" in capsys.readouterr().out
    assert run_command(["areas", "arch-areas", "--accept", "gaps"]) == 0
    assert "from the next command on" in capsys.readouterr().err
    job = load_job(tmp_path / "arch-areas" / "job.toml")
    assert [area.colour for area in job.areas.values() if area.paper] == ["#ffffff"] and len(job.areas) == 6
    assert run_command(["areas", "arch-areas"]) == 0
    assert "5 areas in 5 colours" in capsys.readouterr().out


def test_edits_of_one_command_are_made_together_and_taken_back_whole(folder: Path) -> None:
    told("mixes.night.recipe={ bone-black = 3, PW6 = 1 }", "mixes.night.areas=2")
    assert load_job(folder / "job.toml").mixes["night"].areas == (2,)
    told("mixes.night=", "1.cut=[[0.3, 0.0], [0.3, 1.0]]", "figure.details=[[0.371, 0.272], [0.204, 0.272]]")
    job = load_job(folder / "job.toml")
    assert not job.mixes and len(job.cuts) == 1 and job.figure.details == ((0.371, 0.272), (0.204, 0.272))
    told("cuts=", "figure.details=0.4, 0.3")
    job = load_job(folder / "job.toml")
    assert not job.cuts and job.figure.details == ((0.4, 0.3),)
