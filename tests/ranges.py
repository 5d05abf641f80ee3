"""Ranges of figures that labels and the trade give: rows of tests/reference."""

import csv
import math
from pathlib import Path
from typing import Any

REFERENCE = Path(__file__).parent / "reference"
MIDDLE = 1.5
"""A row stands within this factor of the middle of its range: half or twice of it does not (our rule)."""


def ranges(name: str) -> dict[tuple[str, str], tuple[float, float]]:
    """(least, most) of each (row, figure) of a file."""
    lines = [line for line in (REFERENCE / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert all(len(row["source"]) > 5 for row in rows)
    return {(row["row"], row["figure"]): (float(row["least"]), float(row["most"])) for row in rows}


def figures(tables: dict[str, Any]) -> list[tuple[str, str]]:
    """(table, key) of every number of a data file."""
    return [(name, key) for name, row in tables.items() for key, v in row.items() if type(v) in (int, float)]


def in_the_middle(value: float, least: float, most: float) -> bool:
    """Whether a figure lies in its range, and neither at its hopeful nor at its gloomy end."""
    return least <= value <= most and 1 / MIDDLE < value / math.sqrt(least * most) < MIDDLE
