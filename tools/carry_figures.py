"""Carry published figures into the project's own format: `python tools/carry_figures.py ACRYLIC.csv OIL_FOLDER [OUT]`.

Writes to tests/reference: acrylic-published.csv (K and S of the paints of the acrylic table as the two sources give
them, one row a constant) and oil-films.csv (reflectance of oil films of known recipe, one row a reading). Everything
else is made of these two: colour tables, second source, films held out. They are facts; sources in the first lines.
"""

import csv
import re
import sys
from collections import defaultdict
from pathlib import Path

from make_acrylic_table import IDS

WAVELENGTHS = range(400, 701, 10)
ACRYLIC = """# K and S of artists' acrylics relative to the S of the titanium white of the same source (k1 .03, k2 .65).
# B2016: R. S. Berns, Artist Paint Spectral Database, 24th Color and Imaging Conference, IS&T, 2016.
# O2005: Y. Okumura, MSc thesis, Rochester Institute of Technology, 2005. Facts; neither states a licence.
"""
OIL = """# Reflectance (0-1) of oil films of known recipe and of their bare grounds. parts: by mass, percent.
# Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, Heritage Science 6:17, 2018, data CC0 1.0.
"""
READINGS = {"b": "black ground", "w": "white ground", "ob": "over black", "ow": "over white"}


def acrylic(figures: Path, out: Path) -> None:
    """From one row a wavelength to one row a constant."""
    table: dict[tuple[str, str], dict[int, tuple[str, str]]] = defaultdict(dict)
    with figures.open(encoding="utf-8") as lines:
        for row in csv.DictReader(line for line in lines if not line.startswith("#")):
            key = row["pigment"] if row["pigment"] in IDS else row["ci_name"]
            if key in IDS:
                table[key, row["source"]][int(row["wavelength_nm"])] = (row["K"], row["S"])
    with (out / "acrylic-published.csv").open("w", encoding="utf-8", newline="") as file:
        file.write(ACRYLIC)
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["paint", "source", "constant", *WAVELENGTHS])
        for (key, source), at in sorted(table.items(), key=lambda item: (list(IDS).index(item[0][0]), item[0][1])):
            for i, constant in enumerate("KS"):
                rows.writerow([key, source, constant, *(f"{float(at[w][i]):.6g}" for w in WAVELENGTHS)])


def oil(folder: Path, out: Path) -> None:
    """From percent to reflectance, the recipe beside each reading."""
    parts = {}
    for line in (folder / "mixture-specifications.txt").read_text(encoding="utf-8").splitlines():
        if match := re.fullmatch(r"(\w+)\s+([\w-]+)\|([\d.-]+)", line.strip()):
            parts[match[1]] = " ".join(
                f"{n}:{v}" for n, v in zip(match[2].split("-"), match[3].split("-"), strict=True)
            )
    with (out / "oil-films.csv").open("w", encoding="utf-8", newline="") as file:
        file.write(OIL)
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["film", "parts", "reading", *WAVELENGTHS])
        for line in (folder / "film-spectra.txt").read_text(encoding="utf-8").splitlines()[1:]:
            name, *values = line.split("\t")
            film, _, what = name.rpartition("_")
            if len(values) == len(WAVELENGTHS):
                rows.writerow([film, parts.get(film, ""), READINGS[what], *(f"{float(v) / 100:.6g}" for v in values)])


if __name__ == "__main__":
    if len(sys.argv) not in (3, 4):
        sys.exit(__doc__)
    folder = Path(sys.argv[3]) if len(sys.argv) == 4 else Path(__file__).parents[1] / "tests" / "reference"
    acrylic(Path(sys.argv[1]), folder)
    oil(Path(sys.argv[2]), folder)
