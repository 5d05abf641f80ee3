"""Pots at each tolerance: the example figures apart and together, generated drawings in tones, and the time it takes.

python tests/benchmarks/bench_pots.py [--drawings 20]
"""

import argparse
import time
from pathlib import Path

import numpy as np

from finishplan.colour.light import delta_e
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, Wishes, choose
from finishplan.plan.family import family_mixes
from finishplan.plan.inputs import find_sources, read_all
from finishplan.plan.plan import Materials
from finishplan.plan.planner import Planner

EXAMPLES = Path(__file__).parents[2] / "examples"


def tones(seed: int, bases: int, steps: int) -> tuple[list[tuple[float, float, float]], list[tuple[int, int]]]:
    """L*a*b* of base colours, each in so many tones 2 to 6 of lightness apart, duller towards the dark; tones of one
    base meet."""
    rng = np.random.default_rng(seed)
    colours, meet = [], []
    for _ in range(bases):
        chroma, hue, light = rng.uniform(8, 45), rng.uniform(0, 2 * np.pi), rng.uniform(40, 75)
        step = rng.uniform(2, 6)
        for k in range(steps):
            dull = 1 - 0.04 * (steps - 1 - k)
            ab = dull * chroma * np.array([np.cos(hue), np.sin(hue)])
            colours.append((light + step * (k - steps / 2), *ab.tolist()))
            meet += [(len(colours) - 2, len(colours) - 1)] if k else []
    return colours, meet


def merged(aims: np.ndarray, nearer_than: float) -> int:
    """Mixes of the rule of pairs that stood here before."""
    groups: list[list[int]] = []
    for i in range(len(aims)):
        home = next((g for g in groups if (delta_e(aims[g], aims[i]) < nearer_than).all()), None)
        if home is None:
            groups.append([i])
        else:
            home.append(i)
    return len(groups)


def figures(*names: str) -> list[tuple[Planner, object]]:
    found = []
    for name in names:
        sources = find_sources(EXAMPLES / name)
        reading, box, meshes = read_all(sources)
        found.append((Planner(Materials(reading.drawing, box, meshes)), sources.job))
    return found


def told(name: str, curve: tuple[tuple[float, int], ...], seconds: float, more: str = "") -> None:
    print(f"| {name} | {' | '.join(str(n) for _, n in curve)} | {seconds:.1f} | {more} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drawings", type=int, default=20)
    count = parser.parse_args().drawings
    print("| drawing | 1 | 2 | 3 | 4 | 5 | CPU s | |\n| --- | --- | --- | --- | --- | --- | --- | --- |")
    for names in (("newt.toml",), ("moth.toml",), ("newt.toml", "moth.toml")):
        pair = figures(*names)
        start = time.process_time()
        family = family_mixes(pair)
        told(" + ".join(n.removesuffix(".toml") for n in names), family.curve, time.process_time() - start)
    box, rows, spent, unproven, pairs = load_box(), [], [], 0, []
    for seed in range(count):
        colours, meet = tones(seed, 6, 4)
        start = time.process_time()
        found = choose(colours, box, MixSettings(), Wishes(neighbours=meet, curve=True), screen=False)
        spent.append(time.process_time() - start)
        rows.append([n for _, n in found.curve])
        unproven += found.least < len(found.mixes)
        pairs.append(merged(np.array(colours), 2.0))
    mean = tuple((float(k + 1), round(float(v), 1)) for k, v in enumerate(np.mean(rows, axis=0)))
    told(
        f"{count} of 24 tones, mean", mean, max(spent), f"rule of pairs at 2: {np.mean(pairs):.1f}; unproven {unproven}"
    )
    colours, meet = tones(99, 12, 5)
    start = time.process_time()
    found = choose(colours, box, MixSettings(), Wishes(neighbours=meet, curve=True), screen=False)
    told("60 tones", found.curve, time.process_time() - start, f"at least {found.least}, taken {len(found.mixes)}")


if __name__ == "__main__":
    main()
