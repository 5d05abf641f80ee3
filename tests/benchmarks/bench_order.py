"""How long ordering takes and how much of it is proven: random figures of 10 to 100 areas. Run by hand:

    python tests/benchmarks/bench_order.py

calm: one area in six flagged, one edge in ten wished otherwise; wild: four in ten, and one in four.
Times are processor seconds of one process, each figure in one of its own.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "order"))

from apart import apart
from figures import newt, order_of, random_figure

SIZES = ((10, 5, 2), (20, 8, 3), (40, 14, 4), (60, 14, 1), (60, 20, 8), (100, 20, 8))
TEMPERS = {"calm": (0.17, 0.1), "wild": (0.4, 0.25)}


def timed(figure) -> tuple[float, ...]:
    """Processor seconds, whether proven, passes, recuts, passes above the bound."""
    started = time.process_time()
    order = order_of(*figure)
    seconds = time.process_time() - started
    return seconds, order.proven, len(order.passes), len(order.broken), len(order.passes) - order.bound


def main(seeds: int = 3) -> None:
    """A line for each size and temper: seconds of each figure, how many are proven, recuts, widest gap to the bound."""
    started = time.process_time()
    order = order_of(*newt())
    print(f"newt: {len(order.passes)} passes, proven {order.proven}, {time.process_time() - started:.2f} s")
    print("areas mixes parts temper  seconds              proven  passes  recuts  gap  peak MB")
    for areas, mixes, parts in SIZES:
        for temper, (flagged, wished) in TEMPERS.items():
            found = []
            for seed in range(seeds):
                figure = random_figure(seed, areas, mixes, parts, flagged=flagged, wished=wished)
                figures, peak = apart(lambda: timed(figure))  # noqa: B023
                found.append((*figures, peak))
            seconds, proven, passes, recuts, gaps, peaks = zip(*found, strict=True)
            shown = " ".join(f"{s:5.2f}" for s in seconds)
            each = "/".join(f"{p:.0f}" for p in passes)
            print(
                f"{areas:5} {mixes:5} {parts:5} {temper:6}  {shown}  {sum(proven):3.0f}/{seeds}  {each}  "
                f"{sum(recuts):4.0f}  {max(gaps):3.0f}  {max(peaks):5.0f}"
            )


if __name__ == "__main__":
    main()
