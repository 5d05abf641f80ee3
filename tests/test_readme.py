"""The README's commands and its Python example run as they are written."""

import re
import shlex
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from finishplan.cli.main import run_command

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tools"))
from remake_examples import COMPARED, PRINTED, newt_plan, page_texts, with_tables  # noqa: E402

README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    """Fenced code blocks of one language."""
    return re.findall(rf"```{kind}\n(.*?)```", README, re.DOTALL)


COMMANDS = [
    line.split("finishplan ", 1)[1]
    for block in blocks("sh")
    for line in block.splitlines()
    if re.match(r"(\S*/)?finishplan |.*&& \S*/finishplan ", line)
]
SERVES = "bench "
"""Of the command that does not end by itself; tests/page starts it."""


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the examples and palettes, as a fresh clone has them."""
    for name in ("examples", "palettes"):
        shutil.copytree(ROOT / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_commands_run_one_after_the_other(at_home: Path) -> None:
    """As a new user would type them."""
    done = [command for command in COMMANDS if not command.startswith(SERVES)]
    assert len(done) >= 8 and len(done) == len(COMMANDS) - 1
    for command in done:
        assert run_command(shlex.split(command, comments=True)) == 0, command
    assert "rain hood" in (at_home / "newt-plan" / "job.toml").read_text(encoding="utf-8")


def test_python_examples(at_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What the first prints of coats is what the plan says of each area, undercoats apart; the second makes a plan."""
    whole, stages = blocks("python")
    names: dict[str, Any] = {"__name__": "example"}
    exec(compile(whole, "README.md", "exec"), names)
    assert list(at_home.glob("*.pdf"))
    laid = re.findall(r"mix (\w+): area (\d+), (\w+), coats: (\d+)", capsys.readouterr().out)
    printed = {(mix, int(area), kind == "undercoat", int(coats)) for mix, area, kind, coats in laid if kind != "recut"}
    told = {(c.mix, c.area, False, c.coats) for c in names["plan"].order.coats}
    under = {(c.undercoat, c.area, True, c.undercoat_coats) for c in names["plan"].order.coats if c.undercoat}
    assert laid and printed == told | under
    exec(compile(stages, "README.md", "exec"), names)
    assert re.search(r"\d+ mixes, \d+ passes, \d+ steps\n\d+ minutes of work", capsys.readouterr().out)


def test_tables_are_those_of_the_newt() -> None:
    """Where this fails after a wanted change: python tools/remake_examples.py."""
    assert with_tables(README, {n: newt_plan(n) for n in (*COMPARED, PRINTED)}) == README


def test_printed_example_is_what_would_be_printed(at_home: Path) -> None:
    assert run_command(["plan", "examples/newt.png", "--castings", str(PRINTED), "--out", "out", "--quiet"]) == 0
    assert page_texts(Path("out/painting-order.pdf")) == page_texts(Path("examples/newt-painting-order.pdf"))
