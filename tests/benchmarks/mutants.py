"""Does a test notice when a number is wrong? `python tests/benchmarks/mutants.py [MODULE ...] [--list] [--tests ...]`.

Each constant of the modules (`paint.trust`, or a room, `paint`; all without a name), each default of a settings class
and each number of a data file is halved, one at a time, in a copy of the package, and the tests of its room are run
until one fails. Printed: which were noticed, and the share of all. `--tests` gives the tests to run instead of those of
the room; `--list` only counts. One mutant takes as long as its tests until the first failure: choose modules.
"""

import argparse
import ast
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "finishplan"
LIMIT_S = 600
"""A mutant whose tests take longer than this hangs: noticed (our limit)."""


@dataclass(frozen=True)
class Mutant:
    """A number to be halved: its file, what it is called, where it stands (bytes of the file)."""

    path: Path
    name: str
    start: int
    end: int

    @property
    def module(self) -> str:
        return ".".join(self.path.relative_to(PACKAGE).with_suffix("").parts)

    def halved(self, text: bytes) -> bytes:
        """The text of the file with the number halved; a whole one rounded up, 1 made 2: it stays what it is."""
        old = text[self.start : self.end].decode()
        value = ast.literal_eval(old)
        half = 2 if value == 1 and isinstance(value, int) else -(-value // 2) if isinstance(value, int) else value / 2
        return text[: self.start] + repr(half).encode() + text[self.end :]


def mutants(wanted: list[str]) -> Iterator[Mutant]:
    """All of the modules wanted, in order of files."""
    for path in sorted([*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.toml")]):
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        if not wanted or any(module == w or module.startswith(w + ".") for w in wanted):
            yield from of_toml(path) if path.suffix == ".toml" else of_python(path)


def of_python(path: Path) -> Iterator[Mutant]:
    """The first number of each upper-case constant and of each default of a class."""
    text = path.read_text(encoding="utf-8")
    lines = [0]
    for line in text.splitlines(keepends=True):
        lines.append(lines[-1] + len(line.encode()))
    tree = ast.parse(text)
    found = [("", node) for node in tree.body]
    found += [(c.name + ".", node) for c in tree.body if isinstance(c, ast.ClassDef) for node in c.body]
    for owner, node in found:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
        name = next((n.id for n in ast.walk(target) if isinstance(n, ast.Name)), "")
        number = next((n for n in ast.walk(node.value) if is_number(n)), None)
        if number is not None and (owner or re.fullmatch(r"_?[A-Z][A-Z0-9_]*", name)):
            start = lines[number.lineno - 1] + number.col_offset
            yield Mutant(path, owner + name, start, lines[number.end_lineno - 1] + number.end_col_offset)


def is_number(node: ast.AST) -> bool:
    """A literal that halving changes."""
    value = node.value if isinstance(node, ast.Constant) else None
    return isinstance(value, int | float) and not isinstance(value, bool) and value != 0


def of_toml(path: Path) -> Iterator[Mutant]:
    """Each `key = number` line, with the table it stands in."""
    data, table = path.read_bytes(), ""
    for line in re.finditer(rb"(?m)^.*$", data):
        if head := re.match(rb"\[([^\]]+)\]", line[0]):
            table = head[1].decode()
        row = re.match(rb"(\w+) = ([0-9.]+(?:e-?\d+)?)\s*(#.*)?$", line[0])
        if row and float(row[2]):
            at = line.start()
            yield Mutant(path, f"{table}.{row[1].decode()}", at + row.start(2), at + row.end(2))


def copy_of_the_project(folder: Path) -> None:
    """The package copied, all else linked."""
    shutil.copytree(PACKAGE, folder / "finishplan", ignore=shutil.ignore_patterns("__pycache__"))
    for entry in ROOT.iterdir():
        if entry.name not in ("finishplan", ".git") and not entry.name.startswith("."):
            (folder / entry.name).symlink_to(entry)


def noticed(mutant: Mutant, folder: Path, tests: list[str]) -> bool:
    """Whether the tests fail with it."""
    copy = folder / mutant.path.relative_to(ROOT)
    whole = copy.read_bytes()
    copy.write_bytes(mutant.halved(whole))
    try:
        return fail(folder, tests)
    finally:
        copy.write_bytes(whole)


def fail(folder: Path, tests: list[str]) -> bool:
    """Whether one of the tests fails, or takes too long, with the package in the folder."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    env = os.environ | {"PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        run = subprocess.run(command, cwd=folder, env=env, capture_output=True, timeout=LIMIT_S, check=False)
        return run.returncode != 0
    except subprocess.TimeoutExpired:
        return True


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("modules", nargs="*")
    parser.add_argument("--tests", nargs="*", default=[])
    parser.add_argument("--list", action="store_true")
    said = parser.parse_args()
    every = list(mutants(said.modules))
    if said.list:
        print(f"{len(every)} mutants")
        return
    killed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copy_of_the_project(folder)
        print("| number | noticed |\n| --- | --- |")
        for mutant in every:
            tests = said.tests or [f"tests/{mutant.module.split('.')[0]}"]
            if mutant is every[0] and fail(folder, tests):
                sys.exit("the tests fail without any change")
            dead = noticed(mutant, folder, tests)
            killed += dead
            print(f"| {mutant.module} {mutant.name} | {'yes' if dead else '**no**'} |", flush=True)
    print(f"\n{killed} of {len(every)} noticed, {100 * killed / max(1, len(every)):.0f} %")


if __name__ == "__main__":
    main()
