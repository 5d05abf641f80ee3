"""Every number has its source: the constants of all modules and the data files are walked, and one without fails.

A constant says where it comes from in the text beside it, or has a row in tests/reference/constant-sources.toml, by the
room and the module it lives in. A data file says it in a `source` of each table with numbers or in its first lines.
"""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import finishplan

PACKAGE = Path(finishplan.__file__).parent
ROOT = PACKAGE.parent
REGISTER = tomllib.loads((Path(__file__).parent / "reference" / "constant-sources.toml").read_text(encoding="utf-8"))
SOURCE = re.compile(
    r"common practice|our (own )?(rule|choice|assumption|limit|layout|numerical step)|from memory|derived|convention"
    r"|measured"
    r"|tests|tools/|\b(19|20)\d\d\b|\b(ISO|ASTM|CIE|IEC|ASHRAE|POSIX|PNG|TOML|JPEG|CODATA|IAPWS-95|Colour Index)\b"
)
"""What counts as a source: a word for our own rules and the trade's, or a work, a standard, a year."""


def constants() -> Iterator[tuple[str, str, str]]:
    """(module, name, the text beside it) of every constant with a number: docstring below its block, comments."""
    for path in sorted(PACKAGE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        lines, body = text.splitlines(), ast.parse(text).body
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        for at, node in enumerate(body):
            name = constant_name(node)
            if name:
                yield module, name, beside(body, at) + comments(lines, node)


def constant_name(node: ast.stmt) -> str:
    """The name of a constant that holds a number, else ''."""
    if isinstance(node, ast.Assign) and len(node.targets) == 1:
        target: ast.expr = node.targets[0]
    elif isinstance(node, ast.AnnAssign):
        target = node.target
    else:
        return ""
    first = next((n.id for n in ast.walk(target) if isinstance(n, ast.Name)), "")
    value = node.value
    numbers = (n.value for n in ast.walk(value) if isinstance(n, ast.Constant)) if value else ()
    holds = any(isinstance(v, int | float) and not isinstance(v, bool) for v in numbers)
    return first if holds and re.fullmatch(r"_?[A-Z][A-Z0-9_]*", first) else ""


def beside(body: list[ast.stmt], at: int) -> str:
    """The docstring that follows the block of assignments a constant stands in."""
    after = at + 1
    while (
        after < len(body)
        and isinstance(body[after], ast.Assign | ast.AnnAssign)
        and body[after].lineno == (body[after - 1].end_lineno or 0) + 1
    ):
        after += 1
    node = body[after] if after < len(body) else None
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
        return " ".join(node.value.value.split())
    return ""


def comments(lines: list[str], node: ast.stmt) -> str:
    above = node.lineno - 2
    found = [line for line in lines[node.lineno - 1 : node.end_lineno] if "#" in line]
    while above >= 0 and lines[above].startswith("#"):
        found.append(lines[above])
        above -= 1
    return " ".join(found)


def test_every_constant_has_its_source() -> None:
    every = list(constants())
    assert len(every) > 300
    without = [
        f"{module}.{name}"
        for module, name, text in every
        if not SOURCE.search(text) and not SOURCE.search(REGISTER.get(module, {}).get(name, ""))
    ]
    assert not without, f"say where it comes from, beside it or in constant-sources.toml: {without}"


def test_the_register_names_what_there_is() -> None:
    there = {(module, name) for module, name, _ in constants()}
    gone = [f"{m}.{n}" for m, names in REGISTER.items() for n in names if (m, n) not in there]
    assert not gone, f"no such constant any more: {gone}"


def test_every_data_file_has_its_sources() -> None:
    files = [p for folder in (PACKAGE, ROOT / "palettes") for p in folder.rglob("*.toml")]
    assert len(files) >= 6
    for path in files:
        text = path.read_text(encoding="utf-8")
        head = " ".join(line for line in text.splitlines() if line.startswith("#"))
        if SOURCE.search(head):
            continue
        for name, table in tomllib.loads(text).items():
            if isinstance(table, dict) and any(isinstance(v, int | float) for v in table.values()):
                assert SOURCE.search(str(table.get("source", ""))), f"{path.name}: {name}"
    licence = (ROOT / "palettes" / "LICENSE.md").read_text(encoding="utf-8")
    for path in (ROOT / "tests" / "reference").glob("*.csv"):
        assert SOURCE.search(path.read_text(encoding="utf-8")[:600]), path.name
        assert path.name in licence, f"{path.name} is not named in palettes/LICENSE.md"
