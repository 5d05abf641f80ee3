"""How long ordering takes and how much of it is proven: random figures of 10 to 100 areas. Run by hand:

    python tests/benchmarks/bench_order.py

calm: one area in six flagged, one edge in ten wished otherwise; wild: four in ten, and one in four.
Times are processor seconds of one process.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "finish"))

from figures import newt, order_of, random_figure

SIZES = ((10, 5, 2), (20, 8, 3), (40, 14, 4), (60, 14, 1), (60, 20, 8), (100, 20, 8))
TEMPERS = {"calm": (0.17, 0.1), "wild": (0.4, 0.25)}


def main(seeds: int = 3) -> None:
    """A line for each size and temper: seconds of each figure, how many are proven, recuts, widest gap to the bound."""
    started = time.process_time()
    order = order_of(*newt())
    print(f"newt: {len(order.passes)} passes, proven {order.proven}, {time.process_time() - started:.2f} s")
    print("areas mixes parts temper  seconds              proven  passes  recuts  gap")
    for areas, mixes, parts in SIZES:
        for temper, (flagged, wished) in TEMPERS.items():
            seconds, orders = [], []
            for seed in range(seeds):
                figure = random_figure(seed, areas, mixes, parts, flagged=flagged, wished=wished)
                started = time.process_time()
                orders.append(order_of(*figure))
                seconds.append(time.process_time() - started)
            proven = sum(o.proven for o in orders)
            passes = "/".join(str(len(o.passes)) for o in orders)
            recuts = sum(len(o.broken) for o in orders)
            gap = max(len(o.passes) - o.bound for o in orders)
            shown = " ".join(f"{s:5.2f}" for s in seconds)
            print(
                f"{areas:5} {mixes:5} {parts:5} {temper:6}  {shown}  {proven:3}/{seeds}  {passes}  {recuts:4}  {gap:3}"
            )


if __name__ == "__main__":
    main()
