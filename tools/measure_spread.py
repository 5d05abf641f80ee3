"""Print how far the two sources of the acrylic table differ, the figures of finishplan/paint/trust.py.

`python tools/measure_spread.py` reads palettes/acrylic.csv and tests/reference/second-source.csv.
"""

import csv
from pathlib import Path

import numpy as np

from finishplan.colour.film import opaque, saunderson
from finishplan.colour.light import delta_e, lab
from finishplan.paint.table import load_table

WHITE = "titanium-white"


def second_source(folder: Path) -> dict[str, np.ndarray]:
    """Paint id -> (2, 31) K and S, relative, of the second source."""
    with (folder / "second-source.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))[1:]
    ids = dict.fromkeys(row[0] for row in rows)
    return {id: np.array([row[2:] for row in rows if row[0] == id], dtype=float) for id in ids}


def spread(reference: Path, without: str = "") -> dict[str, float]:
    """Root mean squares over the paints that both measured: ln K (weighted with K), ln S (with S), strength, S alone,
    and CIEDE2000 of 10 % tints that is left when strength and scattering are made equal. without: a paint left out."""
    table = load_table(None)
    first = {p.id: np.array([p.K, p.S]) for p in table.paints}
    second = second_source(reference)
    first_white, second_white = first[WHITE], second[WHITE]
    logs, left = [], []
    for id in sorted(second.keys() - {WHITE, without}):
        one, two = first[id], second[id] * first_white[1].mean()
        log = [float(np.average(np.log(b / a), weights=a + b)) for a, b in zip(one, two, strict=True)]
        logs.append(log)
        adjusted = one * np.exp(log)[:, None]
        tints = [
            lab(saunderson(opaque(*(0.1 * p + 0.9 * w)), table.k1, table.k2))
            for p, w in ((adjusted, first_white), (two, second_white * first_white[1].mean()))
        ]
        left.append(float(delta_e(*tints)))
    K, S = np.array(logs).T
    rms_K, rms_S = float(np.sqrt((K**2).mean())), float(np.sqrt((S**2).mean()))
    return {
        "ln_K": rms_K,
        "ln_S": rms_S,
        "correlation": float(np.corrcoef(K, S)[0, 1]),
        "scattering_alone": float(np.sqrt(rms_S**2 - rms_K**2)),
        "left_delta_e": float(np.sqrt((np.array(left) ** 2).mean())),
    }


if __name__ == "__main__":
    for name, value in spread(Path(__file__).parents[1] / "tests" / "reference").items():
        print(f"{name} {value:.2f}")
