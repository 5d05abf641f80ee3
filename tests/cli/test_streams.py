"""Streams that are closed, full or left early, and systems of other letters: the exit code still tells."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from refusals import WHOLE_PLAN, check_whole, drawing

from finishplan.cli.main import run_command


@pytest.mark.parametrize("command", [["box"], ["box", "--json"], ["--help"]], ids=" ".join)
def test_a_reader_who_leaves_early(command: list[str]) -> None:
    """As in `finishplan box | head -1`: no word of complaint."""
    read, write = os.pipe()
    os.close(read)
    running = [sys.executable, "-m", "finishplan", *command]
    done = subprocess.run(running, stdout=write, stderr=subprocess.PIPE, text=True, check=False)
    os.close(write)
    assert (done.returncode, done.stderr) == (0, "")


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


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_error_that_cannot_be_printed_still_has_its_exit_code(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        running = [sys.executable, "-m", "finishplan", "plan", "none.png"]
        assert subprocess.run(running, cwd=tmp_path, stderr=full, check=False).returncode == 2
