"""How well readings agree with drawings of known truth, beside general-purpose quantisers told the number of colours.

    python tests/benchmarks/measure_reading.py [drawings=200] [first seed=0]

Targets. Flat: every true colour of at least 0.5 % found within CIEDE2000 2 and none invented, every adjacency over
12 px found and none invented. Degraded: 95 % of the colours within 5, at most 3 % invented.
"""

import sys
import tempfile
import warnings
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
warnings.filterwarnings("ignore")

SIZE = (800, 640)


def main() -> None:
    from drawing.generator import DEGRADED, draw
    from drawing.quantisers import QUANTISERS
    from drawing.scoring import Score, score_colours, score_reading

    from finishplan.drawing import read_drawing

    number = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    totals: dict[tuple[str, str], Score] = defaultdict(Score)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawn.png"
        for seed in range(first, first + number):
            base = draw(seed, SIZE)
            for kind in ("flat", *DEGRADED):
                drawn = base if kind == "flat" else DEGRADED[kind](base, seed)
                limit = 2.0 if kind == "flat" else 5.0
                drawn.picture.save(path, compress_level=1)
                totals[kind, "this reading"] += score_reading(drawn, read_drawing(path), limit)
                given = len(drawn.true_colours()) + 1 + (drawn.ink is not None)
                for name, quantise in QUANTISERS.items():
                    totals[kind, name] += score_colours(drawn, quantise(drawn.rgb, given, drawn), limit)
    for (kind, name), score in totals.items():
        found, invented = 100 * score.found / score.colours, 100 * score.invented / score.listed
        print(f"{kind:7s} {name:15s} found {found:5.1f} %  invented {invented:5.1f} %   {score}")


if __name__ == "__main__":
    main()
