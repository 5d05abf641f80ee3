"""What the checks read, from the published figures: `python tools/make_reference_tables.py [OUT]`.

Reads acrylic-published.csv and oil-films.csv of tests/reference (tools/carry_figures.py) and writes to tests/reference:
second-source.csv (the paints of the acrylic table that the second source measured too, and its white),
held-out-films.csv and film-grounds.csv (recipe and measured L*a*b* of the oil films that take no part in the fit, and
their grounds).
"""

import csv
import sys
from pathlib import Path

import numpy as np
from heritage_films import PIGMENTS, WAXED, Published
from make_acrylic_table import IDS, read

from finishplan.colour.light import lab

SECOND = "O2005"


def second_source(figures: Path, out: Path) -> None:
    """K and S as the second source gives them, relative to its own white."""
    table = read(figures)
    with (out / "second-source.csv").open("w", encoding="utf-8", newline="") as file:
        file.write("# K and S relative to the white of the same source: Y. Okumura, MSc thesis, RIT, 2005.\n")
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["paint", "constant", *range(400, 701, 10)])
        for key, paint in IDS.items():
            measured = table.get((key, SECOND))
            if measured and (key, "B2016") in table:
                for i, constant in enumerate("KS"):
                    rows.writerow([paint, constant, *(measured[w][i] for w in range(400, 701, 10))])


def held_out(figures: Path, out: Path) -> None:
    """Recipes by mass and L*a*b* (D65, 2 degrees) over black and over white; the mean bare grounds."""
    published = Published(figures)
    films = published.films(published.held_out())
    source = "# Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, Heritage Science 6:17, 2018, data CC0 1.0.\n"
    with (out / "held-out-films.csv").open("w", encoding="utf-8", newline="") as file:
        file.write(source + "# Parts by mass in percent; L*a*b* D65, 2 degrees, of the measured reflectances.\n")
        rows = csv.writer(file, lineterminator="\n")
        lab_names = [f"{c}_{g}" for g in ("black", "white") for c in "Lab"]
        rows.writerow(["film", "waxed", *(p.id for p in PIGMENTS), *lab_names])
        for name, measured in zip(films.names, lab(films.measured), strict=True):
            parts = [published.parts[name].get(p.name, 0.0) for p in PIGMENTS]
            waxed = int(name[:2] in WAXED)
            rows.writerow([name, waxed, *(f"{v:g}" for v in parts), *(f"{v:.3f}" for v in measured.ravel())])
    with (out / "film-grounds.csv").open("w", encoding="utf-8", newline="") as file:
        file.write(source + "# Mean reflectance (0-1) of the bare grounds of these films.\n")
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["ground", *range(400, 701, 10)])
        for name, values in zip(("black", "white"), np.mean(films.grounds, axis=0), strict=True):
            rows.writerow([name, *(f"{v:.4f}" for v in values)])


if __name__ == "__main__":
    if len(sys.argv) > 2:
        sys.exit(__doc__)
    reference = Path(__file__).parents[1] / "tests" / "reference"
    out = Path(sys.argv[1]) if len(sys.argv) == 2 else reference
    second_source(reference / "acrylic-published.csv", out)
    held_out(reference / "oil-films.csv", out)
