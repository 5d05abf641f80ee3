"""What the tests of bad input share: a drawing, a command that must be refused, files that must be whole."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from PIL import Image, ImageDraw

from finishplan.cli.main import run_command
from finishplan.drawing.stored import NAME, load_kept


def drawing(path: Path, format: str | None = None) -> Path:
    """A small drawing that can be read."""
    picture = Image.new("RGB", (240, 240), "#ffffff")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((20, 20, 220, 220), fill="#e0a020", outline="#202020", width=4)
    pen.ellipse((80, 80, 160, 160), fill="#206090", outline="#202020", width=4)
    picture.save(path, format)
    return path


def tell(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run a command that must be refused; the one line it says."""
    assert run_command([str(a) for a in arguments]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and err.startswith("finishplan: ")
    return err


def check_whole(folder: Path) -> set[str]:
    """The names of the files in the folder, each of which is parsed; none may be a temporary one."""

    parse: dict[str, Callable[[Path], object]] = {
        ".json": lambda path: json.loads(path.read_text()),
        ".toml": lambda path: tomllib.loads(path.read_text()),
        ".pdf": lambda path: [page.extract_text() for page in pypdf.PdfReader(path, strict=True).pages],
        ".png": lambda path: Image.open(path).load() or True,
        ".npz": load_kept,
    }
    parse[".pg"] = parse[".png"]
    paths = list(folder.rglob("*")) if folder.exists() else []
    for path in paths:
        assert parse[path.suffix](path) is not None, path.name
    return {path.name for path in paths} - {NAME}


WHOLE_PLAN = {"painting-order.pdf", "plan.json", "areas.png", "job.toml", "drawing.png"}
