"""Write palettes/acrylic.csv from the published figures: `python tools/make_acrylic_table.py FIGURES.csv [OUT.csv]`.

FIGURES.csv holds one row per pigment, source and wavelength (columns pigment, ci_name, source, wavelength_nm,
K, S), relative to the titanium white of the same source. B2016 is preferred where both sources measured a
pigment. Mixtures are left out. S = 1 stands for 110 per mm of dry film (see the note in acrylic.toml).
"""

import csv
import sys
from collections import defaultdict
from pathlib import Path

WHITE_S_PER_MM = 110.0
IDS = {  # published name: our id, in the order of the table
    "Titanium white": "titanium-white",
    "Titan buff": "buff-titanium",
    "Bismuth vanadate yellow": "bismuth-yellow",
    "Hansa yellow opaque": "arylide-yellow",
    "Diarylide yellow": "diarylide-yellow",
    "Yellow ochre": "yellow-ochre",
    "Raw sienna": "raw-sienna",
    "Cadmium orange": "cadmium-orange",
    "Pyrrole orange": "pyrrole-orange",
    "Cadmium red light": "cadmium-red-light",
    "Pyrrole red": "pyrrole-red",
    "Naphthol red medium": "naphthol-red",
    "Quinacridone red": "quinacridone-red",
    "Quinacridone magenta": "quinacridone-magenta",
    "Dioxazine purple": "dioxazine-purple",
    "Ultramarine blue": "ultramarine-blue",
    "Anthraquinone blue": "anthraquinone-blue",
    "Cobalt blue": "cobalt-blue",
    "Cerulean blue chromium": "cerulean-blue",
    "Phthalo blue red shade": "phthalo-blue-red-shade",
    "Phthalo blue green shade": "phthalo-blue-green-shade",
    "Phthalo green blue shade": "phthalo-green-blue-shade",
    "Phthalo green yellow shade": "phthalo-green-yellow-shade",
    "Chromium oxide green": "chromium-oxide-green",
    "Red oxide": "iron-oxide-red",
    "Burnt sienna": "burnt-sienna",
    "Raw umber": "raw-umber",
    "Burnt umber": "burnt-umber",
    "Bone black": "bone-black",
    "Carbon black": "carbon-black",
}
PREFERENCE = ("B2016", "O2005")


def read(path: Path) -> dict[tuple[str, str], dict[int, tuple[float, float]]]:
    """(published name, source) -> wavelength in nm -> (K, S), relative."""
    table: dict[tuple[str, str], dict[int, tuple[float, float]]] = defaultdict(dict)
    with path.open(encoding="utf-8") as lines:
        for row in csv.DictReader(line for line in lines if not line.startswith("#")):
            table[row["pigment"], row["source"]][int(row["wavelength_nm"])] = (float(row["K"]), float(row["S"]))
    return table


def table_text(figures: dict[tuple[str, str], dict[int, tuple[float, float]]]) -> str:
    """The table as it is shipped: two rows a paint, K and S per mm, four significant digits."""
    wavelengths = range(400, 701, 10)
    lines = ["paint,constant," + ",".join(str(w) for w in wavelengths)]
    for published, paint in IDS.items():
        source = next(s for s in PREFERENCE if (published, s) in figures)
        at = figures[published, source]
        for index, constant in enumerate("KS"):
            values = (f"{WHITE_S_PER_MM * at[w][index]:.4g}" for w in wavelengths)
            lines.append(f"{paint},{constant}," + ",".join(values))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    default = Path(__file__).parents[1] / "palettes" / "acrylic.csv"
    out = Path(sys.argv[2]) if len(sys.argv) == 3 else default
    out.write_text(table_text(read(Path(sys.argv[1]))), encoding="utf-8")
