"""Write finishplan/photo/data/chart.toml: XYZ (D65, 2 degrees) of the 24 patches of the common test chart.

`python tools/make_chart_table.py` computes them from the spectra that N. Ohta published in 1997, as colour-science
carries them (its `ColorChecker N Ohta`), with this project's own weights.
"""

from pathlib import Path

import numpy as np

from finishplan.colour.light import xyz


def main() -> None:
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    patches = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    rows = [xyz(np.asarray(sd.copy().align(shape).values)) for sd in patches.values()]
    lines = [
        "# Written by tools/make_chart_table.py from the spectra published by N. Ohta (1997): XYZ, D65, 2 degrees,",
        "# white Y = 100, row by row from the top left (dark skin) to the bottom right (black).",
        "xyz = [",
        *("    [" + ", ".join(f"{v:.2f}" for v in row) + "]," for row in rows),
        "]",
    ]
    target = Path(__file__).parents[1] / "finishplan" / "photo" / "data" / "chart.toml"
    target.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
