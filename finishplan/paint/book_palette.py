"""The mix book as a GIMP palette, for a drawing program, and colours read from one."""

import re
from collections.abc import Sequence

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.colour.light import hex_from_lab
from finishplan.paint.book import BookMix


def book_gpl(mixes: Sequence[tuple[BookMix, Lab]], title: str) -> str:
    """The book as a GIMP palette, for a drawing program."""
    lines = ["GIMP Palette", f"Name: {re.sub(r'[^A-Za-z0-9 .-]', ' ', title).strip() or 'mixes'}", "Columns: 8", "#"]
    for mix, look in mixes:
        r, g, b = bytes.fromhex(hex_from_lab(look)[1:])
        lines.append(f"{r:3d} {g:3d} {b:3d}\t{mix.name}")
    return "\n".join(lines) + "\n"


def read_gpl(said: str, file: str) -> tuple[tuple[str, str], ...]:
    """(name, '#rrggbb') of each colour of a GIMP palette. Raises InputError."""
    lines = said.splitlines()
    if not lines or lines[0].strip() != "GIMP Palette":
        raise InputError("is not a GIMP palette", where=file, cure="its first line is 'GIMP Palette'")
    found = []
    for no, line in enumerate(lines[1:], 2):
        if not line.strip() or line.lstrip().startswith("#") or re.match(r"(Name|Columns|Channels):", line):
            continue
        row = re.fullmatch(r"\s*(\d{1,3})\s+(\d{1,3})\s+(\d{1,3})(?:\s+(.*\S))?\s*", line)
        if row is None or any(int(row[k]) > 255 for k in (1, 2, 3)):
            raise InputError(
                "is not a colour", where=f"{file}, line {no}", cure="write red, green, blue from 0 to 255, a name"
            )
        hex = "#" + "".join(f"{int(row[k]):02x}" for k in (1, 2, 3))
        found.append((row[4] or hex, hex))
    return tuple(found)
