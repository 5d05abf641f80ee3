"""Write palettes/acrylic.csv from the published figures: `python tools/make_acrylic_table.py FIGURES.csv [OUT.csv]`.

FIGURES.csv holds one row per pigment, source and wavelength (columns pigment, ci_name, source, wavelength_nm,
K, S), relative to the titanium white of the same source. B2016 is preferred where both sources measured a
pigment. Mixtures are left out. The table stays relative: [scale] of acrylic.toml says what S = 1 is in 1/mm.
"""

import csv
import sys
from collections import defaultdict
from pathlib import Path

IDS = {  # Colour Index name, or the common name of an earth of PBr7: our id, in the order of the table
    "PW6": "titanium-white",
    "PW6:1": "buff-titanium",
    "PY184": "bismuth-yellow",
    "PY74": "arylide-yellow",
    "PY83": "diarylide-yellow",
    "PY43": "yellow-ochre",
    "Raw sienna": "raw-sienna",
    "PO20": "cadmium-orange",
    "PO73": "pyrrole-orange",
    "PR108": "cadmium-red-light",
    "PR254": "pyrrole-red",
    "PR5": "naphthol-red",
    "PV19": "quinacridone-red",
    "PR122": "quinacridone-magenta",
    "PV23": "dioxazine-purple",
    "PB29": "ultramarine-blue",
    "PB60": "anthraquinone-blue",
    "PB28": "cobalt-blue",
    "PB36:1": "cerulean-blue",
    "PB15:1": "phthalo-blue-red-shade",
    "PB15:4": "phthalo-blue-green-shade",
    "PG7": "phthalo-green-blue-shade",
    "PG36": "phthalo-green-yellow-shade",
    "PG17": "chromium-oxide-green",
    "PR101": "iron-oxide-red",
    "Burnt sienna": "burnt-sienna",
    "Raw umber": "raw-umber",
    "Burnt umber": "burnt-umber",
    "PBk9": "bone-black",
    "PBk7": "carbon-black",
}
PREFERENCE = ("B2016", "O2005")


def read(path: Path) -> dict[tuple[str, str], dict[int, tuple[float, float]]]:
    """(key of IDS, source) -> wavelength in nm -> (K, S), relative. Four earths share PBr7: they go by name."""
    table: dict[tuple[str, str], dict[int, tuple[float, float]]] = defaultdict(dict)
    with path.open(encoding="utf-8") as lines:
        for row in csv.DictReader(line for line in lines if not line.startswith("#")):
            key = row["pigment"] if row["pigment"] in IDS else row["ci_name"]
            table[key, row["source"]][int(row["wavelength_nm"])] = (float(row["K"]), float(row["S"]))
    return table


def table_text(figures: dict[tuple[str, str], dict[int, tuple[float, float]]]) -> str:
    """The table as it is shipped: two rows a paint, K and S relative to the white, four significant digits."""
    wavelengths = range(400, 701, 10)
    lines = ["paint,constant," + ",".join(str(w) for w in wavelengths)]
    for key, paint in IDS.items():
        source = next(s for s in PREFERENCE if (key, s) in figures)
        at = figures[key, source]
        for index, constant in enumerate("KS"):
            values = (f"{at[w][index]:.4g}" for w in wavelengths)
            lines.append(f"{paint},{constant}," + ",".join(values))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    default = Path(__file__).parents[1] / "palettes" / "acrylic.csv"
    out = Path(sys.argv[2]) if len(sys.argv) == 3 else default
    out.write_text(table_text(read(Path(sys.argv[1]))), encoding="utf-8")
