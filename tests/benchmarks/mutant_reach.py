"""Which tests can notice a number: who reads it (by the source), and which tests run that (by one run of them)."""

import ast
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from mutant_numbers import PACKAGE, Mutant

Key = tuple[str, str]
"""A function, by its module and its name (`Class.method` of a method)."""


@dataclass
class Ran:
    """One test as it ran without any change: processor seconds, and the functions of the package it went through."""

    seconds: float
    functions: set[Key] = field(default_factory=set)


@cache
def texts() -> dict[str, str]:
    return {m: (PACKAGE / (m.replace(".", "/") + ".py")).read_text(encoding="utf-8") for m in trees()}


@cache
def trees() -> dict[str, ast.Module]:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        found[".".join(parts)] = ast.parse(path.read_text(encoding="utf-8"))
    return found


@cache
def words(module: str) -> list[tuple[Key, str, set[str]]]:
    """(function or class member, the top-level name it stands under, the identifiers in it) of a module."""
    rows: list[tuple[Key, str, set[str]]] = []
    for node in trees()[module].body:
        if isinstance(node, ast.ClassDef):
            for member in node.body:
                name = getattr(member, "name", "")
                rows.append(((module, f"{node.name}.{name}" if name else node.name), node.name, names_in(member)))
        elif isinstance(node, ast.FunctionDef):
            rows.append(((module, node.name), node.name, names_in(node)))
        elif isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
            first = next((n.id for n in ast.walk(target) if isinstance(n, ast.Name)), "")
            rows.append(((module, first), first, names_in(node.value)))
    return rows


def names_in(node: ast.AST) -> set[str]:
    """Identifiers, attributes, and names of arguments given by name."""
    found = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
    found |= {n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)}
    return found | {n.arg for n in ast.walk(node) if isinstance(n, ast.keyword) and n.arg}


@cache
def imported(module: str) -> set[str]:
    """All names a module takes from others."""
    nodes = [n for n in ast.walk(trees()[module]) if isinstance(n, ast.ImportFrom)]
    return {alias.name for node in nodes for alias in node.names}


def readers(mutant: Mutant) -> set[Key]:
    """Functions that read the number, or a constant made of it; of a data file, all of the module that loads it."""
    if mutant.path.suffix == ".toml":
        return loaders(mutant)
    found: set[Key] = set()
    todo, seen = [(mutant.module, re.sub(r"\[\d\]$", "", mutant.name))], set()
    while todo:
        home, name = todo.pop()
        if (home, name) in seen:
            continue
        seen.add((home, name))
        owner, _, word = name.rpartition(".")
        for module in trees():
            here = module == home
            if not owner and not here and word not in imported(module) and home.split(".")[-1] not in imported(module):
                continue
            for key, top, inside in words(module):
                if word in inside or (owner and owner in inside):
                    found.add(key)
                    if key[1] == top and top.isupper():
                        todo.append(key)
    return found


def loaders(mutant: Mutant) -> set[Key]:
    """Functions of the modules that name the file, and of those of its room."""
    shipped = "/".join(mutant.path.parts[-3:])
    named = {m for m, text in texts().items() if shipped in text} or {"paint.table"}
    return {key for m in named for key, _, _ in words(m)}


def in_order(mutant: Mutant, ran: dict[str, Ran], killers: Iterable[str], limit_s: float) -> list[str]:
    """The tests worth running, the likeliest and cheapest first, together within the limit."""
    who, room = readers(mutant), mutant.module.split(".")[0]
    killed = list(killers)

    words = [w for w in re.split(r"[.\[\]]", mutant.name) if w and not w.isdigit()]

    def named(test: str) -> bool:
        return len(words) > 1 and all(w in test for w in words)

    def cost(test: str) -> float:
        own = test.startswith(f"tests/{room}/") or named(test)
        return (ran[test].seconds + 0.01) * (0.2 if own else 1) * 0.5 ** min(6, killed.count(test) + 6 * named(test))

    reached = sorted((t for t in ran if ran[t].functions & who or named(t)), key=cost)
    whole_room = sorted((t for t in ran if t.startswith(f"tests/{room}/") and t not in set(reached)), key=cost)
    chosen, spent = [], 0.0
    for test in reached + whole_room:
        if spent + ran[test].seconds <= limit_s:
            chosen.append(test)
            spent += ran[test].seconds
    return chosen


def function_of(path: str, qualname: str) -> Key | None:
    """The key of a code object, None outside the package."""
    if not path.startswith(str(PACKAGE)):
        return None
    module = ".".join(Path(path).relative_to(PACKAGE).with_suffix("").parts)
    return module, qualname.split(".<locals>")[0]
