"""The published oil-paint films, as arrays: which pigments each holds, its grounds and what was measured over them."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pigment:
    """One pigment of the series. name: as published; id, common: ours; ci: Colour Index name; density: g/ml of the wet
    paint, from the pigment's density and its usual oil (handbook values, from memory); tint: the film with a tenth of
    it in white."""

    name: str
    id: str
    common: str
    ci: str
    density: float
    series: str
    tint: str | None = None
    hazards: tuple[str, ...] = ()


def paint_density(pigment: float, oil: float) -> float:
    """g/ml of a paint of a pigment (g/ml) with `oil` grams of linseed oil (0.93 g/ml) to a gram."""
    return round((1 + oil) / (1 / pigment + oil / 0.93), 2)


LEAD = "lead, poisonous: do not spray, do not sand, keep from mouth, food and children"
PIGMENTS = (
    Pigment("ZincWhite", "zinc-white", "zinc white", "PW4", paint_density(5.6, 0.17), "07"),
    Pigment("LeadWhite", "lead-white", "lead white", "PW1", paint_density(6.7, 0.10), "08"),
    Pigment("BoneBlack", "bone-black", "bone black", "PBk9", paint_density(2.4, 0.60), "07"),
    Pigment("Eosin", "eosin-lake", "eosin lake", "", 1.30, "02", "02B"),
    Pigment("Eosin1Wax", "eosin-lake-waxed", "eosin lake with wax", "", 1.25, "01", "01B"),
    Pigment("Eosin2PbWax", "eosin-lead-lake-waxed", "eosin lead lake with wax", "", 1.40, "03", "03B", (LEAD,)),
    Pigment("Cochineal", "cochineal-lake", "cochineal lake", "NR4", 1.30, "04", "04B"),
    Pigment("Minium", "minium", "minium (red lead)", "PR105", paint_density(8.9, 0.08), "05", "05B"),
    Pigment("Vermillion", "vermilion", "vermilion", "PR106", paint_density(8.1, 0.12), "06", "06B"),
    Pigment("ViridianGreen", "viridian", "viridian", "PG18", paint_density(3.3, 0.80), "09", "09B"),
    Pigment("EmeraldGreen", "emerald-green", "emerald green", "PG21", paint_density(3.2, 0.30), "10", "10B"),
    Pigment("UltramarineBlue", "ultramarine-blue", "ultramarine blue", "PB29", paint_density(2.35, 0.35), "11", "11B"),
    Pigment("CobaltBlue", "cobalt-blue", "cobalt blue", "PB28", paint_density(4.0, 0.45), "12", "12B"),
    Pigment("PrussianBlue", "prussian-blue", "Prussian blue", "PB27", paint_density(1.83, 0.80), "13", "13B"),
    Pigment("ChromeYellow", "chrome-yellow-deep", "chrome yellow, deep", "PY34", paint_density(6.0, 0.20), "14", "14B"),
    Pigment(
        "ChromeYellowOtero",
        "chrome-yellow-light",
        "chrome yellow, light",
        "PY34",
        paint_density(5.8, 0.20),
        "15",
        "15C",
    ),
)
WHITE_BLACK = ("07A", "07C", "07D", "07E", "07F", "08A", "08B", "08C")
WAXED = ("01", "03")
"""Series of the same lake with wax added, left out of the 31 films by which the fit is judged; 35 with them."""


@dataclass(frozen=True)
class Films:
    """names: (f,); mass: (f, p) shares; grounds, measured: (f, 2, 31) reflectances 0-1, black then white."""

    names: tuple[str, ...]
    mass: Array
    grounds: Array
    measured: Array


class Published:
    """tests/reference/oil-films.csv. spectra: 'film_reading' -> (31,) reflectance 0-1; parts: film -> parts by mass."""

    def __init__(self, path: Path) -> None:
        with path.open(encoding="utf-8") as file:
            rows = list(csv.reader(line for line in file if not line.startswith(("#", "film,"))))
        short = {"black ground": "_b", "white ground": "_w", "over black": "_ob", "over white": "_ow"}
        self.spectra = {row[0] + short[row[2]]: np.array([float(v) for v in row[3:]]) for row in rows}
        told = {row[0]: [part.split(":") for part in row[1].split()] for row in rows}
        self.parts = {film: {name: float(v) for name, v in parts} for film, parts in told.items() if parts}

    def films(self, names: tuple[str, ...]) -> Films:
        """The named films as arrays."""
        mass = np.array([[self.parts[n].get(p.name, 0.0) for p in PIGMENTS] for n in names])
        grounds, measured = (
            np.array([[self.spectra[n + a], self.spectra[n + b]] for n in names])
            for a, b in (("_b", "_w"), ("_ob", "_ow"))
        )
        return Films(names, mass / mass.sum(axis=1, keepdims=True), grounds, measured)

    def fitted(self) -> tuple[str, ...]:
        """Films the fit may use: masstone, one tint, and the series of whites with bone black."""
        colours = [p for p in PIGMENTS if p.tint]
        return (*WHITE_BLACK, *(p.series + "A" for p in colours), *(str(p.tint) for p in colours))

    def held_out(self) -> tuple[str, ...]:
        """Every other measured film of one of the pigments with zinc white or bone black."""
        of_series = {p.series: {p.name, "ZincWhite", "BoneBlack"} for p in PIGMENTS if p.tint}
        return tuple(
            n
            for n, parts in self.parts.items()
            if n + "_ob" in self.spectra and n not in self.fitted() and set(parts) <= of_series.get(n[:2], set())
        )
