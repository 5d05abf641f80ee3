"""Recipes for 1, 8, 24 and 100 colours, and for 24 half of which are out of reach: time and peak memory, and beside
them scipy's SLSQP multi-start.

    python tests/benchmarks/bench_recipes.py [--slsqp]

Each row runs in a process of its own; times are after the imports, cold (nothing stored) and warm (the box was searched
before). --slsqp adds the multi-start of a general optimiser, which takes some ten seconds a colour.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from itertools import combinations
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from apart import apart

from finishplan.colour.film import opaque, saunderson
from finishplan.colour.light import delta_e, lab, lab_from_hex
from finishplan.paint.additions import advice
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Box
from finishplan.paint.search import search
from finishplan.paint.shelf import make_shelf
from finishplan.paint.table import load_table

CPU = bool(os.environ.get("CPU_TIME"))
"""With CPU_TIME=1 in the environment processor seconds are printed: for a machine that others use as well."""
NINETEEN = tuple(p.id for p in load_table(None).paints if p.source == "B2016")


def box_of(paints: int) -> Box:
    """The 19 paints of the first source, the starter box (14), or so many of the whole table and estimates of it."""
    ids = {14: None, 19: NINETEEN}.get(paints, tuple(p.id for p in load_table(None).paints[:paints]))
    box = load_box(own=ids)
    if paints > 30:
        from dataclasses import replace

        from finishplan.paint.box import make_box

        more = [replace(p, id=f"own-{i}", K=1.3 * p.K) for i, p in enumerate(box.table.paints[3 : paints - 27])]
        box = make_box(box.table, (*box.paints, *more))
    return box


def colours(count: int, box: Box) -> list[tuple[float, ...]]:
    """Reachable colours: mixes of the box in free proportions, seeded."""
    rng = np.random.default_rng(3)
    shares = rng.dirichlet(np.full(len(box.paints), 0.15), count)
    K, S = shares @ np.array([p.K for p in box.paints]), shares @ np.array([p.S for p in box.paints])
    return [tuple(row) for row in lab(saunderson(opaque(K, S), box.table.k1, box.table.k2)).tolist()]


def screen_colours(count: int) -> list[tuple[float, ...]]:
    """Any colours of a screen, seeded: about half of them are out of every paint's reach."""
    digits = np.random.default_rng(7).integers(0, 256, (count, 3)).tolist()
    return [lab_from_hex("#" + bytes(row).hex()) for row in digits]


def slsqp(target: np.ndarray, box: Box, starts: int = 12) -> tuple[float, float]:
    """Seconds and CIEDE2000 of the best recipe in twelve parts that a general optimiser finds for one colour."""
    from scipy.optimize import minimize

    K, S = np.array([p.K for p in box.paints]), np.array([p.S for p in box.paints])

    def away(share: np.ndarray) -> float:
        share = np.clip(share, 0, None)
        return float(delta_e(lab(saunderson(opaque(share @ K, share @ S), box.table.k1, box.table.k2)), target))

    rng, begin, best = np.random.default_rng(0), time.perf_counter(), np.inf
    for _ in range(starts):
        start = rng.dirichlet(np.ones(len(K)))
        sums = {"type": "eq", "fun": lambda x: x.sum() - 1}
        found = minimize(away, start, method="SLSQP", bounds=[(0, 1)] * len(K), constraints=[sums]).x
        chosen = np.argsort(found)[-4:]
        for count in range(1, 5):
            for subset in combinations(chosen, count):
                for total in range(count, 13):
                    share = np.zeros(len(K))
                    share[list(subset)] = found[list(subset)] + 1e-9
                    parts = np.round(share / share.sum() * total)
                    if 0 < parts.sum() <= 12:
                        best = min(best, away(parts / parts.sum()))
    return time.perf_counter() - begin, best


def one(paints: int, count: int, max_paints: int, any_colour: int, folder: str) -> None:
    """One row: seconds cold and warm with what to add to the box, and the peak of memory over that of the imports."""
    delta_e((50, 0, 0), (51, 0, 0))
    box = box_of(paints)
    wanted = screen_colours(count) if any_colour else colours(count, box)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    settings = MixSettings(max_paints=max_paints, within=0.0, cache_folder=Path(folder))
    times = []
    for _ in range(2):
        begin = time.process_time() if CPU else time.perf_counter()
        mixes, _ = find_mixes(wanted, box, settings, screen=False)
        advice(mixes, box, settings)
        times.append((time.process_time() if CPU else time.perf_counter()) - begin)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    missed = sum(not m.reachable for m in mixes)
    print(
        f"{paints:3d} paints, at most {max_paints} in a mix, {count:3d} colours: cold {times[0]:.2f} s, "
        f"warm {times[1]:.2f} s, peak {peak - before:.0f} MB over the start ({peak:.0f} in all), {missed} out of reach"
    )


def main() -> None:
    """All rows, each in its own process."""
    options = argparse.ArgumentParser()
    options.add_argument("--slsqp", action="store_true")
    options.add_argument("--one", nargs=5)
    given = options.parse_args()
    if given.one:
        one(*map(int, given.one[:4]), given.one[4])
        return
    rows = [(14, 24, 4, 0), *((19, n, 4, 0) for n in (1, 8, 24, 100)), (19, 24, 3, 0), (30, 24, 3, 0), (32, 24, 4, 0)]
    rows += [(14, 24, 4, 1), (19, 24, 4, 1), (29, 24, 4, 1), (32, 24, 4, 1)]
    for row in rows:
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([sys.executable, __file__, "--one", *map(str, row), folder], check=True)
    if given.slsqp:
        box = box_of(19)
        wish = MixSettings(cache=False, premixes=False)
        wanted = np.array(colours(3, box))
        exact = search(make_shelf(box, wish), wanted, wish)
        for target, recipe in zip(wanted, exact, strict=True):
            (seconds, best), peak = apart(lambda: slsqp(target, box))  # noqa: B023
            print(
                f"SLSQP, 12 starts, one colour: {seconds:.1f} s, peak {peak:.0f} MB in all, {best:.2f} away; "
                f"the best recipe of all: {recipe.best:.2f}"
            )


if __name__ == "__main__":
    main()
