"""The README's commands and its Python example run as they are written."""

import re
import shlex
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from finishplan.cli.commands import run_command

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


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the examples and palettes, as a fresh clone has them."""
    for name in ("examples", "palettes"):
        shutil.copytree(ROOT / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 6 and any(c.startswith("plan examples/newt.png") for c in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_command(command: str, at_home: Path) -> None:
    arguments = shlex.split(command, comments=True)
    if "job.toml" in command:
        folder = Path(arguments[1]).parent
        assert run_command(["plan", "examples/newt.png", "--out", str(folder), "--quiet"]) == 0
    assert run_command(arguments) == 0


def test_python_example(at_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What it prints of coats is what the plan says of each area, undercoats apart."""
    (example,) = blocks("python")
    names: dict[str, Any] = {"__name__": "example"}
    exec(compile(example, "README.md", "exec"), names)
    assert list(at_home.glob("*.pdf"))
    laid = re.findall(r"mix (\w+): area (\d+), (\w+), coats: (\d+)", capsys.readouterr().out)
    printed = {(mix, int(area), kind == "undercoat", int(coats)) for mix, area, kind, coats in laid if kind != "recut"}
    told = {(c.mix, c.area, False, c.coats) for c in names["plan"].order.coats}
    under = {(c.undercoat, c.area, True, c.undercoat_coats) for c in names["plan"].order.coats if c.undercoat}
    assert laid and printed == told | under


def test_tables_are_those_of_the_newt() -> None:
    """Where this fails after a wanted change: python tools/remake_examples.py."""
    assert with_tables(README, {n: newt_plan(n) for n in (*COMPARED, PRINTED)}) == README


def test_printed_example_is_what_would_be_printed(at_home: Path) -> None:
    assert run_command(["plan", "examples/newt.png", "--castings", str(PRINTED), "--out", "out", "--quiet"]) == 0
    assert page_texts(Path("out/painting-order.pdf")) == page_texts(Path("examples/newt-painting-order.pdf"))
