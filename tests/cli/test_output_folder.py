"""What can be wrong with the folder a plan is written into: nothing of the maker's is lost, nothing half made stays."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from refusals import drawing, tell

import finishplan
from finishplan.cli.main import run_command


def locked(path: Path) -> None:
    drawing(path).chmod(0)


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


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_in_place_of_an_output_is_neither_read_nor_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out").mkdir()
    os.mkfifo(tmp_path / "out" / "job.toml")
    said = tell(capsys, "plan", drawing(tmp_path / "a.png"), "--out", tmp_path / "out", "--quiet")
    assert "job.toml: a pipe or a device stands where this file is to be" in said
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["job.toml"]


@pytest.mark.skipif(sys.platform == "win32", reason="a folder in use cannot be removed there")
def test_a_folder_that_is_gone_under_ones_feet(tmp_path: Path) -> None:
    seen = drawing(tmp_path / "a.png")
    (tmp_path / "gone").mkdir()
    line = f'rmdir ../gone && "{sys.executable}" -m finishplan plan "{seen}" --quiet'
    done = subprocess.run(line, shell=True, cwd=tmp_path / "gone", capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1] == "finishplan: the folder where you are is gone; change into another"
