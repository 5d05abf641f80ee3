"""The numbers that `mutants.py` halves: where they stand, what they are called, whether a plan rests on them."""

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "finishplan"
sys.path.insert(0, str(ROOT / "tests"))
from test_sources import REGISTER, constants  # noqa: E402

SHOWN = ("basics", "cli", "page", "sheets")
"""Rooms that show a finished plan, or read text: their numbers change no figure of it."""
WORDS = {
    "our numerical step": "numeric",
    "our layout": "layout",
    "our limit on the search": "effort",
    "our limit": "limit",
}
"""The words of a source that say a number is none of a plan's: layout, how long is searched, the size of an input."""
LONGEST = 4
"""A table with more numbers than this has its first, middle and last halved (our choice)."""


@dataclass(frozen=True)
class Mutant:
    """A number to be halved: its file, what it is called, where it stands (bytes), what kind of number it is."""

    path: Path
    name: str
    start: int
    end: int
    kind: str

    @property
    def module(self) -> str:
        return ".".join(self.path.relative_to(ROOT).with_suffix("").parts).removeprefix("finishplan.")

    @property
    def key(self) -> str:
        return f"{self.module} {self.name}"

    @property
    def text(self) -> str:
        """The number as it is written."""
        return self.path.read_bytes()[self.start : self.end].decode()

    def halved(self, text: bytes) -> bytes:
        """The file with the number halved; a whole one rounded up, 1 made 2 and 0 made 1: it stays what it is."""
        value = ast.literal_eval(text[self.start : self.end].decode())
        return text[: self.start] + repr(half(value)).encode() + text[self.end :]


def half(value: float) -> float:
    if isinstance(value, int):
        return {0: 1, 1: 2}.get(value, -(-value // 2))
    return value / 2


def every() -> Iterator[Mutant]:
    """All of the package and of the tables' own data, in order of files."""
    for path in sorted([*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.toml"), *(ROOT / "palettes").glob("*.toml")]):
        yield from of_toml(path) if path.suffix == ".toml" else of_python(path)


def of_python(path: Path) -> Iterator[Mutant]:
    """The numbers of each upper-case constant and of each default of a class."""
    text = path.read_text(encoding="utf-8")
    lines = [0]
    for line in text.splitlines(keepends=True):
        lines.append(lines[-1] + len(line.encode()))
    tree = ast.parse(text)
    found = [("", node) for node in tree.body]
    found += [(c.name + ".", node) for c in tree.body if isinstance(c, ast.ClassDef) for node in c.body]
    module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
    for owner, node in found:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
        name = next((n.id for n in ast.walk(target) if isinstance(n, ast.Name)), "")
        if not owner and not re.fullmatch(r"_?[A-Z][A-Z0-9_]*", name):
            continue
        numbers = sorted((n for n in ast.walk(node.value) if is_number(n)), key=lambda n: (n.lineno, n.col_offset))
        numbers = numbers if len(numbers) <= LONGEST else [numbers[0], numbers[len(numbers) // 2], numbers[-1]]
        for at, number in enumerate(numbers):
            place = lines[number.lineno - 1] + number.col_offset
            end = lines[number.end_lineno - 1] + number.end_col_offset
            called = owner + name + (f"[{at}]" if len(numbers) > 1 else "")
            what = "numeric" if owner and is_code(node.value, number) else kind(module, name, owner)
            yield Mutant(path, called, place, end, what)


def is_code(value: ast.expr, number: ast.AST) -> bool:
    """Whether a number of a default says nothing but 'none': the -1 of an index, the shape of an empty array."""
    negative = isinstance(value, ast.UnaryOp) and isinstance(value.op, ast.USub) and getattr(number, "value", 0) == 1
    made = [
        call for call in ast.walk(value) if isinstance(call, ast.Call) and getattr(call.func, "attr", "") == "zeros"
    ]
    return negative or any(number in ast.walk(call) for call in made)


def is_number(node: ast.AST) -> bool:
    """A literal that halving changes: no truth, no 0.0; a whole 0 or 1 only if ..."""
    value = node.value if isinstance(node, ast.Constant) else None
    return isinstance(value, int | float) and not isinstance(value, bool) and value != 0


@cache
def sources() -> dict[tuple[str, str], str]:
    """What is said of each constant's source: beside it, else in the register; of a field, in the string below it."""
    said = {(m, n): f"{text} {REGISTER.get(m, {}).get(n, '')}" for m, n, text in constants()}
    for path in sorted(PACKAGE.rglob("*.py")):
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        for owner in (n for n in ast.parse(path.read_text(encoding="utf-8")).body if isinstance(n, ast.ClassDef)):
            for field, text in pairwise(owner.body):
                if isinstance(field, ast.AnnAssign) and isinstance(getattr(text, "value", None), ast.Constant):
                    said[module, f"{owner.name}.{ast.unparse(field.target)}"] = " ".join(str(text.value.value).split())
    return said


def kind(module: str, name: str, owner: str = "") -> str:
    """'plan' where a plan rests on the number; else 'layout', 'effort', 'limit' or 'shown', which are not counted."""
    if module.split(".")[0] in SHOWN:
        return "shown"
    said = sources().get((module, owner + name), "")
    return next((kind for words, kind in WORDS.items() if words in said), "plan")


def of_toml(path: Path) -> Iterator[Mutant]:
    """Each `key = number` line, with the table it stands in."""
    data, table = path.read_bytes(), ""
    for line in re.finditer(rb"(?m)^.*$", data):
        if head := re.match(rb"\[([^\]]+)\]", line[0]):
            table = head[1].decode()
        row = re.match(rb"(\w+) = ([0-9.]+(?:e-?\d+)?)\s*(#.*)?$", line[0])
        if row and float(row[2]):
            at = line.start()
            yield Mutant(path, f"{table}.{row[1].decode()}", at + row.start(2), at + row.end(2), "plan")
