"""Reading and checking an open colour table: NAME.csv (K and S of each paint) with NAME.toml (what they are)."""

import csv
import math
import re
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np

from finishplan.basics.checks import as_list
from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import printable
from finishplan.basics.text_files import text_of, toml_of
from finishplan.colour.light import WAVELENGTHS_NM
from finishplan.paint.hazards import hazards_of
from finishplan.paint.model import ColourTable, Paint, Scale, StandIn

_HEADER = ("paint", "constant", *(str(w) for w in WAVELENGTHS_NM))
_TABLE_KEYS = ("name", "binder", "k1", "k2", "sources", "cautions", "historical", "scale", "paints", "stand_ins")
_SCALE_KEYS = ("of", "per_mm", "range", "source")
_PAINT_KEYS = ("name", "ci", "density", "source", "hazards")
LARGEST_PER_MM = 1e5
_MOST_BYTES = 4_000_000


def shipped_table(name: str = "acrylic") -> Path:
    """The path of a colour table shipped with the program. Raises InputError when there is none of that name."""
    # In a wheel the palettes lie inside the package, in a checkout beside it.
    inside = Path(str(resources.files("finishplan"))) / "palettes"
    folder = inside if inside.is_dir() else Path(__file__).parents[2] / "palettes"
    path = folder / f"{name}.csv"
    if not path.is_file():
        known = tuple(sorted(p.stem for p in folder.glob("*.csv")))
        raise InputError(f"no colour table '{name}' is shipped", cure=nearest(name, known))
    return path


def load_table(path: Path | None) -> ColourTable:
    """The table in the csv at `path` (its toml beside it); None: the shipped acrylic one.

    Raises InputError naming the file, and row and column, of the first thing wrong.
    """
    path = shipped_table() if path is None else path
    # A table is a pair of files: whichever of the two is named, the other is beside it.
    if path.suffix.lower() == ".toml":
        path = path.with_suffix(".csv")
    constants = _read_constants(path)
    toml = path.with_suffix(".toml")
    meta = read_toml(toml)
    _known_keys(meta, _TABLE_KEYS, where=str(toml))
    described = meta.get("paints", {})
    if not isinstance(described, dict):
        raise InputError("'paints' is not a table", where=str(toml), cure="write a line for each paint under [paints]")
    for paint in described.keys() - constants.keys():
        raise InputError(
            f"paint '{paint}' has no rows in {path.name}", where=str(toml), cure=nearest(paint, (*constants,))
        )
    # Relative measurements leave the scale open: K and S times one factor are the same colours, more or less opaque.
    scale = _scale(meta["scale"], constants, f"{toml}, scale") if "scale" in meta else None
    times = 1.0 if scale is None else scale.times
    paints = tuple(
        _paint(id, described.get(id), times * K, times * S, where=str(toml)) for id, (K, S) in constants.items()
    )
    return ColourTable(
        name=text_at(meta, "name", where=str(toml), default=printable(path.stem)),
        paints=paints,
        k1=number_at(meta, "k1", (0.0, 0.2), where=str(toml)),
        k2=number_at(meta, "k2", (0.0, 0.9), where=str(toml)),
        binder=text_at(meta, "binder", where=str(toml), default=""),
        sources=texts_at(meta, "sources", where=str(toml)),
        cautions=texts_at(meta, "cautions", where=str(toml)),
        historical=_is_historical(meta, str(toml)),
        scale=scale,
        stand_ins=_stand_ins(meta.get("stand_ins", {}), (*constants,), f"{toml}, stand_ins"),
    )


def _is_historical(meta: dict[str, Any], where: str) -> bool:
    """Whether the table is for study only. Raises InputError."""
    said = meta.get("historical", False)
    # Refused, not passed over: "yes" taken as no would drop the warning of what the old pigments hold.
    if not isinstance(said, bool):
        raise InputError("'historical' is neither true nor false", where=where, cure="write historical = true")
    return said


def _stand_ins(said: Any, known: tuple[str, ...], where: str) -> tuple[StandIn, ...]:
    """What stands for names that nobody measured. Raises InputError for an id that the table has not."""
    if not isinstance(said, dict):
        raise InputError("is not a table", where=where, cure='write lines as PY42 = ["yellow-ochre", "yellow oxide"]')
    found = []
    for ci, row in said.items():
        if not (isinstance(row, list) and len(row) == 2 and all(isinstance(v, str) for v in row)):
            raise InputError(f"{ci} is not a pair of texts", where=where, cure=f'write {ci} = ["id", "common name"]')
        if row[0] not in known:
            raise InputError(f"{ci}: no paint '{row[0]}' in the csv", where=where, cure=nearest(row[0], known))
        found.append(StandIn(ci, *row))
    return tuple(found)


def _scale(said: Any, constants: Mapping[str, tuple[np.ndarray, np.ndarray]], where: str) -> Scale:
    """What the file's numbers are in 1/mm, by the mean S of one paint. Raises InputError."""
    if not isinstance(said, dict):
        raise InputError("is not a table", where=where, cure='write [scale] with of = "titanium-white", per_mm = 400')
    _known_keys(said, _SCALE_KEYS, where=where)
    of = text_at(said, "of", where=where)
    if of not in constants:
        raise InputError(f"paint '{of}' has no rows in the csv", where=where, cure=nearest(of, (*constants,)))
    per_mm = number_at(said, "per_mm", (0.1, 1e4), where=where)
    match said.get("range", [per_mm, per_mm]):
        case [int() | float() as low, int() | float() as high] if 0 < low <= per_mm <= high:
            times = per_mm / float(constants[of][1].mean())
            return Scale(of, per_mm, float(low), float(high), times, text_at(said, "source", where=where))
    raise InputError("'range' does not hold per_mm", where=where, cure=f"write it as range = [{per_mm:g}, {per_mm:g}]")


def read_text(path: Path) -> str:
    """The UTF-8 text of a small file. Raises InputError when it cannot be read."""
    return text_of(path, _MOST_BYTES, "a text file: a paint box (TOML) or a colour table (CSV)")


def read_toml(path: Path) -> dict[str, Any]:
    """The TOML file at `path`. Raises InputError with the parser's own line and column."""
    return toml_of(read_text(path), str(path))


def _read_constants(path: Path) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Paint id -> (K, S), each (31,), in the order of the file."""
    try:
        reader = csv.reader(read_text(path).splitlines())
        # Numbered as an editor does: blank lines hold no row, but they count.
        rows = [(reader.line_num, row) for row in reader if row]
    except csv.Error as error:
        raise InputError(f"is not a csv file: {error}", where=str(path), cure="see palettes/README.md") from error
    _check_header(*rows[0] if rows else (1, []), path)
    found: dict[str, dict[str, np.ndarray]] = {}
    for number, row in rows[1:]:
        id, constant, values = _row(row, number, path)
        if constant in found.setdefault(id, {}):
            raise InputError(
                f"a second {constant} of '{id}'", where=f"{path}, row {number}", cure="keep one of the two"
            )
        found[id][constant] = values
    if not found:
        raise InputError("holds no paint", where=str(path), cure="add two rows, K and S, for each paint")
    for id, pair in found.items():
        for constant in "KS":
            if constant not in pair:
                raise InputError(
                    f"'{id}' has no {constant} row", where=str(path), cure=f"add the row '{id},{constant},...'"
                )
        # Without any scattering an opaque film is black, whatever its K says.
        if not np.any(pair["S"] > 0):
            raise InputError(f"S of '{id}' is zero everywhere", where=str(path), cure="give its measured scattering")
    return {id: (pair["K"], pair["S"]) for id, pair in found.items()}


def _check_header(number: int, header: list[str], path: Path) -> None:
    given = [cell.strip() for cell in header]
    missing = [column for column in _HEADER if column not in given]
    if missing:
        what = ", ".join(missing[:6]) + (" ..." if len(missing) > 6 else "")
        raise InputError(
            f"the header lacks: {what}", where=f"{path}, row {number}", cure="write paint,constant,400,410,...,700"
        )
    # After what is missing: one column left out would else be told as every later one out of place.
    for column, (cell, wanted) in enumerate(zip(given, _HEADER, strict=False), start=1):
        if cell != wanted:
            where = f"{path}, row {number}, column {column}"
            raise InputError(f"'{cell}' stands where '{wanted}' belongs", where=where, cure="put them in that order")
    if len(given) > len(_HEADER):
        raise InputError(
            f"'{given[len(_HEADER)]}' is one column too many",
            where=f"{path}, row {number}, column {len(_HEADER) + 1}",
            cure="keep 400 to 700 nm, step 10",
        )


def _row(row: list[str], number: int, path: Path) -> tuple[str, str, np.ndarray]:
    where = f"{path}, row {number}"
    if len(row) != len(_HEADER):
        raise InputError(
            f"{len(row)} cells instead of {len(_HEADER)}", where=where, cure="give paint, constant, 31 values"
        )
    id, constant = row[0].strip(), row[1].strip()
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", id):
        raise InputError(f"'{id}' is not an id", where=f"{where}, column 1", cure="write it as 'burnt-umber'")
    if constant not in ("K", "S"):
        raise InputError(f"'{constant}' is not a constant", where=f"{where}, column 2", cure="write K or S")
    values = [_value(cell, f"{where}, column {w} nm") for cell, w in zip(row[2:], WAVELENGTHS_NM, strict=True)]
    return id, constant, np.array(values)


def _value(cell: str, where: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        raise InputError(f"'{cell}' is not a number", where=where, cure="give K or S") from None
    if not math.isfinite(value) or value > LARGEST_PER_MM:
        raise InputError(f"{cell} cannot have been measured", where=where, cure=f"give 0 to {LARGEST_PER_MM:g} per mm")
    if value < 0:
        raise InputError(f"{cell} is negative", where=where, cure="K and S are 0 or more")
    return value


def _paint(id: str, about: Any, K: np.ndarray, S: np.ndarray, *, where: str) -> Paint:
    at = f"{where}, paints.{id}"
    if not isinstance(about, dict):
        raise InputError(
            f"paint '{id}' is not described", where=where, cure=f'add {id} = {{ name = "...", ci = "..." }}'
        )
    _known_keys(about, _PAINT_KEYS, where=at)
    ci = text_at(about, "ci", where=at, default="")
    name = text_at(about, "name", where=at, default=id.replace("-", " "))
    return Paint(
        id=id,
        name=name,
        ci=ci,
        K=K,
        S=S,
        density=number_at(about, "density", (0.5, 10.0), where=at),
        # Those of the pigment stand in any case, whatever the author of the table left out.
        hazards=tuple(dict.fromkeys((*hazards_of(ci, name), *texts_at(about, "hazards", where=at)))),
        source=text_at(about, "source", where=at, default=""),
    )


def _known_keys(table: dict[str, Any], known: tuple[str, ...], *, where: str) -> None:
    for key in table:
        if key not in known:
            raise InputError(f"unknown key '{key}'", where=where, cure=nearest(key, known))


def text_at(table: dict[str, Any], key: str, *, where: str, default: str | None = None) -> str:
    """The string at `key`. Raises InputError when it is missing without a default, too long, or no string."""
    value = table.get(key, default)
    if not isinstance(value, str) or len(value) > 2000:
        raise InputError(f"'{key}' is not a text", where=where, cure=f'write {key} = "..."')
    return value


def texts_at(table: dict[str, Any], key: str, *, where: str) -> tuple[str, ...]:
    """The list of strings at `key`, empty when missing. Raises InputError for anything else."""
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise InputError(f"'{key}' is not a list of texts", where=where, cure=f"write {as_list(key, value)}")
    return tuple(value)


def number_at(
    table: dict[str, Any], key: str, span: tuple[float, float], *, where: str, default: float | None = None
) -> float:
    """The number at `key`, from the lower to the upper end of `span`. Raises InputError for anything else."""
    low, high = span
    value = table.get(key, default)
    # A bool is an int to Python, not to a maker.
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        got = "is missing" if value is None else f"is {value}"
        raise InputError(f"'{key}' {got}", where=where, cure=f"give a number from {low:g} to {high:g}")
    return float(value)
