"""A maker's own spectral measurements (CGATS.17, ISO 28178): K and S from a masstone and one tint in white."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.film import inverse_saunderson
from finishplan.colour.light import WAVELENGTHS_NM
from finishplan.paint.estimate import table_white
from finishplan.paint.model import ColourTable, Paint
from finishplan.paint.table import read_text

Array = NDArray[np.float64]

INSTRUMENT_ERROR = 0.0005
"""What a reflectance (0-1) of a good hand instrument is uncertain by: it weighs the wavelengths against each other
(common practice)."""
_SMOOTHING = 1.0
"""Weight of a second difference of ln S (our choice)."""


def read_measured_paint(
    path: Path, table: ColourTable, *, masstone: str, tint: str, ratio: float
) -> tuple[Array, Array]:
    """K and S, each (31,) per mm, from two samples of a CGATS.17 file, named by SAMPLE_NAME or SAMPLE_ID.

    ratio: the paint's share (0-1) of the tint, the rest being the table's white. Raises InputError for everything
    wrong in the file, a missing sample, and a tint that is no tint of that masstone.
    """
    samples = read_cgats(path)
    for name in (masstone, tint):
        if name not in samples:
            raise InputError(f"no sample '{name}'", where=str(path), cure=nearest(name, (*samples,)))
    white = table_white(table)
    if white is None:
        raise InputError(f"the table '{table.name}' has no white", where=str(path), cure="use a table with a white")
    K, S = constants(samples[masstone], samples[tint], ratio, white, (table.k1, table.k2))
    if not (np.isfinite(K).all() and np.isfinite(S).all()):
        raise InputError(
            f"'{tint}' is not a tint of '{masstone}' in white", where=str(path), cure="check samples and ratio"
        )
    return K, S


def read_cgats(path: Path) -> dict[str, Array]:
    """Sample name (or ID) -> reflectance (31,) 0-1 at 400-700 nm step 10. Values above 2 are taken as percent.

    Raises InputError for a file without data or without all 31 wavelengths, and for a cell that is no reflectance.
    """
    lines = read_text(path).splitlines()
    fields = [word for _, line in _between(lines, "DATA_FORMAT", path) for word in _words(line)]
    columns = _spectral_columns(fields, path)
    # Names before numbers: they are what the maker wrote.
    named = next((fields.index(f) for f in ("SAMPLE_NAME", "SAMPLE_ID", "SampleName", "SampleID") if f in fields), None)
    if named is None:
        raise InputError("has no SAMPLE_NAME or SAMPLE_ID", where=str(path), cure="name the samples in the file")
    samples: dict[str, Array] = {}
    for number, line in _between(lines, "DATA", path):
        cells = _words(line)
        where = f"{path}, line {number}"
        if len(cells) != len(fields):
            raise InputError(f"{len(cells)} cells for {len(fields)} fields", where=where, cure="complete the line")
        if cells[named] in samples:
            raise InputError(f"a second sample '{cells[named]}'", where=where, cure="give each a name of its own")
        samples[cells[named]] = np.array([_reflectance(cells[c], where) for c in columns])
    if not samples:
        raise InputError("holds no sample", where=str(path), cure="export the measurements again")
    # Of all samples together: a black alone may stay under 2 % throughout.
    percent = max(float(v.max()) for v in samples.values()) > 2
    return {name: v / 100 if percent else v for name, v in samples.items()}


def _between(lines: list[str], name: str, path: Path) -> Iterator[tuple[int, str]]:
    """Numbered lines between BEGIN_name and END_name, comments left out."""
    texts = [line.strip() for line in lines]
    try:
        first, last = texts.index(f"BEGIN_{name}"), texts.index(f"END_{name}")
    except ValueError:
        raise InputError(
            f"has no BEGIN_{name} ... END_{name}", where=str(path), cure="give a CGATS.17 (ISO 28178) text file"
        ) from None
    return ((n + 1, texts[n]) for n in range(first + 1, last) if texts[n] and not texts[n].startswith("#"))


def _words(line: str) -> list[str]:
    try:
        return shlex.split(line, posix=True)
    except ValueError:
        # An unbalanced quote in a name: cut at spaces then, as most programs write it.
        return line.split()


def _spectral_columns(fields: list[str], path: Path) -> list[int]:
    at: dict[int, int] = {}
    for column, field in enumerate(fields):
        match = re.fullmatch(r"(?:SPECTRAL|SPECTRAL_NM|NM|R|SPECTRAL_PCT)_?(\d{3})(?:\.0+)?", field.upper())
        if match:
            at.setdefault(int(match[1]), column)
    missing = [str(w) for w in WAVELENGTHS_NM.tolist() if w not in at]
    if missing:
        what = ", ".join(missing[:5]) + (" ..." if len(missing) > 5 else "")
        raise InputError(f"lacks the wavelengths {what} nm", where=str(path), cure="export 400 to 700 nm, step 10 or 5")
    return [at[w] for w in WAVELENGTHS_NM.tolist()]


def _reflectance(cell: str, where: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        raise InputError(f"'{cell}' is not a number", where=where, cure="give reflectances") from None
    if not -0.01 <= value <= 150:
        raise InputError(f"{cell} is not a reflectance", where=where, cure="give 0 to 1, or percent")
    # An instrument may read a black a little below 0.
    return max(value, 0.0)


def constants(
    masstone: Array, tint: Array, ratio: float, white: Paint, surface: tuple[float, float]
) -> tuple[Array, Array]:
    """K and S (31,) of a paint whose opaque film has the reflectance `masstone` and its share `ratio` in white `tint`.
    surface: k1 and k2 of what was measured.

    With c = ratio, q = K/S of the masstone and t of the tint: S = (1 - c)(t S_w - K_w) / (c (q - t)), and K is q S or,
    from the tint, (t (c S + (1 - c) S_w) - (1 - c) K_w) / c. Each wavelength is weighed by what an instrument's
    error does to it, S is smoothed where that leaves it open, K is the weighted mean of the two.
    """
    k1, k2 = surface

    def scattering(R1: Array, R2: Array) -> Array:
        q, t = _ratio(R1, k1, k2), _ratio(R2, k1, k2)
        # Where tint and masstone have one ratio the paint's scattering is open; the error below finds that out.
        apart = np.where(np.abs(q - t) < 1e-9, 1e-9, q - t)
        found: Array = (1 - ratio) * (t * white.S - white.K) / (ratio * apart)
        return found

    S = scattering(masstone, tint)
    e = INSTRUMENT_ERROR
    with np.errstate(divide="ignore", invalid="ignore"):
        moved = [np.log(np.abs(s / S)) for s in (scattering(masstone + e, tint), scattering(masstone, tint + e))]
        # A scattering below 0 is all error; such a wavelength gets no weight.
        error: Array = np.where(S > 0, np.hypot(*moved), np.inf).astype(np.float64)
        log_S = _smoothed(
            np.where(S > 0, np.log(np.maximum(S, 1e-9)), 0.0), np.where(np.isfinite(error), error, np.inf)
        )
    S = np.exp(log_S)
    q, t = _ratio(masstone, k1, k2), _ratio(tint, k1, k2)
    from_mass = q * S
    from_tint = np.maximum((t * (ratio * S + (1 - ratio) * white.S) - (1 - ratio) * white.K) / ratio, 0.0)
    loose_mass = np.abs(_ratio(masstone + e, k1, k2) - q) * S
    loose_tint = np.abs(_ratio(tint + e, k1, k2) - t) * (ratio * S + (1 - ratio) * white.S) / ratio
    # Inverse variances: of the two, the one that the instrument's error moves less counts more.
    weight = loose_tint**2 / (loose_mass**2 + loose_tint**2 + 1e-30)
    return weight * from_mass + (1 - weight) * from_tint, S


def _ratio(R: Array, k1: float, k2: float) -> Array:
    """K/S of a seen reflectance of an opaque film (Kubelka-Munk)."""
    r = np.clip(inverse_saunderson(R, k1, k2), 1e-4, 1 - 1e-7)
    result: Array = (1 - r) ** 2 / (2 * r)
    return result


def _smoothed(values: Array, error: Array) -> Array:
    """The smoothest curve through values (n,) of that error: penalised least squares on second differences."""
    # A floor, so that one band without error does not pin the curve down alone.
    weight: Array = 1 / (error**2 + 1e-8)
    if not (weight > 1e-3).any():
        return np.full_like(values, np.nan)
    second = np.diff(np.eye(len(values)), n=2, axis=0)
    result = np.linalg.solve(np.diag(weight) + _SMOOTHING * second.T @ second, weight * values)
    return np.asarray(result, np.float64)
