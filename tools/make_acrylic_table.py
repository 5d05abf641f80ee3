"""Write palettes/acrylic.csv from the published figures: `python tools/make_acrylic_table.py [FIGURES.csv [OUT.csv]]`.

FIGURES.csv (tests/reference/acrylic-published.csv) holds two rows for each pigment and source, K and S, relative to the
titanium white of the same source. B2016 is preferred where both measured a pigment, but for the K of the white: that of
B2016 is nearly nothing (K/S 0.00001), a white of L* 99.4, which no tube is; O2005's (0.0005) gives 96.7. The table
stays relative: what S = 1 is in 1/mm of dry film says [scale] of acrylic.toml.
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
WAVELENGTHS = range(400, 701, 10)
PREFERENCE = ("B2016", "O2005")


WHITE, WHITE_K_FROM = "PW6", "O2005"


def read(path: Path) -> dict[tuple[str, str], dict[int, tuple[float, float]]]:
    """(key of IDS, source) -> wavelength in nm -> (K, S), relative. Four earths share PBr7: they go by name."""
    rows: dict[tuple[str, str], dict[str, list[float]]] = defaultdict(dict)
    with path.open(encoding="utf-8") as lines:
        for row in csv.reader(line for line in lines if not line.startswith(("#", "paint,"))):
            rows[row[0], row[1]][row[2]] = [float(v) for v in row[3:]]
    return {key: dict(zip(WAVELENGTHS, zip(at["K"], at["S"], strict=True), strict=True)) for key, at in rows.items()}


def table_text(figures: dict[tuple[str, str], dict[int, tuple[float, float]]]) -> str:
    """The table as it is shipped: two rows a paint, K and S relative to the white's S, four significant digits."""
    lines = ["paint,constant," + ",".join(str(w) for w in WAVELENGTHS)]
    for key, paint in IDS.items():
        source = next(s for s in PREFERENCE if (key, s) in figures)
        for index, constant in enumerate("KS"):
            at = figures[key, WHITE_K_FROM if (key, constant) == (WHITE, "K") else source]
            lines.append(f"{paint},{constant}," + ",".join(f"{at[w][index]:.4g}" for w in WAVELENGTHS))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    root = Path(__file__).parents[1]
    if len(sys.argv) > 3:
        sys.exit(__doc__)
    source = Path(sys.argv[1]) if len(sys.argv) > 1 else root / "tests" / "reference" / "acrylic-published.csv"
    out = Path(sys.argv[2]) if len(sys.argv) > 2 else root / "palettes" / "acrylic.csv"
    out.write_text(table_text(read(source)), encoding="utf-8")
