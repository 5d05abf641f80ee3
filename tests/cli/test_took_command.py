"""finishplan run --took: the maker's pace in the job file, the rest of the file as it was."""

from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from finishplan.cli.main import run_command

JOB = '# mine\n[figure]\ndrawing = "a.png"\nheight_mm = 70\n[run]\nsearch_s = 0\n'


@pytest.fixture
def job(tmp_path: Path) -> Path:
    picture = Image.new("RGB", (160, 200), "white")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((40, 30, 120, 100), fill="#c04040")
    pen.rectangle((40, 100, 120, 170), fill="#4060a0")
    picture.save(tmp_path / "a.png")
    (tmp_path / "my.toml").write_text(JOB)
    return tmp_path / "my.toml"


def test_the_pace_is_written_and_taken(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A long time at the bench is a slow pace, the same time again with it none slower."""
    assert run_command(["run", str(job), "--took", "2h", "--took", "40m,20m"]) == 0
    assert "You took 3 h; " in capsys.readouterr().out
    text = job.read_text()
    pace = float(text.partition("pace = ")[2].split()[0])
    assert text.startswith("# mine\n[figure]") and "[labour]" in text and pace > 1
    assert run_command(["run", str(job), "--took", "3h"]) == 0
    again = float(job.read_text().partition("pace = ")[2].split()[0])
    assert again == pytest.approx(pace, rel=0.1)


def test_without_a_job_file_there_is_no_place_for_it(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["run", str(job.with_name("a.png")), "--took", "3h"]) == 2
    assert "--took: there is no job file" in capsys.readouterr().err
    assert run_command(["run", str(job), "--took", "soon"]) == 2
    assert "--took: 'soon' is not a time; write it as 3h20" in capsys.readouterr().err
    assert job.read_text() == JOB
