"""Whole cards and hard pictures of them: how many are found, how far off, how many wrong ones pass.

python tests/benchmarks/bench_marks.py [--whole 100] [--hard 200] [--width 3000]
"""

import argparse
import sys
import time
import warnings
from pathlib import Path

import cv2
import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "photo")]
warnings.filterwarnings("ignore", module="colour")

import simulated as sim  # noqa: E402
from judged import IDS, PAGE  # noqa: E402
from test_marks import true_places  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.photo.marks import find_page  # noqa: E402


def spoilt(picture: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """The picture cut off, blurred, covered or darkened, and how its places (x, y) moved."""
    h, w = picture.shape[:2]
    kind = rng.integers(4)
    if kind == 0:
        x, y = rng.integers(0, w // 3), rng.integers(0, h // 3)
        return np.ascontiguousarray(picture[y:, x:]), np.array([x, y])
    if kind == 1:
        return cv2.GaussianBlur(picture, (0, 0), rng.uniform(1, w / 250)), np.zeros(2)
    covered = picture.copy()
    if kind == 2:
        for _ in range(6):
            x, y = rng.integers(0, w), rng.integers(0, h)
            covered[y : y + h // 9, x : x + w // 9] = rng.integers(0, 255, 3)
        return covered, np.zeros(2)
    return (covered * rng.uniform(0.08, 0.5)).astype(np.uint8), np.zeros(2)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--whole", type=int, default=100)
    parser.add_argument("--hard", type=int, default=200)
    parser.add_argument("--width", type=int, default=3000)
    given = parser.parse_args()
    rng, size = np.random.default_rng(5), (given.width, given.width * 4 // 3)
    off, seconds, counts = list[np.ndarray](), list[float](), {"whole": 0, "hard": 0, "wrong": 0}
    for n in range(given.whole + given.hard):
        at = sim.view(rng, size)
        picture = sim.photo_of(PAGE, sim.tubes(IDS, rng), rng, lamp=str(rng.choice(sim.LAMPS)), view=at)
        picture, moved = (picture, np.zeros(2)) if n < given.whole else spoilt(picture, rng)
        start = time.process_time()
        try:
            placed = find_page(picture, [PAGE])
        except InputError:
            continue
        mm, px = true_places(PAGE, at)
        away = np.linalg.norm(placed.pixels(mm) + moved - px, axis=1) / placed.px_per_mm
        if n < given.whole:
            counts["whole"] += 1
            off.append(away)
            seconds.append(time.process_time() - start)
        else:
            counts["hard"] += 1
            counts["wrong"] += bool(away.max() > 1.0)
    print(f"whole: {counts['whole']} of {given.whole} found, error p95 {np.percentile(off, 95):.2f} mm, ", end="")
    print(f"worst {np.max(off):.2f} mm, {np.median(seconds):.2f} s")
    print(f"hard: {counts['hard']} of {given.hard} taken, {counts['wrong']} of them over 1 mm wrong")


if __name__ == "__main__":
    main()
